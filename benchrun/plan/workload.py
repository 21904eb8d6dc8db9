"""The workload of a plan: trains of steps, gaps between them, people, vessels, opening hours.

All times are whole minutes from one origin; the origin is the caller's.
"""

from collections.abc import Mapping, Sequence
from dataclasses import field
from functools import cached_property
from typing import Final

from benchrun.lean_dataclass import lean_dataclass

SOONER: Final = 10
"""How much a minute of a job's end counts against a minute of one train's start."""
PAST_DUE: Final = 100
"""How much a minute past the day on which a job is wanted counts."""
STAY: Final = 20
"""How much a minute counts by which a train is moved away from where the last plan had it."""


@lean_dataclass(frozen=True, slots=True)
class Segment:
    """A part of a train.

    Attributes:
        minutes: How long it takes.
        hands: Whether it wants somebody's hands all the time.
        vessel: The vessel that the parts are in meanwhile, or empty.
    """

    minutes: int
    hands: bool
    vessel: str = ""


@lean_dataclass(frozen=True)
class Train:
    """Steps of one load that may not be parted, so that they lie within one opening.

    Attributes:
        id: Its name, unique in the workload.
        run: The run that it belongs to.
        words: What is done, for people.
        parts: How many parts it carries.
        segments: Its parts in order.
        not_before: The earliest minute at which it may begin, for what is known already.
        begun: The minute at which it was begun, when it stands; None while it is only planned.
        waits: For what it waits that no hand in the shop can hasten, in words; or empty.
        roles: The roles that somebody must have who is here then.
        people: How many must be here then, where there are ever so many.
    """

    id: str
    run: str
    words: str
    parts: int
    segments: tuple[Segment, ...]
    not_before: int = 0
    begun: int | None = None
    waits: str = ""
    roles: frozenset[str] = frozenset()
    people: int = 1

    @cached_property
    def minutes(self) -> int:
        """How long it takes."""
        return sum(segment.minutes for segment in self.segments)


@lean_dataclass(frozen=True, slots=True)
class Late:
    """The consequence of a missed window.

    Attributes:
        words: What has to be done then.
        minutes: How long that takes, just before the train.
        cost: How bad it is, in minutes of the person who does the work.
    """

    words: str
    minutes: int = 0
    cost: int = 60


@lean_dataclass(frozen=True, slots=True)
class Gap:
    """The time from the begin of one train, or from a known minute, to the begin of another.

    Attributes:
        after: The later train.
        before: The earlier train; empty where the time counts from `since`.
        since: The known minute that it counts from, when `before` is empty.
        least: At least so long.
        most: At most so long, or None.
        late: What a missed `most` leads to; None where it may not be missed.
        words: What the gap is, for people.
    """

    after: str
    before: str = ""
    since: int = 0
    least: int = 0
    most: int | None = None
    late: Late | None = None
    words: str = ""


@lean_dataclass(frozen=True, slots=True)
class VesselHold:
    """A vessel that stays taken between two trains, as a rail while paint cures.

    Attributes:
        vessel: The vessel.
        room: How much of it is taken.
        since: The train from whose begin on, after `lead` minutes, it is taken; empty: from the
            origin on.
        lead: Minutes after that begin.
        until: The train at whose begin it is free again; empty: to the end of all plans.
    """

    vessel: str
    room: int
    since: str
    lead: int
    until: str


@lean_dataclass(frozen=True, slots=True)
class PlannedJob:
    """Runs that are wanted together.

    Attributes:
        id: Its name.
        runs: The runs of it.
        due: The minute at which it is wanted, or None.
        weight: How much its end counts against that of others.
    """

    id: str
    runs: tuple[str, ...]
    due: int | None = None
    weight: int = 1


@lean_dataclass(frozen=True, slots=True)
class Attendance:
    """Who is here in an opening.

    Attributes:
        people: How many.
        roles: The roles that they have; None where nobody says who they are, so that any may be.
    """

    people: int
    roles: frozenset[str] | None = None


