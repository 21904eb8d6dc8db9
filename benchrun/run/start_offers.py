"""Offers of starts: who may begin which step now, and what the others there wait for."""

from collections.abc import Iterator, Mapping
from typing import Final

from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.procedure.parameter import Undetermined
from benchrun.procedure.route import Dwell, StepOp, Witness
from benchrun.run.clocks import WindowState, window
from benchrun.run.course import constant_ms
from benchrun.run.dwelling import limits_of
from benchrun.run.effects import out_of_turn
from benchrun.run.offer import Deed, Offer
from benchrun.run.part_values import mates
from benchrun.run.run_figures import missing_figures
from benchrun.run.start_checks import has_begun, left_behind
from benchrun.run.state import WITNESS_SINCE, Marker, Run, altered
from benchrun.run.vessels import (
    empty_vessels,
    filled,
    makes_load,
    no_room_words,
    over_capacity,
    room_left,
    vessels_open,
)
from benchrun.text import span

Standing = tuple[Marker, WindowState | None]
Haste = Mapping[str, tuple[int, int]]
Group = list[Standing]
FOR_OTHERS: Final = 1 << 38
FOR_A_PERSON: Final = 1 << 39
NO_HASTE: Final = (1 << 38, 0)


def starts(run: Run, at: Moment, haste: Haste) -> list[Offer]:
    """The offers to parts that stand ready, the earliest step first.

    Parts are offered a step as one group; one done together by those of equal position only. Late
    parts are never mixed with those in time: they are offered their question first.

    Args:
        run: The run.
        at: The moment.
        haste: How urgent the windows of a part are, where they are: room in a vessel goes to the
            most urgent first.
    """
    grouped: dict[tuple[object, ...], Group] = {}
    places: dict[tuple[object, ...], tuple[int, StepOp]] = {}
    for marker in run.each():
        for index, op in _standing(run, marker):
            state = window(run, marker, op.step, at)
            passes = marker.passes[: len(run.route.within[index])] if op.step.gathers else ()
            key: tuple[object, ...] = (
                index,
                passes,
                marker.pair if op.step.pair else "",
                marker.load.n if op.step.load and marker.load is not None else None,
                "" if state is None else state.unknown or ("late" if _late(state) else ""),
                op.step.gathers or has_begun(run, marker, op.step),
            )
            grouped.setdefault(key, []).append((marker, state))
            places[key] = (index, op)
    room: dict[str, int] = {}
    found: list[Offer] = []

    def turn(key: tuple[object, ...]) -> tuple[tuple[int, int], int]:
        return min(_hurry(marker, haste) for marker, _ in grouped[key]), places[key][0]

    for key in sorted(grouped, key=turn):
        group = sorted(grouped[key], key=lambda pair: _hurry(pair[0], haste))
        index, op = places[key]
        offered = _offered(run, index, op, group, room)
        found += [_begun_first(run, offer) for offer in offered] if op.step.critical else offered
    return found


def _begun_first(run: Run, offer: Offer) -> Offer:
    """The offer of a step that cannot be undone: its start, until that is entered for all."""
    step = offer.step
    if step is None or offer.figures or offer.deed not in (Deed.DO, Deed.PUT_IN, Deed.TELL):
        return offer
    if all(has_begun(run, run.markers[part], step) for part in offer.parts):
        return offer
    return altered(offer, deed=Deed.BEGIN)


def _hurry(marker: Marker, haste: Haste) -> tuple[int, int]:
    return haste.get(marker.part, NO_HASTE)


def _late(state: WindowState) -> bool:
    return state.late and not state.too_soon


def _standing(run: Run, marker: Marker) -> Iterator[tuple[int, StepOp]]:
    """The ops that a part may start: where it stands, and what it may do out of turn."""
    if marker.questions or marker.place or not marker.here:
        return
    here = run.route.step_at(marker.index)
    if here is None:
        return
    if marker.soak is None:
        yield marker.index, here
    for step in out_of_turn(run.course, marker):
        if step.id == here.step.id:
            continue
        for index in run.course.ops_of(step.id):
            op = run.route.step_at(index)
            if op is not None and index > marker.index and index not in marker.ahead:
                yield index, op
                break


