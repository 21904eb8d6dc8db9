"""Who has which vessel: room for parts of a plain dwell, and vessels that loads have whole."""

from collections.abc import Iterable

from benchrun.moment import Elapsed, Mark, Moment
from benchrun.procedure.route import Dwell, Step
from benchrun.run.state import Marker, Room, Run
from benchrun.text import listed

VESSEL_TAKEN = "in a vessel that is not empty"


def inside(run: Run, vessel: str) -> tuple[Marker, ...]:
    """The parts that have a vessel: those that soak in it, and every part of a load that has it."""
    return tuple(
        [
            marker
            for marker in run.markers.values()
            if (marker.load is not None or marker.soak is not None)
            and part_vessel(run, marker) == vessel
        ]
    )


def part_vessel(run: Run, marker: Marker) -> str:
    """The vessel that a part has, by its id; empty for none."""
    if marker.load is not None:
        return marker.load.vessel
    if marker.soak is None:
        return ""
    detail = run.route.steps[marker.soak.step].detail
    return detail.vessel if isinstance(detail, Dwell) else ""


def vessel_for(run: Run, step: Step, parts: Iterable[str]) -> str:
    """The vessel that parts have, or would take, for a step; empty where it needs none.

    Parts of a load that is not made yet have none.
    """
    if step.load:
        loads = (run.markers[part].load for part in parts)
        return next((load.vessel for load in loads if load is not None), "")
    return step.detail.vessel if isinstance(step.detail, Dwell) else ""


def filled(run: Run, vessel: str) -> int:
    """How much is in a vessel, over all steps that use it."""
    return sum(marker.size for marker in inside(run, vessel))


def room_left(run: Run, vessel: str) -> int | None:
    """How much more a vessel takes at a plain dwell; None: without limit. A load has it whole."""
    there, capacity = inside(run, vessel), run.route.vessels[vessel].capacity
    if any(marker.load is not None for marker in there):
        return 0
    return None if capacity is None else capacity - sum(marker.size for marker in there)


def over_capacity(run: Run, vessel: str, parts: Iterable[str]) -> int:
    """By how much a vessel would be overfull with these parts put in; 0 when they fit."""
    free = room_left(run, vessel) if vessel in run.route.vessels else None
    return 0 if free is None else max(0, sum(run.markers[p].size for p in parts) - max(0, free))


def empty_vessels(run: Run, step: Step) -> tuple[str, ...]:
    """The vessels that a load which begins with a step may take now."""
    load = run.route.loads[step.load]
    return tuple(vessel for vessel in load.vessels if not inside(run, vessel))


def fits_into(run: Run, vessel: str, parts: Iterable[str]) -> bool:
    """Whether parts fit into a vessel that is empty."""
    capacity = run.route.vessels[vessel].capacity
    return capacity is None or sum(run.markers[part].size for part in parts) <= capacity


def vessels_open(run: Run, step: Step, parts: tuple[str, ...]) -> tuple[str, ...]:
    """The vessels that these parts may take as one load, the first of them by default."""
    return tuple(vessel for vessel in empty_vessels(run, step) if fits_into(run, vessel, parts))


def makes_load(run: Run, step: Step, parts: Iterable[str]) -> bool:
    """Whether a step would make a load of parts that are of none yet."""
    return bool(step.load) and all(run.markers[part].load is None for part in parts)


def no_room_words(run: Run, vessels: Iterable[str]) -> str:
    """That none of some vessels has room, by their names."""
    names = [f"the {run.route.vessels[vessel].title}" for vessel in vessels]
    return f"no room in {' or '.join(names)} yet"


def taken_words(run: Run, vessels: Iterable[str]) -> str:
    """Who has which of some vessels: `the oven has A, B`."""
    words = []
    for vessel in vessels:
        there = tuple(marker.part for marker in inside(run, vessel))
        title = run.route.vessels[vessel].title
        capacity = run.route.vessels[vessel].capacity
        words.append(f"the {title} has {listed(there)}" if there else f"{title} holds {capacity}")
    return "; ".join(words)


def rooms_now(run: Run, n: int, mark: Mark) -> tuple[Room, ...]:
    """The room in each vessel that a window asks about, as it is from an entry on."""
    return tuple(
        Room(vessel, n, mark, room_left(run, vessel), not inside(run, vessel))
        for vessel in run.course.waited_for
    )


def waited_for_room(run: Run, marker: Marker, step: Step, at: Moment) -> Elapsed:
    """How long a part has stood ready for a step while no vessel of the step had room for it."""
    begun, none = marker.ready_since, Elapsed(0, 0)
    wanted = run.course.vessels_of(step)
    if begun is None or not wanted or marker.load is not None:
        return none
    later = sorted({(room.n, room.mark) for room in run.rooms if room.n > begun[0]}, key=_number)
    points = [begun, *later]
    total = none
    for place, (n, mark) in enumerate(points):
        if any(_has_room(run, vessel, n, marker.size, bool(step.load)) for vessel in wanted):
            continue
        if place + 1 < len(points):
            spell = run.timeline.between(mark, points[place + 1][1])
        else:
            spell = run.timeline.elapsed(mark, at)
        total = _sum(total, spell)
    return total


def is_at(run: Run, marker: Marker, step: Step) -> bool:
    """Whether a part stands at a step."""
    op = run.route.step_at(marker.index)
    return op is not None and op.step.id == step.id


def waits_for_room(run: Run, marker: Marker, step: Step) -> bool:
    """Whether a part stands ready for a step of whose vessels none has room for it now."""
    wanted = run.course.vessels_of(step)
    if marker.ready_since is None or not wanted or marker.load is not None:
        return False
    if not is_at(run, marker, step):
        return False
    return not any(_has_room(run, name, run.n, marker.size, bool(step.load)) for name in wanted)


def _number(point: tuple[int, Mark]) -> int:
    return point[0]


def _has_room(run: Run, vessel: str, n: int, size: int, whole: bool) -> bool:
    """Whether a vessel had room once entry `n` was made."""
    known = [room for room in run.rooms if room.vessel == vessel and room.n <= n]
    if not known:
        return True
    room = known[-1]
    return room.empty if whole else room.left is None or room.left >= size


def _sum(one: Elapsed, other: Elapsed) -> Elapsed:
    known = one.possible_ms is not None and other.possible_ms is not None
    possible = (one.possible_ms or 0) + (other.possible_ms or 0) if known else None
    return Elapsed(one.proven_ms + other.proven_ms, possible)


def without_waiting(since: Elapsed, waited: Elapsed) -> Elapsed:
    """A time without the part of it that was spent waiting."""
    proven = 0 if waited.possible_ms is None else max(0, since.proven_ms - waited.possible_ms)
    possible = since.possible_ms
    possible = None if possible is None else max(0, possible - waited.proven_ms)
    return Elapsed(proven, possible, since.told_late)
