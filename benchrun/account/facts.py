"""The facts of one run, as plain values: every form of the report is written from this.

Numbers are decimal strings, times are UTC as the log writes them, lengths of time are milliseconds.
"""

from dataclasses import field
from typing import Any

from benchrun.lean_dataclass import lean_dataclass


@lean_dataclass(frozen=True, slots=True)
class Who:
    """Somebody who worked on the run: the name in the log, the full name, the roles."""

    id: str
    name: str
    roles: tuple[str, ...] = ()


@lean_dataclass(frozen=True, slots=True)
class PartFacts:
    """One part and how it ended.

    Attributes:
        identity: Its cast or stamped numbers.
        kind: Which of the procedure's kinds of part it is, in words, or empty.
        pair: The number of the pair that it belongs to, or empty.
        status: in play, away, set aside, scrap or done; not done where the run is closed without.
        stands: Where it stands, in words; empty when it is done.
        questions: What nobody has settled yet.
        reason: Why it was not finished, or why it was scrapped or set aside.
    """

    part: str
    identity: str = ""
    kind: str = ""
    pair: str = ""
    size: int = 1
    status: str = ""
    stands: str = ""
    questions: tuple[str, ...] = ()
    reason: str = ""

    @property
    def known_as(self) -> str:
        """Its kind and its numbers, in words."""
        return ", ".join(word for word in (self.kind, self.identity) if word)


@lean_dataclass(frozen=True, slots=True)
class LimitOrigin:
    """Where a limit comes from.

    Attributes:
        of: `low`, `high`, or `both` where they come from the same.
        kind: `procedure` (a number in it), `standard` (a fit class, or a number whose source there
            is a standard), `figure` (of a manual or a sheet, with its page), `typed` (somebody
            typed a number that it rests on), or `worked out` (from what was measured).
        words: The same for people, with the source that the procedure gives.
    """

    of: str
    kind: str
    words: str


@lean_dataclass(slots=True)
class ReadingFacts:
    """One value of one part: measured, or worked out.

    Attributes:
        n: The entry that wrote it; with `part` and `place` it names the value for good.
        source: `reading` or `work out`.
        value, verdict, low, high: As they stand now.
        first, first_verdict: As they stood before any correction; equal to the above without one.
        uncertainty: The instrument's expanded uncertainty, in `unit`.
        corrected_by: The entry that changed it last, or None.
        correction: The reason of that correction.
        taken_back: Whether the entry was a mis-tap that was taken back.
        batch: Whether the value was read once for all parts of the entry.
        characteristic: Whether it says how the part is, and not how the work or a gauge was.
        named: Whether the instrument is one of the shop's book, so that it can be followed.
        about: What the log says of the instrument.
        calibrated, until: The day of its calibration, `unknown` where the book gave none, and the
            last day on which that is good; empty where no instrument of the book is named.
        resolution: Its smallest step, in `unit`; empty where it is not known.
        misgivings: Why a reading with it needed a reason.
        reason: The reason given with the entry.
        origins: Where the limits come from.
        shown: The value as it was measured, for people: to the smallest step of the instrument, or
            as far as the uncertainty lets it be known.
    """

    n: int
    utc: str
    by: str
    part: str
    identity: str
    step: str
    number: int
    text: str
    name: str
    place: str
    source: str
    typed: str
    value: str
    unit: str
    low: str
    high: str
    verdict: str
    first: str
    first_verdict: str
    instrument: str = ""
    uncertainty: str = ""
    corrected_by: int | None = None
    correction: str = ""
    taken_back: bool = False
    batch: bool = False
    characteristic: bool = False
    named: bool = False
    about: str = ""
    calibrated: str = ""
    until: str = ""
    resolution: str = ""
    misgivings: tuple[str, ...] = ()
    reason: str = ""
    origins: tuple[LimitOrigin, ...] = ()
    shown: str = ""


@lean_dataclass(slots=True)
class FindingFacts:
    """One finding of an inspection for one part; `first` is what was said before a correction."""

    n: int
    utc: str
    by: str
    part: str
    step: str
    number: int
    text: str
    name: str
    found: str
    first: str
    corrected_by: int | None = None
    correction: str = ""
    taken_back: bool = False


