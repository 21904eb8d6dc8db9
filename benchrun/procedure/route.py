"""The compiled form of a procedure: a flat route that every part walks at its own pace.

The loader builds these shapes once; the rules of a run and every face read them. Lengths of time
are whole milliseconds. A position on the route is an index into `Route.ops`.
"""

from collections.abc import Mapping
from dataclasses import field

from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.formula import Formula
from benchrun.procedure.header_values import Figure, PartKind
from benchrun.procedure.steps import (
    PARTS,
    Act,
    Attended,
    Consequence,
    Detail,
    Dwell,
    Finding,
    Hazard,
    Hold,
    Inspect,
    Kind,
    PlainDo,
    Reading,
    Signal,
    Step,
    Uses,
    Window,
    Witness,
    WorkOut,
    worst_first,
)

__all__ = [
    "PARTS",
    "Act",
    "Attended",
    "Batch",
    "Consequence",
    "Detail",
    "Detour",
    "Dwell",
    "End",
    "Figure",
    "Finding",
    "Guard",
    "Hazard",
    "Head",
    "Hold",
    "Inspect",
    "Instrument",
    "Kind",
    "Load",
    "Needs",
    "Op",
    "PartKind",
    "PlainDo",
    "Procedure",
    "Reading",
    "Route",
    "Signal",
    "Step",
    "StepOp",
    "Tail",
    "Uses",
    "Vessel",
    "Window",
    "Witness",
    "WorkOut",
    "worst_first",
]


@lean_dataclass(frozen=True, slots=True)
class StepOp:
    """A step stands here; a reading has one of these for each of its places, in order."""

    step: Step
    place: str = ""


@lean_dataclass(frozen=True, slots=True)
class Guard:
    """Steps up to `past` are done only where the condition holds."""

    key: str
    condition: Formula
    past: int


@lean_dataclass(frozen=True, slots=True)
class Head:
    """The start of a repeat; passing it begins a pass."""

    key: str
    title: str
    tail: int


@lean_dataclass(frozen=True, slots=True)
class Tail:
    """The end of a repeat: again, or leave.

    Attributes:
        key: The same key as its head.
        head: The index of its head.
        least: How many passes at least.
        most: How many passes at most, or None.
        until: What ends it after `least` passes; None: `least` passes and no more.
    """

    key: str
    head: int
    least: int
    most: int | None
    until: Formula | None


@lean_dataclass(frozen=True, slots=True)
class Detour:
    """Steps up to `past` are done only when the window of `step` is late; `past` is that step."""

    key: str
    step: str
    past: int
    most: int


@lean_dataclass(frozen=True, slots=True)
class End:
    """The end of the route; a part here is done."""


Op = StepOp | Guard | Head | Tail | Detour | End


@lean_dataclass(frozen=True, slots=True)
class Vessel:
    """A tub, an oven, a rail.

    Attributes:
        capacity: How much fits at once, in parts of size 1; None: no limit.
        heated: Whether it is hot, so that its dwells end attended unless they say otherwise.
    """

    id: str
    title: str
    capacity: int | None = None
    heated: bool = False


@lean_dataclass(frozen=True, slots=True)
class Load:
    """Steps of one load, which has a vessel from the first of them to the last.

    Attributes:
        vessels: The ids of the vessels of which each load takes one.
        first, past: The indices of its first op and of the op behind its last.
    """

    key: str
    title: str
    vessels: tuple[str, ...]
    first: int
    past: int


@lean_dataclass(frozen=True, slots=True)
class Batch:
    """The kind of part, how many may be worked at once, and what identifies one."""

    part: str
    least: int = 1
    most: int = 60
    identity: str = ""


@lean_dataclass(frozen=True, slots=True)
class CloseLine:
    """One line of the close: what is to be put back, or what follows.

    Attributes:
        sort: `restore` or `follow on`, as in the procedure's file.
        number: Its place in that list, from 1.
    """

    sort: str
    number: int
    text: str


