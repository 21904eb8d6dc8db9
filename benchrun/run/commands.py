"""Commands to a run: one shape for each, and the refusal that may come back.

`seen` is the last entry that whoever gives the command had seen; a part that was touched since
makes the command stale.
"""

from collections.abc import Mapping
from dataclasses import field
from enum import StrEnum

from benchrun.lean_dataclass import lean_dataclass
from benchrun.run.entries import (
    AsideFile,
    Carried,
    FigureSpec,
    NoticeEnd,
    PartSpec,
    Position,
    Remark,
    Tool,
    ToolCount,
    Use,
)


@lean_dataclass(frozen=True, slots=True)
class Hand:
    """Who gives a command: the name in the log, the full name, the roles in the shop."""

    id: str
    name: str = ""
    roles: frozenset[str] = frozenset()


class Want(StrEnum):
    """The thing that a refused command lacks to be accepted."""

    OTHER = ""
    REASON = "reason"
    FIGURE = "figure"


@lean_dataclass(frozen=True, slots=True)
class Refusal:
    """Why a command is not taken, in plain words, and what would be.

    Attributes:
        want: What the same command needs beside, if that is all it lacks.
    """

    text: str
    want: Want = Want.OTHER


@lean_dataclass(frozen=True, slots=True)
class Open:
    """Begin the run with these parts."""

    parts: tuple[PartSpec, ...]
    about: Mapping[str, object] = field(default_factory=dict)
    figures: tuple[FigureSpec, ...] = ()
    tools_out: tuple[ToolCount, ...] = ()


@lean_dataclass(frozen=True, slots=True)
class KeepFigure:
    """Enter a figure of the procedure; its number follows from what is typed."""

    figure: FigureSpec


@lean_dataclass(frozen=True, slots=True)
class Add:
    """Let a part join, from the beginning or at a step."""

    part: PartSpec
    step: str = ""
    waited: bool = True
    reason: str = ""


@lean_dataclass(frozen=True)
class Do:
    """Carry out a do, reading, inspect, work out or hold.

    Attributes:
        typed: The reading as typed.
        finding: The finding chosen at an inspection.
        uses: Which tin each supply comes from; `typed` in one is the amount that was really used.
        remarks: At a hold, what whoever signs is shown of the record.
        vessel: The vessel that a load takes which this makes; empty: the first that has room.
        carried: The run that carried the procedure out which this step names.
        waives: Whether a hold is waived instead of met.
        tools_back: How many of each tool came back, where the step counts them back.
    """

    step: str
    parts: tuple[str, ...]
    seen: int
    typed: str = ""
    finding: str = ""
    tool: Tool | None = None
    reason: str = ""
    uses: tuple[Use, ...] = ()
    remarks: tuple[Remark, ...] = ()
    vessel: str = ""
    carried: Carried | None = None
    waives: bool = False
    tools_back: tuple[ToolCount, ...] = ()


@lean_dataclass(frozen=True, slots=True)
class Begin:
    """Enter the start of a step that cannot be undone, before it is done."""

    step: str
    parts: tuple[str, ...]
    seen: int
    reason: str = ""
    vessel: str = ""


@lean_dataclass(frozen=True, slots=True)
class PutIn:
    """Begin a dwell with these parts as one load; `ago` milliseconds ago at most.

    Attributes:
        vessel: The vessel that the load takes where this makes it; empty: the first with room.
    """

    step: str
    parts: tuple[str, ...]
    seen: int
    reason: str = ""
    ago: int = 0
    uses: tuple[Use, ...] = ()
    vessel: str = ""


@lean_dataclass(frozen=True, slots=True)
class Tell:
    """Tell whoever may witness a step to come; `vessel` as for `PutIn`."""

    step: str
    parts: tuple[str, ...]
    seen: int
    reason: str = ""
    vessel: str = ""


@lean_dataclass(frozen=True, slots=True)
class EndNotice:
    """End a witness point of these parts: who came or sent word, or that the notice ran out.

    Attributes:
        name: Who came, or who sent word.
        behalf: On whose behalf.
    """

    parts: tuple[str, ...]
    seen: int
    end: NoticeEnd
    name: str = ""
    behalf: str = ""


@lean_dataclass(frozen=True, slots=True)
class Lift:
    """End the dwell of these parts; `ago` milliseconds ago at most."""

    parts: tuple[str, ...]
    seen: int
    reason: str = ""
    ago: int = 0


@lean_dataclass(frozen=True, slots=True)
class Tend:
    """Tend what is in a vessel."""

    parts: tuple[str, ...]
    seen: int


@lean_dataclass(frozen=True, slots=True)
class Skip:
    """Leave out the step at which these parts stand."""

    step: str
    parts: tuple[str, ...]
    seen: int
    reason: str = ""