@lean_dataclass(frozen=True, slots=True)
class ConditionFacts:
    """A condition that was checked before the start; by whom and when, which older logs lack."""

    says: str
    by: str = ""
    utc: str = ""


@lean_dataclass(slots=True)
class ToolFacts:
    """A tool that was counted out before the start, and back behind the last step.

    Attributes:
        out, back: How many; `back` is None where nobody counted them back.
        missing: How many of those that came back lack.
        n: The entry that counted them back, or None.
        reason: Why the work was ended although some lack.
    """

    tool: str
    out: int
    out_by: str
    out_utc: str
    back: int | None = None
    back_by: str = ""
    back_utc: str = ""
    missing: int = 0
    n: int | None = None
    reason: str = ""


@lean_dataclass(frozen=True, slots=True)
class TendFacts:
    """One tending of a load: the entry, when, by whom."""

    n: int
    utc: str
    by: str


@lean_dataclass(slots=True)
class DwellFacts:
    """One load in a vessel, or away; a load that was lifted in pieces has a row a piece.

    Attributes:
        n_in, n_out: The entries that began and ended it; `n_out` is None while it is still in.
        where: The vessel or the place, or empty.
        least, most, aim: The limits as they were judged by.
        proven, possible: How long it was; `possible` is None where nobody can say.
        tended: How often it was tended.
        tendings: When it was, and by whom.
    """

    n_in: int
    n_out: int | None
    step: str
    number: int
    text: str
    parts: tuple[str, ...]
    where: str
    began: str
    ended: str
    least: int | None
    most: int | None
    aim: int | None
    proven: int | None = None
    possible: int | None = None
    verdict: str = ""
    tended: int = 0
    taken_back: bool = False
    tendings: tuple[TendFacts, ...] = ()


@lean_dataclass(frozen=True, slots=True)
class WitnessFacts:
    """A witness point: somebody was told, and how the notice ended for these parts.

    Attributes:
        n, utc, by: The entry that told them.
        notice: How long they were given, in milliseconds.
        n_end, ended, ended_by: The entry that ended it; None and empty while they are waited for.
        end: `came`, `not coming`, `ran out`; empty while they are waited for.
        name, behalf: Who came or sent word, and on whose behalf.
        words: The whole of how it ended in words.
    """

    n: int
    utc: str
    by: str
    step: str
    number: int
    text: str
    parts: tuple[str, ...]
    notice: int | None
    n_end: int | None = None
    ended: str = ""
    ended_by: str = ""
    end: str = ""
    name: str = ""
    behalf: str = ""
    words: str = ""
    taken_back: bool = False


@lean_dataclass(slots=True)
class ActFacts:
    """One entry as the account of the work tells it.

    Attributes:
        kind: The kind of the entry.
        number: The number of its step, None where it has none.
        text: What was done, in the words of the procedure where it has a step.
        outcomes: What came of it, for which parts.
        reason: Why it was done so.
        proved: Whether `by` was proved by a key, and not only chosen on the screen.
    """

    n: int
    utc: str
    by: str
    kind: str
    step: str
    number: int | None
    stage: str
    text: str
    parts: tuple[str, ...]
    outcomes: tuple[tuple[str, tuple[str, ...]], ...] = ()
    reason: str = ""
    taken_back: bool = False
    proved: bool = False


@lean_dataclass(frozen=True, slots=True)
class RemarkFacts:
    """A deviation, something done otherwise than the procedure says, or a doubt, not proven.

    Attributes:
        number, step: The step that it is about, or None and empty.
        what: What was done, or what is in doubt, in words.
        of: For a mis-tap the entry that was taken back, or None.
    """

    n: int
    utc: str
    by: str
    parts: tuple[str, ...]
    number: int | None
    what: str
    reason: str = ""
    step: str = ""
    of: int | None = None

    @property
    def words(self) -> str:
        """The name of it, with the entry that was taken back."""
        return self.what if self.of is None else f"entry {self.of} {self.what}"


