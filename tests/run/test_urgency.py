"""The one order of urgency: what is harmed first is offered first, over all runs and all clocks."""

import itertools
from dataclasses import dataclass, replace

import pytest
from hypothesis import assume, settings
from hypothesis import strategies as st
from hypothesis.stateful import initialize, invariant, rule, run_state_machine_as_test
from random_routes import Author, Pick, kept_route, random_route
from run_world import World
from test_properties import CHOICES, QUIET, RandomRun, picking, reading
from trial import MINUTE, Trial

from benchrun.moment import Elapsed, Moment
from benchrun.procedure.parameter import Undetermined
from benchrun.procedure.route import Dwell, Route
from benchrun.run import commands as c
from benchrun.run.act_clocks import Band, ClockKind, act_clocks
from benchrun.run.clocks import LoadClock, window
from benchrun.run.clocks import loads as load_clocks
from benchrun.run.course import constant_ms
from benchrun.run.offers import Deed, offers
from benchrun.run.state import Run
from benchrun.run.urgency import ordered_clocks
from benchrun.run.verdict import draw, knowns
from benchrun.run.vessels import waited_for_room, waits_for_room, without_waiting

HOUR = 60 * MINUTE
LOADS = """
- {reading: Read the bath., id: bath, unit: "%"}
- dwell: Keep it wet.
  id: soak
  in: tub
  window: {after: bath, most: 30 min, late: [set aside]}
  least: 10 min
  most: 20 min
  tend: {every: 2 min, do: Turn the parts.}
- do: Rinse.
  id: rinse
  window: {after: soak, most: 1 min, late: [rework from bath at most once, go on]}
- do: Dry.
  id: dry
"""


BAKED = """
- {do: Brush on a coat., id: coat}
- {do: Mask the bore., id: mask}
- {dwell: Warm it., id: warm, in: oven, least: 3 min}
- do: Wipe it down.
  id: wipe
  window: {after: coat, most: 8 min, late: [go on]}
"""


def first(trial):
    return next(iter(offers(trial.run, trial.now)))


def clock(trial, kind, part="A"):
    found = [x for x in act_clocks(trial.run, trial.now) if x.kind is kind and part in x.parts]
    assert len(found) == 1, found
    return found[0]


@pytest.fixture
def loads(tmp_path):
    """Four arms and a tub for two; the first two have been in for 15 min."""
    trial = Trial(tmp_path, LOADS, "A B C D")
    for part in "ABCD":
        trial.do("bath", part, "50 %")
    trial.put_in("soak", "A B")
    trial.minute = 15
    return trial


def test_wet_parts_are_rinsed_before_the_next_load_goes_in(loads):
    loads.lift("A B")
    offer = first(loads)
    assert (offer.deed, offer.step.id, offer.parts) == (Deed.DO, "rinse", ("A", "B"))
    loads.do("rinse", "A B")
    assert (first(loads).deed, first(loads).parts) == (Deed.PUT_IN, ("C", "D"))


def test_what_is_late_is_settled_and_then_the_wet_parts_are_still_first(loads):
    loads.lift("A B")
    loads.minute = 17
    assert first(loads).deed is Deed.LATE
    loads.late("rinse", "A B")
    assert first(loads).deed is Deed.ANSWER
    loads.answer("A", "go on")
    loads.answer("B", "go on")
    assert (first(loads).deed, first(loads).step.id) == (Deed.DO, "rinse")
    loads.do("rinse", "A B")
    assert first(loads).deed is Deed.PUT_IN


def test_a_tending_is_due_and_then_late_and_a_load_past_its_most_is_only_taken_out(loads):
    loads.good(c.Tend(("A", "B"), loads.seen))
    assert clock(loads, ClockKind.TEND).band is Band.RUNNING
    loads.minute += 2
    assert clock(loads, ClockKind.TEND).band is Band.DUE
    loads.minute += 0.51
    assert clock(loads, ClockKind.TEND).band is Band.LATE
    assert first(loads).deed is Deed.TEND
    loads.minute = 20.1
    assert first(loads).deed is Deed.LIFT
    assert [x.kind for x in act_clocks(loads.run, loads.now) if "A" in x.parts] == [ClockKind.LOAD]


