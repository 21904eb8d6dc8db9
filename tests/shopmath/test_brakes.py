from decimal import Decimal

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from benchrun.errors import BenchrunError
from benchrun.shopmath.catalogue import CALCS

BRAKE, DRUM = CALCS["brake"], CALCS["drum_brake"]
BALANCE, HEAT = CALCS["brake_balance"], CALCS["brake_heat"]


def six(value):
    return pytest.approx(float(value), rel=2e-5)


def exact(value):
    return Decimal(repr(value))


def test_hydraulics_agree_with_the_computed_grid(rows):
    for row in rows("second/brake_hydraulic_grid"):
        found = BRAKE.work(
            {"pedal": row["pedal_N"], "ratio": row["pedal_ratio"], "servo": row["servo_factor"],
             "master": row["master_bore_mm"], "pistons": row["pistons_one_side"],
             "piston": row["piston_mm"], "mu": row["mu"], "radius": row["friction_radius_mm"]}
        )  # fmt: skip
        for name, column in (
            ("pressure", "pressure_MPa"), ("pressure_bar", "pressure_bar"),
            ("pressure_psi", "pressure_psi"), ("clamp", "clamp_N"),
            ("disc_torque", "disc_torque_Nm"),
        ):  # fmt: skip
            assert float(found[name].number) == six(row[column]), (row["id"], name)


def test_a_page_on_line_pressure():
    # A calculator page: 100 lbf × 6 on a 1.0 in master, about 760 psi; computed 763.944.
    found = BRAKE.work({"pedal": "100 lbf", "ratio": "6", "master": "1 in"})
    assert float(found["pressure_psi"].number) == pytest.approx(763.944, abs=1e-3)


def test_the_torque_counts_both_pads():
    # An older copy of a reference page prints T = μ F r, which is one pad alone.
    found = BRAKE.work(BRAKE.example)
    one_pad = Decimal("0.35") * found["clamp"].number * 110 / 1000
    assert found["disc_torque"].number == 2 * one_pad


def test_the_radius_of_even_pressure_is_the_integral():
    found = BRAKE.work(
        {"pedal": "300", "ratio": "4", "master": "19.05", "piston": "54", "mu": "0.35",
         "pad_inner": "90", "pad_outer": "130"}
    )  # fmt: skip
    wanted = quad(lambda r: r * r, 90, 130)[0] / quad(lambda r: r, 90, 130)[0]
    assert float(found["friction_radius"].number) == pytest.approx(wanted, rel=1e-9)


def drum_inputs(row):
    return {
        "force": row["tip_force_N"], "radius": row["drum_radius_mm"],
        "width": row["lining_width_mm"], "pivot": row["pivot_radius_mm"],
        "from": row["lining_from_deg"], "to": row["lining_to_deg"], "arm": row["tip_arm_mm"],
        "mu": row["mu"],
    }  # fmt: skip


def test_drums_agree_with_the_computed_grid(rows):
    for row in rows("second/drum_brake_grid"):
        found = DRUM.work(drum_inputs(row))
        for name, column in (
            ("normal_moment", "Mn_Nm_per_MPa"), ("friction_moment", "Mf_Nm_per_MPa"),
            ("pmax_leading", "pmax_leading_MPa"), ("pmax_trailing", "pmax_trailing_MPa"),
            ("torque_leading", "torque_leading_Nm"), ("torque_trailing", "torque_trailing_Nm"),
            ("torque", "torque_leading_trailing_Nm"), ("locks_at", "mu_where_leading_locks"),
        ):  # fmt: skip
            assert float(found[name].number) == six(row[column]), (row["id"], name)
        two = DRUM.work({**drum_inputs(row), "shoes": "two leading"})
        assert float(two["torque"].number) == six(row["torque_two_leading_Nm"])


def test_shigleys_drum():
    # Problem 16-1 (SI): r 150, width 40, μ 0.28, pivot 125, arc 0 to 120°, 2.2 kN: 734 kPa; the
    # arm of 2 × 125 cos 30° = 216.5 is inferred; 216.372 gives it exactly.
    found = DRUM.work(
        {"force": "2200", "radius": "150", "width": "40", "pivot": "125", "from": "0", "to": "120",
         "arm": "216.372", "mu": "0.28"}
    )  # fmt: skip
    assert float(found["normal_moment"].number) == pytest.approx(947.778, abs=1e-3)
    assert float(found["friction_moment"].number) == pytest.approx(299.25, abs=1e-3)
    assert float(found["pmax_leading"].to("kPa")) == pytest.approx(734, abs=0.01)
    assert float(found["torque_leading"].number) == pytest.approx(277.452, abs=2e-3)
    assert float(found["torque_trailing"].number) == pytest.approx(144.291, abs=2e-3)


