"""A run at one moment: the markers of its parts and what they carry, all immutable.

Only a draft of a marker or a run, which nobody else has yet, is written to: see `drafts.py`.
"""

from collections.abc import Mapping
from dataclasses import field, replace
from decimal import Decimal
from enum import StrEnum
from typing import Any, Final, TypeVar, cast

from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Mark, Moment, Timeline
from benchrun.procedure.route import Act, Route
from benchrun.run.course import Course, Place, position_key

ORIGINS_SINCE: Final = 2
"""The number of the log's format from which on entries tell what their limits come from."""

WRITTEN_ONLY_SINCE: Final = 2
"""The number from which on a question takes only what the procedure lets follow."""

CARRIED_SINCE: Final = 2
"""The number from which on a step that carries out another procedure names the run of it."""

HOLDS_SINCE: Final = 3
"""The number from which on a hold yields to its signature or a signed waiver alone, and a step that
cannot be undone is begun by an entry of its own."""

WITNESS_SINCE: Final = 4
"""The number from which on a witness point has entries of its own and is never early."""

TICKS_SINCE: Final = 4
"""The number from which on the lines of the close are ticked before the release is signed."""

WAIVER_SINCE: Final = 4
"""The number from which on whoever waives a hold has not worked on its parts by that."""

CALIBRATION_SINCE: Final = 4
"""The number from which on a reading says that it lacked the calibrated instrument it wants."""

BOOKLESS_SINCE: Final = 5
"""The number from which on a shop without a book of instruments is told once, and not at each
reading that wants a calibrated one."""

COUNTED_SINCE: Final = 5
"""The number from which on no run is closed with tools that nobody counted back."""

ValueKey = tuple[str, str]
T = TypeVar("T")


class Status(StrEnum):
    """Where a part is in the life of the run."""

    PLAY = "in play"
    AWAY = "away"
    ASIDE = "set aside"
    SCRAP = "scrap"
    DONE = "done"


class Ask(StrEnum):
    """Why a question stands."""

    FINDING = "finding"
    OUTSIDE = "outside"
    DOUBT = "in doubt"
    INSIDE = "inside"
    EARLY = "early"
    LATE = "late"
    EARLY_OR_LATE = "early or late"
    WINDOW = "window late"
    GUARD = "guard unknown"
    REPEAT = "repeat"
    CHANGED = "changed"
    RAISED = "raised"


GO_ON: Final = "go on"
_SETTLED_BY_THEIR_OWN: Final = frozenset({Ask.GUARD, Ask.REPEAT, Ask.CHANGED, Ask.RAISED})


@lean_dataclass(frozen=True, slots=True)
class Value:
    """A reading, a finding or a worked-out value of one part.

    Attributes:
        part: Whose it is; empty for a figure, which is the whole run's.
        n: The entry that wrote it; with `part` and `place` it names the value for good.
        step: The step that wrote it; empty for what is known from the begin.
        number: The value in `unit`, or None for a finding, which is `word`.
        doubt: The instrument's expanded uncertainty in `unit` (0: none known).
        where: The place on the course where it was written.
        inputs: For a worked-out value, the values it was worked out from.
    """

    n: int
    part: str
    step: str
    name: str
    place: str
    number: Decimal | None
    unit: str
    word: str
    typed: str
    where: tuple[int, ...]
    doubt: Decimal = Decimal(0)
    inputs: tuple["Value", ...] = ()

    @property
    def absent(self) -> bool:
        """Whether it is a figure that the run goes on without."""
        return not self.part and self.number is None

    @property
    def key(self) -> ValueKey:
        """Under what a marker keeps it."""
        return (self.name, self.place)

    @property
    def id(self) -> tuple[int, str, str]:
        """The name by which a correction means it; of what no step wrote, by its own name."""
        return (self.n, self.part, self.place if self.step or self.place else self.name)


@lean_dataclass(frozen=True, slots=True)
class Soak:
    """A part in a vessel, or sent out as planned: a start without its end yet.

    Attributes:
        load: The entry that put it in; parts with the same one are one load.
        least, most: The limits in milliseconds as they were at going in, or corrected since.
        mark: When it went in; `ago_ms` earlier at most, when it was told late.
        tended: When it was tended last.
        carried_ms: Proven and possible time of earlier spells that add up (possible None: unknown).
        inputs: The readings that the limits come from.
        aim, every: The time to aim for and the interval of tending, where they come from readings.
    """

    step: str
    load: int
    least: int | None
    most: int | None
    mark: Mark
    tended: Mark
    ago_ms: int = 0
    carried_ms: tuple[int, int | None] = (0, 0)
    inputs: tuple[Value, ...] = ()
    aim: int | None = None
    every: int | None = None


