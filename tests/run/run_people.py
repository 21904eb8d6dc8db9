"""What random people do to a run: work on, mis-tap, tap twice, correct, stop, let time pass."""

import itertools
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Final

import run_checks
from random_routes import MINUTE, Pick
from run_world import PEOPLE, World, end_notice, is_dwell, standing

from benchrun.procedure.route import Act, Witness
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.amendment import _pool
from benchrun.run.decide import decide
from benchrun.run.fold import fold
from benchrun.run.offers import Deed
from benchrun.run.state import GO_ON, Run, Status, Value
from benchrun.run.witnessing import waits_for_witness

Deeds = Callable[[World, Pick], None]


def some(parts: tuple[str, ...], pick: Pick) -> tuple[str, ...]:
    """All of the parts, or some of them."""
    if not parts or pick(3):
        return parts
    return tuple(part for part in parts if pick(2)) or parts[:1]


def work(world: World, pick: Pick) -> None:
    """Take the most urgent offer that is ready."""
    ready = [offer for offer in world.offered() if offer.ready]
    if ready:
        world.take(ready[0], ready[0].parts, pick)


def choose(world: World, pick: Pick) -> None:
    """Take any offer, ready or not, for all or some of its parts, with or without a reason."""
    found = world.offered()
    if found:
        offer = found[pick(len(found))]
        world.take(offer, some(offer.parts, pick), pick, "" if pick(2) else "no time")


def answer(world: World, pick: Pick) -> None:
    """Answer some open question of some part."""
    asked = [m for m in world.run.each() if m.questions]
    if not asked:
        return
    marker = asked[pick(len(asked))]
    question = marker.questions[pick(len(marker.questions))]
    codes = [answer.code for answer in question.answers]
    codes += [GO_ON] if question.may_go_on and (not codes or not pick(3)) else []
    code = codes[pick(len(codes))]
    ids = {marker.part: question.id}
    world.give(c.Settle((marker.part,), world.seen, ids, code, "because"))


def mistap(world: World, pick: Pick) -> None:
    """Any step for any parts, or the step of some part for all that stand there."""
    steps = list(world.run.route.steps.values())
    step, parts = steps[pick(len(steps))], world.run.parts
    here = standing(world.run, world.run.each()[pick(len(parts))])
    if here is not None and pick(2):
        step = here
        parts = tuple(m.part for m in world.run.each() if standing(world.run, m) is step)
    else:
        parts = tuple(part for part in parts if pick(2)) or parts[:1]
    reason = "why not" if pick(2) else ""
    if isinstance(step.detail, Witness):
        world.give(c.Tell(step.id, parts, world.seen, reason))
    elif is_dwell(step):
        world.give(c.PutIn(step.id, parts, world.seen, reason, pick(2) * 3 * MINUTE))
    else:
        world.give(world.do(step, parts, pick, reason))


def leave_out(world: World, pick: Pick) -> None:
    """Leave out the step at which some part stands."""
    marker = world.run.each()[pick(len(world.run.parts))]
    step = standing(world.run, marker)
    if step is not None:
        world.give(c.Skip(step.id, (marker.part,), world.seen, "not needed"))


def lift(world: World, pick: Pick) -> None:
    """Lift some part, early or late, perhaps told late."""
    inside = [m for m in world.run.each() if m.soak is not None]
    if inside:
        marker = inside[pick(len(inside))]
        run_checks.can_be_lifted(world.run, marker, world.clock.now(), world.hand)
        if waits_for_witness(world.run, marker.part):
            ended = end_notice(world.run, (marker.part,), world.clock.now(), pick)
            assert world.give(ended) is not None
            return
        ago = pick(2) * 2 * MINUTE
        assert world.give(c.Lift((marker.part,), world.seen, "said so", ago)) is not None


def put(world: World, pick: Pick) -> None:
    """Put some part aside, to scrap, into play or back to a step."""
    marker = world.run.each()[pick(len(world.run.parts))]
    steps = list(world.run.route.steps)
    to = ("aside", "play", "scrap", steps[pick(len(steps))], steps[pick(len(steps))])[pick(5)]
    world.give(c.Put((marker.part,), world.seen, to, "it must"))