def test_a_textbook_copy_adds_the_term_that_is_subtracted():
    # Jindal 23-4: r 160, width 50, μ 0.3, pivot at 115/66.4, arc 0 to 120°, arm 230. The copy has
    # Mf 695.51, F 2812.9, Tl 182.9, T 758.9: it adds the cosine term. Right: 456.486, 3852.18,
    # 283.682, 859.682.
    found = DRUM.work(
        {"force": "3852.18", "radius": "160", "width": "50",
         "pivot": exact(float(np.hypot(115, 66.4))),
         "from": "0", "to": "120", "arm": "230", "mu": "0.3"}
    )  # fmt: skip
    assert float(found["normal_moment"].number) == pytest.approx(1342.49, rel=1e-4)
    assert float(found["friction_moment"].number) == pytest.approx(456.486, rel=1e-4)
    assert abs(float(found["friction_moment"].number) - 695.51) > 200
    assert float(found["pmax_leading"].number) == pytest.approx(1, rel=1e-4)
    assert float(found["torque_leading"].number) == pytest.approx(576, rel=1e-4)
    assert float(found["torque_trailing"].number) == pytest.approx(283.682, rel=1e-4)
    assert float(found["torque"].number) == pytest.approx(859.682, rel=1e-4)
    assert abs(float(found["torque"].number) - 758.9) > 90


@settings(max_examples=60)
@given(
    st.floats(80, 200), st.floats(0.5, 0.95), st.floats(0, 60), st.floats(30, 110),
    st.floats(0.1, 0.5), st.floats(100, 3000), st.floats(100, 300),
)  # fmt: skip
def test_random_drums_agree_with_quadrature(radius, inside, start, arc, mu, force, arm):
    pivot, end = radius * inside, start + arc
    a, b = np.radians(start), np.radians(end)
    top = np.sin(min(b, np.pi / 2))
    face = 40 * radius / top
    normal = face * pivot * quad(lambda t: np.sin(t) ** 2, a, b)[0]
    drag = mu * face * quad(lambda t: np.sin(t) * (radius - pivot * np.cos(t)), a, b)[0]
    assume(normal > drag * 1.001)
    inputs = {
        name: exact(float(value)) for name, value in (
            ("force", force), ("radius", radius), ("pivot", pivot), ("from", start), ("to", end),
            ("arm", arm), ("mu", mu))
    }  # fmt: skip
    found = DRUM.work({**inputs, "width": Decimal(40)})
    turning = mu * face * radius * quad(np.sin, a, b)[0] / 1000
    assert float(found["torque_leading"].number) == pytest.approx(
        force * arm / (normal - drag) * turning, rel=1e-6
    )
    assert float(found["torque_trailing"].number) == pytest.approx(
        force * arm / (normal + drag) * turning, rel=1e-6
    )


def test_balance_agrees_with_the_computed_grid(rows):
    for row in rows("second/brake_balance_grid"):
        found = BALANCE.work(
            {"mass": row["mass_kg"], "front_share": row["front_share_static"],
             "wheelbase": f"{row['wheelbase_m']} m", "cg_height": f"{row['cg_height_m']} m",
             "deceleration": row["deceleration_g"], "front_brake_share": row["front_brake_share"]}
        )  # fmt: skip
        for name, column in (
            ("transfer", "transfer_N"), ("front_load", "front_load_N"),
            ("rear_load", "rear_load_N"), ("ideal_front_share", "ideal_front_share"),
            ("adhesion_front", "adhesion_used_front"), ("adhesion_rear", "adhesion_used_rear"),
            ("both_lock_at", "deceleration_where_both_lock_g"),
        ):  # fmt: skip
            assert float(found[name].number) == six(row[column]), (row["id"], name)
        assert found["locks_first"].value == row["locks_first"]
        spins = any("spins" in caution for caution in found.cautions)
        assert spins is (row["locks_first"] == "rear")


def test_where_both_lock_together_neither_is_first():
    found = BALANCE.work({**BALANCE.example, "deceleration": "0.5909090909090909"})
    assert found["locks_first"].value == "both together"


@given(
    st.floats(0.3, 0.7), st.floats(0.3, 0.9), st.floats(0.05, 0.9), st.floats(300, 800),
)  # fmt: skip
def test_random_balances_agree_with_solved_moments(standing, braking, z, height):
    # Moments about each tyre, solved as a system of two unknown loads.
    weight, base = 1300 * 9.80665, 2400
    loads = np.linalg.solve(
        np.array([[1, 1], [base, 0]]),
        np.array([weight, weight * standing * base + weight * z * height]),
    )
    assume(loads[1] > 1)
    found = BALANCE.work(
        {"mass": "1300", "wheelbase": "2400", "cg_height": exact(height),
         "front_share": exact(standing), "front_brake_share": exact(braking),
         "deceleration": exact(z)}
    )  # fmt: skip
    assert float(found["front_load"].number) == pytest.approx(loads[0], rel=1e-9)
    used = weight * z * np.array([braking, 1 - braking]) / loads
    assert float(found["adhesion_rear"].number) == pytest.approx(used[1], rel=1e-6)
    if abs(used[0] - used[1]) > 1e-6:
        assert found["locks_first"].value == ("front" if used[0] > used[1] else "rear")


