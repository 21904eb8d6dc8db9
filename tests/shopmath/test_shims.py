from decimal import Decimal
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrun.errors import BenchrunError
from benchrun.shopmath.catalogue import CALCS
from benchrun.shopmath.shims import packs_between, stock_of

SHIM, FLOAT = CALCS["shim"], CALCS["end_float"]
BASE = {"float": "0.31", "pack": "1.20", "low": "0.05", "high": "0.10",
        "shims": "0.05 0.10 0.15 0.25 0.50", "sense": "more"}  # fmt: skip
hundredths = st.integers(1, 60).map(lambda number: Decimal(number) / 100)


def test_the_worked_example_comes_out():
    # Computed: 0.31 mm with 1.20 fitted, 0.05 to 0.10 wanted: take out 0.235; 0.95 gives 0.06.
    result = SHIM.work(BASE)
    assert result["pack"].exact == "0.95"
    assert result["float_after"].exact == "0.06"
    assert result["aim"].exact == "0.965"
    assert result["shims"].value == "0.50 + 0.25 + 0.15 + 0.05"


@given(st.lists(hundredths, min_size=1, max_size=7), st.integers(0, 150), st.integers(0, 20))
def test_exactly_the_packs_that_land_inside_are_found(pieces, low, width):
    least, most = Decimal(low) / 100, Decimal(low + width) / 100
    stock = {}
    for piece in pieces:
        stock[piece] = stock.get(piece, 0) + 1
    every = {
        tuple(sorted(pack, reverse=True))
        for number in range(7)
        for pack in combinations(pieces, number)
        if least <= sum(pack, Decimal(0)) <= most
    }
    found = list(packs_between(stock, least, most))
    assert len(found) == len(set(found))
    assert set(found) == every
    assert [len(pack) for pack in found] == sorted(len(pack) for pack in found)


@given(
    st.integers(-20, 80), st.integers(0, 200), st.integers(-10, 30), st.integers(0, 20),
    st.lists(hundredths, min_size=1, max_size=8), st.sampled_from(["more", "less"]),
)  # fmt: skip
def test_a_pack_that_is_offered_lands_inside_and_its_pieces_are_at_hand(
    measured, pack, low, width, pieces, sense
):
    inputs = {"float": Decimal(measured) / 100, "pack": Decimal(pack) / 100, "sense": sense,
              "low": Decimal(low) / 100, "high": Decimal(low + width) / 100,
              "shims": " ".join(map(str, pieces))}  # fmt: skip
    try:
        result = SHIM.work(inputs)
    except BenchrunError:
        return
    if result["packs"].value == "none":
        assert any(note.startswith("none") for note in result.notes)
        return
    assert inputs["low"] <= result["float_after"].number <= inputs["high"]
    sign = 1 if sense == "more" else -1
    moved = result["pack"].number - inputs["pack"]
    assert result["float_after"].number == inputs["float"] + sign * moved
    for piece in result["shims"].value.split(" + "):
        if piece != "no shims":
            pieces.remove(Decimal(piece))


def test_the_sense_turns_the_sum_round():
    more = SHIM.work(BASE)["aim"].number
    less = SHIM.work(BASE | {"sense": "less"})["aim"].number
    assert Decimal("1.20") - more == less - Decimal("1.20")


def test_shims_are_read_with_counts_and_a_unit_for_all():
    assert stock_of("0.05x4, 0.1 x 2, 0.5") == {
        Decimal("0.05"): 4, Decimal("0.1"): 2, Decimal("0.5"): 1,
    }  # fmt: skip
    assert stock_of("2 5 5 thou") == {Decimal("0.0508"): 1, Decimal("0.127"): 2}
    assert stock_of("0.05,0.10,0.10") == {Decimal("0.05"): 1, Decimal("0.10"): 2}


def test_a_big_stock_answers_at_once():
    shims = " ".join(f"0.{number:02d}x9" for number in range(5, 45))
    result = SHIM.work(BASE | {"shims": shims})
    assert result["count"].number == 3


@pytest.mark.parametrize(
    ("changes", "because"),
    [
        ({"low": "0.2"}, "above high"),
        ({"pack": "-1"}, "not less than nothing"),
        ({"pack": "0.1", "float": "0.5"}, "less than no shims"),
        ({"shims": ""}, "shims at hand"),
        ({"shims": "0 0.1"}, "is none"),
        ({"sense": "maybe"}, "none of more, less"),
    ],
)
def test_nonsense_is_refused(changes, because):
    with pytest.raises(BenchrunError, match=because):
        SHIM.work(BASE | changes)


