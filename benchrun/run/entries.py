"""Entries of the log: one shape for each kind of entry, with its outcome for every part named.

Entries carry what came of an act (verdicts, limits, which way each fork fell, questions raised and
withdrawn), so that folding follows what is recorded and evaluates nothing.
"""

from collections.abc import Iterable, Mapping
from dataclasses import field
from typing import Any, ClassVar, Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.run import outcomes
from benchrun.run.codec import BadData, from_data, to_data

PartSpec = outcomes.PartSpec
FigureSpec = outcomes.FigureSpec
Tool = outcomes.Tool
Use = outcomes.Use
Given = outcomes.Given
Input = outcomes.SumInput
Origin = outcomes.Origin
WindowTimes = outcomes.WindowTimes
Revision = outcomes.Revision
Carried = outcomes.Carried
CarriedPart = outcomes.CarriedPart
Relimit = outcomes.Relimit
ToolCount = outcomes.ToolCount
Ruling = outcomes.Ruling
Outcome = outcomes.Outcome
NOTHING = outcomes.NOTHING
Position = outcomes.Position
NoticeEnd = outcomes.NoticeEnd
AsideFile = outcomes.AsideFile
Remark = outcomes.Remark
Each = Mapping[str, Outcome]


@lean_dataclass(frozen=True, slots=True)
class Opened:
    """The first line: the parts and, in `about`, everything else that the run says of itself."""

    KIND: ClassVar = "open"
    parts: tuple[PartSpec, ...]
    each: Each = field(default_factory=dict)
    about: Mapping[str, object] = field(default_factory=dict)
    figures: tuple[FigureSpec, ...] = ()
    tools_out: tuple[ToolCount, ...] = ()


@lean_dataclass(frozen=True, slots=True)
class Figured:
    """A figure of the procedure, entered when the first step needed it."""

    KIND: ClassVar = "figure"
    figure: FigureSpec


@lean_dataclass(frozen=True, slots=True)
class Added:
    """A part that came late: at the start, or joining at `step` with a reason."""

    KIND: ClassVar = "add"
    part: PartSpec
    step: str = ""
    waited: bool = True
    reason: str = ""
    each: Each = field(default_factory=dict)


@lean_dataclass(frozen=True)
class Did:
    """A do, reading, inspect, work out or hold.

    Attributes:
        place: Which place of a reading.
        without: Parts that a step done together left behind, with a reason.
        flags: What a reader must know of how it was done.
        inputs: What a worked-out value was worked out from.
        says: The statement of a hold.
        uses: What it used of the shop's supplies.
        remarks: At a hold, what the record held of its parts since they were last signed for.
        vessel: The vessel that the load takes, at the step that makes the load.
        set_up: The entry that readied the place in this sitting already, which still holds.
        carried: The run that carried another procedure out.
        waived: Whether a hold was let go by without being met.
        tools_back: The tools that were counted back.
    """

    KIND: ClassVar = "do"
    step: str
    parts: tuple[str, ...]
    each: Each = field(default_factory=dict)
    place: str = ""
    reason: str = ""
    without: tuple[str, ...] = ()
    flags: tuple[str, ...] = ()
    tool: Tool | None = None
    inputs: tuple[Input, ...] = ()
    says: str = ""
    uses: tuple[Use, ...] = ()
    remarks: tuple[Remark, ...] = ()
    vessel: str = ""
    set_up: int | None = None
    carried: Carried | None = None
    waived: bool = False
    tools_back: tuple[ToolCount, ...] = ()


@lean_dataclass(frozen=True, slots=True)
class Begun:
    """The start of a step that cannot be undone: its cautions are read, it is about to be done.

    Attributes:
        each: For a part whose window ended by it, how that was kept.
        flags: What a reader must know of how it was begun.
    """

    KIND: ClassVar = "begin"
    step: str
    parts: tuple[str, ...]
    reason: str = ""
    each: Each = field(default_factory=dict)
    flags: tuple[str, ...] = ()


@lean_dataclass(frozen=True, slots=True)
class WentIn:
    """The start of a dwell, in a vessel or away as planned."""

    KIND: ClassVar = "in"
    step: str
    parts: tuple[str, ...]
    each: Each = field(default_factory=dict)
    vessel: str = ""
    reason: str = ""
    ago: int = 0
    without: tuple[str, ...] = ()
    flags: tuple[str, ...] = ()
    uses: tuple[Use, ...] = ()


@lean_dataclass(frozen=True)
class CameOut:
    """The end of a dwell.

    Attributes:
        flags: What a reader must know of how it was done.
    """

    KIND: ClassVar = "out"
    step: str
    parts: tuple[str, ...]
    each: Each = field(default_factory=dict)
    reason: str = ""
    ago: int = 0
    flags: tuple[str, ...] = ()


