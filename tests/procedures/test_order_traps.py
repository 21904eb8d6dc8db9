"""The orders that cost castings and weekends when they are got wrong."""

import re
from decimal import Decimal

import pytest
from shipped import IDS, at, in_order, procedure
from traps import MIN, H, dwell, guarded, most_after, ms, tails, ways

from benchrun.procedure.route import (
    Act,
    Consequence,
    Hold,
    Inspect,
    Reading,
    Signal,
    WorkOut,
)


class TestShellOut:
    name = "hub-bearing-removal"

    def test_cracks_are_looked_for_before_force_and_after(self) -> None:
        assert in_order(self.name, "cracks-before", "before-force", "stroke", "cracks-after")
        assert in_order(self.name, "cracks-after", "crack-check")

    def test_a_cracked_carrier_is_scrap_and_nothing_else(self) -> None:
        assert ways(self.name, "cracks-before", "crack seen") == [Act.SCRAP]
        assert ways(self.name, "cracks-after", "crack seen") == [Act.SCRAP]

    def test_casting_numbers_are_kept_before_anything_is_cleaned(self) -> None:
        assert in_order(self.name, "photo-numbers", "degrease-outside", "clean-bore")

    def test_retainers_and_shims_are_out_and_counted_before_the_second_look(self) -> None:
        assert in_order(
            self.name, "retainers-off", "retainers", "shims-off", "shims", "bore-clear",
            "before-force", "stroke",
        )  # fmt: skip

    def test_every_way_loads_both_sides_of_the_shell(self) -> None:
        found = []
        for step in ("way-iron", "way-aluminium"):
            detail = procedure(self.name).route.steps[step].detail
            assert isinstance(detail, Inspect)
            found.append([one.name for one in detail.findings])
        iron, aluminium = found
        assert iron == [
            "bar across both slots",
            "press plate on the whole edge",
            "soft drift on alternate sides",
        ]
        assert "soft drift on alternate sides" not in aluminium

    def test_a_tilted_shell_is_levelled_before_the_next_stroke(self) -> None:
        tail = tails(self.name)["strokes"]
        assert tail.head < at(self.name, "stroke") < at(self.name, "level-shell")
        assert tail.until is not None
        assert tail.until.text == 'stands is "out"'

    def test_splinters_are_warned_of_before_the_shell_moves(self) -> None:
        first = procedure(self.name).route.steps["on-support"]
        assert {one.signal for one in first.cautions} >= {Signal.WARNING}
        assert guarded(self.name, "on-support", "splinters")

    def test_the_seat_is_read_in_two_planes_and_four_directions(self) -> None:
        for step in ("bore-a", "bore-b"):
            detail = procedure(self.name).route.steps[step].detail
            assert isinstance(detail, Reading)
            assert detail.places == ("0°", "45°", "90°", "135°")
            assert detail.low is not None
            assert detail.low.reads == {"seat_low"}

    def test_mean_ovality_and_taper_are_worked_out(self) -> None:
        steps = procedure(self.name).route.steps
        for step in ("seat-mean", "ovality", "taper"):
            assert isinstance(steps[step].detail, WorkOut)

    def test_grease_is_out_before_the_oven_and_fluid_waits_until_it_is_cool(self) -> None:
        assert in_order(self.name, "grease-out", "oven-heat", "stroke", "cooled-down", "clean-bore")
        detail = procedure(self.name).route.steps["cooled-down"].detail
        assert isinstance(detail, Reading)
        assert detail.high is not None
        assert detail.high.text == "30 degC"
        assert [way.act for way in detail.outside] == [Act.AGAIN, Act.ASIDE]

    def test_nothing_is_measured_warm(self) -> None:
        assert ms(dwell(self.name, "same-room").least) == 2 * H
        assert in_order(self.name, "same-room", "carrier-temperature", "bore-a")