@lean_dataclass(frozen=True, slots=True)
class CorrectionFacts:
    """A value that was put right.

    Attributes:
        n: The correction.
        of: The entry that the value stands in.
        taken_back: The entry that took the correction back, or None.
    """

    n: int
    utc: str
    by: str
    of: int
    part: str
    number: int | None
    name: str
    place: str
    was: str
    now: str
    reason: str
    taken_back: int | None = None


@lean_dataclass(slots=True)
class QuestionFacts:
    """A question that a part raised, and how it was settled.

    Attributes:
        answer: The words of the answer, empty while it stands, `withdrawn` where it fell away.
    """

    id: str
    n: int
    part: str
    number: int | None
    why: str
    says: str
    answer: str = ""
    reason: str = ""
    by: str = ""
    settled: int | None = None


@lean_dataclass(frozen=True, slots=True)
class SignFacts:
    """A person's signature.

    Attributes:
        n: The line that signs.
        says: The statement that was signed, with the full name.
        covers: How many entries lie under it.
        remarks: What the record held of these parts, as it stood beside the statement.
        role: The role in which the procedure asks for the signature, or empty.
        waived: Whether it waives the hold instead of meeting it.
        reason: Why it was waived.
    """

    n: int
    utc: str
    who: str
    name: str
    says: str
    number: int | None
    parts: tuple[str, ...]
    covers: int
    flags: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    role: str = ""
    waived: bool = False
    reason: str = ""


@lean_dataclass(frozen=True, slots=True)
class RepeatFacts:
    """How often parts went round a repeat, and when.

    Attributes:
        parts: Parts with the same history.
        rounds: For each time round: when its last step was done, and by whom.
    """

    title: str
    number: int
    text: str
    parts: tuple[str, ...]
    rounds: tuple[tuple[str, str], ...]


@lean_dataclass(frozen=True, slots=True)
class SumFacts:
    """A worked-out value with the numbers put in, for parts with the same numbers."""

    n: int
    number: int
    text: str
    name: str
    parts: tuple[str, ...]
    formula: str
    filled: str
    result: str
    was: str = ""
    verdict: str = ""
    source: str = ""


@lean_dataclass(frozen=True, slots=True)
class FigureFacts:
    """A figure of the procedure as a run had it.

    Attributes:
        value: Its number in `unit` as it stands now; empty where the run went on without it.
        first: Its number before any correction.
        document, page: Which manual or sheet says it, and where.
        book: The row of the shop's books that it was taken from; empty where it was typed.
        who, day: Who entered it in that book, and when.
        odd: Whether it lies outside the band that the procedure calls plausible.
        corrected_by, correction: The entry that changed it last, and why.
    """

    n: int
    utc: str
    by: str
    name: str
    text: str
    value: str
    unit: str
    first: str
    document: str
    page: str
    book: str
    who: str
    day: str
    odd: bool
    corrected_by: int | None = None
    correction: str = ""


@lean_dataclass(frozen=True, slots=True)
class SupplyFacts:
    """The use of a supply by an act.

    Attributes:
        amount: How much, in `unit`, as it stands now; empty where it is not known.
        first: How much before any correction.
        name: The id of the tin, bottle or bath in the shop's book; empty where there is none.
        about: Its lot and dates on that day, in words.
        misgivings: Why it was not good for this.
        back: Whether it went back instead, to be used again.
        taken_back: Whether the act was a mis-tap and was taken back.
    """

    n: int
    utc: str
    by: str
    number: int
    text: str
    parts: tuple[str, ...]
    supply: str
    amount: str
    unit: str
    first: str
    name: str
    about: str
    misgivings: tuple[str, ...]
    back: bool
    taken_back: bool


@lean_dataclass(frozen=True, slots=True)
class PhotoFacts:
    """A picture: its file in the run's folder and the digest that the log holds.

    Attributes:
        state: `agrees`, `missing`, `differs` (from the digest) or `outside` (not in photos/).
        position: What was done about the place that the picture may tell; empty in older logs.
    """

    n: int
    utc: str
    by: str
    file: str
    sha256: str
    bytes: int
    number: int | None
    text: str
    parts: tuple[str, ...]
    state: str
    position: str = ""