@lean_dataclass(frozen=True, slots=True)
class Told:
    """Somebody told of a step to come: their notice runs from here.

    Attributes:
        each: For each part how long the notice is, `least`.
        vessel: The vessel that the load takes, at the step that makes the load.
        without: Parts that a step done together left behind, with a reason.
        flags: What a reader must know of how it was done.
    """

    KIND: ClassVar = "tell"
    step: str
    parts: tuple[str, ...]
    each: Each = field(default_factory=dict)
    vessel: str = ""
    reason: str = ""
    without: tuple[str, ...] = ()
    flags: tuple[str, ...] = ()


@lean_dataclass(frozen=True, slots=True)
class Witnessed:
    """The end of a witness point.

    Attributes:
        end: Whether somebody came, sent word that nobody comes, or the notice ran out.
        name: Who came, or who sent word; empty where the notice ran out.
        behalf: On whose behalf, or empty.
        flags: What a reader must know of how it ended.
    """

    KIND: ClassVar = "witness"
    step: str
    parts: tuple[str, ...]
    end: NoticeEnd
    name: str = ""
    behalf: str = ""
    each: Each = field(default_factory=dict)
    flags: tuple[str, ...] = ()


@lean_dataclass(frozen=True, slots=True)
class Tended:
    """The tending of what is in a vessel."""

    KIND: ClassVar = "tend"
    step: str
    parts: tuple[str, ...]


@lean_dataclass(frozen=True, slots=True)
class Skipped:
    """A step left out, with the reason."""

    KIND: ClassVar = "skip"
    step: str
    parts: tuple[str, ...]
    reason: str
    each: Each = field(default_factory=dict)


@lean_dataclass(frozen=True, slots=True)
class Asked:
    """A question that arose without an act: a window found late, or raised by a person."""

    KIND: ClassVar = "ask"
    step: str
    parts: tuple[str, ...]
    each: Each = field(default_factory=dict)
    says: str = ""


@lean_dataclass(frozen=True, slots=True)
class Answered:
    """The answer to a question, for one or more parts that have the same one."""

    KIND: ClassVar = "answer"
    parts: tuple[str, ...]
    code: str
    each: Each = field(default_factory=dict)
    reason: str = ""


@lean_dataclass(frozen=True, slots=True)
class Moved:
    """Parts put aside, back in play, to scrap, or back to a step."""

    KIND: ClassVar = "put"
    parts: tuple[str, ...]
    to: str
    reason: str = ""
    each: Each = field(default_factory=dict)


@lean_dataclass(frozen=True, slots=True)
class GotBack:
    """Parts back from being away without a plan."""

    KIND: ClassVar = "got"
    parts: tuple[str, ...]
    reason: str = ""


@lean_dataclass(frozen=True, slots=True)
class Corrected:
    """A wrong value put right: it names the entry, keeps both, and judges again what hung on it.

    Attributes:
        part: Whose it is; empty for a figure, which `place` names.
        document, page: Where a figure that is put right stands now.
    """

    KIND: ClassVar = "correct"
    of: int
    part: str
    given: Given
    reason: str
    parts: tuple[str, ...]
    place: str = ""
    each: Each = field(default_factory=dict)
    tool: Tool | None = None
    document: str = ""
    page: str = ""


@lean_dataclass(frozen=True, slots=True)
class Retracted:
    """A mis-tap taken back: the earlier selves of its parts are restored."""

    KIND: ClassVar = "retract"
    of: int
    parts: tuple[str, ...]
    reason: str = ""


@lean_dataclass(frozen=True, slots=True)
class Stopped:
    """The run stopped: nothing starts until it is resumed."""

    KIND: ClassVar = "stop"
    reason: str


@lean_dataclass(frozen=True, slots=True)
class Resumed:
    """The run taken up again."""

    KIND: ClassVar = "resume"
    reason: str = ""


@lean_dataclass(frozen=True, slots=True)
class CountedBack:
    """Tools counted back beside the step that does so: at a close no part comes to it any more.

    Attributes:
        tools_back: How many of each tool came back.
        reason: Why some are missing.
        flags: Which are missing.
    """

    KIND: ClassVar = "count"
    tools_back: tuple[ToolCount, ...]
    reason: str = ""
    flags: tuple[str, ...] = ()


@lean_dataclass(frozen=True, slots=True)
class Ticked:
    """One line of the close: what is put back, or follows, done or not done.

    Attributes:
        sort: `restore` or `follow on`.
        line: Its place in that list, from 1.
        text: Its words in the procedure.
        reason: Why it is not done.
    """

    KIND: ClassVar = "tick"
    sort: str
    line: int
    text: str
    done: bool = True
    reason: str = ""


@lean_dataclass(frozen=True, slots=True)
class Closed:
    """The run closed, with a reason for each part that is neither done nor scrapped.

    It counts when its statement, `says`, is signed in the very next line.

    Attributes:
        remarks: What the record held of the parts since they were last signed for.
    """

    KIND: ClassVar = "close"
    reasons: Mapping[str, str] = field(default_factory=dict)
    says: str = ""
    remarks: tuple[Remark, ...] = ()


