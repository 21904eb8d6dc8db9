"""Plans by placing one train after the other, and by trying other orders.

A train is placed as early as it can be. Where a window would then be missed, the train that opens
it is begun later on purpose, as late as the window asks; only where that helps nowhere is the
window given up, the least bad one first. Everything is decided by the workload and the number of
rounds: the same input gives the same plan.
"""

import random
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field
from itertools import combinations
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.plan.usage import EVER, Interval, Usage
from benchrun.plan.workload import Gap, Schedule, Train, VesselHold, Workload

ROUNDS: Final = 60
"""So many other orders are tried."""

_MOST_PUSHES: Final = 300
_MOST_GIVEN_UP: Final = 2
_TURNS: Final = 0.25
"""So many of the rounds let a group give a window up, or keep it, where it did otherwise."""

_Change = tuple[Usage, Interval, bool]
_Tried = tuple[Sequence[int], frozenset[int], Schedule]
"""An order of groups, those that do otherwise with windows, and the plan that it gives."""


def list_plan(workload: Workload, *, rounds: int = ROUNDS, soonest: bool = False) -> Schedule:
    """The best plan that some orders give.

    Args:
        workload: What is to be planned.
        rounds: How many other orders are tried.
        soonest: Whether a missed window is taken where it ends the load sooner; otherwise a window
            is missed only where no time within the openings keeps it.
    """
    groups = _groups(workload)
    usual = sorted(range(len(groups)), key=lambda at: _pressing(workload, groups[at]))

    def placed(order: Sequence[int], turned: frozenset[int]) -> Schedule:
        allowed = _allowed(workload, groups, order)
        return _place_all(workload, [(groups[at], soonest != (at in turned)) for at in allowed])

    def worth(tried: _Tried) -> tuple[int, int, int]:
        return _value(workload, tried[2], soonest)

    nothing: frozenset[int] = frozenset()
    best = (usual, nothing, placed(usual, nothing))
    if workload.last:
        order = sorted(usual, key=lambda at: _last_begin(workload, groups[at]))
        best = min(best, (order, nothing, placed(order, nothing)), key=worth)
    if best[2].unplaced and not soonest:
        # Where waiting for windows leaves no time for all, giving them up may.
        every = frozenset(usual)
        best = min(best, (best[0], every, placed(best[0], every)), key=worth)
    # Always the same draws, so that the same shop gives the same plan; nothing here is secret.
    luck = random.Random(len(workload.trains))  # noqa: S311
    for _ in range(rounds if len(groups) > 1 else 0):
        order, turned = best[0], best[1]
        if luck.random() < _TURNS:
            turned ^= {luck.randrange(len(groups))}
        else:
            order = _moved(order, luck)
        best = min(best, (order, turned, placed(order, turned)), key=worth)
    return best[2]


def _value(workload: Workload, plan: Schedule, soonest: bool) -> tuple[int, int, int]:
    unplaced, missed, ends = plan.worth(workload)
    return (unplaced, ends, missed) if soonest else (unplaced, missed, ends)


def _moved(order: Sequence[int], luck: random.Random) -> list[int]:
    """The order with one group taken elsewhere."""
    other = list(order)
    group = other.pop(luck.randrange(len(other)))
    other.insert(luck.randrange(len(other) + 1), group)
    return other


def _groups(workload: Workload) -> list[tuple[Train, ...]]:
    """Trains that windows tie together, each group in the order of the workload."""
    root = {train.id: train.id for train in workload.trains}

    def head(name: str) -> str:
        while root[name] != name:
            name = root[name]
        return name

    ties = [(gap.before, gap.after) for gap in workload.gaps if gap.before and gap.most is not None]
    ties += [(hold.since, hold.until) for hold in workload.holds if hold.since and hold.until]
    for before, after in ties:
        root[head(after)] = head(before)
    # What lies between two trains that are tied belongs to them: it has to fit in between.
    follows = _follows(workload)
    for before, after in ties:
        for name in follows[after]:
            if before in follows[name]:
                root[head(name)] = head(before)
    grouped: dict[str, list[Train]] = {}
    for train in workload.trains:
        if train.begun is None:
            grouped.setdefault(head(train.id), []).append(train)
    return [tuple(group) for group in grouped.values()]