def there_and_back(world: World, pick: Pick) -> None:
    """Property 17: aside or scrap and back leaves the part as it was."""
    marker = world.run.each()[pick(len(world.run.parts))]
    if marker.soak is not None or marker.status in (Status.ASIDE, Status.SCRAP):
        return
    to = ("aside", "scrap")[pick(2)]
    assert world.give(c.Put((marker.part,), world.seen, to, "for now")) is not None
    assert world.give(c.Put((marker.part,), world.seen, "play")) is not None
    after = world.run.markers[marker.part]
    # Out of play a part leaves its load, and its wait for room begins anew.
    same = replace(
        after,
        last=marker.last,
        before=marker.before,
        fixed=marker.fixed,
        load=marker.load,
        ready_since=marker.ready_since,
    )
    assert same == marker


def get_back(world: World, pick: Pick) -> None:
    """Take back in what was sent away without a plan."""
    away = tuple(m.part for m in world.run.each() if m.status is Status.AWAY and m.place)
    if away:
        assert world.give(c.GetBack(some(away, pick), world.seen)) is not None


def correct(world: World, pick: Pick) -> None:
    """Correct some value that something rests on."""
    values = values_of(world.run)
    if not values:
        return
    value = values[pick(len(values))]
    reason = "misread"
    if not value.step:
        typed = f"{1 + pick(19)} {value.unit}" if value.unit else ""
        kinds = (*world.run.route.kinds, "")
        kind = "" if typed else kinds[pick(len(kinds))]
        command = c.Correct(value.n, value.part, reason, typed, kind, value.name)
    elif value.number is None:
        finding = ("good", "fair", "bad")[pick(3)]
        command = c.Correct(value.n, value.part, reason, finding=finding, place=value.place)
    else:
        typed = f"{1 + pick(19)} mm"
        command = c.Correct(value.n, value.part, reason, typed, place=value.place)
    world.give(command)


def values_of(run: Run) -> list[Value]:
    """Every value that can be named by a correction; of those without a step what was given."""
    found = {v.id: v for m in run.each() for v in _pool(m) if v.step or not v.inputs}
    return list(found.values())


def take_back(world: World, pick: Pick) -> None:
    """Take back the last entry of some part, again and again perhaps."""
    for _ in range(1 + pick(3)):
        marker = world.run.each()[pick(len(world.run.parts))]
        world.give(c.Retract(marker.last, world.seen, "" if pick(2) else "slipped"))


def act_and_take_back(world: World, pick: Pick) -> None:
    """Act and take it back at once: as if it had not been."""
    before = dict(world.run.markers)
    number = world.run.n
    work(world, pick)
    if world.run.n == number + 1 and not isinstance(
        world.entries[-1].data, e.Resumed | e.Added | e.Closed | e.Figured
    ):
        assert world.give(c.Retract(number, world.seen, "slipped")) is not None
        for part, marker in before.items():
            assert replace(world.run.markers[part], before=()) == replace(marker, before=())


def tap_again(world: World, pick: Pick) -> None:
    """The last accepted command once more; and one that has not seen what came since."""
    if world.last is not None and not isinstance(world.last, c.KeepBeat | c.KeepNote):
        assert world.give(world.last) is None
    found = [o for o in world.offered() if o.ready and o.parts and o.deed is not Deed.CLOSE]
    if found:
        offer = found[pick(len(found))]
        command = world.command_for(offer, offer.parts, pick)
        named = getattr(command, "parts", ()) or offer.parts
        touched = max(world.run.markers[part].touched for part in named)
        if command is not None and hasattr(command, "seen"):
            assert world.give(replace(command, seen=touched - 1)) is None


def stop_or_go(world: World, pick: Pick) -> None:
    """Stop the run, or take it up again."""
    world.give(c.Resume("light again") if world.run.stopped else c.Stop("the light goes"))