@lean_dataclass(frozen=True)
class Route:
    """The flat program of a procedure.

    Attributes:
        ops: The program; the last op is `End`.
        within: For each op the indices of the heads of the repeats it stands in, outermost first.
            A head is outside its own repeat, a tail inside.
        steps: The steps by id, in reading order.
        index: For each step id the index of its (first) op.
        vessels: The vessels by id.
        kinds: The kinds of part, where a batch may hold several.
        pair: The kinds that belong together, one part of each.
        loads: The blocks of steps that loads go through, by key.
        figures: What the manual or a data sheet says, by its name.
        close_lines: What is to be put back, and what follows, before the release.
        release: The step by which the parts are released; empty where none does.
    """

    ops: tuple[Op, ...]
    within: tuple[tuple[int, ...], ...]
    steps: Mapping[str, Step]
    index: Mapping[str, int]
    vessels: Mapping[str, Vessel] = field(default_factory=dict)
    kinds: Mapping[str, PartKind] = field(default_factory=dict)
    pair: tuple[str, ...] = ()
    loads: Mapping[str, Load] = field(default_factory=dict)
    figures: Mapping[str, Figure] = field(default_factory=dict)
    close_lines: tuple[CloseLine, ...] = ()
    release: str = ""

    def step_at(self, index: int) -> StepOp | None:
        """The step that stands at an index, or None where another op stands."""
        op = self.ops[index]
        return op if isinstance(op, StepOp) else None


@lean_dataclass(frozen=True, slots=True)
class Instrument:
    """An instrument that a procedure needs."""

    name: str
    measures: str = ""
    reach: str = ""
    resolution: str = ""
    calibrated: bool = False
    uncertainty: str = ""


@lean_dataclass(frozen=True, slots=True)
class NeededTool:
    """A tool that is counted out and back, and how many of it are needed."""

    tool: str
    number: int

    @property
    def words(self) -> str:
        """It in words: `2 × drift`."""
        return self.tool if self.number == 1 else f"{self.number} × {self.tool}"


@lean_dataclass(frozen=True, slots=True)
class Needs:
    """The needs of a procedure.

    Attributes:
        before_start: Conditions that block the start.
        counted: The tools that are counted out before it and back behind the last step.
    """

    protection: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    instruments: tuple[Instrument, ...] = ()
    supplies: tuple[str, ...] = ()
    before_start: tuple[str, ...] = ()
    counted: tuple[NeededTool, ...] = ()

    @property
    def at_hand(self) -> tuple[str, ...]:
        """The names of what is to lie ready: tools, instruments and supplies, by their names."""
        return (*self.tools, *(instrument.name for instrument in self.instruments), *self.supplies)


@lean_dataclass(frozen=True, slots=True)
class Successor:
    """A procedure that the parts go through next; of any revision where none is named."""

    procedure: str
    revision: int | None = None

    @property
    def words(self) -> str:
        """It in words: `bush-fit, revision 2`."""
        return (
            self.procedure
            if self.revision is None
            else f"{self.procedure}, revision {self.revision}"
        )


@lean_dataclass(frozen=True)
class Procedure:
    """A loaded, checked and compiled procedure.

    Attributes:
        sha256: Hex digest of the file's bytes; a run keeps both.
        home: The folder of its file; empty for the copy that a run keeps.
        approval: The bytes of the approval beside the file; None where there is none.
        sources: What the short source marks of the file stand for.
        restore: What must be put back before the run is closed.
        follow_on: What comes next, in words.
        successors: The procedures among that which are named by their ids.
    """

    id: str
    title: str
    revision: int
    status: str
    use: str
    scope: str
    applies_to: str
    route: Route
    batch: Batch
    needs: Needs
    hazards: tuple[Hazard, ...]
    first_aid: tuple[str, ...]
    changes: tuple[str, ...]
    sources: Mapping[str, str]
    restore: tuple[str, ...]
    follow_on: tuple[str, ...]
    successors: tuple["Successor", ...]
    sha256: str
    content: bytes
    dated: str = ""
    approval: bytes | None = None
    home: str = field(default="", compare=False)

    @property
    def drawings(self) -> tuple[str, ...]:
        """The files of the drawings that its steps name, each once, in reading order."""
        named = (step.drawing for step in self.route.steps.values() if step.drawing)
        return tuple(dict.fromkeys(named))

    @property
    def misgiving(self) -> str:
        """The objection to it as it stands, in a sentence; empty when somebody checked it."""
        if self.status == "draft":
            return "This procedure is a draft: nobody has checked it yet."
        if self.status == "withdrawn":
            return "This procedure is withdrawn: it cannot be begun, choose its successor."
        return ""