def _offered(run: Run, index: int, op: StepOp, group: Group, room: dict[str, int]) -> list[Offer]:
    """The offers to one group: settle what is late, wait, or begin, in so many loads."""
    offer = _offer(run, index, op, group)
    if run.stopped:
        return [_waits(offer, "the run is stopped", FOR_A_PERSON)]
    missing = missing_figures(run, index)
    settled = None if missing else _of_window(run, op, group, offer)
    held = settled or _held_back(run, op, offer)
    # Parts that stand here together, apart only by their windows, do not wait to be asked.
    here = missing and held is not None and held.behind
    asked = here and all(run.markers[part].index == index for part in here)
    if held is not None and not asked:
        return [held]
    if missing:
        return [altered(offer, figures=tuple(figure.name for figure in missing))]
    soon = [pair for pair in group if pair[1] is not None and pair[1].too_soon]
    if op.step.gathers and soon and not makes_load(run, op.step, offer.parts):
        return [_too_soon(offer, soon)]
    ready = [pair for pair in group if pair not in soon]
    found = [_too_soon(_offer(run, index, op, soon), soon)] if soon else []
    if not ready:
        return found
    if makes_load(run, op.step, offer.parts):
        return found + _new_loads(run, index, op, ready, room)
    if offer.deed is Deed.PUT_IN:
        return found + _put_in(run, index, op, ready, room)
    return [*found, _offer(run, index, op, ready)]


def _of_window(run: Run, op: StepOp, group: Group, offer: Offer) -> Offer | None:
    """The wait or the question that a window leads to; None where the step may begin."""
    state = group[0][1]
    if state is not None and state.unknown:
        return _waits(offer, f"its window is not known: {state.unknown}", FOR_A_PERSON)
    if state is not None and _late(state):
        vessels = _without_room(run, op, group)
        return _no_room(run, offer, vessels) if vessels else altered(offer, deed=Deed.LATE)
    return None


def _held_back(run: Run, op: StepOp, offer: Offer) -> Offer | None:
    """The wait for other parts; None where a step waits for nobody."""
    if op.step.pair and len(mates(run, offer.parts[0])) < len(run.route.pair):
        return _waits(offer, "no mate in this batch", FOR_A_PERSON)
    without = left_behind(run, op.step, offer.parts) if op.step.gathers else ()
    if not without:
        return None
    waits = _waits(offer, f"not without {part_names(without)}", FOR_OTHERS)
    return altered(waits, behind=without)


def _offer(run: Run, index: int, op: StepOp, group: Group) -> Offer:
    step = op.step
    taken = {marker.part for marker, _ in group}
    parts = tuple(part for part in run.parts if part in taken)
    deed = Deed.PUT_IN if isinstance(step.detail, Dwell) else Deed.DO
    if isinstance(step.detail, Witness) and run.format >= WITNESS_SINCE:
        deed = Deed.TELL
    first = run.route.index[step.id]
    usual = (first, 0 if index > first else 1, index)
    load = group[0][0].load if step.load else None
    return Offer(
        deed,
        parts,
        step,
        place=op.place,
        window=group[0][1],
        vessel="" if load is None else load.vessel,
        has_vessel=load is not None,
        urgency=usual,
    )


def _waits(offer: Offer, why: str, after: int) -> Offer:
    return altered(offer, ready=False, why=why, urgency=(after,))


def _too_soon(offer: Offer, soon: Group) -> Offer:
    wait = max((state.to_least or 0) for _, state in soon if state is not None)
    parts = tuple(marker.part for marker, _ in soon)
    whom = "" if parts == offer.parts else f" for {part_names(parts)}"
    why = f"too early{whom}, {span(wait)} to go"
    return altered(offer, ready=False, why=why, wait_ms=wait, urgency=(wait,))


def _without_room(run: Run, op: StepOp, group: Group) -> tuple[str, ...]:
    """The vessels of which a part of a group needs one, where none of them has room for it now."""
    vessels = run.course.vessels_of(op.step)
    parts = tuple(marker.part for marker, _ in group)
    if not vessels or any(run.markers[part].load is not None for part in parts):
        return ()
    if op.step.load:
        free = any(vessels_open(run, op.step, (part,)) for part in parts)
    else:
        free = any(over_capacity(run, vessels[0], (part,)) == 0 for part in parts)
    return () if free else vessels


def _new_loads(run: Run, index: int, op: StepOp, group: Group, room: dict[str, int]) -> list[Offer]:
    """Parts that would begin as a load: as many as fit into each vessel that is empty."""
    detail = op.step.detail
    rest, found = list(group), list[Offer]()
    if isinstance(detail, Dwell):
        untold = [(pair, _no_times(pair[0], detail)) for pair in rest]
        rest = [pair for pair, why in untold if not why]
        found += [
            _waits(_offer(run, index, op, [pair]), why, FOR_A_PERSON) for pair, why in untold if why
        ]
    vessels = run.route.loads[op.step.load].vessels
    for vessel in empty_vessels(run, op.step):
        if vessel in room:
            continue
        load, rest = _one_load(run, vessel, rest, detail)
        if not load:
            continue
        room[vessel] = 0
        offer = _offer(run, index, op, load)
        if isinstance(detail, Dwell):
            offer = _load_offer(run, index, op, load, detail)
        found.append(altered(offer, vessel=vessel))
    if rest:
        found.append(_no_room(run, _offer(run, index, op, rest), vessels))
    return found