def _follows(workload: Workload) -> dict[str, set[str]]:
    """For each train all that come before it."""
    follows: dict[str, set[str]] = {train.id: set() for train in workload.trains}
    for gap in workload.gaps:
        if gap.before:
            follows[gap.after] |= {gap.before, *follows[gap.before]}
    return follows


def _pressing(workload: Workload, group: Sequence[Train]) -> tuple[int, int]:
    """The order of placing: by the nearest window that counts already, then by the day wanted."""
    names = {train.id for train in group}
    windows = [
        gap.since + gap.most
        for gap in workload.gaps
        if gap.after in names and not gap.before and gap.most is not None
    ]
    due = min(
        (job.due for job in workload.jobs if group[0].run in job.runs and job.due is not None),
        default=EVER,
    )
    return (1, min(windows)) if windows else (2, due)


def _allowed(
    workload: Workload, groups: Sequence[tuple[Train, ...]], order: Sequence[int]
) -> list[int]:
    """The order with each group after those that its trains follow."""
    owner = {train.id: at for at, group in enumerate(groups) for train in group}
    needs: dict[int, set[int]] = {at: set() for at in range(len(groups))}
    for gap in workload.gaps:
        before, after = owner.get(gap.before), owner.get(gap.after)
        if before is not None and after is not None and before != after:
            needs[after].add(before)
    found: list[int] = []
    waiting = list(order)
    while waiting:
        ready = next((at for at in waiting if needs[at] <= set(found)), waiting[0])
        found.append(ready)
        waiting.remove(ready)
    return found


def _last_begin(workload: Workload, group: Sequence[Train]) -> int:
    """When the plan told last began a group; what it did not know comes last."""
    return min((workload.last.get(train.id, EVER) for train in group), default=EVER)


def _place_all(workload: Workload, groups: Iterable[tuple[tuple[Train, ...], bool]]) -> Schedule:
    board = _Board(workload)
    board.stand()
    for group, soonest in groups:
        board.place(group, soonest=soonest)
    return Schedule(dict(board.starts), dict(board.late), dict(board.unplaced))