def test_a_load_with_seconds_left_stands_before_a_tending_that_has_some_to_spare(tmp_path):
    trial = Trial(tmp_path, LOADS, "A B")
    for part in "AB":
        trial.do("bath", part, "50 %")
    trial.put_in("soak", "A")
    trial.minute = 17.9
    trial.put_in("soak", "B")
    trial.minute = 19.8
    trial.good(c.Tend(("A",), trial.seen))
    trial.minute = 19.95
    assert (first(trial).deed, first(trial).parts) == (Deed.LIFT, ("A",))
    trial.lift("A")
    assert (first(trial).deed, first(trial).parts) == (Deed.TEND, ("B",))  # 27 s against 60 s
    trial.good(c.Tend(("B",), trial.seen))
    assert (first(trial).deed, first(trial).parts) == (Deed.DO, ("A",))


def test_a_load_climbs_the_ladder_of_bands(loads):
    bands = {}
    for tenth in range(230):
        loads.minute = tenth / 10
        bands.setdefault(clock(loads, ClockKind.LOAD).band, tenth / 10)
    assert bands == {Band.RUNNING: 0, Band.DUE: 10, Band.SOON: 18, Band.LATE: 20.1}


def test_room_in_a_vessel_goes_to_the_part_whose_window_closes_first(tmp_path):
    trial = Trial(tmp_path, LOADS, "A B C")
    trial.do("bath", "C", "50 %")
    trial.minute = 27
    trial.do("bath", "A", "50 %")
    trial.do("bath", "B", "50 %")
    trial.put_in("soak", "B")
    assert (first(trial).deed, first(trial).parts) == (Deed.PUT_IN, ("C",))


COATS = """
- {do: Brush on a coat., id: coat}
- {do: Look at it., id: look}
- do: Wipe.
  id: wipe
  window: {after: coat, least: 2 h, most: 24 h, late: [go on]}
- dwell: Bake it.
  id: bake
  in: oven
  least: 3 h
- {do: Pack., id: pack}
"""


BATH = """
- {dwell: Soak it., id: tub, in: tub, least: 10 min, most: 20 min}
"""


def test_a_recoat_window_opens_is_due_and_closes(tmp_path):
    trial = Trial(tmp_path, COATS, "A")
    trial.do("coat", "A")
    assert clock(trial, ClockKind.WINDOW).band is Band.RUNNING
    trial.do("look", "A")
    trial.minute = 121
    assert clock(trial, ClockKind.WINDOW).band is Band.DUE
    trial.minute = 22 * 60
    assert clock(trial, ClockKind.WINDOW).band is Band.SOON
    trial.minute = 24 * 60 + 1
    assert clock(trial, ClockKind.WINDOW).band is Band.LATE
    trial.late("wipe", "A")
    trial.answer("A", "go on")
    assert clock(trial, ClockKind.WINDOW).band is Band.RUNNING
    assert clock(trial, ClockKind.WINDOW).accepted


def test_a_load_does_not_go_in_before_a_window_that_closes_while_it_is_in(tmp_path):
    trial = Trial(tmp_path, COATS, "A B")
    trial.do("coat", "A")
    trial.do("look", "A")
    trial.do("coat", "B")
    trial.do("look", "B")
    trial.minute = 10 * 60
    trial.do("wipe", "A")
    trial.minute = 15 * 60
    order = [offer.deed for offer in offers(trial.run, trial.now)]
    assert order.index(Deed.DO) < order.index(Deed.PUT_IN)