def _one_load(run: Run, vessel: str, group: Group, detail: object) -> tuple[Group, Group]:
    """As many of a group as fit into an empty vessel and agree in their times, and the others."""
    capacity = run.route.vessels[vessel].capacity
    load: Group = []
    rest: Group = []
    for pair in group:
        size = sum(marker.size for marker, _ in load) + pair[0].size
        agrees = not isinstance(detail, Dwell) or len(_loads([*load, pair], detail)) == 1
        into = load if agrees and (capacity is None or size <= capacity) else rest
        into.append(pair)
    return load, rest


def _put_in(run: Run, index: int, op: StepOp, group: Group, room: dict[str, int]) -> list[Offer]:
    """Split parts that would go into a vessel into loads that may go in, and those that wait."""
    detail = op.step.detail
    if not isinstance(detail, Dwell):
        return []
    found: list[Offer] = []
    rest: Group = []
    for pair in group:
        why = _no_times(pair[0], detail)
        if why:
            found.append(_waits(_offer(run, index, op, [pair]), why, FOR_A_PERSON))
        else:
            rest.append(pair)
    fits, full = _by_room(run, op, rest, room)
    loads = _loads(fits, detail)
    if op.step.gathers and (full or found or len(loads) > 1):
        return [_not_at_once(run, _offer(run, index, op, group))]
    made = [_load_offer(run, index, op, load, detail) for load in loads]
    if full:
        made.append(_no_room(run, _offer(run, index, op, full), (detail.vessel,)))
    return found + made


def _load_offer(run: Run, index: int, op: StepOp, load: Group, detail: Dwell) -> Offer:
    least = max(limits_of(marker, detail)[0] or 0 for marker, _ in load)
    return altered(_offer(run, index, op, load), busy_ms=constant_ms(detail.aim) or least)


def _no_times(marker: Marker, detail: Dwell) -> str:
    """Why no time in a vessel would do for a part; empty where one would."""
    try:
        least, most = limits_of(marker, detail)
    except Undetermined as error:
        return f"its time limits are not known: {error}"
    if least is not None and most is not None and least > most:
        return f"its earliest, {span(least)}, is after its latest, {span(most)}"
    return ""


def _no_room(run: Run, offer: Offer, vessels: tuple[str, ...]) -> Offer:
    why = no_room_words(run, vessels)
    return altered(_waits(offer, why, FOR_OTHERS), room_in=vessels)


def _by_room(run: Run, op: StepOp, group: Group, room: dict[str, int]) -> tuple[Group, Group]:
    """Those that fit into the vessel beside what is in it and offered it already, and the rest."""
    detail = op.step.detail
    vessel = run.route.vessels.get(detail.vessel) if isinstance(detail, Dwell) else None
    free = None if vessel is None else room_left(run, vessel.id)
    if vessel is None or free is None:
        return group, []
    left = room.setdefault(vessel.id, free)
    fits: Group = []
    full: Group = []
    for pair in group:
        if pair[0].size <= left:
            fits.append(pair)
            left -= pair[0].size
        else:
            full.append(pair)
    room[vessel.id] = left
    return fits, full


def _loads(group: Group, detail: Dwell) -> list[Group]:
    """Split parts into loads whose largest least is no more than their smallest most."""
    loads: list[tuple[int, int | None, Group]] = []
    for pair in group:
        least, most = limits_of(pair[0], detail)
        for count, (low, high, load) in enumerate(loads):
            lowest = max(low, least or 0)
            highest = min((one for one in (high, most) if one is not None), default=None)
            if highest is None or lowest <= highest:
                loads[count] = (lowest, highest, [*load, pair])
                break
        else:
            loads.append((least or 0, most, [pair]))
    return [load for _, _, load in loads]


def _not_at_once(run: Run, offer: Offer) -> Offer:
    """A step done together that the parts cannot begin at once: a person must say how."""
    detail = offer.step.detail if offer.step else None
    vessel = run.route.vessels.get(detail.vessel) if isinstance(detail, Dwell) else None
    busy = vessel is not None and filled(run, vessel.id) > 0
    if vessel is not None and busy:
        return _no_room(run, offer, (vessel.id,))
    why = "they cannot go in at once: smaller loads need a reason"
    return _waits(offer, why, FOR_A_PERSON)