@lean_dataclass(frozen=True, slots=True)
class LoadPlace:
    """The load that a part is of, from its first step to its last.

    Attributes:
        key: The block of the procedure that it goes through.
        n: The entry that made the load; parts with the same one are one load.
        vessel: The vessel that it has.
        passes: The passes of the repeats that the block stands in.
    """

    key: str
    n: int
    vessel: str
    passes: tuple[int, ...] = ()


@lean_dataclass(frozen=True, slots=True)
class Room:
    """The room in a vessel from an entry on: what is left, and whether nothing is in it."""

    vessel: str
    n: int
    mark: Mark
    left: int | None
    empty: bool


@lean_dataclass(frozen=True, slots=True)
class WindowClock:
    """The time since an earlier step that a later one must keep.

    Attributes:
        least_from, most_from: When each limit began to count; a late detour restarts `most` only.
        where: The place on the course of the step that started it.
        settled: The ruling that was answered so that the step may start: late, perhaps late, or
            none of them. What becomes certainly late later is asked again.
        ago_ms: How much earlier it may have begun, as the step that started it was told late.
    """

    least_from: Mark
    most_from: Mark
    where: tuple[int, ...]
    settled: str = ""
    ago_ms: int = 0


@lean_dataclass(frozen=True, slots=True)
class EndMark:
    """The moment at which a part ended a step: `ago_ms` earlier at most, and where it stood."""

    mark: Mark
    ago_ms: int
    where: tuple[int, ...]


@lean_dataclass(frozen=True, slots=True)
class Answer:
    """One answer that a question accepts.

    Attributes:
        code: What a command gives to choose it.
        act: What follows.
        to: The step or the place it leads to; for a fork, which way (`true`, `again` and so on).
            Rework without a step goes back to the fork that the question is about.
        most: How many times a part may take it, or None.
        reason: Whether it must be given with a reason.
        text: The words shown.
    """

    code: str
    act: Act
    text: str
    to: str = ""
    most: int | None = None
    reason: bool = False


@lean_dataclass(frozen=True, slots=True)
class Question:
    """Something a person must settle before a part goes on.

    Attributes:
        id: Unique in the run: the entry that raised it and a count.
        index: The op of the course where it was raised.
        gate: Whether the part's present step is finished only by its answer.
        about: The key of the decision it is about, or empty.
        today: For a changed decision, how it would be ruled today; for a window, how it stood.
    """

    id: str
    ask: Ask
    step: str
    index: int
    says: str
    answers: tuple[Answer, ...]
    gate: bool = True
    about: str = ""
    today: str = ""

    def answer(self, code: str) -> Answer | None:
        """The answer of a code: one that is offered, or to go on all the same, as a deviation."""
        for answer in self.answers:
            if answer.code == code:
                return answer
        if code == GO_ON and self.ask not in _SETTLED_BY_THEIR_OWN:
            to = "over" if self.ask is Ask.WINDOW else ""
            return Answer(GO_ON, Act.GO_ON, "Go on anyway", to, None, reason=True)
        return None

    @property
    def may_go_on(self) -> bool:
        """Whether it can be gone on from, though that is not among its answers."""
        return self.answer(GO_ON) is not None and all(one.code != GO_ON for one in self.answers)


@lean_dataclass(frozen=True, slots=True)
class Decision:
    """A ruling that was made from values, kept so that a correction can be judged against it.

    Attributes:
        index, passes: Where on the course it was made; `key` is its name within its part.
        sort: limit, finding, dwell, window, guard or repeat.
        ruled: What the rules said then.
        acted: What was acted on (`ruled`, unless a person answered otherwise).
        answered: Later rulings that a person has answered with letting it stand.
        inputs: The values that it read.
        spent_ms: For a dwell or a window, the proven and the possible time.
        spent_most_ms: For a window, the time that counts against its upper limit.
    """

    index: int
    passes: tuple[int, ...]
    sort: str
    ruled: str
    acted: str
    inputs: tuple[Value, ...] = ()
    answered: tuple[str, ...] = ()
    spent_ms: tuple[int, int | None] | None = None
    spent_most_ms: tuple[int, int | None] | None = None

    @property
    def key(self) -> str:
        """Its name within its part; the window of a step has one beside that of the step."""
        key = position_key(self.index, self.passes)
        return f"{key}/window" if self.sort == "window" else key

    def accepts(self, ruling: str) -> bool:
        """Whether a ruling of today needs no question."""
        return ruling in (self.ruled, self.acted) or ruling in self.answered


