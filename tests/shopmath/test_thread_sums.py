from decimal import Decimal

import mpmath
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from benchrun.errors import BenchrunError
from benchrun.shopmath.catalogue import CALCS
from benchrun.shopmath.thread_data import over_wires
from benchrun.shopmath.threads import thread_of

DATA, WIRES, ENGAGED = (
    CALCS["thread_data"], CALCS["three_wire"], CALCS["thread_engagement"]
)  # fmt: skip
SAMPLE = ["M6", "M10x1.5", "M24x2", "1/4-20 UNC", "1/2 UNF", "3/8 BSF", "1/2 BSW", "2 BA"]


def six(value):
    return pytest.approx(float(value), rel=2e-5)


def test_tap_drills_leave_the_published_depth(rows):
    tested = 0
    for row in rows("second/metric_threads"):
        if row["tap_drill_mm"]:
            found = DATA.work({"thread": row["size"], "drill": row["tap_drill_mm"]})
            assert float(found["depth"].number) == pytest.approx(
                float(row["thread_depth_percent"]), abs=0.051
            )
            tested += 1
    for row in rows("second/inch_threads"):
        if row["tap_drill_mm"]:
            name = f"{row['size'].split('-')[0]} {row['series']}"
            found = DATA.work({"thread": name, "drill": row["tap_drill_mm"]})
            assert float(found["depth"].number) == pytest.approx(
                float(row["thread_depth_percent"]), abs=0.051
            ), row
            tested += 1
    assert tested > 40


def test_a_drill_column_of_an_owners_table_is_the_core_and_no_drill():
    # Two owners' tables of BSF list the exact minor diameter as the drill: 0.311 in for 3/8.
    found = DATA.work({"thread": "3/8 BSF", "drill": "0.311 in"})
    assert float(found["depth"].number) == pytest.approx(100, abs=0.1)
    assert found["verdict"].value != "usual"


def test_the_drill_for_a_depth_and_the_depth_of_a_drill_are_inverse():
    for thread in SAMPLE:
        drill = DATA.work({"thread": thread, "depth": "80"})["drill_for_depth"].number
        back = DATA.work({"thread": thread, "drill": drill})
        assert float(back["depth"].number) == pytest.approx(80)
        assert back["verdict"].value == "usual"


def test_three_wires_agree_with_the_computed_grid(rows):
    for row in rows("second/three_wire_grid"):
        found = WIRES.work({"thread": row["thread"], "wire": row["wire_mm"]})
        # The grid's wire of 0.866025 is the best one rounded: within the limits all the same.
        assert float(found["best_wire"].number) == six(row["best_wire_mm"])
        assert float(found["basic_pitch_diameter"].number) == six(row["pitch_diameter_basic_mm"])
        assert float(found["over_wires"].number) == six(row["over_wires_mm"])
        back = WIRES.work(
            {"thread": row["thread"], "wire": row["wire_mm"], "reading": row["over_wires_mm"]}
        )
        assert float(back["pitch_diameter"].number) == pytest.approx(
            float(row["pitch_diameter_basic_mm"]), abs=1e-5
        )
        assert thread_of(row["thread"]).form.angle == Decimal(row["angle_deg"])


def test_published_wires_come_out():
    # A gauge maker's page: per pitch best 0.57735, 0.505182 to 1.010362 for 60°; 0.563692, 0.50568
    # to 0.82573 for 55°.
    for thread, best, least, most in (
        ("M10x1", 0.57735, 0.505182, 1.010362), ("1 5/8-11 Whit", 0.563692, 0.50568, 0.82573)
    ):  # fmt: skip
        found = WIRES.work({"thread": thread})
        pitch = float(thread_of(thread).pitch)
        for name, factor in (("best_wire", best), ("least_wire", least), ("most_wire", most)):
            assert float(found[name].number) / pitch == pytest.approx(factor, abs=2e-6)
    # Jones, Turning and Boring, p. 88: 55°: M = d − 1.6008 P + 3.1657 w = E + 3.1657 w − 0.9605 P.
    cut = thread_of("1/2 BSW")
    one, two = (over_wires(cut, Decimal(w), Decimal(10)) for w in ("1.1", "2.1"))
    assert float(two - one) == pytest.approx(3.1657, abs=5e-5)
    basic = over_wires(cut, Decimal(0), cut.pitch_diameter)
    assert float((cut.diameter - basic) / cut.pitch) == pytest.approx(1.6008, abs=5e-5)
    # A club's page: 7/16-14, wires 0.045: 0.464 in; computed 0.464247.
    found = WIRES.work({"thread": "7/16 UNC", "wire": "0.045 in", "in": "in"})
    assert float(found["over_wires"].number) == pytest.approx(0.464247, abs=1e-6)