@lean_dataclass(frozen=True, slots=True)
class Raise:
    """Raise a question: something is not right and must be settled first."""

    parts: tuple[str, ...]
    seen: int
    says: str


@lean_dataclass(frozen=True, slots=True)
class FindLate:
    """Ask what to do about parts whose window before a step has closed, or may have."""

    step: str
    parts: tuple[str, ...]
    seen: int


@lean_dataclass(frozen=True, slots=True)
class Settle:
    """Answer a question of each of these parts with the same answer.

    Attributes:
        questions: For each part which question.
    """

    parts: tuple[str, ...]
    seen: int
    questions: Mapping[str, str]
    code: str
    reason: str = ""


@lean_dataclass(frozen=True, slots=True)
class Put:
    """Put parts `aside`, into `play`, to `scrap`, or back to a step."""

    parts: tuple[str, ...]
    seen: int
    to: str
    reason: str = ""


@lean_dataclass(frozen=True, slots=True)
class GetBack:
    """Take back in parts that were away without a plan."""

    parts: tuple[str, ...]
    seen: int
    reason: str = ""


@lean_dataclass(frozen=True, slots=True)
class Correct:
    """Put right a value of an earlier entry.

    Attributes:
        tool: The instrument, where it was another one than told; None leaves the uncertainty.
        seen: As for every command; None where whoever corrects has not looked at the part.
    """

    of: int
    part: str
    reason: str
    typed: str = ""
    finding: str = ""
    place: str = ""
    tool: Tool | None = None
    seen: int | None = None
    document: str = ""
    page: str = ""


@lean_dataclass(frozen=True, slots=True)
class Retract:
    """Take back a mis-tap."""

    of: int
    seen: int
    reason: str = ""


@lean_dataclass(frozen=True, slots=True)
class Stop:
    """Stop the run."""

    reason: str


@lean_dataclass(frozen=True, slots=True)
class Resume:
    """Take the run up again."""

    reason: str = ""


@lean_dataclass(frozen=True, slots=True)
class CountBack:
    """Count the tools back, where no step did or what it counted was wrong."""

    tools_back: tuple[ToolCount, ...]
    reason: str = ""


@lean_dataclass(frozen=True, slots=True)
class TickLine:
    """Tick a line of the close as done, or as not done for a reason."""

    sort: str
    line: int
    done: bool = True
    reason: str = ""


@lean_dataclass(frozen=True, slots=True)
class Close:
    """Close the run; a reason for each part that is neither done nor scrapped.

    Attributes:
        remarks: What whoever signs is shown of the record.
    """

    reasons: Mapping[str, str] = field(default_factory=dict)
    says: str = ""
    remarks: tuple[Remark, ...] = ()


@lean_dataclass(frozen=True, slots=True)
class SignOff:
    """Sign the hold, or the close, that stands in the line just before."""

    who: str
    sshsig: str


@lean_dataclass(frozen=True, slots=True)
class KeepNote:
    """Write something down."""

    text: str
    step: str = ""
    parts: tuple[str, ...] = ()


@lean_dataclass(frozen=True, slots=True)
class KeepPhoto:
    """Keep a picture that was copied into the run's folder."""

    file: str
    sha256: str
    bytes: int
    step: str = ""
    text: str = ""
    parts: tuple[str, ...] = ()
    position: Position = Position.UNSAID


@lean_dataclass(frozen=True, slots=True)
class KeepLesson:
    """Keep a lesson on a step."""

    text: str
    step: str


@lean_dataclass(frozen=True, slots=True)
class KeepBeat:
    """Give a sign of life, with the sleep or clock step noticed since the last one."""

    slept: int = 0
    stepped: int = 0


@lean_dataclass(frozen=True, slots=True)
class KeepSeal:
    """Seal the log so far."""

    sshsig: str
    who: str
    why: str


@lean_dataclass(frozen=True, slots=True)
class KeepRecovered:
    """Say what was set aside when the log was opened."""

    files: tuple[AsideFile, ...]


@lean_dataclass(frozen=True, slots=True)
class KeepDoubt:
    """Go on although something that was kept before does not hold, for a reason."""

    findings: tuple[str, ...]
    reason: str


Command = (
    Open
    | KeepFigure
    | Add
    | Begin
    | Do
    | PutIn
    | Lift
    | Tell
    | EndNotice
    | Tend
    | Skip
    | Raise
    | FindLate
    | Settle
    | Put
    | GetBack
    | Correct
    | Retract
    | Stop
    | Resume
    | CountBack
    | TickLine
    | Close
    | SignOff
    | KeepNote
    | KeepPhoto
    | KeepLesson
    | KeepBeat
    | KeepSeal
    | KeepRecovered
    | KeepDoubt
)