def test_a_window_closed_since_yesterday_waits_for_a_load_that_must_come_out_now(tmp_path):
    trial = Trial(tmp_path, COATS + BATH, "A B")
    trial.do("coat", "A")
    trial.do("look", "A")
    trial.minute = 40 * 60
    for step in ("coat", "look", "wipe", "bake", "pack"):
        trial.skip(step, "B")
    trial.put_in("tub", "B")
    trial.minute += 18.5
    assert [one.clock.kind for one in ordered_clocks([("x", trial.run)], trial.now)] == [
        ClockKind.LOAD,
        ClockKind.WINDOW,
    ]
    assert first(trial).deed is Deed.LIFT


def test_after_a_restart_nobody_knows_how_long_a_load_is_never_said_to_be_in_time(loads):
    loads.restart(off=1, sync=False)
    found = clock(loads, ClockKind.LOAD)
    assert (found.band, found.over_ms) == (Band.LATE, 0)
    assert found.spent.possible_ms is None


def test_a_load_further_past_its_window_goes_in_first_though_a_restart_hides_how_far(tmp_path):
    trial = Trial(tmp_path, BAKED, "A B")
    trial.do("coat", "A")
    trial.minute = 10
    trial.do("mask", "A")
    trial.restart(off=1, sync=False)
    trial.do("coat", "B")
    trial.minute += 8.3
    far, near = (clock(trial, ClockKind.WINDOW, part) for part in "AB")
    assert (far.spent.possible_ms, near.over_ms) == (None, 18_000)
    assert far.over_ms > near.over_ms
    assert far.slack > near.slack
    assert [(one.deed, one.parts) for one in offers(trial.run, trial.now)][:2] == [
        (Deed.PUT_IN, ("A",)),
        (Deed.DO, ("B",)),
    ]


def test_windows_that_begin_at_once_on_both_sides_of_a_wall_clock_that_was_set_are_two(tmp_path):
    trial = Trial(tmp_path, BAKED, "A B")
    trial.do("coat", "A")
    trial.wrong = 5
    trial.do("coat", "B")
    keys = [one.clock.key for one in ordered_clocks([("run", trial.run)], trial.now)]
    assert len(keys) == len(set(keys)) == 2


# -- the properties ---------------------------------------------------------------------------


