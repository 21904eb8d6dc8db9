"""The trains of the open runs: what is still ahead of each part, cut where the work may be parted.

Steps whose windows are short stay together; what stands for hours without a hand is a gap. All
times are minutes since 1970.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from math import ceil
from typing import Final

from benchrun.moment import Moment
from benchrun.plan.workload import Gap, Late, Segment, Train, VesselHold
from benchrun.procedure.parameter import Parameter, Undetermined
from benchrun.procedure.route import (
    Act,
    Attended,
    Consequence,
    Dwell,
    Guard,
    Hold,
    Kind,
    Reading,
    Step,
    StepOp,
    Tail,
    Vessel,
)
from benchrun.run.clocks import window
from benchrun.run.course import Fork, constant_ms
from benchrun.run.state import Marker, Run, Status
from benchrun.run.verdict import draw, milliseconds, reads_of

MINUTE_MS: Final = 60_000
SHORT_MIN: Final = 60
"""Steps that a window of at most so many minutes ties lie in one opening."""
STAND_MIN: Final = 60
"""A dwell of more than so many minutes is left alone, unless it is tended."""
TO_END_MIN: Final = 240
"""A dwell of at most so many minutes that somebody must end lies within one opening."""
TENDED_MIN: Final = 5
"""Hands that tend at least every so many minutes do nothing else."""
TRAIN_MIN: Final = 45
"""A train that has grown to so many minutes ends where it may."""
MARGIN_MIN: Final = 30
"""So long before its end a window is planned to be kept, at most a quarter of it."""
UNKNOWN_MIN: Final = 30
"""A dwell whose time depends on what is not read yet is taken to last so long."""
AWAY_MIN: Final = 7 * 24 * 60
"""Parts that are sent out without a time are taken to be away so long; from memory."""
_ALONE_MIN: Final = 12 * 60
_PASSES: Final = 400
_SHARE: Final = 0.15 / 0.4
_COSTS: Final = {
    Act.SCRAP: 2000,
    Act.REWORK: 600,
    Act.ASIDE: 240,
    Act.AGAIN: 240,
    Act.STOP: 240,
    Act.AWAY: 240,
    Act.GO_ON: 20,
}
_DETOUR_COST: Final = 60


@dataclass(frozen=True, slots=True)
class StepMinutes:
    """How long a step takes.

    Attributes:
        each: Minutes for each part.
        once: Minutes for each go.
        guess: Whether nothing was learned of it.
    """

    each: float
    once: float = 0.0
    guess: bool = False


Takes = Callable[[str, Step], StepMinutes]
"""How long a step of a procedure takes; given the procedure's id and the step."""
Rooms = Callable[[Vessel], tuple[str, int | None]]
"""The shop's name of a vessel of a procedure, and how much it holds; None: no limit."""


@dataclass(frozen=True, slots=True)
class RunAhead:
    """An open run as it is planned.

    Attributes:
        id: The run's id.
        procedure: The procedure's id.
        run: The run.
    """

    id: str
    procedure: str
    run: Run


@dataclass
class TrainSet:
    """Trains, gaps and holds of some runs.

    Attributes:
        parts: For each train the tags that it carries.
        steps: For each train its steps.
        guessed: Trains that rest on a guess.
    """

    trains: list[Train] = field(default_factory=list)
    gaps: list[Gap] = field(default_factory=list)
    holds: list[VesselHold] = field(default_factory=list)
    vessels: dict[str, int] = field(default_factory=dict)
    parts: dict[str, tuple[str, ...]] = field(default_factory=dict)
    steps: dict[str, tuple[Step, ...]] = field(default_factory=dict)
    guessed: set[str] = field(default_factory=set)