def join(world: World, pick: Pick) -> None:
    """A part comes late."""
    if len(world.run.parts) < 6:
        steps = list(world.run.route.steps)
        step = "" if pick(2) else steps[pick(len(steps))]
        spec = world.spec(len(world.run.parts), 1 + pick(2))
        world.give(c.Add(spec, step, bool(pick(2)), "found in the shed" if step else ""))


def doubt(world: World, pick: Pick) -> None:
    """Raise a question."""
    marker = world.run.each()[pick(len(world.run.parts))]
    world.give(c.Raise((marker.part,), world.seen, "Is this the right part?"))


def hand_over(world: World, pick: Pick) -> None:
    """The other person goes on."""
    world.hand = PEOPLE[pick(2)]


def let_pass(world: World, pick: Pick) -> None:
    """Time passes, and somebody may note it."""
    world.clock.true_ms += (20_000, MINUTE, 4 * MINUTE, 11 * MINUTE, 90 * MINUTE)[pick(5)]
    if pick(2):
        world.give(c.KeepBeat())
    if not pick(3):
        world.give(c.KeepNote("The kettle is on."))


def machine(world: World, pick: Pick) -> None:
    """The machine restarts, its clock is set, it finds the time again, or it is another one."""
    clock = world.clock
    sort = pick(6)
    if sort < 2:
        clock.reboot((30_000, 5 * MINUTE)[sort])
        clock.sync = bool(pick(2))
    elif sort == 2:
        clock.sync, clock.error_ms = False, (-90, 45, 600)[pick(3)] * MINUTE
    elif sort == 3:
        clock.sync = True
    elif sort == 4 and clock.sync:
        world.give(c.KeepBeat())
        clock.other_machine()
        world.give(c.KeepBeat())
    else:
        clock.true_ms += MINUTE


def two_orders(world: World, pick: Pick) -> None:
    """Property 24: two acts on disjoint parts come to the same in either order."""
    run, at = world.run, world.clock.now()
    found = [
        o
        for o in world.offered()
        if o.ready
        and o.deed in (Deed.DO, Deed.PUT_IN, Deed.LIFT, Deed.ANSWER, Deed.LATE)
        and not (o.step and (o.step.together or o.step.load))
    ]
    pairs = [
        (one, other)
        for one, other in itertools.combinations(found, 2)
        if not set(one.parts) & set(other.parts)
    ]
    if not pairs:
        return
    one, other = pairs[pick(len(pairs))]
    commands = [world.command_for(offer, offer.parts, pick) for offer in (one, other)]
    if None in commands or any(_stops(run, command) for command in commands):
        return
    ends = []
    for order in (commands, commands[::-1]):
        state = run
        for command in order:
            data = decide(state, command, at, world.hand)
            if isinstance(data, c.Refusal) or getattr(data, "says", ""):
                return
            state = fold(state, e.Entry(state.n, at, world.hand.id, data))
        ends.append({part: run_checks.told(marker) for part, marker in state.markers.items()})
    assert ends[0] == ends[1]


def _stops(run: Run, command: object) -> bool:
    if not isinstance(command, c.Settle):
        return False
    for part, question in command.questions.items():
        asked = next(q for q in run.markers[part].questions if q.id == question)
        if any(a.code == command.code and a.act is Act.STOP for a in asked.answers):
            return True
    return False


PEOPLE_DO: Final[Mapping[str, tuple[int, Deeds]]] = {
    "work": (10, work),
    "choose": (6, choose),
    "answer": (4, answer),
    "mistap": (1, mistap),
    "leave out": (1, leave_out),
    "lift": (1, lift),
    "put": (2, put),
    "there and back": (1, there_and_back),
    "get back": (1, get_back),
    "correct": (4, correct),
    "take back": (2, take_back),
    "act and take back": (1, act_and_take_back),
    "tap again": (1, tap_again),
    "stop or go": (1, stop_or_go),
    "join": (1, join),
    "doubt": (1, doubt),
    "hand over": (1, hand_over),
    "let pass": (4, let_pass),
    "machine": (2, machine),
    "two orders": (1, two_orders),
}