class TestCracks:
    name = "dye-penetrant-inspection"

    def test_old_cracks_get_half_an_hour_of_dye(self) -> None:
        assert ms(dwell(self.name, "dye-time").least) == 30 * MIN

    def test_a_part_that_was_blasted_is_etched_first(self) -> None:
        assert Act.GO_ON not in ways(self.name, "worked", "blasted or sanded")

    def test_too_late_means_from_the_beginning(self) -> None:
        for step in ("dye-time", "air-dry", "develop-time"):
            late = dwell(self.name, step).late
            assert late[0] == Consequence(
                Act.REWORK, "degrease", 2, "rework from degrease at most twice"
            )

    def test_a_second_person_looks_within_the_time(self) -> None:
        hold = procedure(self.name).route.steps["second-look"].detail
        assert isinstance(hold, Hold)
        assert hold.other
        assert hold.after_hours is None
        assert most_after(self.name, "second-look") == (("develop",), 30 * MIN)


class TestPiston:
    name = "stuck-piston-release"

    def test_fluid_comes_before_air(self) -> None:
        assert in_order(self.name, "pump", "moved", "puffs")

    def test_the_piston_is_contained_before_air(self) -> None:
        assert in_order(self.name, "block", "cloth", "face-away", "before-air", "puffs")
        assert guarded(self.name, "before-air", "air behind a stuck piston")
        assert procedure(self.name).route.steps["puffs"].critical

    def test_pressure_is_off_before_anything_is_judged_and_a_part_may_be_set_aside(self) -> None:
        assert in_order(self.name, "pump", "pressure-off", "pump-pressure", "moved")
        assert in_order(self.name, "puffs", "air-off", "air-pressure", "moved-by-air")
        assert guarded(self.name, "pump", "air behind a stuck piston")

    def test_air_stays_low(self) -> None:
        detail = procedure(self.name).route.steps["air-pressure"].detail
        assert isinstance(detail, Reading)
        assert detail.high is not None
        assert detail.high.text == "2 bar"


class TestFitting:
    name = "bearing-seat-and-fitting"

    def test_never_through_the_balls(self) -> None:
        step = procedure(self.name).route.steps["press-in"]
        assert "outer ring only" in step.text
        assert step.critical
        warned = [s.id for s in procedure(self.name).route.steps.values() if any(
            "through balls" in c.hazard for c in s.cautions)]  # fmt: skip
        assert warned
        assert at(self.name, warned[0]) < at(self.name, "press-in")

    def test_the_ring_is_proved_home_after_it_is_cold(self) -> None:
        assert in_order(self.name, "press-in", "cool", "press-cold", "feeler", "gap", "home-seen")

    def test_an_overheated_carrier_is_not_heated_again(self) -> None:
        assert in_order(self.name, "oven-heat", "hot-carrier", "hot-enough", "press-in")
        detail = procedure(self.name).route.steps["hot-carrier"].detail
        assert isinstance(detail, Reading)
        assert [way.act for way in detail.outside] == [Act.ASIDE, Act.SCRAP]

    def test_two_people_decide_the_fit_before_heat(self) -> None:
        assert in_order(self.name, "interference", "fit-decided", "oven-heat", "press-in")


