"""A step as it is shown and as the rules read it: its kind, its limits, what may follow from it.

Lengths of time are whole milliseconds.
"""

from collections.abc import Iterator, Sequence
from dataclasses import fields
from decimal import Decimal
from enum import StrEnum
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.formula import Formula
from benchrun.procedure.parameter import Parameter

PARTS: Final = "parts"
"""The name in an amount of a supply for the number of parts that a step is done for at once."""
TOOLS_COUNTED: Final = "tools-counted"
"""The id of the step by which the tools are counted back."""


class Signal(StrEnum):
    """How bad it gets, as ANSI Z535.4 defines the words; the order is worst first."""

    DANGER = "danger"
    WARNING = "warning"
    CAUTION = "caution"
    NOTICE = "notice"


class Kind(StrEnum):
    """The seven kinds of step."""

    DO = "do"
    DWELL = "dwell"
    READING = "reading"
    INSPECT = "inspect"
    HOLD = "hold"
    WORK_OUT = "work out"
    WITNESS = "witness"


class Attended(StrEnum):
    """Whether somebody must be at a dwell: all the time, to end it, or not at all."""

    YES = "yes"
    TO_END = "to end it"
    NO = "no"


class Act(StrEnum):
    """The consequences of a judgement; every consequence is an answer to a question."""

    GO_ON = "go on"
    AGAIN = "again"
    REWORK = "rework"
    DETOUR = "detour"
    ASIDE = "set aside"
    AWAY = "send away"
    SCRAP = "scrap"
    STOP = "stop the run"


@lean_dataclass(frozen=True, slots=True)
class Hazard:
    """A caution that stands before what it guards."""

    signal: Signal
    hazard: str
    consequence: str
    avoidance: str
    codes: tuple[str, ...] = ()
    source: str = ""


def worst_first(hazards: Sequence[Hazard]) -> tuple[Hazard, ...]:
    """Hazards with the worst signal word first, else as they were written."""
    order = list(Signal)
    return tuple(sorted(hazards, key=lambda one: order.index(one.signal)))


@lean_dataclass(frozen=True, slots=True)
class Consequence:
    """One way on from a judgement.

    Attributes:
        act: What happens to the part.
        to: The step to go back to (rework) or the place to send to (away); else empty.
        most: How many times a part may take this way; None when it cannot loop.
        text: The words of the procedure, shown as the answer.
    """

    act: Act
    to: str = ""
    most: int | None = None
    text: str = ""


@lean_dataclass(frozen=True, slots=True)
class PlainDo:
    """An action; nothing beyond having done it is kept."""


@lean_dataclass(frozen=True, slots=True)
class Dwell:
    """A timed interval in a vessel, or away at a place.

    Attributes:
        vessel: The id of a vessel of the procedure, or empty (on the bench, no capacity).
        place: Where the parts are sent to; then the dwell is a planned send-out.
        least: The shortest proven time, or None.
        most: The longest possible time, or None.
        aim: The time to aim for, or None.
        tend_every: The interval of tending, or None.
        tend: What tending is, in words.
        early: What may follow an early end, the cautious first.
        late: What may follow a late end, the cautious first.
        adds_up: Whether a dwell that was broken off and taken up again counts in sum.
        attended: Whether somebody must be there.
    """

    vessel: str = ""
    place: str = ""
    least: Parameter | None = None
    most: Parameter | None = None
    aim: Parameter | None = None
    tend_every: Parameter | None = None
    tend: str = ""
    early: tuple[Consequence, ...] = ()
    late: tuple[Consequence, ...] = ()
    adds_up: bool = False
    attended: Attended = Attended.NO


@lean_dataclass(frozen=True, slots=True)
class Witness(Dwell):
    """Somebody is told of a step to come and waited for until a notice, `least`, has run out.

    The notice runs as the clock of a dwell on the bench does. It ends by who came, by word that
    nobody comes, or when it has run out: it is never early. Logs from before `WITNESS_SINCE` tell
    it as a dwell that may end early.
    """