def test_end_float_is_the_total_movement_of_the_dial():
    # Hub makers' procedure: end play is the total indicator movement, 0.001 to 0.005 in.
    result = FLOAT(pushed="0 0 0.01", pulled="0.08 0.08 0.09", low="0.001 in", high="0.005 in")
    assert (result["float"].exact, result["spread"].exact) == ("0.08", "0")
    assert result["verdict"].value == "inside"
    assert FLOAT(pushed="0", pulled="0.127", high="0.005 in")["verdict"].value == "inside"
    assert FLOAT(pushed="0", pulled="0.128", high="0.005 in")["verdict"].value == "outside"


def test_readings_that_do_not_repeat_are_measured_again():
    result = FLOAT(pushed="0 0 0", pulled="0.08 0.08 0.10", low="0.02", high="0.2")
    assert result["verdict"].value == "measure again"


@given(st.lists(st.integers(-50, 50), min_size=1, max_size=6), st.integers(0, 40))
def test_where_the_dial_was_zeroed_does_not_matter(zeros, play):
    pushed = tuple(Decimal(zero) / 100 for zero in zeros)
    pulled = tuple(value - Decimal(play) / 100 for value in pushed)
    result = FLOAT.work({"pushed": list(pushed), "pulled": list(pulled)})
    assert result["float"].number == Decimal(play) / 100
    assert result["spread"].number == 0


@pytest.mark.parametrize(
    ("inputs", "because"),
    [
        ({"pushed": "0 0", "pulled": "0.1"}, "do not pair"),
        ({"pushed": "0 0", "pulled": "0.1 -0.1"}, "up in one"),
        ({"pushed": "0", "pulled": "0.1", "low": "2", "high": "1"}, "above high"),
    ],
)
def test_dial_readings_that_make_no_float_are_refused(inputs, because):
    with pytest.raises(BenchrunError, match=because):
        FLOAT.work(inputs)


def test_the_spread_of_the_repeats_is_held_against_the_dials_step():
    float_ = CALCS["end_float"]
    base = {"pushed": "0 0 0", "pulled": "0.08 0.08 0.10", "low": "0.02", "high": "0.2"}
    # 0.02 mm is two steps of a 0.01 dial, and one step of one that reads 0.02.
    assert float_.work(base)["verdict"].value == "measure again"
    assert float_.work({**base, "resolution": "0.02"})["verdict"].value == "inside"
    # A finer dial does not loosen the practice, and a repeat below its step is refused.
    assert float_.work({**base, "resolution": "0.001"})["verdict"].value == "measure again"
    assert float_.work({**base, "repeat": "0.03"})["verdict"].value == "inside"
    with pytest.raises(BenchrunError, match="less than one step of the dial"):
        float_.work({**base, "repeat": "0.005"})
    with pytest.raises(BenchrunError, match="more than nothing"):
        float_.work({**base, "resolution": "0"})


def test_the_shims_at_hand_may_be_given_as_measured():
    each = [Decimal(size) for size in ("0.05", "0.10", "0.15", "0.25", "0.50", "0")]
    given_each = {name: value for name, value in BASE.items() if name != "shims"} | {"each": each}
    assert SHIM.work(given_each).outputs == SHIM.work(BASE).outputs
    assert SHIM.work(BASE)["nearest"].exact == "0.95"


@given(st.lists(hundredths, min_size=1, max_size=6), st.integers(20, 300))
def test_the_nearest_pack_is_told_also_where_none_lands_inside(pieces, pack):
    inputs = {"float": Decimal("0.31"), "pack": Decimal(pack) / 100, "sense": "more",
              "low": "0.05", "high": "0.10", "each": pieces}  # fmt: skip
    if Decimal(pack) / 100 < Decimal("0.21"):
        with pytest.raises(BenchrunError, match="less than no shims"):
            SHIM.work(inputs)
        return
    result = SHIM.work(inputs)
    sums = {sum(some, Decimal(0)) for number in range(7) for some in combinations(pieces, number)}
    best = min(abs(total - result["aim"].number) for total in sums)
    assert abs(result["nearest"].number - result["aim"].number) == best


@pytest.mark.parametrize(
    ("more", "because"),
    [({"each": [Decimal("0.1")]}, "not both"), ({"shims": None, "each": [Decimal(0)]}, "measure"),
     ({"shims": None, "each": [Decimal(-1)]}, "thinner"), ({"shims": None}, "not both")],
)  # fmt: skip
def test_shims_that_cannot_be_counted_are_refused(more, because):
    inputs = {name: value for name, value in (BASE | more).items() if value is not None}
    with pytest.raises(BenchrunError, match=because):
        SHIM.work(inputs)