@lean_dataclass(frozen=True, slots=True)
class DrawingFacts:
    """A drawing of the procedure: the steps that name it, its copy in the run's folder.

    Attributes:
        state: As for a picture: `agrees`, `missing`, `differs` or `outside`.
    """

    name: str
    file: str
    sha256: str
    bytes: int
    steps: tuple[tuple[int, str], ...]
    state: str


@lean_dataclass(frozen=True, slots=True)
class WordFacts:
    """A note or a lesson."""

    n: int
    utc: str
    by: str
    kind: str
    text: str
    number: int | None
    step: str = ""
    parts: tuple[str, ...] = ()


@lean_dataclass(frozen=True, slots=True)
class CloseLineFacts:
    """One line of the close: what is put back, or what follows, and how it was ticked last.

    Attributes:
        n: The entry; None where nobody has ticked it yet.
        sort: `restore` or `follow on`.
        done: Whether it is done.
        reason: Why it is not.
    """

    n: int | None
    utc: str
    by: str
    sort: str
    text: str
    done: bool
    reason: str = ""


@lean_dataclass(slots=True)
class RunFacts:
    """Everything that a report says of one run.

    Attributes:
        dated, use: The day of the procedure's revision, and its level of use.
        release: The number of the procedure's last hold, which releases its parts; None without.
    """

    run: str
    title: str
    procedure: str
    revision: int
    status: str
    scope: str
    applies_to: str
    procedure_sha256: str
    sources: dict[str, str]
    shop: str
    program: str
    rehearsal: str
    register_head: str
    began: str
    last: str
    closed: bool
    stopped: str
    entries: int
    head: str
    log_sha256: str
    sealed: bool
    seals: int
    people: tuple[Who, ...]
    conditions: tuple[str, ...] = ()
    checked: tuple[ConditionFacts, ...] = ()
    tools: list[ToolFacts] = field(default_factory=list)
    first_aid: tuple[str, ...] = ()
    not_kept: tuple[str, ...] = ()
    release: int | None = None
    dated: str = ""
    use: str = ""
    parts: tuple[PartFacts, ...] = ()
    acts: list[ActFacts] = field(default_factory=list)
    readings: list[ReadingFacts] = field(default_factory=list)
    findings: list[FindingFacts] = field(default_factory=list)
    dwells: list[DwellFacts] = field(default_factory=list)
    witnesses: list[WitnessFacts] = field(default_factory=list)
    repeats: list[RepeatFacts] = field(default_factory=list)
    sums: list[SumFacts] = field(default_factory=list)
    signatures: list[SignFacts] = field(default_factory=list)
    deviations: list[RemarkFacts] = field(default_factory=list)
    corrections: list[CorrectionFacts] = field(default_factory=list)
    questions: list[QuestionFacts] = field(default_factory=list)
    doubts: list[RemarkFacts] = field(default_factory=list)
    supplies: list[SupplyFacts] = field(default_factory=list)
    figures: list[FigureFacts] = field(default_factory=list)
    drawings: list[DrawingFacts] = field(default_factory=list)
    photos: list[PhotoFacts] = field(default_factory=list)
    notes: list[WordFacts] = field(default_factory=list)
    lessons: list[WordFacts] = field(default_factory=list)
    close_lines: tuple[CloseLineFacts, ...] = ()
    verdict: dict[str, Any] | None = None

    @property
    def approval(self) -> str:
        """Who approved the procedure, as checking the record found it; empty where nobody did."""
        found = (self.verdict or {}).get("approval") or {}
        return str(found.get("words", ""))

    @property
    def approval_calls(self) -> bool:
        """Whether its approval lacks or does not hold."""
        found = (self.verdict or {}).get("approval") or {}
        return bool(found.get("calls"))

    @property
    def open_questions(self) -> int:
        """How many questions nobody has settled."""
        return sum(not question.answer for question in self.questions)

    def name_of(self, by: str) -> str:
        """The full name of somebody in the log, or the name in the log itself."""
        return next((person.name for person in self.people if person.id == by), by)
