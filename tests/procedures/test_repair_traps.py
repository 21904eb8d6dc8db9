"""The orders that cost threads, joints, welds and springs when they are got wrong."""

import pytest
from shipped import at, in_order, procedure
from traps import MIN, H, dwell, guarded, most_after, ms, tails, ways

from benchrun.procedure.route import Act, Hold, Inspect, Reading, WorkOut
from benchrun.quantity import Measure, read

EXAMINED = [
    ("thread-and-stud-repair", "examiner-release", "steering and brake examiner"),
    ("king-pins-and-ball-joints", "examiner-release", "steering and brake examiner"),
    ("leaf-torsion-and-rubber-springs", "examiner-release", "steering and brake examiner"),
    ("weld-repair-of-frames", "may-weld", "weld examiner"),
    ("weld-repair-of-frames", "weld-release", "weld examiner"),
]


@pytest.mark.parametrize(("name", "step", "role"), EXAMINED)
def test_steering_brakes_and_welds_are_released_by_a_role_and_local_rules(name, step, role):
    hold = procedure(name).route.steps[step]
    assert isinstance(hold.detail, Hold)
    assert hold.detail.role == role
    assert hold.detail.other
    assert hold.detail.after_hours is None
    assert "local rules" in f"{hold.why} {hold.detail.says}".lower()
    assert "competent" in hold.detail.says or "local rules" in hold.detail.says


@pytest.mark.parametrize(
    ("name", "step", "before"),
    [
        ("thread-and-stud-repair", "crack-check", "insert-length"),
        ("king-pins-and-ball-joints", "crack-check", "pin-look"),
        ("weld-repair-of-frames", "crack-check", "prime"),
        ("leaf-torsion-and-rubber-springs", "crack-check", "stack"),
    ],
)
def test_the_crack_check_is_carried_out_before_work_is_put_in(name, step, before):
    assert procedure(name).route.steps[step].carries_out
    assert in_order(name, step, before)


class TestThread:
    name = "thread-and-stud-repair"

    def test_a_wheel_steering_or_brake_thread_needs_its_makers_word(self) -> None:
        assert Act.GO_ON not in ways(
            self.name, "use", "wheel, steering or brake, nothing in writing"
        )
        assert in_order(self.name, "use", "allowed-seen", "piece")

    def test_the_centre_is_seen_before_the_pilot(self) -> None:
        assert in_order(self.name, "punch", "bush", "centre-seen", "pilot", "open-pilot", "extract")

    def test_magnesium_is_not_drilled(self) -> None:
        assert ways(self.name, "metal", "magnesium") == [Act.ASIDE]

    def test_the_floor_is_known_before_the_depth_stop_and_the_stop_before_the_drill(self) -> None:
        assert in_order(self.name, "drill-depth", "behind", "floor", "depth-stop", "stop-seen",
                        "drill-hole")  # fmt: skip
        assert ways(self.name, "behind", "oil, water or brake fluid") == [Act.ASIDE]

    def test_a_second_insert_that_fails_is_scrap(self) -> None:
        assert ways(self.name, "second-failure", "the second that fails here") == [Act.SCRAP]

    def test_the_tang_is_counted_and_the_proof_is_with_a_bolt_of_its_own(self) -> None:
        assert in_order(self.name, "break-tang", "tangs", "tang-seen", "proof-bolt", "to-working",
                        "release-bolt", "to-proof", "proof-hold", "stud-in")  # fmt: skip
        assert ms(dwell(self.name, "proof-hold").least) == MIN

    @pytest.mark.parametrize(("beyond", "depth"), [("4", 26), ("6", 29)])
    def test_the_drill_goes_as_deep_as_the_published_example(self, beyond: str, depth: int) -> None:
        # ASME B18.29.8M data: M10x1.5 with an insert of 2 d, 26 mm bottoming and 29 mm plug
        detail = procedure(self.name).route.steps["drill-depth"].detail
        assert isinstance(detail, WorkOut)
        known = {
            "insert_length": read("20 mm", "mm"),
            "beyond": read(beyond, ""),
            "pitch": read("1.5 mm", "mm"),
        }
        worked = detail.formula.value(known, "mm")
        assert isinstance(worked, Measure)
        assert worked.value == depth


class TestKingPin:
    name = "king-pins-and-ball-joints"

    def test_play_is_read_by_two_before_anything_is_stripped(self) -> None:
        assert in_order(self.name, "bearing-still", "lateral", "vertical", "play-read", "keys-out")

    def test_wheel_bearing_float_is_not_taken_for_play(self) -> None:
        assert ways(self.name, "bearing-still", "neither") == [Act.ASIDE]

    def test_bushes_are_reamed_in_one_pass_after_both_are_in(self) -> None:
        assert in_order(self.name, "bushes-in", "oil-holes", "ream", "swarf-out", "bushes",
                        "pin-in")  # fmt: skip
        assert "both bushes in one pass" in procedure(self.name).route.steps["ream"].text

    def test_the_nut_stays_on_until_the_taper_is_free(self) -> None:
        assert in_order(self.name, "nut-back", "break-taper", "joint-out")
        assert guarded(self.name, "break-taper", "taper breaks free")

    def test_the_blue_is_seen_before_the_nut_and_the_nut_never_goes_back(self) -> None:
        assert in_order(self.name, "dry-taper", "blue-on", "blue-seen", "blue-off", "seat",
                        "nut-torque", "slot-torque", "pin-new")  # fmt: skip
        assert ways(self.name, "slot", "next slot is over the greatest torque") == [Act.ASIDE]
        detail = procedure(self.name).route.steps["slot-torque"].detail
        assert isinstance(detail, Reading)
        assert detail.high is not None
        assert detail.high.reads == {"taper_nut_torque_most"}

    def test_bent_welded_or_worn_steering_parts_are_scrap(self) -> None:
        assert ways(self.name, "look", "bent") == [Act.SCRAP]
        assert ways(self.name, "look", "welded, or blue from heat") == [Act.SCRAP]
        assert ways(self.name, "arm-eye", "bell-mouthed, fretted or pulled") == [Act.SCRAP]

    def test_grease_goes_in_with_the_weight_on(self) -> None:
        assert in_order(self.name, "weight-on", "grease", "pins-seen", "examiner-release")


