from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrun.errors import BenchrunError
from benchrun.shopmath.catalogue import CALCS

PRESS = CALCS["press_fit"]
BASE = {
    "diameter": "50", "hub_od": "80", "interference": "0.04", "length": "40", "friction": "0.15",
    "shaft_E": "200 GPa", "hub_E": "200 GPa",
}  # fmt: skip


def close(found, wanted, within):
    return abs(found.number - Decimal(wanted)) <= Decimal(within)


def test_a_solid_shaft_in_a_hub_agrees_with_a_published_example():
    # A press-fit calculator page: p 48.8 MPa, F 45.9 kN, T 1149 N.m, bore hoop 111 MPa.
    result = PRESS.work(BASE)
    assert result["pressure"].exact == "48.75"
    assert result["hub_hoop"].exact == "111.25"
    assert result["hub_od_hoop"].exact == "62.5"
    assert result["shaft_hoop"].exact == "-48.75"
    assert close(result["press_force"], "45.95", "0.01")
    assert close(result["torque"], "1148.64", "0.01")


@pytest.mark.parametrize(
    ("changes", "wanted"),
    [
        # A second calculator page: F 38.6 kN, T about 965 N.m, bore hoop about 117 MPa.
        (
            {"shaft_E": "210 GPa", "hub_E": "210 GPa", "friction": "0.12"},
            {"pressure": "51.19", "hub_hoop": "116.81", "press_force": "38.59", "torque": "964.86"},
        ),
        # A third page: p about 75 MPa, bore hoop 125 MPa.
        ({"hub_od": "100", "interference": "0.05"}, {"pressure": "75", "hub_hoop": "125"}),
        # Ugural and Fenster, example 8.3: radii 150, 200, 250 mm, radial interference 0.1 mm:
        # p 12.3 MPa; hoop 56.0 and 43.7 outside, -43.9 and -56.2 MPa inside.
        (
            {"diameter": "400", "hub_od": "500", "shaft_bore": "300", "interference": "0.2"},
            {
                "pressure": "12.30", "hub_hoop": "56.05", "hub_od_hoop": "43.75",
                "shaft_hoop": "-43.95", "shaft_bore_hoop": "-56.25",
            },
        ),
        # Computed with the two-material form; moduli of steel and grey iron from memory.
        (
            {
                "hub_od": "90", "interference": "0.03", "length": "45", "friction": "0.12",
                "shaft_E": "207 GPa", "shaft_nu": "0.29", "hub_E": "100 GPa", "hub_nu": "0.21",
            },
            {"pressure": "24.53", "hub_hoop": "46.43", "press_force": "20.81", "torque": "520.21"},
        ),
    ],
)  # fmt: skip
def test_published_and_computed_examples_come_out(changes, wanted):
    result = PRESS.work(BASE | changes)
    for name, value in wanted.items():
        assert close(result[name], value, "0.011"), (name, result[name])


@given(
    st.decimals(10, 300, places=1),
    st.decimals("1.05", 4, places=2),
    st.decimals("0.002", "0.05", places=3),
)
def test_pressure_grows_with_interference_and_wall_and_torque_with_diameter(d, ratio, delta):
    base = {"diameter": d, "hub_od": d * ratio, "interference": delta, "length": Decimal(20)}
    result = PRESS.work(base)
    tighter = PRESS.work(base | {"interference": delta * Decimal("1.5")})
    thicker = PRESS.work(base | {"hub_od": d * ratio * 2})
    assert tighter["pressure"].number > result["pressure"].number
    assert thicker["pressure"].number > result["pressure"].number
    assert abs(tighter["pressure"].number - result["pressure"].number * 3 / 2) < Decimal("1e-20")
    assert abs(result["torque"].number - result["press_force"].number * d / 2) < Decimal("1e-20")


@given(st.decimals(10, 300, places=1), st.decimals("1.1", 3, places=1))
def test_hoop_at_the_bore_less_hoop_outside_is_the_pressure(d, ratio):
    # Equilibrium of a thick ring: a property of Lamé's field, independent of the formula used.
    result = PRESS.work(
        {"diameter": d, "hub_od": d * ratio, "interference": Decimal("0.02"), "length": 10}
    )
    difference = result["hub_hoop"].number - result["hub_od_hoop"].number
    assert abs(difference - result["pressure"].number) < Decimal("1e-20")


def test_without_a_length_there_is_pressure_but_no_force():
    # A calculator page: 50 solid in 100 outside, 0.05 mm, 200 GPa: p about 75 MPa.
    result = PRESS(
        diameter="50", hub_od="100", interference="0.05", shaft_E="200 GPa", hub_E="200 GPa"
    )
    assert result["pressure"].exact == "75"
    assert "press_force" not in result.outputs


def test_an_interference_without_a_unit_is_taken_in_the_only_unit_it_can_be_in():
    micron = PRESS.work(BASE | {"interference": "40"})
    assert micron.outputs == PRESS.work(BASE).outputs
    assert any("40 µm" in note for note in micron.notes)
    pascal = PRESS.work(BASE | {"shaft_E": "200000", "hub_E": "200e9"})
    assert pascal.outputs == PRESS.work(BASE).outputs


@pytest.mark.parametrize(
    ("changes", "because"),
    [
        ({"hub_od": "50"}, "a hub must have a wall"),
        ({"hub_od": "40"}, "a hub must have a wall"),
        ({"shaft_bore": "50"}, "less than the fit"),
        ({"shaft_bore": "-1"}, "less than the fit"),
        ({"interference": "0"}, "nothing presses"),
        ({"interference": "-0.02"}, "nothing presses"),
        ({"interference": "0.6"}, "over 1 %"),
        ({"friction": "-0.1"}, "friction"),
        ({"friction": "1.1"}, "friction"),
        ({"length": "0"}, "more than nothing"),
        ({"diameter": "-50"}, "more than nothing"),
        ({"shaft_nu": "0.6"}, "Poisson"),
        ({"hub_E": "0.5 GPa"}, "Young"),
    ],
)
def test_nonsense_is_refused_with_the_reason(changes, because):
    with pytest.raises(BenchrunError, match=because):
        PRESS.work(BASE | changes)


def test_the_press_is_cautioned_of_and_the_maker_goes_first():
    cautions = " ".join(PRESS.work(BASE).cautions)
    assert "hands out" in cautions
    assert "maker" in cautions
