"""The pieces of work that lie ahead of a load: a step each, with hands and what stands after."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import field
from math import ceil
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.plan.step_minutes import MINUTE_MS, USUAL, Takes
from benchrun.plan.workload import Gap, Train, VesselHold
from benchrun.procedure.parameter import Parameter, Undetermined
from benchrun.procedure.route import Attended, Dwell, Reading, Step, Vessel
from benchrun.run.course import constant_ms
from benchrun.run.state import Marker, Run
from benchrun.run.verdict import draw, milliseconds, reads_of

STAND_MIN: Final = 60
"""A dwell of more than so many minutes is left alone, unless it is tended."""
TO_END_MIN: Final = 240
"""A dwell of at most so many minutes that somebody must end lies within one opening."""
TENDED_MIN: Final = 5
"""Hands that tend at least every so many minutes do nothing else."""
UNKNOWN_MIN: Final = 30
"""A dwell whose time depends on what is not read yet is taken to last so long."""
AWAY_MIN: Final = 7 * 24 * 60
"""Parts that are sent out without a time are taken to be away so long; from memory."""

PieceKey = tuple[str, tuple[int, ...]]
"""A step with its passes: the same step of another pass is another piece."""
Rooms = Callable[[Vessel], tuple[str, int | None]]
"""The shop's name of a vessel of a procedure, and how much it holds; None: no limit."""


@lean_dataclass(frozen=True, slots=True)
class RunAhead:
    """A run as it is planned: one that is open, or one to come.

    Attributes:
        id: The run's id.
        procedure: The procedure's id.
        run: The run.
        comes: Whether it is still to be begun; what its parts are in now goes before it.
    """

    id: str
    procedure: str
    run: Run
    comes: bool = False


@lean_dataclass(frozen=True, slots=True)
class SetUp:
    """A step of a train that readies the place, once for all loads of an opening.

    Attributes:
        train: The train.
        place: What it readies: the same for all loads of a run.
        name: Its own name: that of the load's step.
        counted: Whether its minutes are in the train.
    """

    train: str
    place: str
    name: str
    counted: bool


@lean_dataclass()
class TrainSet:
    """Trains, gaps and holds of some runs.

    Attributes:
        parts: For each train the tags that it carries.
        steps: For each train its steps.
        guessed: Trains that rest on a guess.
        keys: For each train, when its steps begin: minutes after its own begin, by step and part.
        set_ups: The steps in trains that ready the place once a sitting.
    """

    trains: list[Train] = field(default_factory=list)
    gaps: list[Gap] = field(default_factory=list)
    holds: list[VesselHold] = field(default_factory=list)
    vessels: dict[str, int] = field(default_factory=dict)
    parts: dict[str, tuple[str, ...]] = field(default_factory=dict)
    steps: dict[str, tuple[Step, ...]] = field(default_factory=dict)
    guessed: set[str] = field(default_factory=set)
    keys: dict[str, dict[str, int]] = field(default_factory=dict)
    set_ups: list["SetUp"] = field(default_factory=list)


@lean_dataclass()
class RunGround:
    """One run that trains are laid for, with all that is asked meanwhile.

    Attributes:
        work: What is laid.
        ahead: The run.
        now: The moment.
        takes: How long each step takes.
        people: How many work that evening; alone, a second look waits until the next day.
        share: The share of goes whose time is counted with.
        vessels: The shop's names of the run's vessels that have a limit, by their ids.
        readied: The set-ups whose minutes count, by their names; the others were done before.
        scarce: The roles that nobody has on some evening: what wants one begins a train.
    """

    work: TrainSet
    ahead: RunAhead
    now: Moment
    takes: Takes
    people: int
    share: float = USUAL
    vessels: Mapping[str, str] = field(default_factory=dict)
    readied: frozenset[str] = frozenset()
    scarce: frozenset[str] = frozenset()

    @property
    def run(self) -> Run:
        """The run."""
        return self.ahead.run

    @property
    def minute(self) -> int:
        """The moment in minutes since 1970."""
        return self.now.utc_ms // MINUTE_MS

    def minutes_for(self, step: Step, count: int) -> int:
        """The minutes of hands that a step takes for so many parts, as they are planned."""
        return ceil(self.takes(self.ahead.procedure, step).minutes(count, self.share))


@lean_dataclass(frozen=True, slots=True)
class Piece:
    """A step of a load with its place in a train.

    Attributes:
        minutes: How long hands are on it.
        stands: How long it stands after that: a dwell's time; 0 for none.
        tended: Whether hands stay with what stands.
        parted: Whether the train ends with it, since it stands alone for long.
        set_up: The name of the set-up that it is, or empty.
    """

    key: PieceKey
    step: Step
    minutes: int
    stands: int = 0
    tended: bool = False
    parted: bool = False
    set_up: str = ""


def piece_of(
    ground: RunGround, load: Sequence[Marker], step: Step, passes: tuple[int, ...], number: int
) -> Piece:
    """The piece of work that a step is for a load; loads of a run are numbered."""
    shared = isinstance(step.detail, Reading) and step.shared
    count = 1 if step.together or shared or step.set_up else len(load)
    minutes = ground.minutes_for(step, count)
    if step.set_up:
        name = "/".join([ground.ahead.id, str(number), step.id, *map(str, passes)])
        counted = minutes if name in ground.readied else 0
        return Piece((step.id, passes), step, counted, set_up=name)
    if not isinstance(step.detail, Dwell):
        return Piece((step.id, passes), step, minutes)
    detail = step.detail
    times = [dwell_minutes(load[0], one) for one in (detail.aim, detail.least)]
    stands = next((time for time in times if time is not None), None)
    if stands is None:
        stands = _unsaid(ground, step, detail)
    every = constant_ms(detail.tend_every)
    tended = every is not None and every <= TENDED_MIN * MINUTE_MS
    tended = tended or detail.attended is Attended.YES
    alone = detail.attended is Attended.NO or stands > TO_END_MIN
    parted = bool(detail.place) or (stands > STAND_MIN and not tended and alone)
    return Piece((step.id, passes), step, max(1, minutes), stands, tended, parted)


def _unsaid(ground: RunGround, step: Step, detail: Dwell) -> int:
    """The minutes of a dwell of which the procedure says none, or none that is known yet."""
    takes = ground.takes(ground.ahead.procedure, step)
    if takes.stands is not None:
        return ceil(takes.stands * takes.factor(ground.share))
    if detail.place:
        return AWAY_MIN
    return UNKNOWN_MIN if detail.least is not None or detail.aim is not None else 0


def dwell_minutes(marker: Marker, parameter: Parameter | None) -> int | None:
    """The minutes that a time of a procedure comes to for a part; None while it is not known."""
    if parameter is None:
        return None
    try:
        ms = milliseconds(parameter, draw(marker, reads_of(parameter)))
    except Undetermined:
        return None
    return None if ms is None else ceil(ms / MINUTE_MS)


def source_of(pieces: Sequence[Piece], at: int) -> int | None:
    """The place of the last piece before another whose end starts its window."""
    limits = pieces[at].step.window
    for place in range(at - 1, -1, -1):
        if limits is not None and pieces[place].step.id in limits.after:
            return place
    return None
