from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrun.errors import BenchrunError
from benchrun.shopmath.catalogue import CALCS
from benchrun.shopmath.heat import expansion_of

HEAT, LOSS, CLEARANCE = CALCS["heat_to_fit"], CALCS["loss_of_fit"], CALCS["bearing_clearance"]
T3 = {"diameter": "50", "interference": "30 um", "clearance": "15 um", "alpha": "12e-6",
      "heated": "bearing"}  # fmt: skip


def test_examples_come_out():
    # A bearing page: 120 mm bore, 65 µm: "about 50 °C"; 49.2 K with 11, 43.3 K with 12.5 µm/m/K.
    one = {"diameter": "120", "interference": "65 um", "heated": "bearing"}
    assert float(HEAT.work(one | {"alpha": "11"})["rise"].number) == pytest.approx(49.24, abs=0.01)
    assert float(HEAT.work(one)["rise"].number) == pytest.approx(43.33, abs=0.01)
    # Computed: 50 k6 shaft +18, bore -12, 15 µm to slide, 12e-6.
    result = HEAT.work(T3)
    assert (result["rise"].exact, result["heat_to"].exact) == ("75", "95")
    # Computed: 62 P7 in aluminium, 51 µm and 20 µm to slide, 23e-6.
    hub = HEAT(
        diameter="62", interference="51 um", clearance="20 um", alpha="23", heated="aluminium"
    )
    assert float(hub["rise"].number) == pytest.approx(49.79, abs=0.01)


@given(
    st.decimals(100, 400, places=1),
    st.decimals("0.001", "0.05", places=3),
    st.decimals(0, "0.02", places=3),
    st.decimals(10, 30, places=1),
)
def test_heating_by_the_rise_opens_exactly_the_interference_and_clearance(d, tight, gap, alpha):
    rise = HEAT.work(
        {"diameter": d, "interference": tight, "clearance": gap, "alpha": alpha, "heated": "steel"}
    )["rise"].number
    growth = (
        LOSS.work(
            {"diameter": d, "alpha_outer": alpha, "alpha_inner": Decimal("0.5"), "rise": rise}
        )["change"].to("mm")
        - Decimal("0.5") * d * rise / 10**6
    )
    assert abs(growth + tight + gap) < Decimal("1e-20")


@given(st.decimals("0.5", 40, places=1), st.decimals("0.5", 40, places=1), st.integers(-200, 200))
def test_the_sign_of_a_lost_fit_follows_the_metals(outer, inner, rise):
    inputs = {"diameter": Decimal(62), "alpha_outer": outer, "alpha_inner": inner}
    change = LOSS.work(inputs | {"rise": Decimal(rise)})["change"].number
    assert (change < 0) == ((outer - inner) * rise > 0)
    assert LOSS.work(inputs | {"rise": Decimal(-rise)})["change"].number == -change


def test_an_aluminium_carrier_loses_its_bearing_when_hot():
    result = LOSS(diameter="62", material_outer="aluminium", material_inner="bearing steel",
                  rise="60", interference="30 um")  # fmt: skip
    # (12.5 - 23.6) µm/m/K × 62 mm × 60 K, arithmetic.
    assert result["change"].exact == "-41.292"
    assert result["left"].exact == "-11.292"
    assert "nothing holds the part when warm" in result.notes


@pytest.mark.parametrize(
    ("changes", "because"),
    [
        ({"heated": "sealed"}, "over the 80 °C that a sealed bearing"),
        ({"interference": "60 um"}, "over the 120 °C that an open bearing"),
        ({"heated": "aluminium", "cap": "90"}, "over the 90 °C"),
        ({"cap": "130"}, "cap 130 °C is over the 120 °C"),
        ({"heated": "sealed bearing", "cap": "100"}, "cap 100 °C"),
        ({"heated": "wood"}, "none of"),
        ({"interference": "-1 um"}, "between 0 and 1 %"),
        ({"clearance": "-1 um"}, "clearance"),
        ({"diameter": "0"}, "more than nothing"),
        ({"alpha": "120"}, "metals expand"),
        ({"room": "90"}, "workshop"),
    ],
)
def test_too_hot_and_nonsense_are_refused(changes, because):
    with pytest.raises(BenchrunError, match=because):
        HEAT.work(T3 | changes)