@lean_dataclass(frozen=True, slots=True)
class Reading:
    """Something measured, one value at each place.

    Attributes:
        name: What formulas call it.
        unit: The unit asked for and judged in.
        low: The lower limit, met when equal; None when there is none.
        high: The upper limit, met when equal; None when there is none.
        places: Where to measure, in order (`A 0°`); one empty place when there is only one.
        instrument: Which instrument of the procedure's needs to use, or empty.
        calibrated: Whether that one must be calibrated.
        resolution: The coarsest instrument resolution allowed, in `unit`, or None.
        outside: What may follow a value outside the limits, the cautious first.
        inside: What may follow a value inside them; without any the part goes on.
        doubt: What may follow a value that the instrument cannot decide.
        strength_of: The vessel, by its id, or the supply whose strength this is, or empty.
        one_for_all: Whether one value holds for all parts that take it at once, as of a bath.
        below_zero: Whether it may be below zero though its unit and limits do not say so.
        pieces: The pieces of the part that it counts, which may be named one by one; or empty.
        characteristic: Whether it says how the part is, and not how the work or a gauge was.
    """

    name: str
    unit: str
    low: Parameter | None = None
    high: Parameter | None = None
    places: tuple[str, ...] = ("",)
    instrument: str = ""
    resolution: Decimal | None = None
    outside: tuple[Consequence, ...] = ()
    doubt: tuple[Consequence, ...] = ()
    strength_of: str = ""
    one_for_all: bool = False
    inside: tuple[Consequence, ...] = ()
    below_zero: bool = False
    pieces: str = ""
    characteristic: bool = False
    calibrated: bool = False


@lean_dataclass(frozen=True, slots=True)
class Finding:
    """One named answer to an inspection; `go on` alone raises no question."""

    name: str
    consequences: tuple[Consequence, ...]

    @property
    def plain(self) -> bool:
        """Whether the part simply goes on."""
        return all(one.act is Act.GO_ON for one in self.consequences)


@lean_dataclass(frozen=True, slots=True)
class Inspect:
    """Something judged; the finding is kept under `name` for formulas to compare.

    Attributes:
        ways: Whether one of several ways is chosen: nothing is found then.
    """

    name: str
    findings: tuple[Finding, ...]
    ways: bool = False


@lean_dataclass(frozen=True, slots=True)
class Hold:
    """A stop for a sign-off.

    Attributes:
        role: Who may sign (a role of the shop), or empty for anybody with a key.
        says: What the signature means, in the words that are signed.
        other: Whether it must be another person than who did the work.
        after_hours: The same person may sign at least so many hours later; None: never.
        waivable: Whether it may be waived, by a signature and a reason; else parts wait for it.
    """

    role: str = ""
    says: str = ""
    other: bool = False
    after_hours: int | None = None
    waivable: bool = False


@lean_dataclass(frozen=True, slots=True)
class WorkOut:
    """A value derived from readings; limits, consequences, characteristic as for a reading."""

    name: str
    unit: str
    formula: Formula
    low: Parameter | None = None
    high: Parameter | None = None
    outside: tuple[Consequence, ...] = ()
    strength_of: str = ""
    inside: tuple[Consequence, ...] = ()
    characteristic: bool = False


Detail = PlainDo | Dwell | Reading | Inspect | Hold | WorkOut


@lean_dataclass(frozen=True, slots=True)
class Window:
    """The time between the end of an earlier step and the start of this one.

    Attributes:
        after: The steps whose end starts it.
        least: Not sooner than this, or None.
        most: Not later than this, or None.
        late: What may follow when it is late, the cautious first.
        room_counts: Whether time counts while the step's vessel has no room.
    """

    after: tuple[str, ...]
    least: Parameter | None = None
    most: Parameter | None = None
    late: tuple[Consequence, ...] = ()
    room_counts: bool = True