@lean_dataclass(frozen=True, slots=True)
class Marker:
    """One part on the course, with everything that is its own.

    Attributes:
        index, passes: Its position: an op, and the pass of each repeat it stands in.
        waited: Whether steps done together wait for it.
        soak: Its open occupancy, or None.
        load: The load that it is of, or None.
        ready_since: The entry and the moment from which on it stands where it is and may begin;
            None where no window asks for it.
        place: Where it is while away without a plan, or empty.
        counts: How often it took each way back, away or round.
        left: How many passes it had made when it left each repeat.
        carried: Time of broken-off spells of the dwell it stands at, if that dwell adds up.
        ahead: The ops it has done ahead of its position.
        coats: How often it had each step of a repeat done.
        ended: When it ended steps, where a sum asks how long ago that is.
        doers: Who worked on it since the last hold, and when last.
        last: The last entry that changed it.
        touched: The last entry that named it, retractions included.
        mates: How many parts that entry named.
        fixed: Whether that entry can never be taken back (a signature).
        before: Its last selves, newest last.
        pair: The number of the pair that it belongs to, or empty.
        earlier: The values of earlier passes of a repeat, oldest first.
        begun: The step that cannot be undone whose start was entered, with its passes, or None.
    """

    part: str
    index: int = 0
    passes: tuple[int, ...] = ()
    status: Status = Status.PLAY
    size: int = 1
    waited: bool = True
    soak: Soak | None = None
    load: LoadPlace | None = None
    ready_since: tuple[int, Mark] | None = None
    place: str = ""
    values: Mapping[ValueKey, Value] = field(default_factory=dict)
    windows: Mapping[str, WindowClock] = field(default_factory=dict)
    questions: tuple[Question, ...] = ()
    decisions: Mapping[str, Decision] = field(default_factory=dict)
    counts: Mapping[str, int] = field(default_factory=dict)
    left: Mapping[int, int] = field(default_factory=dict)
    carried: tuple[int, int | None] = (0, 0)
    ahead: frozenset[int] = frozenset()
    coats: Mapping[str, tuple[tuple[int, ...], ...]] = field(default_factory=dict)
    ended: Mapping[str, EndMark] = field(default_factory=dict)
    doers: Mapping[str, Mark] = field(default_factory=dict)
    last: int = -1
    touched: int = field(default=-1, compare=False)
    mates: int = field(default=1, compare=False)
    fixed: bool = False
    before: tuple["Marker", ...] = ()
    pair: str = ""
    earlier: Mapping[ValueKey, tuple[Value, ...]] = field(default_factory=dict)
    begun: tuple[str, tuple[int, ...]] | None = None

    @property
    def at(self) -> Place:
        """Its position."""
        return (self.index, self.passes)

    @property
    def free(self) -> bool:
        """Whether it may begin something: in play, in no vessel, with no open question."""
        return self.status is Status.PLAY and self.soak is None and not self.questions

    @property
    def here(self) -> bool:
        """Whether it is still on its way: in play or away."""
        return self.status in (Status.PLAY, Status.AWAY)


def altered(thing: T, **changes: Any) -> T:
    """An entry's data, an outcome, an offer or a command with some fields changed.

    `dataclasses.replace` makes each of their many fields anew by name. What is changed for every
    act has no slots for its sake: a dict is copied at once. Of a class whose `__post_init__`
    checks or works something out, `dataclasses.replace` makes another.

    Raises:
        TypeError: A change is none of its fields.
    """
    try:
        old = thing.__dict__
    except AttributeError:  # one with slots, which is seldom changed
        return cast("T", replace(cast("Any", thing), **changes))
    fields = old | changes
    if len(fields) != len(old):
        raise TypeError(f"{', '.join(changes.keys() - old.keys())}: no field of it")
    new = object.__new__(type(thing))
    new.__dict__ = fields
    return new


@lean_dataclass(frozen=True, slots=True)
class SumInput:
    """A value that something was worked out from."""

    n: int
    part: str
    name: str
    number: str | None = None
    place: str = ""
    unit: str = ""
    word: str = ""