def test_the_metal_that_is_heated_is_not_asked_for_twice():
    for heated, material in (("iron", "grey iron"), ("aluminium carrier", "aluminium"),
                             ("steel", "steel")):  # fmt: skip
        base = {"diameter": "62", "interference": "30 um", "heated": heated}
        assert HEAT.work(base)["rise"] == HEAT.work({**base, "material": material})["rise"]
    # Another alloy goes before it.
    cast = HEAT.work({**base, "heated": "aluminium", "material": "cast aluminium"})
    assert cast["rise"] != HEAT.work({**base, "heated": "aluminium"})["rise"]
    with pytest.raises(BenchrunError, match="not in the table"):
        expansion_of("cheese")


def test_materials_are_found_by_their_everyday_names():
    # Callister, table B.6, as copied: 1020 steel 11.7, grey iron 11.4, 356.0 cast 21.5 µm/m/K.
    assert expansion_of("Steel")[0] == Decimal("11.7")
    assert expansion_of("grey iron")[0] == Decimal("11.4")
    assert expansion_of("cast aluminum")[0] == Decimal("21.5")


def test_heat_is_cautioned_of():
    assert any("burns" in caution for caution in HEAT.work(T3).cautions)


def test_clearance_of_a_fitted_bearing_as_in_the_worked_example():
    # Computed: 40 mm bore, normal clearance 6 to 20 µm (memory of ISO 5753-1), 40 k5 on a ring
    # 0/-12: 2 to 25 µm tight, factor 0.8, 5 K over a raceway of 72 mm at 12.5e-6: 4.5 µm.
    result = CLEARANCE.work(
        {"bore": "40", "class": "CN", "shaft_interference": "2..25 um", "shaft_factor": "0.8",
         "outside": "80", "temperature_difference": "5"}
    )  # fmt: skip
    assert result["clearance_min"].exact == "-18.5"
    assert result["clearance_max"].exact == "13.9"


@given(st.decimals(6, 200, places=1), st.integers(0, 25), st.integers(0, 25))
def test_a_tighter_fit_never_leaves_more_clearance(bore, low, more):
    loose = CLEARANCE.work({"bore": bore, "shaft_interference": f"{low} um"})
    tight = CLEARANCE.work({"bore": bore, "shaft_interference": f"{low + more} um"})
    assert tight["clearance_min"].number <= loose["clearance_min"].number
    assert tight["clearance_max"].number <= loose["clearance_max"].number


@given(st.decimals(7, 200, places=1))
def test_looser_classes_have_more_clearance(bore):
    least = [
        CLEARANCE.work({"bore": bore, "class": name})["clearance_min"].number
        for name in ("C2", "CN", "C3", "C4", "C5")
    ]
    assert least == sorted(least)


@pytest.mark.parametrize(
    ("inputs", "because"),
    [
        ({"bore": "2"}, "outside the table"),
        ({"bore": "201"}, "outside the table"),
        ({"bore": "4", "class": "C4"}, "not in the table"),
        ({"bore": "40", "class": "C9"}, "none of"),
        ({"bore": "40", "shaft_factor": "1.2"}, "share"),
        ({"bore": "40", "shaft_interference": "900"}, "over 1 %"),
        ({"bore": "40", "temperature_difference": "5"}, "outside or raceway"),
        ({"bore": "40", "temperature_difference": "5", "outside": "30"}, "not larger"),
    ],
)
def test_clearances_outside_the_table_are_refused(inputs, because):
    with pytest.raises(BenchrunError, match=because):
        CLEARANCE.work(inputs)