class TestMagnetic:
    name = "magnetic-particle-and-hardness"

    def test_the_kit_is_proved_before_a_part_is_looked_at(self) -> None:
        assert in_order(self.name, "stir", "settle", "settled", "lift", "known", "known-seen",
                        "demag-first", "shot-one")  # fmt: skip

    def test_two_directions_each_by_itself(self) -> None:
        assert in_order(self.name, "shot-one", "look-one", "shot-two", "verdict", "second-look")

    def test_an_indication_is_photographed_before_it_is_wiped(self) -> None:
        assert in_order(self.name, "verdict", "length", "photo", "wipe", "demag-again", "bare-look")

    def test_no_part_leaves_magnetic(self) -> None:
        assert in_order(self.name, "second-look", "demagnetise", "residual", "wash-off")

    def test_the_block_is_read_before_and_after(self) -> None:
        assert in_order(self.name, "hrc-block", "hrc-dents", "hrc-block-after", "hrc")
        assert in_order(self.name, "hv-block", "hv-dents", "hv-block-after", "hv")

    def test_a_softened_place_is_scrap_first(self) -> None:
        detail = procedure(self.name).route.steps["hrc-softer"].detail
        assert isinstance(detail, WorkOut)
        assert detail.outside[0].act is Act.SCRAP


class TestWeld:
    name = "weld-repair-of-frames"

    @pytest.mark.parametrize(
        "part",
        [
            "steering arm, knuckle, axle, tie rod",
            "spring or torsion bar",
            "drum, disc, cylinder or wheel",
            "bolt or hardened pin",
        ],
    )
    def test_what_may_not_be_welded_is_scrap(self, part: str) -> None:
        assert ways(self.name, "what", part) == [Act.SCRAP]

    def test_it_is_decided_in_writing_before_anything_is_stripped(self) -> None:
        assert in_order(self.name, "maker-says", "damage", "loss", "may-weld", "support",
                        "strip-wet")  # fmt: skip

    def test_closed_sections_are_open_and_the_coat_is_off_before_the_arc(self) -> None:
        assert in_order(self.name, "open-sections", "vapour", "coat", "stripped", "stripped-seen",
                        "ends-seen", "stop-holes", "tack")  # fmt: skip
        assert guarded(self.name, "vapour", "closed section")
        assert Act.GO_ON not in ways(self.name, "coat", "cadmium")

    def test_bright_metal_waits_for_one_shift_at_most(self) -> None:
        assert most_after(self.name, "tack") == (("bright-again",), 8 * H)

    def test_the_weld_is_flush_before_a_plate_and_looked_at_again_a_day_later(self) -> None:
        assert in_order(self.name, "run", "flush", "weld-look", "plate", "fire-watch", "rest",
                        "crack-check", "moved", "prime", "weld-release")  # fmt: skip
        assert ms(dwell(self.name, "fire-watch").least) == 30 * MIN

    def test_a_weld_is_done_again_once(self) -> None:
        found = procedure(self.name).route.steps["weld-look"].detail
        assert isinstance(found, Inspect)
        again = next(one for one in found.findings if one.name.startswith("undercut"))
        assert [way.act for way in again.consequences] == [Act.REWORK, Act.SCRAP]
        assert again.consequences[0].most == 1


class TestSprings:
    name = "leaf-torsion-and-rubber-springs"

    def test_the_clamp_is_seen_before_the_centre_bolt(self) -> None:
        assert in_order(self.name, "clamp", "clamp-seen", "clips-off", "centre-out", "let-back")
        assert guarded(self.name, "centre-out", "under tension")
        assert procedure(self.name).route.steps["let-back"].critical

    def test_only_the_two_main_leaves_are_changed(self) -> None:
        detail = procedure(self.name).route.steps["bad-other"].detail
        assert isinstance(detail, Reading)
        assert detail.high is not None
        assert detail.high.text == "0"
        assert Act.GO_ON not in {way.act for way in detail.outside}

    def test_a_bar_of_the_other_side_or_with_a_nick_never_goes_on(self) -> None:
        assert Act.GO_ON not in ways(self.name, "bar-mark", "mark of the other side")
        assert ways(self.name, "bar-shaft", "nick, scratch, rust pit or coat gone") == [Act.SCRAP]
        assert in_order(self.name, "bar-line", "unload", "bar-out", "bar-read", "bar-in")
        assert guarded(self.name, "unload", "wound torsion bar")

    def test_nothing_is_tightened_before_the_weight_is_on(self) -> None:
        assert in_order(self.name, "on-wheels", "bounce", "stages", "u-torque", "shackles")
        assert in_order(self.name, "hand-tight", "on-wheels", "bush-torque", "torque-seen")

    def test_the_bolt_head_is_seen_before_the_u_bolts(self) -> None:
        assert in_order(self.name, "seat-head", "head-seen", "u-bolts-on")

    def test_height_is_set_and_rechecked_after_the_first_run(self) -> None:
        assert tails(self.name)["heights"].until is not None
        assert in_order(self.name, "lean", "examiner-release", "first-run", "retorque",
                        "height-last")  # fmt: skip
        assert at(self.name, "first-run") < at(self.name, "release")