@lean_dataclass(frozen=True, slots=True)
class Beat:
    """A sign of life while a clock runs; says when sleep or a clock step was noticed."""

    KIND: ClassVar = "beat"
    slept: int = 0
    stepped: int = 0


@lean_dataclass(frozen=True, slots=True)
class Note:
    """Something written down."""

    KIND: ClassVar = "note"
    text: str
    step: str = ""
    parts: tuple[str, ...] = ()


@lean_dataclass(frozen=True, slots=True)
class Photo:
    """A picture copied into the run's folder; `position` says what the copy tells of the place."""

    KIND: ClassVar = "photo"
    file: str
    sha256: str
    bytes: int
    step: str = ""
    text: str = ""
    parts: tuple[str, ...] = ()
    position: Position = Position.UNSAID


@lean_dataclass(frozen=True, slots=True)
class Lesson:
    """A lesson of a step: what went wrong or better, for whoever comes to it next."""

    KIND: ClassVar = "lesson"
    text: str
    step: str


@lean_dataclass(frozen=True, slots=True)
class Recovered:
    """Fragments and ended files that were set aside when the log was opened."""

    KIND: ClassVar = "recovered"
    files: tuple[AsideFile, ...]


@lean_dataclass(frozen=True, slots=True)
class Doubted:
    """Somebody's decision to go on although something that was kept before does not hold.

    Attributes:
        findings: What does not hold, each with its entry.
        reason: Why the run goes on all the same.
    """

    KIND: ClassVar = "doubt"
    findings: tuple[str, ...]
    reason: str


@lean_dataclass(frozen=True, slots=True)
class Sealed:
    """The station's signature over the whole log before this line.

    Attributes:
        format: The number of the log's format from here on, where a later program than the one that
            began the run takes it up; 0 where it stays what it was.
        notes: What the program found broken off when it took the run up, and put right.
        program: Name, version and build of the program that took the run up; empty in other seals.
        files: At the close, what was laid beside the log so that it can be read without this
            program: the page of its format and a reader.
    """

    KIND: ClassVar = "seal"
    sshsig: str
    who: str
    why: str
    format: int = 0
    notes: tuple[str, ...] = ()
    program: str = ""
    files: tuple[AsideFile, ...] = ()


@lean_dataclass(frozen=True, slots=True)
class Signed:
    """A person's signature over the whole log before this line; `of` is the line just before."""

    KIND: ClassVar = "sign"
    of: int
    who: str
    sshsig: str
    parts: tuple[str, ...] = ()


Data = (
    Opened
    | Figured
    | Added
    | Begun
    | Did
    | WentIn
    | CameOut
    | Told
    | Witnessed
    | Tended
    | Skipped
    | Asked
    | Answered
    | Moved
    | GotBack
    | Corrected
    | Retracted
    | Stopped
    | Resumed
    | CountedBack
    | Ticked
    | Closed
    | Beat
    | Note
    | Photo
    | Lesson
    | Recovered
    | Doubted
    | Sealed
    | Signed
)
KINDS: Mapping[str, type[Any]] = {cls.KIND: cls for cls in Data.__args__}


@lean_dataclass(frozen=True, slots=True)
class Entry:
    """One line of the log as the rules see it."""

    n: int
    at: Moment
    by: str
    data: Data

    @property
    def kind(self) -> str:
        """The kind, as the line names it."""
        return self.data.KIND


def data_of(data: Data) -> dict[str, Any]:
    """The `data` of a line."""
    plain: dict[str, Any] = to_data(data)
    if isinstance(data, Opened):
        plain = {**plain.pop("about", {}), **plain}
    return plain


_OF_OPENED: Final = ("parts", "each", "figures", "tools_out")


def read_data(kind: str, plain: Mapping[str, Any]) -> Data:
    """Read the `data` of a line of a kind.

    Raises:
        BadData: The kind is unknown or the data has not its form.
    """
    cls = KINDS.get(kind)
    if cls is None:
        raise BadData(f"no entry is of the kind {kind[:40]!r}")
    if cls is Opened:
        about = {key: value for key, value in plain.items() if key not in _OF_OPENED}
        plain = {**{k: plain[k] for k in _OF_OPENED if k in plain}, "about": about}
    result: Data = from_data(cls, plain)
    return result


def unsigned(entries: Iterable[Entry]) -> frozenset[int]:
    """The numbers of holds and closes that nobody signed, so that they count for nothing.

    The last entry of a log may be one that is about to be signed.
    """
    statements = Statements()
    for entry in entries:
        statements.take(entry)
    return frozenset(statements.unsigned)


class Statements:
    """Takes entry after entry.

    Attributes:
        unsigned: The numbers of holds and closes that nobody signed up to now.
    """

    def __init__(self) -> None:
        self.unsigned: set[int] = set()

    def take(self, entry: Entry) -> None:
        """Take the next entry."""
        if isinstance(entry.data, (Did, Closed)) and entry.data.says:
            self.unsigned.add(entry.n)
        elif isinstance(entry.data, Signed) and entry.data.of == entry.n - 1:
            self.unsigned.discard(entry.data.of)
