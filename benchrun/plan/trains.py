"""The trains of runs: what is still ahead of each part, cut where the work may be parted.

Steps whose windows are short stay together; what stands for hours without a hand is a gap. All
times are minutes since 1970.
"""

from collections.abc import Iterator, Sequence
from math import ceil
from typing import Final

from benchrun.moment import Moment
from benchrun.plan.pieces import (
    TENDED_MIN,
    Piece,
    PieceKey,
    Rooms,
    RunAhead,
    RunGround,
    SetUp,
    TrainSet,
    dwell_minutes,
    piece_of,
    source_of,
)
from benchrun.plan.step_minutes import MINUTE_MS, USUAL, Takes
from benchrun.plan.ties import LoadTies, overdue_minutes, overdue_words
from benchrun.plan.workload import Gap, Segment, Train
from benchrun.procedure.route import Dwell, Guard, Hold, Step, Tail
from benchrun.run.course import Fork, constant_ms
from benchrun.run.state import Marker, Run, Status
from benchrun.text import slug

SHORT_MIN: Final = 60
"""Steps that a window of at most so many minutes ties lie in one opening."""
TRAIN_MIN: Final = 45
"""A train that has grown to so many minutes ends where it may."""
_PASSES: Final = 400


def work_ahead(
    runs: Sequence[RunAhead],
    now: Moment,
    takes: Takes,
    rooms: Rooms,
    people: int,
    share: float = USUAL,
    readied: frozenset[str] = frozenset(),
    scarce: frozenset[str] = frozenset(),
) -> TrainSet:
    """The work still ahead in runs.

    Args:
        runs: The runs; what a part goes through first stands first.
        now: The moment.
        takes: How long each step takes.
        rooms: What the shop calls a vessel of a procedure, and how much it holds.
        people: How many work that evening; alone, a second look waits until the next day.
        share: The share of goes whose time is counted with.
        readied: The set-ups whose minutes count, by their names.
        scarce: The roles that nobody has on some evening.
    """
    work, last = TrainSet(), dict[str, str]()
    for ahead in runs:
        vessels = {}
        for vessel in ahead.run.route.vessels.values():
            name, room = rooms(vessel)
            if room is not None:
                vessels[vessel.id] = name
                work.vessels[name] = room
        ground = RunGround(work, ahead, now, takes, people, share, vessels, readied, scarce)
        _RunTrains(ground, last).lay()
    return work