def work_ahead(
    runs: Sequence[RunAhead], now: Moment, takes: Takes, rooms: Rooms, people: int
) -> TrainSet:
    """The work still ahead in the open runs.

    Args:
        runs: The runs.
        now: The moment.
        takes: How long each step takes.
        rooms: What the shop calls a vessel of a procedure, and how much it holds.
        people: How many work that evening; alone, a second look waits until the next day.
    """
    work = TrainSet()
    for ahead in runs:
        _RunTrains(work, ahead, now, takes, rooms, people).lay()
    return work


@dataclass(frozen=True, slots=True)
class _Piece:
    """A step of a load with its place in a train.

    Attributes:
        key: The step with its passes: the same step of another pass is another piece.
        minutes: How long hands are on it.
        stands: How long it stands after that: a dwell's time; 0 for none.
        tended: Whether hands stay with what stands.
        parted: Whether the train ends with it, since it stands alone for long.
    """

    key: tuple[str, tuple[int, ...]]
    step: Step
    minutes: int
    stands: int = 0
    tended: bool = False
    parted: bool = False


class _RunTrains:
    """Lays the trains of one run."""

    def __init__(
        self,
        work: TrainSet,
        ahead: RunAhead,
        now: Moment,
        takes: Takes,
        rooms: Rooms,
        people: int,
    ) -> None:
        self.work, self.ahead, self.run, self.now = work, ahead, ahead.run, now
        self.takes, self.people = takes, people
        self.minute = now.utc_ms // MINUTE_MS
        self.vessels: dict[str, str] = {}
        for vessel in self.run.route.vessels.values():
            name, room = rooms(vessel)
            if room is not None:
                self.vessels[vessel.id] = name
                work.vessels[name] = room

    def lay(self) -> None:
        """Lay the trains of every load, in batch order."""
        lots: dict[tuple[object, ...], list[Marker]] = {}
        for marker in self.run.each():
            if marker.status not in (Status.PLAY, Status.AWAY):
                continue
            load = marker.soak.load if marker.soak else -1
            lots.setdefault((marker.index, marker.passes, load), []).append(marker)
        number = 0
        for lot in sorted(lots.values(), key=lambda one: -one[0].index):
            path = self._path(lot[0])
            for markers in self._loads(lot, path):
                number += 1
                self._lay_load(markers, path, number)

    def _path(self, marker: Marker) -> list[tuple[Step, tuple[int, ...]]]:
        """The steps ahead of a part, each with its passes, as far as nobody can know better."""

        def choose(fork: Fork, index: int, passes: tuple[int, ...]) -> str:
            if isinstance(fork, Tail):
                return "again" if passes[-1] < max(1, fork.least) else "leave"
            return "true" if isinstance(fork, Guard) else "past"

        course, found = self.run.course, list[tuple[Step, tuple[int, ...]]]()
        place, left, done = marker.at, marker.left, marker.ahead
        for _ in range(_PASSES):
            walked = course.walk(place, left, done, choose)
            op = self.run.route.step_at(walked.index)
            if op is None:
                break
            if not found or found[-1] != (op.step, walked.passes):
                found.append((op.step, walked.passes))
            # The step itself counts as done; what stands behind it is looked at next.
            place, left = (walked.index, walked.passes), walked.left
            done = walked.ahead | {walked.index}
        return found

    def _loads(
        self, lot: Sequence[Marker], path: Sequence[tuple[Step, tuple[int, ...]]]
    ) -> Iterator[Sequence[Marker]]:
        """As many loads as the smallest vessel ahead asks for, as even as can be."""
        rooms = [
            self.work.vessels[self.vessels[step.detail.vessel]]
            for step, _ in path
            if isinstance(step.detail, Dwell) and step.detail.vessel in self.vessels
        ]
        count = len(lot)
        loads = 1 if lot[0].soak else ceil(count / max(1, min([count, *rooms])))
        at = 0
        for place in range(loads):
            size = count // loads + (place < count % loads)
            yield lot[at : at + size]
            at += size

    def _lay_load(
        self, load: Sequence[Marker], path: Sequence[tuple[Step, tuple[int, ...]]], number: int
    ) -> None:
        pieces = [self._piece(load, step, passes) for step, passes in path]
        if not pieces:
            return
        soaking = load[0].soak is not None
        tied = self._tied(pieces)
        cuts = [0]
        grown = 0.0
        for at in range(1, len(pieces)):
            before, piece = pieces[at - 1], pieces[at]
            grown += before.minutes + before.stands
            waits = self._waits(load[0], piece)
            ends = (before.parted and not (soaking and at == 1)) or waits or grown >= TRAIN_MIN
            if at not in tied and (ends or before.step.stage != piece.step.stage):
                cuts.append(at)
                grown = 0.0
        offsets: dict[tuple[str, tuple[int, ...]], tuple[str, int, int]] = {}
        names: list[str] = []
        for at, (first, last) in enumerate(zip(cuts, [*cuts[1:], len(pieces)], strict=True)):
            name = f"{self.ahead.id}/{number}/{at}"
            self._train(name, load, pieces[first:last], offsets, soaking=soaking and not first)
            if names:
                minutes = self.work.trains[-2].minutes
                self.work.gaps.append(Gap(name, names[-1], least=minutes))
            names.append(name)
        self._gaps(load, pieces, offsets, names)

    def _piece(self, load: Sequence[Marker], step: Step, passes: tuple[int, ...]) -> _Piece:
        takes = self.takes(self.ahead.procedure, step)
        shared = isinstance(step.detail, Reading) and step.shared
        count = 1 if step.together or shared else len(load)
        minutes = ceil(takes.each * count + takes.once)
        if not isinstance(step.detail, Dwell):
            return _Piece((step.id, passes), step, minutes)
        detail = step.detail
        times = [self._minutes(load[0], one) for one in (detail.aim, detail.least)]
        stands = next((time for time in times if time is not None), None)
        depends = detail.least is not None or detail.aim is not None
        if stands is None:
            stands = AWAY_MIN if detail.place else UNKNOWN_MIN if depends else 0
        every = constant_ms(detail.tend_every)
        tended = every is not None and every <= TENDED_MIN * MINUTE_MS
        tended = tended or detail.attended is Attended.YES
        alone = detail.attended is Attended.NO or stands > TO_END_MIN
        parted = bool(detail.place) or (stands > STAND_MIN and not tended and alone)
        return _Piece((step.id, passes), step, max(1, minutes), stands, tended, parted)

    def _minutes(self, marker: Marker, parameter: Parameter | None) -> int | None:
        if parameter is None:
            return None
        try:
            ms = milliseconds(parameter, draw(marker, reads_of(parameter)))
        except Undetermined:
            return None
        return None if ms is None else ceil(ms / MINUTE_MS)

    def _tied(self, pieces: Sequence[_Piece]) -> set[int]:
        """Where the work may not be parted, as a short window lies over it."""
        tied: set[int] = set()
        for at, piece in enumerate(pieces):
            limits = piece.step.window
            most = constant_ms(limits.most) if limits else None
            if limits is None or most is None or most > SHORT_MIN * MINUTE_MS:
                continue
            source = self._source(pieces, at)
            between = pieces[source + 1 : at] if source is not None else []
            if source is not None and not any(one.parted for one in [pieces[source], *between]):
                tied |= set(range(source + 1, at + 1))
        return tied

    @staticmethod
    def _source(pieces: Sequence[_Piece], at: int) -> int | None:
        """The last piece before another whose end starts its window."""
        limits = pieces[at].step.window
        for place in range(at - 1, -1, -1):
            if limits is not None and pieces[place].step.id in limits.after:
                return place
        return None

    def _waits(self, marker: Marker, piece: _Piece) -> bool:
        """Whether a step has to wait for a while after an earlier one, or for another person."""
        limits, detail = piece.step.window, piece.step.detail
        if isinstance(detail, Hold) and detail.other and self.people == 1:
            return True
        least = self._minutes(marker, limits.least) if limits else None
        return least is not None and least > TENDED_MIN

    def _train(
        self,
        name: str,
        load: Sequence[Marker],
        pieces: Sequence[_Piece],
        offsets: dict[tuple[str, tuple[int, ...]], tuple[str, int, int]],
        *,
        soaking: bool,
    ) -> None:
        segments: list[Segment] = []
        at = 0
        for place, piece in enumerate(pieces):
            began = at
            hands = piece.minutes
            if soaking and not place:
                hands = 1  # it is in already; taking it out is what is left
            if hands:
                segments.append(Segment(hands, hands=True))
            at += hands
            if piece.stands and not piece.parted and not (soaking and not place):
                detail = piece.step.detail
                vessel = self.vessels.get(detail.vessel, "") if isinstance(detail, Dwell) else ""
                segments.append(Segment(piece.stands, piece.tended, vessel))
                at += piece.stands
            offsets[piece.key] = (name, began, at)
            if self.takes(self.ahead.procedure, piece.step).guess and hands:
                self.work.guessed.add(name)
        size = sum(marker.size for marker in load)
        words = pieces[0].step.text.removesuffix(".")
        train = Train(name, self.ahead.id, words, size, tuple(segments), self.minute)
        self.work.trains.append(train)
        self.work.parts[name] = tuple(marker.part for marker in load)
        self.work.steps[name] = tuple(piece.step for piece in pieces)

    def _gaps(
        self,
        load: Sequence[Marker],
        pieces: Sequence[_Piece],
        offsets: Mapping[tuple[str, tuple[int, ...]], tuple[str, int, int]],
        names: Sequence[str],
    ) -> None:
        for at, piece in enumerate(pieces):
            name, began, ended = offsets[piece.key]
            detail = piece.step.detail
            source = self._source(pieces, at)
            if piece.step.window is not None and source is not None:
                self._window_gap(load, pieces[source], piece, offsets)
            elif piece.step.window is not None:
                self._running_window(load, piece, name, began)
            if isinstance(detail, Hold) and detail.other and self.people == 1 and at:
                least = _ALONE_MIN if detail.after_hours is None else detail.after_hours * 60
                before, _, end = offsets[pieces[at - 1].key]
                if before != name:
                    gap = Gap(name, before, least=end + least - began, words="a second look")
                    self.work.gaps.append(gap)
            in_already = load[0].soak is not None and not at
            if piece.parted and at + 1 < len(pieces) and not in_already:
                self._parted_gap(load, piece, name, ended, offsets[pieces[at + 1].key][0])
        if load[0].soak is not None:
            self._soaking(load, pieces[0], names)

    def _window_gap(
        self,
        load: Sequence[Marker],
        source: _Piece,
        piece: _Piece,
        offsets: Mapping[tuple[str, tuple[int, ...]], tuple[str, int, int]],
    ) -> None:
        limits = piece.step.window
        before, _, ended = offsets[source.key]
        name, began, _ = offsets[piece.key]
        if limits is None or before == name:
            return
        least = self._minutes(load[0], limits.least) or 0
        most = self._minutes(load[0], limits.most)
        if source.parted:
            # The dwell ends in the next train; its clock starts there, not where it was put in.
            ended += source.stands
        self.work.gaps.append(
            Gap(
                name,
                before,
                least=max(0, ended + least - began),
                most=None if most is None else max(0, ended + _kept(most) - began),
                late=self._late(limits.late, piece.step, len(load)),
                words=piece.step.text,
            )
        )

    def _running_window(self, load: Sequence[Marker], piece: _Piece, name: str, began: int) -> None:
        states = [window(self.run, marker, piece.step, self.now) for marker in load]
        for state in states:
            if state is None or state.unknown or state.answered:
                continue
            least = 0 if state.to_least is None else ceil(state.to_least / MINUTE_MS)
            # What has closed already is judged by a person: no time that is left can keep it.
            left = state.to_most or 0
            most = left // MINUTE_MS if left > 0 else None
            limits = piece.step.window
            late = self._late(limits.late, piece.step, len(load)) if limits else None
            if most is not None:
                most = max(0, _kept(most) - began)
            self.work.gaps.append(
                Gap(name, "", self.minute, max(0, least - began), most, late, piece.step.text)
            )
            return

    def _parted_gap(
        self, load: Sequence[Marker], piece: _Piece, before: str, ended: int, name: str
    ) -> None:
        """The time that a load stands alone between two trains."""
        detail = piece.step.detail
        if not isinstance(detail, Dwell):
            return
        most = self._minutes(load[0], detail.most)
        late = self._late(detail.late, piece.step, len(load))
        upper = None if most is None else ended + _kept(most)
        self.work.gaps.append(
            Gap(name, before, 0, ended + piece.stands, upper, late, piece.step.text)
        )
        vessel = self.vessels.get(detail.vessel)
        if vessel:
            size = sum(marker.size for marker in load)
            self.work.holds.append(VesselHold(vessel, size, before, max(0, ended - 1), name))

    def _soaking(self, load: Sequence[Marker], piece: _Piece, names: Sequence[str]) -> None:
        """A load that is in already: from now on, until its first train takes it out."""
        detail, marker = piece.step.detail, load[0]
        if not isinstance(detail, Dwell) or marker.soak is None:
            return
        spent = self.run.timeline.elapsed(marker.soak.mark, self.now)
        since = self.minute - ceil(spent.proven_ms / MINUTE_MS)
        most = self._minutes(marker, detail.most)
        late = self._late(detail.late, piece.step, len(load))
        upper = None if most is None else _kept(most)
        self.work.gaps.append(Gap(names[0], "", since, piece.stands, upper, late, piece.step.text))
        vessel = self.vessels.get(detail.vessel)
        if vessel:
            size = sum(one.size for one in load)
            self.work.holds.append(VesselHold(vessel, size, "", 0, names[0]))

    def _late(self, ways: Sequence[Consequence], step: Step, count: int) -> Late | None:
        """The consequence of a missed window: the first way that the procedure gives."""
        if not ways:
            return Late(f"{step.text.removesuffix('.')} is late", 0, 240)
        way = ways[0]
        if way.act is Act.DETOUR:
            minutes = sum(
                ceil(takes.each * count + takes.once)
                for takes in (
                    self.takes(self.ahead.procedure, one) for one in self._detour_steps(step)
                )
            )
            return Late(way.text, minutes, _DETOUR_COST)
        return Late(way.text, 0, _COSTS.get(way.act, 240))

    def _detour_steps(self, step: Step) -> Iterator[Step]:
        at = self.run.course.detour_at.get(step.id)
        if at is None:
            return
        op = self.run.route.ops[at]
        past = getattr(op, "past", at)
        for one in self.run.route.ops[at + 1 : past]:
            if isinstance(one, StepOp):
                yield one.step


def _kept(most: int) -> int:
    """The end of a window as it is planned: a while before it closes."""
    return most - min(MARGIN_MIN, most // 4)


def minutes_of(median_ms: int, most_ms: int) -> float:
    """The minutes that 65 of 100 goes stay under, between the median and the longest known."""
    return (median_ms + (most_ms - median_ms) * _SHARE) / MINUTE_MS


def guessed_minutes(step: Step) -> StepMinutes:
    """A guess for a step that was never timed; common practice, no source."""
    match step.kind:
        case Kind.WORK_OUT:
            return StepMinutes(0.0, 0.5, guess=True)
        case Kind.HOLD:
            return StepMinutes(0.0, 2.0, guess=True)
        case Kind.READING:
            places = len(step.detail.places) if isinstance(step.detail, Reading) else 1
            return StepMinutes(1.0 * max(1, places), guess=True)
        case Kind.DWELL:
            return StepMinutes(0.5, 1.0, guess=True)
    return StepMinutes(2.0, guess=True)
