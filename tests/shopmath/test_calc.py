import inspect
import json
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchrun.errors import BenchrunError
from benchrun.quantity import UNITS, Measure, convert, known, plain, read
from benchrun.shopmath.amount import Amount
from benchrun.shopmath.catalogue import CALCS, calc_named
from benchrun.shopmath.command import calc_text
from benchrun.shopmath.tables import table_rows

NAMES = list(CALCS)
TABLES = [
    "bolt_classes", "bolt_grades", "chart_constants", "coarse_pitches", "heating_caps",
    "iso286_grades", "iso286_holes", "iso286_shafts", "nut_factors", "radial_clearance",
    "relief_bake", "thermal_expansion", "thread_series",
    "cold_expansion", "cold_limits", "joint_stiffness", "hardness_din50150",
    "hardness_e140", "hardness_brinell", "bolt_hardness",
]  # fmt: skip
ISSUED = {
    "limits": ["lower", "upper", "size_min", "size_max"],
    "fit": ["tightest", "loosest", "kind"],
    "press_fit": ["pressure", "hub_hoop", "shaft_hoop", "press_force", "torque"],
    "heat_to_fit": ["rise", "heat_to"],
    "loss_of_fit": ["change"],
    "bearing_clearance": ["clearance_min", "clearance_max"],
    "shim": ["packs"],
    "end_float": ["float", "spread", "verdict"],
    "bolt": ["stress_area", "preload", "torque", "of_proof"],
    "torque_setting": ["setting"],
    "dew_point": ["dew_point", "spare", "verdict"],
    "film": ["wft", "coverage", "paint"],
    "area": ["area"],
    "dilute": ["stock_mass", "stock_volume", "water_mass"],
    "mix": ["base", "hardener", "thinner"],
    "bath_dwell": ["least", "most"],
    "bore": ["mean", "ovality", "taper", "largest", "smallest", "verdict"],
    "roundness": ["centre_x", "centre_y", "radius", "roundness"],
    "accept": ["verdict", "accept_low", "accept_high"],
    "summary": ["n", "mean", "s", "least", "most", "spread", "u"],
    "control": ["centre", "lower", "upper", "points"],
    "capability": ["Cp", "Cpk"],
    "relief_bake": ["temperature", "hours", "late"],
    "nut_turn": ["travel", "step_travel", "play_at_pin", "verdict"],
    "bolt_stretch": ["preload", "stretch", "angle", "of_proof", "verdict"],
    "cool_to_fit": ["drop", "cool_to", "verdict"],
    "coil_spring": ["rate", "stress", "solid", "load_solid", "buckles_at", "verdict"],
    "torsion_bar": ["stiffness", "load", "rate", "stress", "finest", "verdict"],
    "leaf_spring": ["rate", "deflection", "stress", "nip", "camber_loaded", "verdict"],
    "alignment": ["toe_total", "camber", "kpi", "caster", "caster_sweep", "angles"],
    "brake": ["pressure", "clamp", "disc_torque", "tip_force"],
    "drum_brake": ["torque", "pmax_leading", "locks_at", "verdict"],
    "brake_balance": ["front_load", "rear_load", "locks_first"],
    "brake_heat": ["energy", "rise", "end", "verdict"],
    "hardness": ["HV", "HB", "HRC", "tensile", "tensile_tsi", "verdict"],
    "thread_data": ["pitch", "major", "pitch_diameter", "drill_for_depth", "depth", "verdict"],
    "three_wire": ["best_wire", "over_wires", "pitch_diameter", "verdict"],
    "thread_engagement": ["shear_bolt", "length_needed", "J", "strip_load", "verdict"],
    "rolling_torque": ["torque", "reading_low", "reading_high", "verdict"],
    "plating_growth": ["growth_least", "pitch_growth_most", "size_least", "verdict"],
    "convert": ["value"],
}


def test_every_sum_is_there():
    assert sorted(NAMES) == sorted(ISSUED)


@pytest.mark.parametrize("name", NAMES)
def test_the_example_of_every_sum_answers_what_it_promises_with_sources(name):
    calc = CALCS[name]
    result = calc.work(calc.example)
    promised = {output.name: output.unit for output in calc.outputs}
    assert set(ISSUED[name]) <= set(result.outputs) <= set(promised)
    for output, amount in result.outputs.items():
        assert known(amount.unit)
        if promised[output]:
            assert amount.unit == promised[output]
    assert result.sources
    assert all(source.strip() for source in result.sources)


@pytest.mark.parametrize("name", NAMES)
def test_the_json_form_is_decimal_strings_with_units_notes_and_sources(name):
    pairs = [f"{key}={value}" for key, value in CALCS[name].example.items()]
    data = json.loads(calc_text(name, pairs, as_json=True))
    assert list(data) == ["outputs", "notes", "sources"]
    for output in data["outputs"].values():
        assert list(output) == ["value", "unit"]
        assert isinstance(output["value"], str)
        if output["unit"]:
            assert plain(Decimal(output["value"])) == output["value"]


