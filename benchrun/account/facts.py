"""The facts of one run, as plain values: every form of the report is written from this.

Those of its values stand in `value_facts`, those of what was done in `act_facts`.

Numbers are decimal strings, times are UTC as the log writes them, lengths of time are milliseconds.
"""

from dataclasses import field
from typing import Any

from benchrun.account.act_facts import (
    ActFacts,
    ConditionFacts,
    DwellFacts,
    RepeatFacts,
    SupplyFacts,
    ToolFacts,
    WitnessFacts,
)
from benchrun.account.value_facts import (
    CorrectionFacts,
    FigureFacts,
    FindingFacts,
    ReadingFacts,
    SumFacts,
)
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
    def open_questions(self) -> int:
        """How many questions nobody has settled."""
        return sum(not question.answer for question in self.questions)

    def name_of(self, by: str) -> str:
        """The full name of somebody in the log, or the name in the log itself."""
        return next((person.name for person in self.people if person.id == by), by)