def test_stop_heat_agrees_with_the_computed_grid(rows):
    for row in rows("second/brake_temperature_grid"):
        found = HEAT.work(
            {"mass": row["mass_kg"], "from": row["from_km_h"], "to": row["to_km_h"],
             "axle_share": row["axle_share"], "brakes": row["brakes_on_axle"],
             "rubbed": row["drum_or_disc_kg"], "specific_heat": row["c_J_kgK"],
             "metal_share": row["share_into_metal"]}
        )  # fmt: skip
        assert float(found["energy"].number) == six(row["energy_kJ"])
        assert float(found["rise"].number) == six(row["mean_rise_K"])


def test_bhandaris_flywheel_and_a_page_with_the_wrong_mass():
    # 12.14: 100 kg at k 0.35 m, 500 rpm to rest, drum 5 kg, c 460: 7.3009 K (the companion notes
    # that the printed book answer is wrong). The rim of gyration runs at 0.35 × 500 × 2π/60 m/s.
    speed = 0.35 * 500 * 2 * np.pi / 60
    base = {"axle_share": "1", "metal_share": "1"}
    found = HEAT.work(
        {**base, "mass": "100", "from": f"{speed:.10f} m/s", "brakes": "1", "rubbed": "5"}
    )
    assert float(found["rise"].number) == pytest.approx(7.30088, abs=1e-4)
    # A question page: 1500 kg from 108 km/h, four iron drums of 8 kg, c 448: 47.084 K each; the
    # asker takes the drums' mass for the car's.
    inputs = {**base, "mass": "1500", "from": "108", "brakes": "4", "rubbed": "8",
              "specific_heat": "448"}  # fmt: skip
    assert float(HEAT.work(inputs)["rise"].number) == pytest.approx(47.084, abs=1e-3)
    with pytest.raises(BenchrunError, match="not the vehicle's"):
        HEAT.work({**inputs, "rubbed": "1500"})


def test_a_stop_over_the_design_rule_is_told():
    # A brake maker's page: under 230 K for one stop from 128 km/h at gross weight.
    hot = {"mass": "2500", "from": "128", "rubbed": "4", "axle_share": "0.7"}
    assert "over" in str(HEAT.work(hot)["verdict"].value)
    assert "within" in str(HEAT.work({**hot, "from": "64"})["verdict"].value)


@pytest.mark.parametrize(
    ("calc", "changes", "because"),
    [
        ("brake", {"pedal": "0"}, "more than nothing"),
        ("brake", {"mu": "1.2"}, "coefficient of friction"),
        ("brake", {"mu": "0"}, "more than nothing"),
        ("brake", {"pistons": "1.5"}, "ONE side"),
        ("brake", {"pad_inner": "90"}, "not both"),
        ("brake", {"servo": "0.5"}, "servo factors"),
        ("brake", {"master": "-19"}, "more than nothing"),
        ("brake", {"pedal": "30 kg m"}, "not a unit of force"),
        ("drum_brake", {"mu": "0.9"}, "locks itself"),
        ("drum_brake", {"to": "190"}, "within 0° to 180°"),
        ("drum_brake", {"from": "120", "to": "15"}, "within 0° to 180°"),
        ("drum_brake", {"pivot": "120"}, "not inside the drum"),
        ("drum_brake", {"shoes": "duo servo"}, "none of leading"),
        ("brake_balance", {"front_share": "1.2"}, "a share lies"),
        ("brake_balance", {"cg_height": "2500", "deceleration": "0.9"}, "it lifts"),
        ("brake_balance", {"wheelbase": "0"}, "more than nothing"),
        ("brake_heat", {"to": "100"}, "no braking"),
        ("brake_heat", {"to": "120"}, "no braking"),
        ("brake_heat", {"axle_share": "1.4"}, "a share lies"),
        ("brake_heat", {"specific_heat": "4180"}, "brake metals"),
        ("brake_heat", {"rubbed": "0"}, "more than nothing"),
    ],
)
def test_brakes_that_cannot_be_are_refused(calc, changes, because):
    with pytest.raises(BenchrunError, match=because):
        CALCS[calc].work({**CALCS[calc].example, **changes})