@pytest.mark.parametrize("name", NAMES)
def test_the_four_ways_give_one_answer(name):
    calc = CALCS[name]
    typed = calc.work(calc.example)
    pairs = [f"{key}={value}" for key, value in calc.example.items()]
    assert json.loads(calc_text(name, pairs, as_json=True)) == json.loads(
        json.dumps(typed.as_data())
    )
    assert calc(**{f"{key}_": value for key, value in calc.example.items()}) == typed
    measured = {
        entry.name: read(calc.example[entry.name], entry.unit)
        for entry in calc.inputs
        if entry.name in calc.example and entry.kind == "number" and entry.bare is None
    }
    assert calc.work({**calc.example, **measured}) == typed


NUMERIC = [
    pytest.param(calc, entry, id=f"{calc.name}-{entry.name}")
    for calc in CALCS.values()
    for entry in calc.inputs
    if entry.name in calc.example and entry.kind == "number"
]


@pytest.mark.parametrize(("calc", "entry"), NUMERIC)
def test_units_do_not_matter(calc, entry):
    wanted = calc.work(calc.example)
    home = next(unit for unit in UNITS if unit.name == entry.unit)
    text = calc.example[entry.name]
    alone = text.replace(".", "").isdigit()
    unit = entry.bare(Decimal(text)) if entry.bare and alone else entry.unit
    typed = read(text, unit)
    for unit in UNITS:
        if unit.dimension != home.dimension or not unit.name:
            continue
        value = convert(typed.value, typed.unit, unit.name)
        found = calc.work({**calc.example, entry.name: Amount(value, unit.name)})
        for name, amount in wanted.outputs.items():
            if isinstance(amount.value, Decimal):
                difference = abs(found[name].number - amount.value)
                assert difference <= abs(amount.value) * Decimal("1e-9") + Decimal("1e-12")
            else:
                assert found[name] == amount


def test_a_whole_press_fit_typed_in_inches_is_the_same():
    metric = CALCS["press_fit"](
        diameter="50.8", hub_od="76.2", interference="0.0508", length="25.4", shaft_E="200 GPa"
    )
    inches = CALCS["press_fit"](
        diameter="2 in", hub_od="3in", interference="2 thou", length="1 in", shaft_E="200000 MPa"
    )
    assert metric.outputs == inches.outputs


def test_amounts_of_one_sum_go_into_another():
    mean = CALCS["bore"].work(CALCS["bore"].example)["mean"]
    result = CALCS["fit"].work({"hole": mean, "shaft": Measure("62.000", Decimal("62.000"), "mm")})
    assert result["tightest"].number == pytest.approx(Decimal("-32.58333"), abs=Decimal("0.0001"))
    shims = CALCS["shim"].work(
        {**CALCS["shim"].example, "shims": [Decimal("0.45"), Measure("0.5", Decimal("0.5"), "mm")]}
    )
    assert shims["pack"].exact == "0.95"


@pytest.mark.parametrize(
    ("value", "unit", "wanted", "name"),
    [
        # Exact by definition of inch, pound and standard gravity.
        ("25.4 mm", "in", "1", "in"),
        ("45 ft lb", "Nm", "61.011807674913", "N m"),
        ("10 lb", "N", "44.482216152605", "N"),
        ("1 lb", "kg", "0.45359237", "kg"),
        ("20 C", "F", "68", "degF"),
        ("9 F", "K", "5", "K"),
        ("1 3/8 in", "mm", "34.925", "mm"),
    ],
)
def test_conversions_between_units_as_typed(value, unit, wanted, name):
    answer = CALCS["convert"](value=value, unit=unit)["value"]
    assert (answer.exact, answer.unit) == (wanted, name)


@pytest.mark.parametrize(
    ("value", "unit", "because"),
    [
        ("25.4 mm", "furlong", "not one that benchrun knows"),
        ("25.4 mm", "kg", "not a unit of mass"),
        ("lots", "mm", "not a reading"),
        ("25.4", "mm", "has no unit"),
    ],
)
def test_conversions_that_cannot_be_are_refused(value, unit, because):
    with pytest.raises(BenchrunError, match=because):
        CALCS["convert"](value=value, unit=unit)


def test_numbers_are_kept_to_fifteen_digits_and_said_to_what_the_unit_bears():
    third = Amount(Decimal(1) / 3, "mm")
    assert third.exact == "0.333333333333333"
    assert third.words == "0.3333 mm"
    assert Amount(Decimal("0.00001234567"), "mm").words == "0.0000123 mm"
    assert Amount(Decimal("75.000"), "K").words == "75 K"
    assert Amount(Decimal("1E+3"), "kN").exact == "1000"
    assert Amount("inside").words == Amount("inside").exact == "inside"
    with pytest.raises(BenchrunError, match="is a word"):
        Amount("inside").to("mm")