@lean_dataclass()
class _Board:
    """The trains placed so far."""

    workload: Workload
    starts: dict[str, int] = field(default_factory=dict)
    late: dict[str, Gap] = field(default_factory=dict)
    unplaced: dict[str, str] = field(default_factory=dict)
    _hands: Usage = field(init=False)
    _vessels: dict[str, Usage] = field(init=False)

    def __post_init__(self) -> None:
        holds = self.workload.holds
        self._opened: Mapping[str, Sequence[VesselHold]] = {
            train.id: [hold for hold in holds if hold.since == train.id]
            for train in self.workload.trains
        }
        self._closed: Mapping[str, Sequence[VesselHold]] = {
            train.id: [hold for hold in holds if hold.until == train.id]
            for train in self.workload.trains
        }
        self._hands = Usage(self.workload.people)
        for interval in self.workload.fewer:
            self._hands.add(interval)
        self._vessels = {name: Usage(room) for name, room in self.workload.vessels.items()}
        for hold in holds:
            if not hold.since:
                self._vessels[hold.vessel].add((self.workload.now, EVER, hold.room))

    def stand(self) -> None:
        """Place what was begun already: it stands, whatever comes."""
        begun = [train for train in self.workload.trains if train.begun is not None]
        for train in sorted(begun, key=lambda one: one.begun or 0):
            self._put(train, train.begun or 0, None)

    def place(self, group: Sequence[Train], *, soonest: bool) -> None:
        """Place the trains of a group; where there is no place the reason is kept."""
        windows = [
            gap
            for train in group
            for gap in self.workload.gaps_to[train.id]
            if gap.most is not None and gap.late is not None
        ]
        best: tuple[tuple[int, int], dict[str, int], dict[str, Gap]] | None = None
        for given in _givings(windows):
            late = {gap.after: gap for gap in given}
            starts = self._fit(group, late)
            if starts is None:
                continue
            cost = sum(gap.late.cost + gap.late.minutes for gap in given if gap.late)
            end = max(starts[train.id] + train.minutes for train in group)
            value = (end, cost) if soonest else (cost, end)
            if best is None or value < best[0]:
                best = (value, starts, late)
            if not soonest and not given:
                break
        if best is None:
            for train in group:
                self.unplaced[train.id] = self._why_not(train)
            return
        self.late |= best[2]
        for train in group:
            self._put(train, best[1][train.id], best[2].get(train.id))

    def _why_not(self, train: Train) -> str:
        spans = self.workload.open_to(train)
        if not spans and train.roles and self.workload.openings:
            return f"wants a {' and a '.join(sorted(train.roles))}: none is here on any evening"
        longest = max((end - start for start, end in spans), default=0)
        room = longest - self.workload.reserve
        if train.minutes > room:
            return f"takes {train.minutes} min; the longest opening leaves {max(0, room)} min"
        small = [
            segment.vessel
            for segment in train.segments
            if segment.vessel and self.workload.vessels[segment.vessel] < train.parts
        ]
        if small and not self.workload.vessels[small[0]]:
            return f"the {small[0]} is out of use"
        if small:
            return f"{train.parts} parts do not fit into the {small[0]}"
        for gap in self.workload.gaps_to[train.id]:
            if gap.before in self.unplaced:
                return f"waits for what has no place: {self.workload.by_id[gap.before].words}"
        return "no time left within the hours that are known"

    def _fit(self, group: Sequence[Train], late: Mapping[str, Gap]) -> dict[str, int] | None:
        """The earliest starts of a group that keep every window but those given up."""
        raised: dict[str, int] = {}
        starts: dict[str, int] = {}
        laid: list[list[_Change]] = []
        place = {train.id: at for at, train in enumerate(group)}
        pushes = 0
        while len(laid) < len(group):
            train = group[len(laid)]
            start = self._earliest(train, starts, raised.get(train.id, 0), late.get(train.id))
            if start is None:
                break
            pushed = self._missed(train, start, starts, late) or self._crowded(train, start, starts)
            if pushed is None:
                starts[train.id] = start
                laid.append(self._lay(train, start, late.get(train.id), starts))
                continue
            name, begin = pushed
            pushes += 1
            if name not in starts or pushes > _MOST_PUSHES:
                break
            raised[name] = max(starts[name] + 1, begin)
            while len(laid) > place[name]:
                starts.pop(group[len(laid) - 1].id)
                _undo(laid.pop())
        whole = len(laid) == len(group)
        while laid:
            _undo(laid.pop())
        return starts if whole else None

    def _missed(
        self, train: Train, start: int, starts: Mapping[str, int], late: Mapping[str, Gap]
    ) -> tuple[str, int] | None:
        """The train whose window a start misses, and when that would have to begin."""
        for gap in self.workload.gaps_to[train.id]:
            if gap.most is None or late.get(train.id) == gap:
                continue
            since = gap.since if not gap.before else self._start_of(gap.before, starts)
            if since is not None and start - since > gap.most:
                return gap.before, start - gap.most
        return None

    def _crowded(
        self, train: Train, start: int, starts: Mapping[str, int]
    ) -> tuple[str, int] | None:
        """The train that takes a vessel until this one without room for it, and when there is."""
        for hold in self._closed[train.id]:
            if hold.since in starts:
                since = starts[hold.since] + hold.lead
                free = self._vessels[hold.vessel].free_at(since, start, 0)
                if free is not None:
                    return hold.since, free - hold.lead
        return None

    def _start_of(self, name: str, starts: Mapping[str, int]) -> int | None:
        """When a train's own work begins, behind what a missed window adds."""
        if name in starts:
            return starts[name]
        if name not in self.starts:
            return None
        gap = self.late.get(name)
        return self.starts[name] + (gap.late.minutes if gap is not None and gap.late else 0)

    def _earliest(
        self, train: Train, starts: Mapping[str, int], raised: int, given: Gap | None
    ) -> int | None:
        """The earliest minute at which the work of a train can begin."""
        extra = given.late.minutes if given is not None and given.late is not None else 0
        first = max(self.workload.now + extra, train.not_before, raised)
        for gap in self.workload.gaps_to[train.id]:
            since = gap.since if not gap.before else self._start_of(gap.before, starts)
            if since is None:
                return None
            first = max(first, since + gap.least)
        for opens, closes in self.workload.open_to(train):
            start = max(first, opens + extra)
            last = closes - self.workload.reserve - train.minutes
            while start <= last:
                clash = self._clash(train, start, extra)
                if clash is None:
                    return start
                start = clash
        return None

    def _clash(self, train: Train, start: int, extra: int) -> int | None:
        """The next minute worth trying, or None where the train fits."""
        if extra:
            free = self._hands.free_at(start - extra, start, 1)
            if free is not None:
                return free + extra
        at = start
        for segment in train.segments:
            end = at + segment.minutes
            if segment.hands and segment.minutes:
                free = self._hands.free_at(at, end, 1)
                if free is not None:
                    return start + free - at
            if segment.vessel:
                free = self._vessels[segment.vessel].free_at(at, end, train.parts)
                if free is not None:
                    return start + free - at
            at = end
        return None

    def _put(self, train: Train, start: int, given: Gap | None) -> None:
        extra = given.late.minutes if given is not None and given.late is not None else 0
        self._lay(train, start, given, {})
        self.starts[train.id] = start - extra

    def _lay(
        self, train: Train, start: int, given: Gap | None, starts: Mapping[str, int]
    ) -> list["_Change"]:
        """Take hands and vessels for a train; what was changed, to be undone."""
        changes: list[_Change] = []

        def take(taken: Usage, interval: Interval) -> None:
            taken.add(interval)
            changes.append((taken, interval, True))

        extra = given.late.minutes if given is not None and given.late is not None else 0
        if extra:
            take(self._hands, (start - extra, start, 1))
        at = start
        for segment in train.segments:
            end = at + segment.minutes
            if segment.hands and segment.minutes:
                take(self._hands, (at, end, 1))
            if segment.vessel:
                take(self._vessels[segment.vessel], (at, end, train.parts))
            at = end
        for hold in self._closed[train.id]:
            since = self._start_of(hold.since, starts) if hold.since else self.workload.now
            if since is None:
                continue
            since += hold.lead if hold.since else 0
            taken, whole = self._vessels[hold.vessel], (since, EVER, hold.room)
            taken.drop(whole)
            changes.append((taken, whole, False))
            if start > since:
                take(taken, (since, start, hold.room))
        for hold in self._opened[train.id]:
            take(self._vessels[hold.vessel], (start + hold.lead, EVER, hold.room))
        return changes


def _undo(changes: list[_Change]) -> None:
    for taken, interval, added in reversed(changes):
        if added:
            taken.drop(interval)
        else:
            taken.add(interval)


def _givings(windows: Sequence[Gap]) -> Iterable[tuple[Gap, ...]]:
    """Which windows may be given up: none, then the least bad alone, then two of them."""
    yield ()
    ordered = sorted(windows, key=lambda gap: gap.late.cost + gap.late.minutes if gap.late else 0)
    sets = [
        given
        for size in range(1, _MOST_GIVEN_UP + 1)
        for given in combinations(ordered, size)
        if len({gap.after for gap in given}) == size
    ]
    sets.sort(key=lambda given: sum(g.late.cost + g.late.minutes for g in given if g.late))
    yield from sets