def test_a_page_takes_3_wires_for_55_degrees_and_is_wrong():
    # 1 5/8-11 Whitworth form, E 1.566788, wires 0.055: the page prints 1.644471 and rejects the
    # right 1.653583.
    found = WIRES.work({"thread": "1 5/8-11 Whit", "wire": "0.055 in", "in": "in"})
    assert float(found["basic_pitch_diameter"].number) == pytest.approx(1.566788, abs=1e-6)
    over = float(found["over_wires"].number)
    assert over == pytest.approx(1.653583, abs=1e-6)
    assert abs(over - 1.644471) > 0.009


@settings(max_examples=60)
@given(st.sampled_from(SAMPLE), st.floats(0.95, 1.05))
def test_random_wires_touch_both_flanks(thread, share):
    # Independent: a circle that touches two lines through the V's point at half the angle.
    cut = thread_of(thread)
    with mpmath.workdps(30):
        half = mpmath.radians(mpmath.mpf(str(cut.form.angle)) / 2)
        pitch, effective = mpmath.mpf(str(cut.pitch)), mpmath.mpf(str(cut.pitch_diameter))
        wire = share * pitch / (2 * mpmath.cos(half))
        # On the pitch line the groove is half a pitch wide: its point lies so far below.
        point = effective / 2 - pitch / 4 / mpmath.tan(half)
        centre = point + wire / 2 / mpmath.sin(half)
        wanted = 2 * (centre + wire / 2)
    found = WIRES.work({"thread": thread, "wire": Decimal(repr(float(wire)))})
    assert float(found["over_wires"].number) == pytest.approx(float(wanted), rel=1e-9)


UNIT = {"mm": 1.0, "in": 25.4}


def engaged(row):
    name = row["thread"].split(" ")[0] + (" UN" if row["unit"] == "in" else "")
    return {
        "thread": name,
        "nut_minor": f"{row['minor_internal_max']} {row['unit']}",
        "bolt_pitch": f"{row['pitch_diameter_external_min']} {row['unit']}",
        "bolt_major": f"{row['major_external_min']} {row['unit']}",
        "nut_pitch": f"{row['pitch_diameter_internal_max']} {row['unit']}",
    }


def test_engagement_agrees_with_the_computed_grid(rows):
    for row in rows("second/thread_engagement_grid"):
        found = ENGAGED.work(engaged(row))
        scale = UNIT[row["unit"]]
        for name, column, power in (
            ("shear_bolt", "shear_area_external_per_length", 1),
            ("shear_nut", "shear_area_internal_per_length", 1),
            ("length_needed", "length_to_break_bolt_first", 1),
            ("stress_area", "stress_area", 2),
            ("ratio", "ratio_ext_to_int", 0),
        ):
            wanted = float(row[column]) * scale**power
            # The inch rows' limits are written to 0.00001 in, which moves a shear area by 1.5e-4.
            near = 2e-4 if row["unit"] == "in" else 3e-5
            assert float(found[name].number) == pytest.approx(wanted, rel=near), (row["id"], name)


def test_a_weaker_nut_needs_more_thread(rows):
    row = next(row for row in rows("second/thread_engagement_grid") if row["id"] == "s8")
    base = {**engaged(row), "bolt_strength": "830"}
    # J = 0.72658 × 830/240 = 2.5128: the length grows by it (FED-STD-H28/2B).
    soft = ENGAGED.work({**base, "nut_strength": "240", "length": "12"})
    assert float(soft["J"].number) == pytest.approx(0.72658 * 830 / 240, rel=1e-4)
    assert float(soft["length_needed"].number) == pytest.approx(8.8813 * 2.5128, rel=1e-4)
    assert soft["verdict"].value == "the thread strips first"
    assert soft["strip_load"].number < soft["break_load"].number
    hard = ENGAGED.work({**base, "nut_strength": "900", "length": "9"})
    assert float(hard["length_needed"].number) == pytest.approx(8.8813, rel=1e-4)
    assert hard["verdict"].value == "the bolt breaks first"