def test_workings_are_said_with_the_numbers_put_in():
    fit = CALCS["fit"]
    inputs = {"hole": "61.967", "shaft": "62.000"}
    assert fit.work(inputs).workings == ("hole 61.967 mm − shaft 62 mm = 33 µm tight",)
    heat = CALCS["heat_to_fit"]
    assert heat.work(heat.example).workings == (
        "(30 µm + 15 µm) ÷ (12 µm/m/K × 50 mm) = 75 K; room 20 °C + 75 K = 95 °C",
    )


@pytest.mark.parametrize(
    "name",
    ["press_fit", "heat_to_fit", "bolt", "dilute", "bath_dwell", "relief_bake", "shim", "end_float",
     "torque_setting", "dew_point", "film", "mix", "bearing_clearance", "loss_of_fit", "fit"],
)  # fmt: skip
def test_what_can_hurt_carries_its_caution_everywhere(name):
    calc = CALCS[name]
    result = calc.work(calc.example)
    assert result.cautions
    pairs = [f"{key}={value}" for key, value in calc.example.items()]
    assert calc_text(name, pairs).startswith("CAUTION")
    assert json.loads(calc_text(name, pairs, as_json=True))["notes"][0].startswith("Caution: ")


@pytest.mark.parametrize("name", TABLES)
def test_every_row_of_every_table_says_where_it_comes_from(name):
    assert table_rows(name)
    for row in table_rows(name):
        assert row["source"].strip()


def test_names_are_forgiving_but_never_guessed():
    assert calc_named("press-fit").name == "press_fit"
    lower = CALCS["accept"].work({"VALUE": "5", "low": "4", "u": "0.5"})
    assert lower["verdict"].value == "inside"
    with pytest.raises(BenchrunError, match="there is no sum 'presfit': did you mean 'press_fit'"):
        calc_named("presfit")
    with pytest.raises(BenchrunError, match="no input 'sise'; it takes size, class"):
        CALCS["limits"](sise="62")
    with pytest.raises(BenchrunError, match=r"also needs class \(tolerance class"):
        CALCS["limits"](size="62")


@pytest.mark.parametrize(
    ("pairs", "because"),
    [
        (["size"], "not name=value"),
        (["=62"], "not name=value"),
        (["size=62", "size=63"], "given twice"),
        (["size=1,234", "class=P7"], "size: 1,234 could be 1234 or 1.234"),
        (["size=62 kg", "class=P7"], "size: 'kg' is not a unit of length"),
        (["size=", "class=P7"], "size: type a length"),
    ],
)
def test_pairs_that_are_none_are_refused_by_name(pairs, because):
    with pytest.raises(BenchrunError, match=because):
        calc_text("limits", pairs)


@pytest.mark.parametrize("name", NAMES)
def test_what_a_sum_cannot_go_without_is_asked_for(name):
    calc = CALCS[name]
    parameters = inspect.signature(calc.function).parameters
    for entry in calc.inputs:
        has_none = parameters[entry.parameter].default is inspect.Parameter.empty
        assert entry.needed is (has_none and entry.default is None), entry.name
    needed = {entry.name: entry.meaning for entry in calc.inputs if entry.needed}
    with pytest.raises(BenchrunError) as told:
        calc.work({})
    if needed:
        wanted = "; ".join(f"{entry} ({meaning})" for entry, meaning in needed.items())
        assert told.value.message == f"{name} also needs {wanted}"


def test_the_list_names_every_sum_and_help_names_every_input():
    listing = calc_text(None)
    for calc in CALCS.values():
        assert f"{calc.name} " in listing
        usage = calc_text(calc.name)
        for entry in calc.inputs:
            assert f"  {entry.name}" in usage
        for output in calc.outputs:
            assert f"  {output.name}" in usage


def test_the_answer_for_people_is_aligned_and_rounded():
    lines = calc_text("press_fit", ["diameter=50", "hub_od=80", "interference=0.04", "length=40",
                              "shaft_E=200 GPa", "hub_E=200 GPa"]).splitlines()  # fmt: skip
    answers = [line for line in lines if line.startswith(("pressure", "press_force"))]
    assert [line.split("  ")[0] for line in answers] == ["pressure", "press_force"]
    assert answers[0].index("48.75 MPa") == answers[1].index("36.76 kN")
    assert any(line.startswith("source   Lamé") for line in lines)


texts = st.text(max_size=30) | st.sampled_from(
    ["1e30", "-1", "0", "1e-30", "nan", "9" * 30, ";", "1;2", "1/0", "M10", "P7", "1,234", "1 2;3"]
)


@settings(max_examples=400)
@given(st.sampled_from(NAMES), st.data())
def test_whatever_is_typed_the_answer_is_a_result_or_one_line(name, data):
    calc = CALCS[name]
    inputs = dict(calc.example)
    for entry in data.draw(st.lists(st.sampled_from(calc.inputs), min_size=1, max_size=3)):
        inputs[entry.name] = data.draw(texts)
    message = ""
    try:
        json.dumps(calc.work(inputs).as_data())
    except BenchrunError as refused:
        message = refused.message
    assert "\n" not in message
