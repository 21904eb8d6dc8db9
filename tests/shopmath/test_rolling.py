from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from benchrun.errors import BenchrunError
from benchrun.shopmath.catalogue import CALCS

ROLL = CALCS["rolling_torque"]


def six(value):
    return pytest.approx(float(value), rel=2e-5)


def test_rolling_torques_agree_with_the_computed_grid(rows):
    for row in rows("second/rolling_torque_grid"):
        found = ROLL.work(
            {"force": f"{row['force']} {row['force_unit']}", "radius": row["radius_mm"]}
        )
        assert float(found["torque"].number) == six(row["torque_Nm"])
        assert float(found["torque_inches"].number) == six(row["torque_in_lbf"])
        assert float(found["torque_kgf"].number) == six(row["torque_kgf_cm"])


def test_published_pulls_come_out():
    # An army manual (TM 5-3895-346-14, p. 618): 7 lb at 9 in: 63 lb in, 5.25 lb ft.
    found = ROLL.work({"force": "7 lb", "radius": "9 in"})
    assert float(found["torque_inches"].number) == pytest.approx(63)
    assert float(found["torque"].to("ft lb")) == pytest.approx(5.25)
    assert float(found["torque"].number) == pytest.approx(7.118, abs=1e-3)
    # A workshop manual of a front hub: 2.5 to 11.7 N are 0.25 to 1.17 N m: the radius is 100 mm.
    hub = ROLL.work({"low": "0.25", "high": "1.17", "radius": "100"})
    assert (hub["reading_low"].exact, hub["reading_high"].exact) == ("2.5", "11.7")
    # Another: 7.06 to 20.99 N at the hub bolt are 1.59 to 4.72 lb.
    for newtons, pounds in (("7.06", 1.587), ("20.99", 4.719)):
        found = ROLL.work({"force": newtons, "radius": "57"})
        assert float(Decimal(newtons)) / 4.4482216 == pytest.approx(pounds, abs=1e-3)
        assert found["torque"].number == Decimal(newtons) * 57 / 1000


def test_an_army_manuals_bands_are_its_own_roundings():
    # TM 5-3805-257-14P, p. 412: 21 to 28 lb new, 9 to 17 lb used at 8 5/16 in, printed as 15 to 20
    # and 6 to 12 lb ft; computed 14.55 to 19.4 and 6.234 to 11.78.
    for pull, wanted, printed in ((21, 14.55, 15), (28, 19.4, 20), (9, 6.234, 6), (17, 11.78, 12)):
        found = ROLL.work({"force": f"{pull} lb", "radius": "8 5/16 in"})
        torque = float(found["torque"].to("ft lb"))
        assert torque == pytest.approx(wanted, abs=6e-3)
        assert abs(torque - printed) > 0.2


def test_a_torque_wrench_on_a_stud_off_the_centre_reads_less():
    # TM 5-3805-260-24: C = A T/(A + B); A 8 in, T 160 lb in, C 75: B is 9.0667 in.
    found = CALCS["torque_setting"].work(
        {"target": "160 in lb", "wrench": "8 in", "extension": "9.0667 in", "in": "in lb"}
    )
    assert float(found["setting"].number) == pytest.approx(75, abs=1e-3)


@given(st.floats(0.1, 30), st.floats(20, 400), st.floats(0, 0.9))
def test_random_pulls_agree_with_scipys_constants(kilograms, radius, share):
    drag = kilograms * share
    found = ROLL.work(
        {"force": f"{kilograms:.9f} kgf", "stud_circle": f"{2 * radius:.9f}",
         "seal_drag": f"{drag:.9f} kgf"}
    )  # fmt: skip
    torque = (kilograms - drag) * constants.kilogram_force * radius / 1000
    assert float(found["torque"].number) == pytest.approx(torque, rel=1e-5, abs=1e-9)
    inches = torque / (constants.pound_force * constants.inch)
    assert float(found["torque_inches"].number) == pytest.approx(inches, rel=1e-5, abs=1e-8)


def test_the_reading_for_a_band_and_its_verdict_agree():
    base = {"radius": "100", "seal_drag": "2", "low": "0.4", "high": "1.2"}
    band = ROLL.work(base)
    for name, beyond in (("reading_low", "-0.01"), ("reading_high", "0.01")):
        edge = band[name].number
        assert ROLL.work({**base, "force": edge})["verdict"].value == "inside"
        assert ROLL.work({**base, "force": edge + Decimal(beyond)})["verdict"].value == "outside"


@pytest.mark.parametrize(
    ("inputs", "because"),
    [
        ({"force": "10"}, "radius or a diameter cannot be known"),
        ({"force": "10", "radius": "50", "stud_circle": "100"}, "one of them"),
        ({"force": "10", "radius": "50", "seal_drag": "10"}, "not below the reading"),
        ({"force": "10", "radius": "50", "seal_drag": "-1"}, "less than nothing"),
        ({"force": "0", "radius": "50"}, "more than nothing"),
        ({"force": "10", "radius": "0"}, "more than nothing"),
        ({"radius": "50"}, "give the force"),
        ({"radius": "50", "low": "2", "high": "1"}, "is above high"),
        ({"force": "10 mm", "radius": "50"}, "not a unit of force"),
    ],
)
def test_pulls_that_cannot_be_are_refused(inputs, because):
    with pytest.raises(BenchrunError, match=because):
        ROLL.work(inputs)
