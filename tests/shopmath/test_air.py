from decimal import Decimal

import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrun.errors import BenchrunError
from benchrun.shopmath.catalogue import CALCS

DEW = CALCS["dew_point"]
psychrolib.SetUnitSystem(psychrolib.SI)


def dew(**inputs):
    return float(DEW.work(inputs)["dew_point"].number)


def test_the_reference_table_of_two_libraries_comes_out(rows):
    for row in rows("dew_points"):
        found = dew(air=row["air_C"], rh=row["rh"])
        assert found == pytest.approx(float(row["psychrolib_C"]), abs=0.002)
        assert found == pytest.approx(float(row["coolprop_C"]), abs=0.01)


@given(st.integers(-40, 60), st.integers(1, 100))
def test_dew_points_agree_with_psychrolib(air, rh):
    found = dew(air=Decimal(air), rh=Decimal(rh))
    if found > -99:
        wanted = psychrolib.GetTDewPointFromRelHum(air, rh / 100)
        assert found == pytest.approx(wanted, abs=0.005)


@pytest.mark.parametrize("air", [-20, -5, 2, 10, 20, 35, 55])
@pytest.mark.parametrize("rh", [10, 50, 85, 99])
def test_dew_points_agree_with_coolprop(air, rh):
    from CoolProp.HumidAirProp import HAPropsSI  # seconds, which every process would need

    wanted = HAPropsSI("D", "T", air + 273.15, "P", 101325, "R", rh / 100) - 273.15
    # CoolProp counts the enhancement of vapour in air, which psychrometric formulas leave out.
    assert dew(air=Decimal(air), rh=Decimal(rh)) == pytest.approx(wanted, abs=0.06)


@given(st.integers(-20, 50), st.integers(0, 12))
def test_wet_bulbs_agree_with_psychrolib(air, depression):
    wet = air - depression
    try:
        result = DEW.work({"air": Decimal(air), "wet_bulb": Decimal(wet)})
    except BenchrunError:
        assert psychrolib.GetHumRatioFromTWetBulb(air, wet, 101325) <= 1e-6
        return
    wanted = psychrolib.GetRelHumFromTWetBulb(air, wet, 101325) * 100
    assert float(result["rh"].number) == pytest.approx(wanted, abs=0.02)


@pytest.mark.parametrize(
    ("inputs", "wanted", "within"),
    [
        # A coating maker's glossary: 30 °C, 55 %: 20 °C.
        ({"air": "30", "rh": "55"}, 20, 0.1),
        # A page on dew points: 75 °F, 35 %: 45 °F.
        ({"air": "75 F", "rh": "35"}, 7.5, 0.6),
        # A painting guide: 16 °C, 71 %: 11 °C; dry 21, wet 17: 15 °C.
        ({"air": "16", "rh": "71"}, 11, 0.4),
        ({"air": "21", "wet_bulb": "17"}, 15, 0.4),
    ],
)
def test_published_dew_points_come_out(inputs, wanted, within):
    assert dew(**inputs) == pytest.approx(wanted, abs=within)


def test_published_verdicts_come_out():
    # The painting guide: steel 13 °C at dew point 11 is not suitable; steel 19 at 15 is.
    assert DEW(air="16", rh="71", surface="13")["verdict"].value == "not suitable"
    assert DEW(air="21", wet_bulb="17", surface="19")["verdict"].value == "suitable"


def test_a_surface_exactly_at_the_margin_is_suitable_and_a_hair_below_is_not():
    edge = DEW(air="20", rh="50")["coldest_surface"].number
    inputs = {"air": Decimal(20), "rh": Decimal(50)}
    assert DEW.work(inputs | {"surface": edge})["verdict"].value == "suitable"
    colder = DEW.work(inputs | {"surface": edge - Decimal("0.000001")})
    assert colder["verdict"].value == "not suitable"
    assert colder["spare"].number == Decimal("-0.000001")


def test_damp_air_is_not_suitable_however_warm_the_steel():
    result = DEW(air="20", rh="86", surface="40")
    assert result["verdict"].value == "not suitable"
    assert any("over 85 %" in note for note in result.notes)
    assert DEW(air="20", rh="86", surface="40", rh_max="90")["verdict"].value == "suitable"


def test_below_zero_both_points_are_said():
    result = DEW(air="-5", rh="50")
    frost = float(result["dew_point"].number)
    assert frost == pytest.approx(psychrolib.GetTDewPointFromRelHum(-5, 0.5), abs=0.005)
    assert any("frost point" in note and "supercooled" in note for note in result.notes)


@given(st.integers(-39, 79), st.integers(1, 99))
def test_more_moisture_or_warmer_air_raises_the_dew_point_and_saturated_air_is_at_it(air, rh):
    here = dew(air=Decimal(air), rh=Decimal(rh))
    assert dew(air=Decimal(air), rh=Decimal(rh + 1)) > here
    assert dew(air=Decimal(air + 1), rh=Decimal(rh)) > here
    assert dew(air=Decimal(air), rh=Decimal(100)) == pytest.approx(air, abs=1e-5)


@pytest.mark.parametrize(
    ("inputs", "because"),
    [
        ({"air": "20", "rh": "0"}, "over 0"),
        ({"air": "20", "rh": "-5"}, "over 0"),
        ({"air": "20", "rh": "100.1"}, "up to 100"),
        ({"air": "-40.1", "rh": "50"}, "air is"),
        ({"air": "81", "rh": "50"}, "air is"),
        ({"air": "20"}, "rh or wet_bulb"),
        ({"air": "20", "rh": "50", "wet_bulb": "15"}, "one of them"),
        ({"air": "20", "wet_bulb": "21"}, "above air"),
        ({"air": "50", "wet_bulb": "5"}, "too far below"),
        ({"air": "20", "rh": "50", "margin": "-1"}, "margin"),
        ({"air": "20", "rh": "50", "surface": "200"}, "surface"),
        ({"air": "-40", "rh": "0.001"}, "drier"),
    ],
)
def test_air_that_cannot_be_is_refused(inputs, because):
    with pytest.raises(BenchrunError, match=because):
        DEW.work(inputs)