@lean_dataclass(frozen=True, slots=True)
class Uses:
    """How much of a supply a step uses.

    Attributes:
        supply: What it is, as the needs of the procedure call it.
        amount: How much: for each part, or at a step done together for all of them at once.
        allow: What to allow for a part before the start, where the amount is not known yet.
        back: Whether it goes back instead, filtered or poured back to be used again.
    """

    supply: str
    amount: Parameter
    allow: Parameter | None = None
    back: bool = False


@lean_dataclass(frozen=True, slots=True)
class Step:
    """One step, as it is shown and as the rules read it.

    Attributes:
        id: Stable name, unique in the procedure.
        number: Its place in reading order, from 1.
        stage: The title of the stage it belongs to.
        kind: Which of the kinds it is; `detail` is of the kind's own class.
        text: The step in plain words, verb first.
        together: Whether the whole batch takes it at once.
        ahead_of: The dwell during which it may already be done, or empty.
        before_out: Whether it must be done before that dwell ends.
        left_out: Whether it is left out where it is not done when that dwell ends.
        load: The block of a load that it stands in, by key, or empty.
        window: The time since an earlier step that it must keep, or None.
        why: The reason for the step or its order.
        who: The role that may do it, or empty.
        critical: Whether its start is entered before it is done, as it cannot be undone.
        drawing: A picture file, relative to the procedure's folder, or empty.
        any_order: The group of steps whose order is free that it belongs to, or empty.
        standing: What must hold from here on; shown until a step no longer names it.
        carries_out: The id of another procedure to carry out in full, or empty.
        carries_revision: The revision of that procedure.
        carries_values: What is taken over from it: its name there, and its unit, `finding` for one.
        uses: What it uses of which supply.
        photo: Whether a photo of the parts is wanted before it is done.
        set_up: Whether it readies the place once a sitting, by the first who come to it.
        pair: Whether, done together, it is done by the parts of a pair instead of the batch.
        people: How many people it needs.
        counts_back: Whether it counts the tools back.
    """

    id: str
    number: int
    stage: str
    kind: Kind
    text: str
    detail: Detail
    together: bool = False
    ahead_of: str = ""
    before_out: bool = False
    left_out: bool = False
    load: str = ""
    window: Window | None = None
    why: str = ""
    who: str = ""
    critical: bool = False
    cautions: tuple[Hazard, ...] = ()
    drawing: str = ""
    source: str = ""
    lessons: tuple[str, ...] = ()
    any_order: str = ""
    standing: tuple[str, ...] = ()
    carries_out: str = ""
    carries_revision: int = 0
    carries_values: tuple[tuple[str, str], ...] = ()
    uses: tuple[Uses, ...] = ()
    photo: bool = False
    set_up: bool = False
    pair: bool = False
    people: int = 1
    counts_back: bool = False

    @property
    def taken_names(self) -> tuple[str, ...]:
        """The names in formulas of the values that it takes over: `crack_check.depth`."""
        own = self.id.replace("-", "_")
        return tuple(f"{own}.{name}" for name, _ in self.carries_values)

    @property
    def gathers(self) -> bool:
        """Whether a whole does it at once: the batch, or the load, but each part is looked at."""
        return self.together or (bool(self.load) and self.kind is not Kind.INSPECT)

    @property
    def shared(self) -> bool:
        """Whether all parts that do it at once get one and the same value."""
        return self.gathers or (isinstance(self.detail, Reading) and self.detail.one_for_all)

    @property
    def parameters(self) -> Iterator[Parameter]:
        """Every quantity that it gives and that may depend on something, wherever it stands."""
        for part in (self.detail, self.window, *self.uses):
            if part is not None:
                values = (getattr(part, one.name) for one in fields(part))
                yield from (value for value in values if isinstance(value, Parameter))
