"""The plan of a shop: its open runs and those to come, its hours and vessels, put together."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field, replace
from functools import cached_property
from pathlib import Path

from benchrun.alarms.dark import HERE_MS
from benchrun.board import OpenRun
from benchrun.history.step_paces import StepPace, paces_for
from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.plan.attendance import Crew, attendance_on, crew_of, scarce_roles
from benchrun.plan.list_plan import ROUNDS, list_plan
from benchrun.plan.pieces import Rooms, RunAhead, TrainSet
from benchrun.plan.progress import parts_progress, parts_to_follow_on
from benchrun.plan.runs_to_come import runs_to_come
from benchrun.plan.set_ups import places_ready, planned_with_set_ups, uncounted
from benchrun.plan.solver import Halt, Proof, proved_plan
from benchrun.plan.step_minutes import (
    MINUTE_MS,
    QUICK,
    SLOW,
    USUAL,
    StepMinutes,
    Takes,
    guessed_minutes,
    learned_minutes,
)
from benchrun.plan.trains import work_ahead
from benchrun.plan.workload import Attendance, PlannedJob, Schedule, Workload
from benchrun.procedure.route import Step, Vessel
from benchrun.run.state import Status
from benchrun.shop.folder import Shop
from benchrun.shop.hours import Hours
from benchrun.shop.settings import Settings, hours_of, read_settings
from benchrun.shop.vessels import ShopVessel, read_vessels
from benchrun.text import slug

_DAYS = 70
_PROOFS = 3


@lean_dataclass(frozen=True)
class Ahead:
    """Everything that a plan is made of.

    Attributes:
        runs: The open runs, then those to come.
        names: What each is called.
        hours: When the shop is attended; while none are kept it counts as attended all the time.
        vessels: The shop's vessels.
        shop: The shop's folder, whose past runs say how long steps take.
        people: How many work in an opening for which the hours say nothing else.
        faults: What cannot be planned, in words.
        last: For pieces of work when the plan told last began them, minutes since 1970.
        zone: The time zone of the hours; None: that of this machine.
        follow_on: For procedures, by their ids, parts without a route that may go there next.
        crew: Everybody who works in the shop, where its hours name some.
    """

    runs: Sequence[RunAhead]
    names: Mapping[str, str]
    hours: Hours
    vessels: Sequence[ShopVessel]
    shop: Path
    people: int = 1
    faults: tuple[str, ...] = ()
    last: Mapping[str, int] = field(default_factory=dict)
    zone: dt.tzinfo | None = None
    follow_on: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    crew: Crew = field(default_factory=dict)

    @cached_property
    def paces(self) -> Mapping[str, Mapping[str, StepPace]]:
        """The learned paces by procedure and step."""
        own: dict[str, str] = {}
        for run in self.runs:
            own.setdefault(run.procedure, run.id)
        return {procedure: paces_for(self.shop, procedure, run) for procedure, run in own.items()}

    def takes(self, procedure: str, step: Step) -> StepMinutes:
        """How long a step takes, learned or guessed."""
        pace = self.paces[procedure].get(step.id)
        return guessed_minutes(step) if pace is None else learned_minutes(pace, step)

    def room(self, vessel: Vessel) -> tuple[str, int | None]:
        """The shop's name of a vessel and how much it holds; one out of use holds nothing."""
        for own in self.vessels:
            if own.called(vessel.id, vessel.title):
                if own.out_of_use:
                    return own.name, 0
                limits = [room for room in (own.holds, vessel.capacity) if room is not None]
                return own.name, min(limits, default=None)
        return vessel.title, vessel.capacity

    def work(
        self, now: Moment, share: float = USUAL, readied: frozenset[str] = frozenset()
    ) -> TrainSet:
        """The trains of all runs, with times that a share of goes stays under.

        Args:
            now: The moment.
            share: The share.
            readied: The set-ups whose minutes count; see `planned_with_set_ups`.
        """
        takes: Takes = self.takes
        rooms: Rooms = self.room
        scarce = frozenset[str]()
        if self.crew:
            scarce = scarce_roles(self.runs, self._here(_openings(self.hours, now, self.zone)))
        here = self.people_at(now)
        return work_ahead(self.runs, now, takes, rooms, here, share, readied, scarce)

    def people_at(self, now: Moment) -> int:
        """How many work in the opening that is on, or in the next one."""
        said = self.hours.people_on(self._day_of(now))
        return self.people if said is None else said

    def names_at(self, now: Moment) -> tuple[str, ...]:
        """Who works in the opening that is on, or the next one, by their names; empty: not said."""
        named = self.hours.names_on(self._day_of(now))
        return tuple(self.crew[one].name if one in self.crew else one for one in named)

    def _day_of(self, now: Moment) -> dt.date:
        """The day of the opening that is on, or of the next one."""
        opening = self.hours.next_opening(now.utc_ms, self.zone) if self.hours.known else None
        return self._day(opening.since_ms if opening else now.utc_ms)

    def _day(self, utc_ms: int) -> dt.date:
        return dt.datetime.fromtimestamp(utc_ms // 1000, dt.UTC).astimezone(self.zone).date()

    def _here(self, openings: Iterable[tuple[int, int]]) -> tuple[Attendance, ...]:
        """Who is here in openings."""
        return tuple(
            attendance_on(self.hours, self._day(opens * MINUTE_MS), self.people, self.crew)
            for opens, _ in openings
        )

    def workload(self, work: TrainSet, now: Moment) -> Workload:
        """The workload that trains make."""
        last = {}
        for name, keys in work.keys.items():
            wanted = (self.last[key] - at for key, at in keys.items() if key in self.last)
            wish = next(wanted, None)
            if wish is not None:
                last[name] = wish
        openings = _openings(self.hours, now, self.zone)
        attending = self._here(openings)
        most = max((one.people for one in attending), default=self.people)
        return Workload(
            now.utc_ms // MINUTE_MS,
            openings,
            most,
            work.vessels,
            tuple(work.trains),
            tuple(work.gaps),
            tuple(work.holds),
            tuple(PlannedJob(run.id, (run.id,)) for run in self.runs),
            last=last,
            fewer=tuple(
                (*opening, most - one.people)
                for opening, one in zip(openings, attending, strict=True)
                if one.people < most
            ),
            here=dict(zip(openings, attending, strict=True)),
        )


@lean_dataclass(frozen=True)
class Evening:
    """A plan of the runs of a shop.

    Attributes:
        ahead: What it was made of.
        now: The moment at which it was made.
        workload: What was planned; minutes since 1970.
        plan: The plan with the fewest missed windows.
        sooner: The plan that ends soonest, where it is another and ends sooner; else None.
        work: The trains with their steps and parts.
        proof: What is proven of the plan; None where nothing is.
        quick: For each part the minute at which it is done if work goes quickly.
        slow: The same if it goes slowly; a part that finds no place then is not in it.
        careful: The plan that misses fewer windows, where somebody chose the sooner one.
    """

    ahead: Ahead
    now: Moment
    workload: Workload
    plan: Schedule
    sooner: Schedule | None
    work: TrainSet
    proof: Proof | None = None
    quick: Mapping[str, int] = field(default_factory=dict)
    slow: Mapping[str, int] = field(default_factory=dict)
    careful: Schedule | None = None

    @property
    def names(self) -> Mapping[str, str]:
        """The title of each run, those to come last."""
        return self.ahead.names

    @property
    def hours(self) -> Hours:
        """When the shop is attended."""
        return self.ahead.hours

    def begins(self) -> dict[str, int]:
        """For pieces of work the minute at which the plan begins them; see `Ahead.last`."""
        return {
            key: self.plan.work_of(self.workload, name) + at
            for name in self.plan.starts
            for key, at in self.work.keys[name].items()
        }


def plan_evening(
    ahead: Ahead, now: Moment, *, rounds: int = ROUNDS, ranges: bool = True
) -> Evening:
    """Plan what is ahead by the list.

    Args:
        ahead: What is ahead.
        now: The moment.
        rounds: How many other orders are tried.
        ranges: Whether it is told when parts are done if work goes quickly or slowly.
    """
    evening = _by_list(ahead, now, rounds, frozenset())
    if not ranges:
        return evening
    quick, slow = (_done_at(ahead, now, share) for share in (QUICK, SLOW))
    return replace(evening, quick=quick, slow=slow)


def _by_list(ahead: Ahead, now: Moment, rounds: int, counted: frozenset[str]) -> Evening:
    """The list's plans, with the set-ups that they want."""

    def plans(workload: Workload) -> dict[str, Schedule]:
        careful = list_plan(workload, rounds=rounds)
        if not careful.starts:
            return {"careful": careful}
        return {"careful": careful, "sooner": list_plan(workload, rounds=rounds, soonest=True)}

    work, workload, made = planned_with_set_ups(
        lambda names: _laid(ahead, now, USUAL, names),
        plans,
        places_ready(ahead.runs, now),
        counted,
    )
    plan, sooner = made["careful"], made.get("sooner")
    differs = sooner is not None and _ends_sooner(workload, sooner, plan)
    return Evening(ahead, now, workload, plan, sooner if differs else None, work)


def _laid(
    ahead: Ahead, now: Moment, share: float, readied: frozenset[str]
) -> tuple[TrainSet, Workload]:
    work = ahead.work(now, share, readied)
    return work, ahead.workload(work, now)


def prove_evening(evening: Evening, halt: Halt | None = None) -> Evening:
    """The plan made better by the solver, with what is proven of it; it takes a while.

    Where the better plan begins a load on an evening whose set-up was not counted, it is counted
    and the plan made again; the list's plan stands where that comes to no end.

    Args:
        evening: The plan of the list.
        halt: What ends it sooner.
    """
    ready = places_ready(evening.ahead.runs, evening.now)
    listed = evening
    for _ in range(_PROOFS):
        workload = listed.workload
        proof = proved_plan(workload, listed.plan, halt=halt)
        lacks = uncounted(listed.work, workload, proof.plan, ready)
        if not lacks:
            other = listed.sooner
            differs = other is not None and _ends_sooner(workload, other, proof.plan)
            return replace(listed, plan=proof.plan, sooner=other if differs else None, proof=proof)
        counted = {one.name for one in listed.work.set_ups if one.counted}
        again = _by_list(evening.ahead, evening.now, 0, frozenset(counted | lacks))
        listed = replace(again, quick=evening.quick, slow=evening.slow)
    return evening


def soonest_chosen(evening: Evening) -> Evening:
    """The plan that is done soonest in place of the careful one, where there are two."""
    if evening.sooner is None:
        return evening
    return replace(evening, plan=evening.sooner, sooner=None, careful=evening.plan, proof=None)


def _ends_sooner(workload: Workload, sooner: Schedule, plan: Schedule) -> bool:
    """Whether a plan misses more windows and is done at least an hour sooner for it."""
    ends, others = _end(workload, plan), _end(workload, sooner)
    placed = len(sooner.unplaced) <= len(plan.unplaced)
    return placed and sooner.missed() > plan.missed() and others + 60 <= ends


def done_at(work: TrainSet, workload: Workload, plan: Schedule) -> dict[str, int]:
    """For each part, in plain letters, the minute at which all its work is done.

    A part of whose work something has no place is left out.
    """
    ends: dict[str, int] = {}
    lost = {slug(part) for name in plan.unplaced for part in work.parts[name]}
    for name in plan.starts:
        end = plan.end_of(workload, name)
        for part in map(slug, work.parts[name]):
            ends[part] = max(end, ends.get(part, 0))
    return {part: end for part, end in ends.items() if part not in lost}


def _done_at(ahead: Ahead, now: Moment, share: float) -> dict[str, int]:
    work, workload, made = planned_with_set_ups(
        lambda names: _laid(ahead, now, share, names),
        lambda workload: {"careful": list_plan(workload, rounds=0)},
        places_ready(ahead.runs, now),
    )
    return done_at(work, workload, made["careful"])


def shop_ahead(
    shop: Shop,
    runs: Iterable[OpenRun],
    now: Moment,
    *,
    last: Mapping[str, int] | None = None,
    zone: dt.tzinfo | None = None,
) -> Ahead:
    """Everything that the plan of a shop is made of.

    Args:
        shop: The shop.
        runs: Its open runs as they were read, the most pressing first.
        now: The moment.
        last: When the plan told last began pieces of work; see `Evening.begins`.
        zone: The time zone of the hours; None: that of this machine.
    """
    ahead, names = list[RunAhead](), dict[str, str]()
    for one in runs:
        if one.run is None or one.run.ended:
            continue
        about = one.run.about.get("procedure")
        procedure = str(about.get("id", "")) if isinstance(about, Mapping) else ""
        ahead.append(RunAhead(one.id, procedure, one.run))
        names[one.id] = one.title
    settings, busy = read_settings(shop), _busy(ahead)
    hours = hours_of(shop)
    crew, strangers = crew_of(shop, hours)
    come = runs_to_come(shop, parts_progress(shop, busy), ahead, now)
    return Ahead(
        (*ahead, *come.runs),
        {**names, **come.names},
        hours,
        read_vessels(shop).rows,
        shop.path,
        settings.people,
        (*_hours_faults(settings), *strangers, *come.faults),
        last or {},
        zone,
        parts_to_follow_on(shop, busy),
        crew,
    )


def _hours_faults(settings: Settings) -> tuple[str, ...]:
    """The faults in what the settings say of hours and people, which then are not counted with."""
    about = ("hours:", "other hours:", "people:")
    return tuple(f"shop.yaml: {one.text}" for one in settings.faults if one.text.startswith(about))


def _busy(ahead: Sequence[RunAhead]) -> dict[str, str]:
    """The parts that are in an open run, with that run."""
    return {
        slug(one.part): run.id
        for run in ahead
        for one in run.run.each()
        if one.status not in (Status.SCRAP, Status.DONE)
    }


def plan_shop(
    shop: Shop,
    runs: Iterable[OpenRun],
    now: Moment,
    *,
    rounds: int = ROUNDS,
    last: Mapping[str, int] | None = None,
    zone: dt.tzinfo | None = None,
) -> Evening:
    """Plan the open runs of a shop and those to come, by the list.

    Args:
        shop: The shop.
        runs: Its open runs as they were read, the most pressing first.
        now: The moment.
        rounds: How many other orders are tried.
        last: When the plan told last began pieces of work; see `Evening.begins`.
        zone: The time zone of the hours; None: that of this machine.
    """
    return plan_evening(shop_ahead(shop, runs, now, last=last, zone=zone), now, rounds=rounds)


def _end(workload: Workload, plan: Schedule) -> int:
    return max((plan.end_of(workload, name) for name in plan.starts), default=0)


def _openings(hours: Hours, now: Moment, zone: dt.tzinfo | None) -> tuple[tuple[int, int], ...]:
    until = now.utc_ms + _DAYS * 24 * 60 * MINUTE_MS
    if not hours.known:
        return ((now.utc_ms // MINUTE_MS, until // MINUTE_MS),)
    found: list[tuple[int, int]] = []
    if hours.attended(now.utc_ms, now.utc_ms, zone) is None:
        # Whoever asks is in the shop, whatever its hours say: what runs is seen to now.
        found.append((now.utc_ms // MINUTE_MS, (now.utc_ms + HERE_MS) // MINUTE_MS))
    for opening in hours.openings(now.utc_ms, zone):
        if opening.since_ms >= until:
            break
        since, closes = opening.since_ms // MINUTE_MS, opening.until_ms // MINUTE_MS
        if found and since <= found[-1][1]:
            since = found.pop()[0]
        found.append((since, closes))
    return tuple(found)
