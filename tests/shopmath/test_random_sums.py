"""Random inputs of sums whose own tests have tables, against independent code."""

from decimal import Decimal

import mpmath
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from benchrun.shopmath.catalogue import CALCS
from benchrun.shopmath.threads import thread_of


def typed(**values):
    return {name: Decimal(repr(float(value))) for name, value in values.items()}


@given(
    st.floats(50, 1500), st.floats(2, 8), st.floats(1, 4), st.floats(12, 40), st.integers(1, 4),
    st.floats(20, 70), st.floats(0.2, 0.6), st.floats(60, 200),
)  # fmt: skip
def test_hydraulics_agree_with_mpmath(pedal, ratio, servo, master, pistons, piston, mu, radius):
    found = CALCS["brake"].work(
        typed(pedal=pedal, ratio=ratio, servo=servo, master=master, pistons=pistons,
              piston=piston, mu=mu, radius=radius)
    )  # fmt: skip
    with mpmath.workdps(30):
        # A pressure is a force by an area; forces go as the squares of the diameters.
        clamp = mpmath.mpf(pedal) * ratio * servo * pistons * (mpmath.mpf(piston) / master) ** 2
        pressure = mpmath.mpf(pedal) * ratio * servo / (mpmath.pi * (mpmath.mpf(master) / 2) ** 2)
        torque = clamp * mu * radius / 500
    assert float(found["clamp"].number) == pytest.approx(float(clamp), rel=1e-12)
    assert float(found["pressure"].number) == pytest.approx(float(pressure), rel=1e-12)
    assert float(found["disc_torque"].number) == pytest.approx(float(torque), rel=1e-12)
    psi = float(pressure) * 1e6 / constants.psi
    assert float(found["pressure_psi"].number) == pytest.approx(psi, rel=1e-9)


@given(
    st.floats(300, 3000), st.floats(20, 200), st.floats(0, 0.95), st.floats(2, 15),
    st.floats(0.1, 1), st.floats(400, 600),
)  # fmt: skip
def test_stop_heat_agrees_with_scipys_units(mass, speed, left, rubbed, share, heat):
    found = CALCS["brake_heat"].work(
        {"from": f"{speed:.9f} mph", "to": f"{speed * left:.9f} mph",
         **typed(mass=mass, rubbed=rubbed, axle_share=share, specific_heat=heat, metal_share=0.9)}
    )  # fmt: skip
    speeds = np.array([speed, speed * left]) * constants.mph
    energy = mass * (speeds[0] ** 2 - speeds[1] ** 2) / 2
    assert float(found["energy"].number) == pytest.approx(energy / 1000, rel=1e-6)
    rise = energy * share * 0.9 / (2 * rubbed * heat)
    assert float(found["rise"].number) == pytest.approx(rise, rel=1e-6)


@given(st.floats(10, 150), st.floats(0.002, 0.06), st.floats(0, 0.03), st.floats(8, 24))
def test_cold_fits_agree_with_mpmath(diameter, interference, clearance, alpha):
    if (interference + clearance) / (alpha * 1e-6 * diameter) > 290:
        return
    found = CALCS["cool_to_fit"].work(
        {"interference": f"{interference:.12f} mm", "clearance": f"{clearance:.12f} mm",
         **typed(diameter=diameter, alpha=alpha)}
    )  # fmt: skip
    with mpmath.workdps(30):
        # The part has shrunk by as much as is wanted: solved as a root, not by the formula.
        wanted = mpmath.mpf(interference) + clearance

        def gap(degrees):
            return mpmath.mpf(diameter) * alpha * (20 - degrees) / 1e6 - wanted

        root = mpmath.findroot(gap, -20)
    assert float(found["cool_to"].number) == pytest.approx(float(root), abs=1e-5)


@given(
    st.sampled_from(["M6", "M12x1.25", "3/8 UNC", "#10 UNF", "1/2 BSW", "5/16 BSF", "0 BA"]),
    st.floats(40, 99),
)  # fmt: skip
def test_diameters_agree_with_the_geometry_of_the_profile(thread, depth):
    cut = thread_of(thread)
    found = CALCS["thread_data"].work({"thread": thread, "depth": Decimal(repr(depth))})
    pitch = mpmath.mpf(str(cut.pitch))
    with mpmath.workdps(30):
        if cut.series == "BA":
            effective = 0.6 * pitch
        else:
            # Height of the sharp triangle; 60° cuts an eighth off the crest, 55° a sixth.
            height = pitch / (2 * mpmath.tan(mpmath.radians(float(cut.form.angle) / 2)))
            share = mpmath.mpf(3) / 4 if cut.form.angle == 60 else mpmath.mpf(2) / 3
            effective = height * share
    assert float(cut.diameter - found["pitch_diameter"].number) == pytest.approx(
        float(effective), rel=1e-12
    )
    # A drill of that depth is as far between the major diameter and the full depth.
    drill = found["drill_for_depth"].number
    back = CALCS["thread_data"].work({"thread": thread, "drill": drill})
    assert float(back["depth"].number) == pytest.approx(depth, rel=1e-12)