@dataclass(frozen=True)
class Harm:
    """When harm comes to some parts, told from the markers alone."""

    left: int
    limit: int
    work: int
    window: bool
    judged: bool

    @property
    def presses(self) -> bool:
        if self.left < 0:
            return not (self.window and -self.left > HOUR)
        return self.left - self.work <= max(2 * MINUTE, self.limit // 4)


def most_of(run: Run, part: str, name: str) -> int | None:
    """The most of the window before a step for a part; None where it has none or cannot be told."""
    limits = run.route.steps[name].window
    if limits is None or limits.most is None:
        return None
    try:
        return limits.most.milliseconds(knowns(draw(run.markers[part], limits.most.reads)))
    except Undetermined:
        return None


def least_in(run: Run, part: str, detail: Dwell) -> int:
    """How long a part stays in at least."""
    values = knowns(draw(run.markers[part], detail.least.reads)) if detail.least else {}
    try:
        return detail.least.milliseconds(values) if detail.least else 0
    except Undetermined:
        return 0  # a figure that is still to be asked for, or that the run goes on without


def counted(run: Run, part: str, name: str, at: Moment) -> tuple[Elapsed, bool]:
    """What counts against the most of a window, and whether it counts on.

    The time in which a part stands at the step and no vessel has room for it is left out where the
    procedure says so.
    """
    marker, step = run.markers[part], run.route.steps[name]
    since = run.timeline.elapsed(marker.windows[name].most_from, at)
    if step.window.room_counts or marker.index not in run.course.ops_of(name):
        return since, False
    waited = waited_for_room(run, marker, step, at)
    return without_waiting(since, waited), waits_for_room(run, marker, step)


def window_harms(run: Run, at: Moment, part: str) -> list[Harm]:
    marker = run.markers[part]
    found = []
    for name, its in marker.windows.items() if marker.here else ():
        most = most_of(run, part, name)
        if most is None:
            continue
        since, paused = counted(run, part, name, at)
        possible = None if since.possible_ms is None else since.possible_ms + its.ago_ms
        left = -1 if possible is None else most - possible
        if paused and left >= 0:
            continue
        if possible is None and since.proven_ms > most:
            left = most - since.proven_ms
        judged = its.settled == "late" or (
            its.settled == "perhaps late" and (since.proven_ms <= most)
        )
        found.append(Harm(left, most, _work_of_all(run, part, name, at), True, judged))
    return found


def _work_of_all(run: Run, part: str, name: str, at: Moment) -> int:
    """The work before a step of all whose window is the same as that of a part: the most counts."""

    def alike(other: str) -> tuple[object, ...] | None:
        marker = run.markers[other]
        its, state = marker.windows.get(name), window(run, marker, run.route.steps[name], at)
        if its is None or state is None or not marker.here:
            return None
        marks = (its.least_from, its.most_from, its.ago_ms)
        return (*marks, state.least, most_of(run, other, name), state.unknown, state.answered)

    mine = alike(part)
    return max(_work(run, other, name) for other in run.parts if alike(other) == mine)


def _work(run: Run, part: str, name: str) -> int:
    """The acts before a step, a minute each and dwells with their least, by walking the ops."""
    marker, index = run.markers[part], run.markers[part].index
    own = set(run.course.ops_of(name))
    total, at, steps = 0, index, 0
    ops = run.route.ops
    while at not in own and steps <= 2 * len(ops):
        op = run.route.step_at(at)
        if op is not None:
            total += MINUTE
            detail = op.step.detail
            if isinstance(detail, Dwell):
                total += 0 if at == index and marker.soak else constant_ms(detail.least) or 0
        tail = getattr(ops[at], "head", None)
        inside = tail is not None and tail in run.route.within[run.route.index[name]]
        back = inside and run.route.index[name] < index
        at = tail + 1 if back else at + 1
        steps += 1
    return total


def load_harm(clock: LoadClock) -> Harm:
    """The harm that taking a load out keeps off."""
    left = clock.to_most
    if clock.spent.possible_ms is None:
        left = min(-1, clock.most - clock.spent.proven_ms)
    return Harm(left, clock.most, 0, False, False)


def harm_of(run: Run, at: Moment, offer) -> Harm | None:
    """The harm that taking an offer keeps off; the soonest."""
    found: list[Harm] = []
    if offer.deed not in (Deed.TEND, Deed.RESUME, Deed.CLOSE):
        for part in offer.parts:
            found += window_harms(run, at, part)
    if offer.deed is Deed.LIFT and offer.clock.most is not None:
        found.append(load_harm(offer.clock))
    if offer.step is not None and offer.step.before_out:
        held = (c for c in load_clocks(run, at) if c.step.id == offer.step.ahead_of)
        mine = (c for c in held if set(c.parts) & set(offer.parts) and not c.step.detail.place)
        found += [load_harm(clock) for clock in mine if clock.most is not None]
    away = offer.deed is Deed.TEND and bool(offer.step.detail.place)
    if offer.deed is Deed.TEND and (away or not (offer.clock.to_most or 0) < 0):
        every = offer.clock.every
        left = offer.clock.tend_in + min(MINUTE, every // 4)
        left = offer.clock.tend_in if left < 0 else left
        found.append(Harm(left, every, 0, False, False))
    live = [one for one in found if one.presses and not (one.judged and one.left < 0)]
    return min(live, key=lambda one: (one.left >= 0, one.left - one.work), default=None)


def check_order(run: Run, at: Moment) -> None:
    """No act that can wait is offered before one whose harm comes sooner."""
    ready = [offer for offer in offers(run, at) if offer.ready]
    harms = [harm_of(run, at, offer) for offer in ready]
    for place, harm in enumerate(harms):
        if harm is None:
            continue
        for before, other in zip(ready[:place], harms[:place], strict=True):
            told = (before.deed, before.parts, ready[place].deed, ready[place].parts)
            if other is None:
                judged = [h for p in before.parts for h in window_harms(run, at, p) if h.judged]
                assert judged, told
                assert harm.left >= 0, told
                continue
            key = (harm.left >= 0, harm.left if harm.left < 0 else harm.left - harm.work)
            assert (
                other.left >= 0,
                other.left if other.left < 0 else other.left - other.work,
            ) <= key, told


def check_starts(run: Run, at: Moment) -> None:
    """Nothing goes in before an open window that would close while it is in."""
    ready = [offer for offer in offers(run, at) if offer.ready]
    for place, offer in enumerate(ready):
        detail = offer.step.detail if offer.step else None
        starts = offer.deed in (Deed.PUT_IN, Deed.BEGIN)
        if not starts or not isinstance(detail, Dwell):
            continue
        least = max(least_in(run, part, detail) for part in offer.parts)
        own = [h.left - h.work for p in offer.parts for h in window_harms(run, at, p)]
        for later in ready[place + 1 :]:
            if later.deed in (Deed.TEND, Deed.PUT_IN, Deed.RESUME):
                continue
            if later.deed is Deed.BEGIN and later.step and isinstance(later.step.detail, Dwell):
                continue
            closing = [
                h.left - h.work
                for p in later.parts
                for h in window_harms(run, at, p)
                if not h.judged and h.left >= 0 and h.left - h.work <= least
            ]
            assert not closing or min(own, default=1 << 60) <= min(closing), (offer, later)


def check_alarms(run: Run, at: Moment) -> None:
    """Every clock that can harm is among the clocks, and calls before and when it harms."""
    clocks = act_clocks(run, at)
    for marker in run.each():
        soak = marker.soak
        if soak is not None and soak.most is not None:
            spent = run.timeline.elapsed(soak.mark, at)
            mine = [x for x in clocks if marker.part in x.parts and x.load is not None]
            assert mine, marker.part
            if spent.possible_ms is None or spent.possible_ms > soak.most:
                assert max(x.band for x in mine) is Band.LATE
        for name, its in marker.windows.items() if marker.here else ():
            mine = [x for x in clocks if x.kind is ClockKind.WINDOW and marker.part in x.parts]
            assert name in {x.step.id for x in mine}
            most = most_of(run, marker.part, name)
            since, paused = counted(run, marker.part, name, at)
            if most is None or its.settled:
                continue
            call = max(x.band for x in mine if x.step.id == name)
            if since.possible_ms is None or since.possible_ms > most:
                assert call is Band.LATE
            elif most - since.possible_ms <= 2 * MINUTE and not paused:
                assert call >= Band.SOON


def later(at: Moment, ms: int) -> Moment:
    return replace(at, utc_ms=at.utc_ms + ms, up_ms=at.up_ms + ms)


def check_next(run: Run, at: Moment) -> None:
    """The next band comes at the millisecond that was foretold, and none before it."""
    for one in act_clocks(run, at):
        if one.next_in is None:
            assert one.band is Band.LATE or one.harm_in is None or one.accepted
            continue
        for ms, same in ((one.next_in - 1, True), (one.next_in, False)):
            again = [x for x in act_clocks(run, later(at, ms)) if x.key == one.key]
            # A tending goes with the load that has become late.
            bands = {x.band for x in again}
            if same:
                assert one.kind is ClockKind.TEND or bands == {one.band}, (one, again)
            else:
                assert one.kind is ClockKind.TEND or all(b > one.band for b in bands), (one, again)


def check_one_order(run: Run, at: Moment) -> None:
    """The offers that press stand in the order of their clocks."""
    clocks = [one.clock for one in ordered_clocks([("run", run)], at)]
    ready = [o for o in offers(run, at) if o.ready and o.urgency[0] <= 2]
    ranks = []
    for offer in ready:
        its = [
            place
            for place, x in enumerate(clocks)
            if (x.kind is ClockKind.LOAD and offer.deed is Deed.LIFT and x.parts == offer.parts)
            or (
                x.kind is ClockKind.LOAD
                and offer.step is not None
                and offer.step.before_out
                and offer.step.ahead_of == x.step.id
                and set(x.parts) & set(offer.parts)
            )
            or (x.kind is ClockKind.TEND and offer.deed is Deed.TEND and x.parts == offer.parts)
            or (
                x.kind is ClockKind.WINDOW
                and offer.deed not in (Deed.TEND, Deed.RESUME)
                and set(x.parts) & set(offer.parts)
            )
        ]
        assert its, offer
        ranks.append(min(its))
    for one, other in itertools.pairwise(ranks):
        assert one <= other or _alike(clocks[one], clocks[other])


def _alike(one, other) -> bool:
    return one.slack == other.slack or one.over_ms == other.over_ms


def clocked_route(pick: Pick) -> Route | None:
    """A random procedure that is full of dwells and windows."""
    author = Author(pick)
    for _ in range(2 + pick(4)):
        if pick(2):
            author.dwell(not pick(6), windowed=True)
        else:
            author.simple((0, 0, 1, 2)[pick(4)], windowed=True)
        if not pick(5):
            author.repeated(0)
    return kept_route(author.written())


class UrgentRun(RandomRun):
    """A random run by random people; at every state the order is checked.

    Attributes:
        pressing: In how many states something pressed.
        rivals: In how many something stood behind it.
    """

    pressing = rivals = 0

    @initialize(choices=st.binary(min_size=20, max_size=160), sizes=st.integers(0, 2**12 - 1))
    def begin(self, choices: bytes, sizes: int) -> None:
        pick = picking(sizes)
        parts = [1 + pick(2) for _ in range(1 + pick(5))]
        lay = clocked_route if pick(4) else random_route
        route = lay(reading(choices))
        assume(route is not None)
        self.world = World(route, parts)

    @rule(tenths=st.integers(1, 1200))
    def some_seconds(self, tenths: int) -> None:
        self.world.clock.true_ms += tenths * 100

    @rule(choices=CHOICES)
    def one_part(self, choices: int) -> None:
        pick = picking(choices)
        ready = [o for o in self.world.offered() if o.ready and o.parts]
        if ready:
            offer = ready[pick(len(ready))]
            self.world.take(offer, offer.parts[: 1 + pick(2)], pick)

    @invariant()
    def the_order_holds(self) -> None:
        run, at = self.world.run, self.world.clock.now()
        for check in (check_order, check_starts, check_alarms, check_next, check_one_order):
            check(run, at)
        ready = [o for o in offers(run, at) if o.ready]
        urgent = sum(o.urgency[0] <= 1 for o in ready)
        UrgentRun.pressing += urgent > 0
        UrgentRun.rivals += urgent > 0 and len(ready) > 1


def test_in_random_runs_what_can_wait_is_never_offered_first() -> None:
    short = settings(max_examples=330, stateful_step_count=40, suppress_health_check=QUIET)
    UrgentRun.pressing = UrgentRun.rivals = rounds = 0
    # How much presses in a round is chance.
    while (UrgentRun.pressing <= 150 or UrgentRun.rivals <= 50) and rounds < 4:
        run_state_machine_as_test(UrgentRun, settings=short)
        rounds += 1
    print(f"{UrgentRun.pressing} states in which something pressed, {UrgentRun.rivals} with rivals")
    assert UrgentRun.pressing > 150
    assert UrgentRun.rivals > 50


@pytest.mark.long
@pytest.mark.timeout(0)
def test_in_many_random_runs_what_can_wait_is_never_offered_first() -> None:
    long = settings(
        max_examples=5_000, stateful_step_count=40, suppress_health_check=QUIET, database=None
    )
    run_state_machine_as_test(UrgentRun, settings=long)
    print(f"{UrgentRun.pressing} states in which something pressed, {UrgentRun.rivals} with rivals")
