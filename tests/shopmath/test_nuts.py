from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrun.errors import BenchrunError
from benchrun.shopmath.catalogue import CALCS
from benchrun.shopmath.nuts import pin_step

NUT = CALCS["nut_turn"]


def six(value):
    return pytest.approx(float(value), rel=2e-5)


def test_the_travel_of_a_turn_is_pitch_by_degrees(rows):
    # Computed as pitch × angle / 360; a page on truck hubs gives the back-off turns.
    for row in rows("second/nut_turn_axial"):
        size = {"tpi": row["tpi"]} if row["tpi"] else {"pitch": row["pitch_mm"]}
        found = NUT.work({**size, "turn": row["turn_deg"]})
        assert float(found["travel"].number) == six(row["axial_mm"])
        assert float(found["travel_inch"].number) == six(row["axial_in"])


def test_one_flat_of_16_tpi_is_not_what_an_owners_page_prints():
    # The page cuts 0.0104167 in to 0.01041 instead of rounding it to 0.01042.
    travel = NUT.work({"tpi": "16", "flats": "1"})["travel_inch"].number
    assert round(travel, 5) == Decimal("0.01042")
    assert round(travel, 5) != Decimal("0.01041")


def test_the_steps_of_a_castellated_nut(rows):
    # Computed by listing every angle at which a pair of slots meets a hole.
    for row in rows("second/nut_slot_steps"):
        found = NUT.work(
            {"pitch": row["pitch_mm"], "slots": row["slots"],
             "holes": row["cross_holes_equally_spaced"]}
        )  # fmt: skip
        assert float(found["step"].number) == six(row["step_deg"])
        assert float(found["step_travel"].number) == six(row["step_axial_mm"])
        assert 360 / found["step"].number == int(row["positions_per_turn"])


def test_a_step_wider_than_the_band_is_told(rows):
    for row in rows("second/nut_slot_band"):
        found = NUT.work(
            {"pitch": row["pitch_mm"], "slots": row["slots"], "holes": row["cross_holes"],
             "low": row["play_min_mm"], "high": row["play_max_mm"]}
        )  # fmt: skip
        assert found["certain"].value == row["always_reachable"]
        assert float(found["step_travel"].number) == six(row["step_mm"])
        told = any("only a shim" in note for note in found.notes)
        assert told is (row["always_reachable"] == "no")


@given(st.integers(2, 15).map(lambda half: 2 * half), st.integers(1, 4))
def test_steps_agree_with_a_list_of_every_position(slots, holes):
    # A pin goes in where a slot (every 360/slots) meets an end of a hole (every 180/holes).
    parts = 360 * slots * holes  # so that every angle is whole
    meets = {
        (slot * parts // slots - end * parts // (2 * holes)) % parts
        for slot in range(slots)
        for end in range(2 * holes)
    }
    steps = sorted(meets)
    assert pin_step(Decimal(slots), Decimal(holes)) == Decimal(360) * steps[1] / parts


@given(
    st.decimals("-0.5", "0.5", places=3),
    st.decimals("0", "0.2", places=3),
    st.decimals("0", "0.2", places=3),
)
def test_the_position_told_is_the_nearest_to_the_middle(play, low, width):
    found = NUT.work(
        {"thread": "M20x1.5", "slots": "6", "play": play, "low": low, "high": low + width}
    )
    step = found["step_travel"].number
    middle = low + width / 2
    after = found["play_at_pin"].number
    assert abs(after - middle) <= step / 2
    assert (after - play) / step == round((after - play) / step)
    assert (found["verdict"].value == "inside") is (low <= after <= low + width)
    assert (found["way"].value == "back off") is (after > play)


def test_multi_start_threads_travel_by_their_lead():
    one = NUT.work({"pitch": "1.5", "turn": "360"})["travel"].number
    two = NUT.work({"pitch": "1.5", "turn": "1 turn", "starts": "2"})["travel"].number
    assert (one, two) == (Decimal("1.5"), Decimal(3))


@pytest.mark.parametrize(
    ("inputs", "because"),
    [
        ({"pitch": "1.5", "slots": "7"}, "no pin goes through"),
        ({"pitch": "1.5", "slots": "2"}, "3 or more"),
        ({"pitch": "1.5", "slots": "6.5"}, "whole number"),
        ({"pitch": "1.5", "slots": "6", "low": "0.2", "high": "0.1"}, "is above high"),
        ({"pitch": "1.5", "slots": "6", "low": "0.2"}, "give low and high"),
        ({"pitch": "1.5", "low": "0.1", "high": "0.2"}, "give the slots"),
        ({"pitch": "1.5", "turn": "60", "flats": "1"}, "one of them"),
        ({"pitch": "1.5", "steps": "1"}, "give slots too"),
        ({"pitch": "1.5"}, "give turn, flats or steps"),
        ({"pitch": "1.5", "tpi": "16", "turn": "60"}, "one of them"),
        ({"turn": "60"}, "one of them"),
        ({"pitch": "0", "turn": "60"}, "pitches of nuts"),
        ({"tpi": "0", "turn": "60"}, "threads an inch"),
        ({"thread": "M20x19", "turn": "60"}, "no thread of that diameter"),
        ({"thread": "7/8-9", "turn": "60"}, "could be more than one thread"),
        ({"pitch": "1.5 kg", "turn": "60"}, "not a unit of length"),
        ({"pitch": "1.5", "turn": "60", "starts": "0"}, "whole number from 1"),
    ],
)
def test_nuts_that_cannot_be_are_refused(inputs, because):
    with pytest.raises(BenchrunError, match=because):
        NUT.work(inputs)