@lean_dataclass(frozen=True, slots=True)
class Origin:
    """The value of a quantity of the procedure that depends on something, and its origin.

    Attributes:
        of: Which one: `low`, `high`, `least`, `most`, `aim`, `every`, `amount`.
        form: fit class, formula, table by reading, table by finding.
        text: As the procedure writes it.
        number, unit: What it came to; a length of time in seconds.
        inputs: The values that it was worked out from.
        source: Where the procedure says that it is known from, or empty.
    """

    of: str
    form: str
    text: str
    number: str
    unit: str = ""
    inputs: tuple[SumInput, ...] = ()
    source: str = ""


@lean_dataclass(frozen=True, slots=True)
class ToolCount:
    """How many of a tool were counted.

    Attributes:
        who, utc: Who counted it and when, where that was before the entry it stands in.
    """

    tool: str
    number: int
    who: str = ""
    utc: str = ""


@lean_dataclass(frozen=True, slots=True)
class Use:
    """The use of a supply by an act.

    Attributes:
        supply: What it is, as the procedure calls it.
        amount: How much, in `unit`; empty where a value that it follows from is not known.
        typed: How much as somebody typed it, where it was not what the procedure works out.
        name: The id of the tin, bottle or bath in the shop's book; empty where there is none.
        about: Its lot and dates on that day, in words.
        misgivings: Why it was not good for this, such as `was good until 2026-02-20`.
        back: Whether it went back instead, to be used again.
        origin: What the amount was worked out from, where it is no constant and was not typed.
    """

    supply: str
    amount: str = ""
    unit: str = ""
    typed: str = ""
    name: str = ""
    about: str = ""
    misgivings: tuple[str, ...] = ()
    back: bool = False
    origin: Origin | None = None


@lean_dataclass(frozen=True, slots=True)
class Unsigned:
    """A hold, or a close, that waits for its signature in the very next line."""

    n: int
    entry: object


@lean_dataclass(frozen=True, slots=True)
class Tick:
    """The mark at one line of the close: done, or not done for a reason; entered by whom, when."""

    n: int
    by: str
    at: Moment
    done: bool
    reason: str


@lean_dataclass(frozen=True)
class Run:
    """A run at one moment.

    Attributes:
        n: The number the next entry gets.
        parts: The parts in batch order.
        markers: Their markers, in the same order.
        stopped: Why it is stopped, or empty.
        ended: Whether it is closed.
        unsigned: A hold or a close that is not signed yet; with another entry after it, it is void.
        about: What the first entry says of the run, as kept.
        used: What was used, by the entry of the act; what was taken back is not among it.
        format: The number of the format in which its log goes on.
        set_ups: The entry that readied the place in this sitting, by its step.
        worked: When somebody did something last, where there are such steps.
        rooms: The room that vessels had from which entry on, where a window asks for it.
        figures: The figures that were entered, by their names; every part has them as values.
        figures_before: What they were before each correction of one, by its entry.
        ticks: The marks at the lines of the close, by list and number.
        photographed: The steps at which a photo of a part was kept: step and part.
        tools_out: The tools that were counted out before the start.
        counted_back: How they were counted back, by entry; what was taken back is not among it.
    """

    course: Course = field(compare=False)
    n: int = 0
    parts: tuple[str, ...] = ()
    markers: Mapping[str, Marker] = field(default_factory=dict)
    timeline: Timeline = field(default_factory=Timeline)
    stopped: str = ""
    ended: bool = False
    unsigned: Unsigned | None = None
    about: Mapping[str, object] = field(default_factory=dict)
    used: Mapping[int, tuple[Use, ...]] = field(default_factory=dict)
    format: int = COUNTED_SINCE
    photographed: frozenset[tuple[str, str]] = frozenset()
    ticks: Mapping[tuple[str, int], Tick] = field(default_factory=dict)
    rooms: tuple[Room, ...] = ()
    set_ups: Mapping[str, int] = field(default_factory=dict)
    worked: Mark | None = None
    figures: Mapping[str, Value] = field(default_factory=dict)
    figures_before: Mapping[int, Mapping[str, Value]] = field(default_factory=dict)
    tools_out: tuple[ToolCount, ...] = ()
    counted_back: Mapping[int, tuple[ToolCount, ...]] = field(default_factory=dict)

    @property
    def route(self) -> Route:
        """The route of its procedure."""
        return self.course.route

    def each(self) -> tuple[Marker, ...]:
        """The markers in batch order."""
        return tuple(self.markers.values())