class TestFloatAndTorque:
    def test_rollers_are_settled_before_float_is_read(self) -> None:
        assert in_order(
            "end-float-and-shims", "seat", "turn-one", "turn-other", "pushed", "pulled",
            "float-first", "lock", "pushed-locked", "float-last",
        )  # fmt: skip

    @pytest.mark.parametrize("name", IDS)
    def test_a_wrench_reaches_every_torque_that_a_manual_may_ask(self, name: str) -> None:
        needed = {one.name: one for one in procedure(name).needs.instruments}
        figures = procedure(name).route.figures
        for step in procedure(name).route.steps.values():
            detail = step.detail
            if not isinstance(detail, Reading) or detail.unit != "N m":
                continue
            reads = {one for limit in (detail.low, detail.high) if limit for one in limit.reads}
            for figure in (figures[one] for one in reads if one in figures):
                least, most = map(Decimal, re.findall(r"[0-9.]+", needed[detail.instrument].reach))
                assert figure.low is not None
                assert figure.high is not None
                assert least <= figure.low < figure.high <= most, (step.id, figure.name)

    def test_bearing_and_seal_are_in_the_hub_before_it_goes_on(self) -> None:
        assert in_order("nut-set-bearings", "pack", "inner-in", "seal-in", "hub-on", "cone-on")

    def test_the_stands_are_shaken_before_anybody_works_under_the_vehicle(self) -> None:
        assert in_order(
            "brake-pipes-and-bleeding", "stands", "photo", "line-off", "shake", "start-nuts"
        )

    def test_float_counts_after_locking(self) -> None:
        detail = procedure("end-float-and-shims").route.steps["float-last"].detail
        assert isinstance(detail, WorkOut)
        assert detail.high is not None
        assert detail.high.text == "end_float_most"

    def test_torque_without_its_friction_state_is_set_aside(self) -> None:
        assert ways("torque-tightening", "state", "not stated") == [Act.ASIDE]
        assert in_order("torque-tightening", "state", "pass-one", "pass-two", "paint-line")

    def test_the_line_is_painted_after_the_click(self) -> None:
        assert in_order("torque-tightening", "pass-two", "paint-line", "lines", "second-person")

    def test_pins_are_fitted_after_the_torque_and_nothing_locked_is_turned_on(self) -> None:
        name = "torque-tightening"
        assert in_order(name, "new-parts", "pass-two", "slotted", "on-to-slot", "pins", "lines")
        assert "pin" not in procedure(name).route.steps["new-parts"].text
        assert in_order(name, "may-check", "check-torque", "settle", "quarter-back", "retorque")
        assert ways(name, "slotted", "next slot past the most torque") == [Act.ASIDE]
        assert ways("end-float-and-shims", "slot", "next slot past the most torque") == [Act.ASIDE]

    def test_a_jack_alone_is_warned_of_before_the_hub_is_worked(self) -> None:
        assert guarded("end-float-and-shims", "pack", "jack alone")


class TestBore:
    def test_a_coated_bore_that_rusts_never_goes_on(self) -> None:
        name = "cylinder-bore-inspection"
        found = ways(name, "coating-look", "worn, blistered or rusting")
        assert Act.GO_ON not in found
        assert found[0] == Act.SCRAP


class TestSpring:
    name = "spring-and-damper-handling"

    def test_the_spring_is_slack_before_the_nut(self) -> None:
        assert in_order(self.name, "before-load", "turn", "slack-test", "free", "top-nut")
        assert Act.GO_ON not in ways(self.name, "free", "tight")

    def test_each_loading_and_unloading_of_the_spring_is_warned_of(self) -> None:
        for step in (
            "fit-compressor",
            "turn",
            "top-nut",
            "let-go",
            "compress-again",
            "let-go-again",
        ):
            assert guarded(self.name, step, "compressed coil spring")

    def test_the_compressor_is_looked_at_by_another_person_each_time(self) -> None:
        for step in ("before-load", "before-load-again"):
            hold = procedure(self.name).route.steps[step].detail
            assert isinstance(hold, Hold)
            assert hold.other


@pytest.mark.parametrize("name", IDS)
def test_a_crack_in_a_part_that_carries_load_never_goes_on(name: str) -> None:
    for step in procedure(name).route.steps.values():
        if not isinstance(step.detail, Inspect):
            continue
        for finding in step.detail.findings:
            if finding.name.startswith("crack") and "ring" not in finding.name:
                acts = {way.act for way in finding.consequences}
                assert acts <= {Act.SCRAP, Act.ASIDE}, (step.id, finding.name)


def test_air_for_blowing_is_held_to_207_kpa_wherever_it_blows() -> None:
    for name in IDS:
        for hazard in procedure(name).hazards:
            if "Compressed air" in hazard.hazard:
                assert "207 kPa" in hazard.avoidance, name


def test_penetrant_limits_are_whole_minutes() -> None:
    detail = procedure("dye-penetrant-inspection").route.steps["part-heat"].detail
    assert isinstance(detail, Reading)
    assert detail.low is not None
    assert detail.low.number({}) == Decimal(15)