@lean_dataclass(frozen=True)
class Workload:
    """Everything that a plan has to keep to.

    Attributes:
        now: The minute at which the plan is made.
        openings: When somebody is in the shop: from and to, in order, none overlapping.
        people: How many pairs of hands there are at most.
        vessels: How much each vessel holds.
        trains: The trains, each after those that it follows.
        gaps: The gaps between them.
        holds: The vessels that stay taken between trains.
        jobs: What belongs together.
        reserve: Minutes kept free before closing.
        last: The starts by the plan that was told last; moving a train away from there costs.
        fewer: When there are fewer hands than that: from, to, and by how many fewer.
        here: Who is here in an opening, where something is said of it.
    """

    now: int
    openings: tuple[tuple[int, int], ...]
    people: int
    vessels: Mapping[str, int]
    trains: tuple[Train, ...]
    gaps: tuple[Gap, ...]
    holds: tuple[VesselHold, ...] = ()
    jobs: tuple[PlannedJob, ...] = ()
    reserve: int = 10
    last: Mapping[str, int] = field(default_factory=dict)
    fewer: tuple[tuple[int, int, int], ...] = ()
    here: Mapping[tuple[int, int], Attendance] = field(default_factory=dict)

    @cached_property
    def by_id(self) -> Mapping[str, Train]:
        """The trains by their names."""
        return {train.id: train for train in self.trains}

    def open_to(self, train: Train) -> tuple[tuple[int, int], ...]:
        """The openings in which whoever a train wants is here."""
        if not self.here or (not train.roles and train.people == 1):
            return self.openings
        people = min(train.people, max(one.people for one in self.here.values()))
        return tuple(
            opening
            for opening in self.openings
            if (one := self.here.get(opening)) is None
            or (one.people >= people and (one.roles is None or train.roles <= one.roles))
        )

    @cached_property
    def of_run(self) -> Mapping[str, Sequence[Train]]:
        """For each run its trains."""
        found: dict[str, list[Train]] = {}
        for train in self.trains:
            found.setdefault(train.run, []).append(train)
        return found

    @cached_property
    def gaps_to(self) -> Mapping[str, Sequence[Gap]]:
        """For each train the gaps that end at it."""
        found: dict[str, list[Gap]] = {train.id: [] for train in self.trains}
        for gap in self.gaps:
            found[gap.after].append(gap)
        return found


@lean_dataclass(frozen=True)
class Schedule:
    """A plan: when each train begins, and which windows it gives up.

    Attributes:
        starts: For each train the minute at which it begins, with what a missed window adds.
        late: For each train whose window is missed, the gap.
        unplaced: Trains for which there was no room within the openings, each with the reason.
    """

    starts: Mapping[str, int]
    late: Mapping[str, Gap]
    unplaced: Mapping[str, str]

    def work_of(self, workload: Workload, train: str) -> int:
        """The minute at which the train's own work begins, after what a missed window adds."""
        gap = self.late.get(train)
        extra = gap.late.minutes if gap is not None and gap.late is not None else 0
        return self.starts[train] + extra

    def end_of(self, workload: Workload, train: str) -> int:
        """The minute at which a train ends."""
        return self.work_of(workload, train) + workload.by_id[train].minutes

    def missed(self) -> int:
        """How bad the missed windows are, in minutes, with the work that they add."""
        return sum(
            gap.late.cost + gap.late.minutes for gap in self.late.values() if gap.late is not None
        )

    def finish(self, workload: Workload, job: PlannedJob) -> int | None:
        """The minute at which the last train of a job ends; None where one has no place."""
        trains = [train for run in job.runs for train in workload.of_run.get(run, ())]
        if any(train.id in self.unplaced for train in trains):
            return None
        return max((self.end_of(workload, train.id) for train in trains), default=workload.now)

    def held(self, workload: Workload, hold: VesselHold, for_ever: int) -> tuple[int, int] | None:
        """From when to when a vessel stays taken; None where what takes it has no place.

        Args:
            workload: What was planned.
            hold: The vessel that is held.
            for_ever: The minute that stands for the end of all plans.
        """
        if hold.since and hold.since not in self.starts:
            return None
        since = self.work_of(workload, hold.since) + hold.lead if hold.since else workload.now
        if hold.until in self.starts:
            return since, self.work_of(workload, hold.until)
        return since, max(for_ever, since)

    def ends(self, workload: Workload) -> int:
        """The ends of the jobs by their weight, what is past due counting ten times more."""
        total = 0
        for job in workload.jobs:
            end = self.finish(workload, job)
            if end is not None:
                past = max(0, end - job.due) if job.due is not None else 0
                total += job.weight * (SOONER * end + PAST_DUE * past)
        return total

    def worth(self, workload: Workload) -> tuple[int, int, int]:
        """The worth that two plans are compared by, the smaller the better.

        Trains without a place, then missed windows by how bad they are, then the ends of the jobs
        with the sum of all starts, and what moving away from the plan told last costs.
        """
        starts = sum(self.starts.values())
        moved = sum(
            abs(self.starts[name] - last)
            for name, last in workload.last.items()
            if name in self.starts
        )
        return len(self.unplaced), self.missed(), self.ends(workload) + starts + STAY * moved