class _RunTrains:
    """Lays the trains of one run.

    Args:
        ground: The run.
        last: For parts in plain letters the last train laid for them, kept up.
    """

    def __init__(self, ground: RunGround, last: dict[str, str]) -> None:
        self.ground, self.work, self.run, self.last = ground, ground.work, ground.run, last
        self.readied: dict[str, tuple[str, int]] = {}

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
            path = path_ahead(self.run, lot[0])
            for markers in self._loads(lot, path):
                number += 1
                self._lay_load(markers, path, number)

    def _loads(
        self, lot: Sequence[Marker], path: Sequence[tuple[Step, tuple[int, ...]]]
    ) -> Iterator[Sequence[Marker]]:
        """As many loads as the smallest vessel ahead asks for, as even as can be."""
        rooms = [
            self.work.vessels[self.ground.vessels[step.detail.vessel]]
            for step, _ in path
            if isinstance(step.detail, Dwell) and step.detail.vessel in self.ground.vessels
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
        pieces = [piece_of(self.ground, load, step, passes, number) for step, passes in path]
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
        offsets: dict[PieceKey, tuple[str, int, int]] = {}
        names: list[str] = []
        for at, (first, last) in enumerate(zip(cuts, [*cuts[1:], len(pieces)], strict=True)):
            name = f"{self.ground.ahead.id}/{number}/{at}"
            self._train(name, load, pieces[first:last], offsets, soaking=soaking and not first)
            if names:
                minutes = self.work.trains[-2].minutes
                self.work.gaps.append(Gap(name, names[-1], least=minutes))
            names.append(name)
        LoadTies(self.ground, load, pieces, offsets, names).tie()
        self._behind(load, names)

    def _behind(self, load: Sequence[Marker], names: Sequence[str]) -> None:
        """A run to come waits for what its parts are in until then."""
        if self.ground.ahead.comes:
            before = {self.last[slug(one.part)] for one in load if slug(one.part) in self.last}
            minutes = {train.id: train.minutes for train in self.work.trains if train.id in before}
            for name in sorted(before):
                self.work.gaps.append(Gap(names[0], name, least=minutes[name]))
        self.last |= {slug(marker.part): names[-1] for marker in load}

    def _tied(self, pieces: Sequence[Piece]) -> set[int]:
        """Where the work may not be parted, as a short window lies over it."""
        tied: set[int] = set()
        for at, piece in enumerate(pieces):
            limits = piece.step.window
            most = constant_ms(limits.most) if limits else None
            if limits is None or most is None or most > SHORT_MIN * MINUTE_MS:
                continue
            source = source_of(pieces, at)
            between = pieces[source + 1 : at] if source is not None else []
            if source is not None and not any(one.parted for one in [pieces[source], *between]):
                tied |= set(range(source + 1, at + 1))
        return tied

    def _waits(self, marker: Marker, piece: Piece) -> bool:
        """Whether a step has to wait for a while after an earlier one, or for another person."""
        limits, detail = piece.step.window, piece.step.detail
        if isinstance(detail, Hold) and detail.other and self.ground.people == 1:
            return True
        if roles_of(piece.step) & self.ground.scarce:
            return True
        least = dwell_minutes(marker, limits.least) if limits else None
        return least is not None and least > TENDED_MIN

    def _train(
        self,
        name: str,
        load: Sequence[Marker],
        pieces: Sequence[Piece],
        offsets: dict[PieceKey, tuple[str, int, int]],
        *,
        soaking: bool,
    ) -> None:
        segments: list[Segment] = []
        at, keys = 0, dict[str, int]()
        for place, piece in enumerate(pieces):
            began = at
            hands = piece.minutes
            if soaking and not place:
                hands = 1  # it is in already; taking it out is what is left
            if hands:
                segments.append(Segment(hands, hands=True))
            at += hands
            if piece.stands and not piece.parted and not (soaking and not place):
                segments.append(Segment(piece.stands, piece.tended, self._vessel(piece)))
                at += piece.stands
            offsets[piece.key] = (name, began, at)
            keys |= {piece_name(self.ground.ahead.id, one.part, piece.key): began for one in load}
            if piece.set_up:
                self._set_up(name, piece, began, at)
            if self.ground.takes(self.ground.ahead.procedure, piece.step).guess and hands:
                self.work.guessed.add(name)
        size = sum(marker.size for marker in load)
        words, waits = pieces[0].step.text.removesuffix("."), ""
        vessel = self._title(pieces[0]) if soaking else ""
        words = f"Take out of the {vessel}" if vessel else words
        overdue = overdue_minutes(self.ground, load[0], pieces[0]) if soaking else 0
        if overdue:
            words, waits = f"Receive back: {words}", f"not back, {overdue_words(overdue)}"
        train = Train(
            name,
            self.ground.ahead.id,
            words,
            size,
            tuple(segments),
            self.ground.minute,
            waits=waits,
            roles=frozenset[str]().union(*(roles_of(piece.step) for piece in pieces)),
            people=max(people_for(piece.step, self.ground.people) for piece in pieces),
        )
        self.work.trains.append(train)
        self.work.parts[name] = tuple(marker.part for marker in load)
        self.work.keys[name] = keys
        self.work.steps[name] = tuple(piece.step for piece in pieces)

    def _title(self, piece: Piece) -> str:
        """The title of the vessel of a piece; empty where it has none."""
        detail = piece.step.detail
        vessel = detail.vessel if isinstance(detail, Dwell) else ""
        return self.ground.run.route.vessels[vessel].title if vessel else ""

    def _vessel(self, piece: Piece) -> str:
        """The vessel that a piece keeps its parts in, by the shop's name; empty without one."""
        detail = piece.step.detail
        return self.ground.vessels.get(detail.vessel, "") if isinstance(detail, Dwell) else ""

    def _set_up(self, name: str, piece: Piece, began: int, ended: int) -> None:
        """A set-up of a load: the loads of a run come in their order, so that the first has it."""
        readies = f"{self.ground.ahead.id}/{piece.step.id}"
        self.work.set_ups.append(
            SetUp(name, readies, piece.set_up, piece.set_up in self.ground.readied)
        )
        before, done = self.readied.get(readies, (name, 0))
        if before != name:
            self.work.gaps.append(Gap(name, before, least=max(0, done - began)))
        self.readied[readies] = (name, ended)


def roles_of(step: Step) -> frozenset[str]:
    """The roles that a step wants: of who does it, and of who signs it."""
    signs = step.detail.role if isinstance(step.detail, Hold) else ""
    return frozenset(role for role in (step.who, signs) if role)


def people_for(step: Step, here: int) -> int:
    """How many must be here for a step: a second look is another person's, where several work.

    Args:
        step: The step.
        here: How many work this evening; alone, a second look is taken on another day.
    """
    detail = step.detail
    looks = isinstance(detail, Hold) and detail.other and detail.after_hours is None and here > 1
    return max(step.people, 2 if looks else 1)


def path_ahead(run: Run, marker: Marker) -> list[tuple[Step, tuple[int, ...]]]:
    """The steps ahead of a part, each with its passes, as far as nobody can know better."""

    def choose(fork: Fork, index: int, passes: tuple[int, ...]) -> str:
        if isinstance(fork, Tail):
            return "again" if passes[-1] < max(1, fork.least) else "leave"
        return "true" if isinstance(fork, Guard) else "past"

    course, found = run.course, list[tuple[Step, tuple[int, ...]]]()
    place, left, done = marker.at, marker.left, marker.ahead
    for _ in range(_PASSES):
        walked = course.walk(place, left, done, choose)
        op = run.route.step_at(walked.index)
        if op is None:
            break
        if not found or found[-1] != (op.step, walked.passes):
            found.append((op.step, walked.passes))
        # The step itself counts as done; what stands behind it is looked at next.
        place, left = (walked.index, walked.passes), walked.left
        done = walked.ahead | {walked.index}
    return found


def piece_name(run: str, part: str, key: PieceKey) -> str:
    """A piece of work of one part by a name that stays its own while the run goes on."""
    step, passes = key
    return "/".join([run, slug(part), step, *map(str, passes)])
