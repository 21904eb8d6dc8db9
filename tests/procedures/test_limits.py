"""Every limit of every shipped procedure, at it and one step under and over; each sum's way on."""

import csv
from decimal import Decimal

import pytest
from shipped import IDS, ROOT, procedure
from steered_walk import all_steered, limits_of, rests_on
from value_walk import Limit, walks

from benchrun.procedure.route import Act, Guard, WorkOut
from benchrun.quantity import Measure

MANY, ROUND_ABOUT = 600, 120


@pytest.mark.long
@pytest.mark.timeout(600)
@pytest.mark.parametrize("name", IDS)
def test_each_limit_holds_for_all_that_readings_allow(name: str) -> None:
    gone = list(walks(procedure(name), MANY))
    wrong = [fault for walk in gone for fault in walk.faults]
    assert sorted(set(wrong))[:20] == []


@pytest.mark.timeout(300)
@pytest.mark.parametrize("name", IDS)
def test_each_limit_holds_at_it_and_gives_way_one_step_on(name: str) -> None:
    """Chance comes to most; a part that ends before the others is steered on, value by value."""
    tried: set[Limit] = set()
    wrong: set[str] = set()
    for walk in walks(procedure(name), ROUND_ABOUT):
        tried |= walk.tried
        wrong.update(walk.faults)
    wanted = limits_of(procedure(name)) - tried
    for walk in all_steered(procedure(name), wanted) if wanted else ():
        tried |= walk.tried
        wrong.update(walk.faults)
    assert sorted(wrong)[:20] == []
    assert wanted - tried == set()


@pytest.mark.parametrize("name", IDS)
def test_a_sum_outside_its_limits_leaves_a_way_on(name: str) -> None:
    """A sum comes out the same again: something else must follow, or what it rests on be redone."""
    for step in procedure(name).route.steps.values():
        detail = step.detail
        if isinstance(detail, WorkOut) and (detail.low or detail.high):
            ways = {way.act for way in detail.outside}
            assert detail.outside == () or ways - {Act.AGAIN, Act.STOP}, (step.id, detail.outside)
            for way in detail.outside:
                if way.act is Act.REWORK:
                    _redoes_what_it_rests_on(name, step.id, detail, str(way.to))


def _redoes_what_it_rests_on(name: str, step: str, detail: WorkOut, to: str) -> None:
    route = procedure(name).route
    written = [
        route.index[other.id]
        for other in route.steps.values()
        if getattr(other.detail, "name", None) in _rests_on(name, detail)
    ]
    written += _forks_chosen_at(name, to)
    assert any(route.index[to] <= index < route.index[step] for index in written), (step, to)


def _forks_chosen_at(name: str, step: str) -> list[int]:
    """Where the way parts by what is found at a step: found otherwise, it leads off a sum."""
    route = procedure(name).route
    found = getattr(route.steps[step].detail, "name", None)
    return [
        index
        for index, op in enumerate(route.ops)
        if isinstance(op, Guard) and found in op.condition.names
    ]


def _rests_on(name: str, detail: WorkOut) -> set[str]:
    """All names that a sum and its limits rest on, through other sums."""
    limits = (limit.reads for limit in (detail.low, detail.high) if limit is not None)
    return rests_on(procedure(name), detail.formula.reads.union(*limits))


def _at(name: str, step: str, **known: object) -> Decimal:
    detail = procedure(name).route.steps[step].detail
    assert isinstance(detail, WorkOut)
    result = detail.formula.value(known, detail.unit)  # type: ignore[arg-type]
    assert isinstance(result, Measure)
    return result.to(detail.unit)


def test_the_bake_is_the_table_s_at_every_strength_and_never_short_at_its_ends() -> None:
    rows = (ROOT / "benchrun/shopmath/tables/relief_bake.csv").read_text("utf-8").splitlines()
    table = {int(r["over_MPa"]): int(r["hours"]) for r in csv.DictReader(rows)}
    for tensile in range(1000, 1241):
        found = _at("plating-send-out", "bake-least", tensile=Measure("", Decimal(tensile), "MPa"))
        over = max(low for low in table if low < max(tensile, 1001))
        assert found == table[over], tensile


@pytest.mark.parametrize("load", ["P7, heavy or shock load", "N7, normal load",
                                  "M7, light and changing load"])  # fmt: skip
def test_the_seat_s_class_is_the_standard_s(load: str) -> None:
    rows = (ROOT / "tests/shopmath/bearing_seats.csv").read_text("utf-8").splitlines()
    tried = 0
    for row in csv.DictReader(rows):
        size, _, cls = row["class"].partition(" ")
        if cls != load[:2] or not 20 <= int(size) <= 160:
            continue
        tried += 1
        nominal = Measure("", Decimal(size), "mm")
        least = _at("bearing-seat-and-fitting", "class-min", nominal=nominal, load=load)
        most = _at("bearing-seat-and-fitting", "class-max", nominal=nominal, load=load)
        assert (least, most) == (Decimal(row["min_mm"]), Decimal(row["max_mm"])), row
        ring = _at("bearing-seat-and-fitting", "ring-tolerance", nominal=nominal)
        if row["ring_lower_um"]:
            assert ring * 1000 == -Decimal(row["ring_lower_um"]), row
    assert tried or load.startswith("M7")