def test_coarser_and_misprinted_forms_are_not_ours():
    # A page's short form 2 At/(0.5 π (D − 0.64952 P)) for At 0.1, D 0.5, P 0.1 gives 0.2927: half
    # the pitch cylinder shears, which is coarser than the sum here.
    assert pytest.approx(0.29267, abs=1e-5) == 2 * 0.1 / (0.5 * 3.14159265 * (0.5 - 0.064952))
    # Another prints (D − 0.938194)² without the pitch: 9.098 for M10x1.5 in place of 8.1805.
    area = float(thread_of("M10x1.5").stress_area) * 4 / 3.14159265358979
    held = area / float(thread_of("M10x1.5").pitch_diameter)
    assert held == pytest.approx(8.1805, rel=1e-4)
    assert abs(held - 9.098) > 0.9


@settings(max_examples=40)
@given(st.sampled_from(["M6", "M10x1.5", "M24x2", "1/2 UNF", "1/2 BSW"]))
def test_shear_areas_agree_with_the_widths_of_the_profile(thread):
    # Independent: at a diameter x the screw's thread is P/2 + (E − x) tan a wide, by symmetry
    # about its pitch line; the sheared cylinder has that share of its surface. The width is
    # found by integrating its slope from the pitch line.
    cut = thread_of(thread)
    found = ENGAGED.work({"thread": thread, "sizes": "basic"})
    pitch, effective = float(cut.pitch), float(cut.pitch_diameter)
    slope = float(mpmath.tan(mpmath.radians(float(cut.form.angle) / 2)))
    for name, at in (("shear_bolt", float(cut.bore_diameter)), ("shear_nut", float(cut.diameter))):
        width = pitch / 2 + abs(quad(lambda x: slope, at, effective)[0])
        share = width / pitch
        assert float(found[name].number) == pytest.approx(3.141592653589793 * at * share, rel=1e-9)


def test_stripping_of_55_degrees_is_an_estimate_and_says_so():
    found = ENGAGED.work({"thread": "1/2 BSW", "sizes": "basic", "length": "12"})
    assert found["verdict"].value == "the bolt breaks first (estimate)"
    assert any("an estimate" in caution for caution in found.cautions)
    sixty = ENGAGED.work({"thread": "1/2 UNC", "sizes": "basic", "length": "12"})
    assert not any("an estimate" in caution for caution in sixty.cautions)


LIMITS = {"nut_minor": "10.441", "bolt_pitch": "10.679", "bolt_major": "11.701",
          "nut_pitch": "11.063"}  # fmt: skip


@pytest.mark.parametrize(
    ("calc", "inputs", "because"),
    [
        ("thread_data", {"thread": "1/2-12"}, "could be more than one thread"),
        ("thread_data", {"thread": "1/2"}, "could be more than one thread"),
        ("thread_data", {"thread": "M10", "drill": "10"}, "it leaves no thread"),
        ("thread_data", {"thread": "M10", "drill": "0"}, "more than nothing"),
        ("thread_data", {"thread": "M10", "depth": "120"}, "depths of thread"),
        ("three_wire", {"thread": "M10", "wire": "0.5"}, "does not seat"),
        ("three_wire", {"thread": "M10", "wire": "1.6"}, "does not seat"),
        ("three_wire", {"thread": "1/2 BSW", "wire": "1.8"}, "does not seat"),
        ("three_wire", {"thread": "2 BA", "wire": "0.6"}, "does not seat"),
        ("three_wire", {"thread": "M10", "reading": "12"}, "is not near"),
        ("three_wire", {"thread": "1/2-12"}, "could be more than one thread"),
        ("thread_engagement", {"thread": "M12"}, "or say sizes=basic"),
        ("thread_engagement", {"thread": "M12", **LIMITS, "sizes": "basic"}, "not both"),
        ("thread_engagement", {"thread": "M16", **LIMITS}, "is not near"),
        ("thread_engagement", {"thread": "M12", **LIMITS, "bolt_strength": "800"}, "give both"),
        ("thread_engagement", {"thread": "M12", **LIMITS, "length": "0"}, "more than nothing"),
        ("thread_engagement", {"thread": "3/8-16", "sizes": "basic"}, "more than one thread"),
    ],
)
def test_threads_that_cannot_be_reckoned_are_refused(calc, inputs, because):
    with pytest.raises(BenchrunError, match=because):
        CALCS[calc].work(inputs)
