"""Cleaning, etching, blasting, coating, plating: the orders that cost skin, paint and weekends."""

import pytest
from shipped import at, in_order, procedure
from traps import MIN, H, dwell, guarded, most_after, ms, tails, ways

from benchrun.procedure.route import (
    Act,
    Detour,
    Inspect,
    Reading,
    StepOp,
    WorkOut,
)


class TestEtch:
    @pytest.mark.parametrize("name", ["degrease-etch-coat", "acid-etch-in-loads"])
    def test_the_etch_is_kept_wet_for_ten_to_twenty_minutes_in_loads(self, name: str) -> None:
        etch = dwell(name, "etch")
        assert (ms(etch.least), ms(etch.most)) == (10 * MIN, 20 * MIN)
        assert ms(etch.tend_every) == 2 * MIN
        assert etch.vessel == "tub"
        assert procedure(name).route.vessels["tub"].capacity is not None

    @pytest.mark.parametrize("name", ["degrease-etch-coat", "acid-etch-in-loads"])
    def test_metal_is_known_and_faces_are_masked_before_acid(self, name: str) -> None:
        assert in_order(name, "metal", "metal-sure", "mask", "masks-on", "bath", "etch")
        detail = procedure(name).route.steps["metal"].detail
        assert isinstance(detail, Inspect)
        for finding in detail.findings[1:]:
            assert [way.act for way in finding.consequences] == [Act.ASIDE]

    @pytest.mark.parametrize("name", ["degrease-etch-coat", "acid-etch-in-loads"])
    def test_the_reading_of_the_bath_is_fresh_when_a_load_goes_in(self, name: str) -> None:
        assert most_after(name, "etch") == (("bath",), 30 * MIN)
        reading = procedure(name).route.steps["bath"].detail
        assert isinstance(reading, Reading)
        assert reading.one_for_all

    @pytest.mark.parametrize("name", ["degrease-etch-coat", "acid-etch-in-loads"])
    def test_a_part_left_in_the_acid_is_rinsed_before_it_is_judged(self, name: str) -> None:
        assert dwell(name, "etch").late[0].act == Act.GO_ON

    def test_masked_faces_are_judged_when_the_part_is_rinsed_and_dry(self) -> None:
        assert in_order("degrease-etch-coat", "masks-off", "rinse-clean", "dry", "masked-faces")

    @pytest.mark.parametrize("name", ["degrease-etch-coat", "acid-etch-in-loads"])
    def test_masks_are_counted_back(self, name: str) -> None:
        detail = procedure(name).route.steps["masks-off"].detail
        assert isinstance(detail, Reading)
        assert detail.low is not None
        assert detail.high is not None
        assert detail.low.text == detail.high.text == "masks_on"

    def test_acid_goes_wet_into_the_rinse(self) -> None:
        assert most_after("degrease-etch-coat", "rinse-running") == (("etch",), MIN)
        assert most_after("acid-etch-in-loads", "to-rinse") == (("etch",), MIN)

    @pytest.mark.parametrize("name", ["degrease-etch-coat", "acid-etch-in-loads"])
    def test_hydrogen_is_warned_of(self, name: str) -> None:
        assert guarded(name, "metal", "hydrogen")
        warned = [
            step.number
            for step in procedure(name).route.steps.values()
            if any("burns skin" in one.hazard for one in step.cautions)
        ]
        assert min(warned) <= procedure(name).route.steps["etch"].number

    def test_acid_is_poured_into_water(self) -> None:
        step = procedure("acid-etch-in-loads").route.steps["dilute"]
        assert "acid into the water" in step.text
        assert step.critical
        assert guarded("acid-etch-in-loads", "dilute", "water poured into strong acid")


class TestDirt:
    @pytest.mark.parametrize(
        ("name", "step"),
        [
            ("degrease-etch-coat", "scrape"),
            ("hub-bearing-removal", "degrease-outside"),
            ("degrease-and-filter", "brake-dust"),
            ("spare-part-matching", "tag"),
        ],
    )
    def test_asbestos_is_warned_of_before_dirt_is_touched(self, name: str, step: str) -> None:
        assert guarded(name, step, "asbestos")

    def test_every_bath_is_warned_of_where_a_part_goes_in(self) -> None:
        assert guarded("degrease-and-filter", "solvent-soak", "solvent burns")
        assert guarded("degrease-and-filter", "watery-soak", "alkali eats")
        assert guarded("degrease-and-filter", "fresh-wash", "solvent burns")

    def test_a_bearing_meets_no_water(self) -> None:
        for step in ("rinse", "last-rinse"):
            place = at("degrease-and-filter", step)
            guard = at("degrease-and-filter", "bearing-rinse")
            assert guard < place < at("degrease-and-filter", "darkening")
        assert "without water" in procedure("degrease-and-filter").route.steps["bearing-rinse"].text


class TestDry:
    def test_holes_and_seams_are_blown_out_before_the_warm_air(self) -> None:
        assert in_order("degrease-etch-coat", "blow-holes", "dry", "after-dry")
        assert in_order("rinse-and-force-dry", "blow", "dry", "tissue", "damp")

    def test_steel_does_not_wait_wet(self) -> None:
        assert most_after("degrease-etch-coat", "dry") == (("rinse-clean",), 5 * MIN)
        assert most_after("rinse-and-force-dry", "dry") == (("rinse-two",), 5 * MIN)

    def test_litmus_comes_before_drying(self) -> None:
        assert in_order("degrease-etch-coat", "rinse-clean", "litmus", "dry")
        assert in_order("rinse-and-force-dry", "rinse-two", "litmus", "litmus-seen", "dry")

    def test_a_bare_part_meets_its_first_coat_within_four_hours(self) -> None:
        assert most_after("degrease-etch-coat", "dull") == (("dry",), 4 * H)
        assert most_after("rinse-and-force-dry", "hand-on") == (("dry",), 4 * H)
        assert most_after("dry-blasting", "to-coat") == (("blast",), 4 * H)


class TestCoat:
    COATED = ("degrease-etch-coat", "brush-coats", "beam-coating-and-wax")

    @pytest.mark.parametrize("name", COATED)
    def test_two_coats_at_least_stand_apart_as_the_sheet_says(self, name: str) -> None:
        assert tails(name)["coats"].least == 2
        window = procedure(name).route.steps["air-now"].window
        assert window is not None
        assert window.least is not None
        assert window.least.text == "recoat_least"

    @pytest.mark.parametrize("name", COATED)
    def test_a_closed_window_means_scuff_first_and_is_counted(self, name: str) -> None:
        window = procedure(name).route.steps["tack-wipe"].window
        assert window is not None
        assert window.most is not None
        assert window.most.text == "recoat_most"
        first = window.late[0]
        assert (first.act, first.to, first.most) == (Act.DETOUR, "scuff", 3)
        detour = next(
            op
            for op in procedure(name).route.ops
            if isinstance(op, Detour) and op.step == "tack-wipe"
        )
        assert detour.most == 3
        assert procedure(name).route.ops[detour.past] == StepOp(
            procedure(name).route.steps["tack-wipe"]
        )

    @pytest.mark.parametrize("name", COATED)
    def test_nothing_uncured_is_rubbed(self, name: str) -> None:
        for step in ("scuff", "flatten"):
            if step in procedure(name).route.steps:
                window = procedure(name).route.steps[step].window
                assert window is not None, step
                assert window.least is not None
                assert window.least.text == "sand_after"
                assert guarded(name, step, "not cured right through")

    def test_flash_rust_is_looked_for_between_drying_and_paint(self) -> None:
        name = "beam-coating-and-wax"
        assert in_order(name, "dry-out", "flash-rust", "dull", "coat-outside")
        assert most_after(name, "dull") == (("dry-out",), 4 * H)

    def test_detergent_comes_between_solvent_and_the_water_test(self) -> None:
        assert in_order(
            "degrease-and-filter", "solvent-soak", "detergent-wash", "rinse", "second-rinse",
            "last-rinse", "water-film",
        )  # fmt: skip
        assert in_order("degrease-etch-coat", "second-wash", "wash-off", "rinse-off", "water-film")
        for name in ("degrease-and-filter", "degrease-etch-coat"):
            assert Act.GO_ON not in ways(name, "water-film", "flashes out into a film at once")

    @pytest.mark.parametrize("name", COATED)
    def test_rim_and_lid_are_seen_to_in_every_pass(self, name: str) -> None:
        tail = tails(name)["coats"]
        for step in ("wipe-rim", "lid"):
            assert tail.head < at(name, step)
        assert in_order(name, "wipe-rim", "lid")

    def test_surface_and_climate_come_before_the_first_brush(self) -> None:
        for name in ("degrease-etch-coat", "brush-coats"):
            assert in_order(name, "humidity", "surface", "dew-margin", "coat")

    @pytest.mark.parametrize("name", ["degrease-etch-coat", "brush-coats"])
    def test_a_part_hot_from_drying_is_not_painted(self, name: str) -> None:
        detail = procedure(name).route.steps["surface"].detail
        assert isinstance(detail, Reading)
        assert detail.high is not None
        assert detail.high.text == "32 degC"
        assert detail.outside[0].act == Act.AGAIN

    def test_asthma_is_warned_of_before_paint_is_opened(self) -> None:
        for name in ("degrease-etch-coat", "brush-coats", "beam-coating-and-wax"):
            steps = procedure(name).route.steps.values()
            warned = next(
                s.number for s in steps if any("isocyanate" in c.hazard for c in s.cautions)
            )
            coats = [s.number for s in steps if s.id in {"pour", "coat", "coat-inside"}]
            assert warned <= min(coats)


class TestBlast:
    @pytest.mark.parametrize("name", ["dry-blasting", "wet-blasting"])
    def test_cracks_are_looked_for_before_the_first_shot(self, name: str) -> None:
        assert in_order(name, "crack-log", "mask-check", "blast")
        assert ways(name, "crack-log", "crack") == [Act.SCRAP]
        assert Act.GO_ON not in ways(name, "crack-log", "not inspected")

    def test_shells_are_out_before_wet_blasting(self) -> None:
        assert in_order("wet-blasting", "shells-out", "mask-check", "blast")
        assert ways("wet-blasting", "shells-out", "something in") == [Act.ASIDE]

    @pytest.mark.parametrize("name", ["dry-blasting", "wet-blasting"])
    def test_what_is_plugged_is_unplugged_by_count(self, name: str) -> None:
        detail = procedure(name).route.steps["plugs-out"].detail
        assert isinstance(detail, Reading)
        assert detail.low is not None
        assert detail.low.text == "plugs_in"

    def test_slurry_is_rinsed_before_it_dries(self) -> None:
        assert most_after("wet-blasting", "rinse") == (("blast",), 5 * MIN)

    def test_sand_is_warned_of(self) -> None:
        assert guarded("dry-blasting", "pressure-aluminium", "silica") or any(
            "ilica" in c.hazard
            for s in procedure("dry-blasting").route.steps.values()
            for c in s.cautions
        )


class TestWax:
    name = "beam-coating-and-wax"

    def test_wax_waits_for_the_cure(self) -> None:
        least = dwell(self.name, "cure").least
        assert least is not None
        assert least.text == "full_cure"
        assert in_order(self.name, "coat-inside", "coat-outside", "cure", "hard", "spray-one")

    def test_drains_are_open_before_and_after(self) -> None:
        assert in_order(
            self.name, "drains", "drains-open", "dry-and-open", "spray-one", "drip", "wire-last",
            "drains-last", "plugs",
        )  # fmt: skip

    def test_pressure_is_off_before_the_pot_is_weighed_and_on_again_for_more(self) -> None:
        assert in_order(self.name, "pressure", "spray-two", "pressure-off", "pot-after")
        again = ways(self.name, "wax-look", "dry streaks")
        assert again[0] == Act.REWORK
        detail = procedure(self.name).route.steps["wax-look"].detail
        assert isinstance(detail, Inspect)
        assert detail.findings[1].consequences[0].to == "pressure"

    def test_the_wet_wax_is_held_to_what_its_own_sheet_says(self) -> None:
        assert in_order(self.name, "wax-low", "wax-high", "spray-one", "wet-wax")
        detail = procedure(self.name).route.steps["wet-wax"].detail
        assert isinstance(detail, Reading)
        assert detail.low is not None
        assert detail.high is not None
        assert (detail.low.text, detail.high.text) == ("wax_low", "wax_high")

    def test_the_film_is_held_to_what_the_sheet_says(self) -> None:
        detail = procedure(self.name).route.steps["film"].detail
        assert isinstance(detail, Reading)
        assert detail.low is not None
        assert detail.high is not None
        assert (detail.low.text, detail.high.text) == ("film_low", "film_high")

    def test_a_lining_that_wax_touched_is_scrap(self) -> None:
        assert ways(self.name, "no-wax", "on a lining") == [Act.ASIDE]


class TestPlating:
    name = "plating-send-out"

    def test_hard_parts_are_baked_within_hours_or_refused(self) -> None:
        detail = procedure(self.name).route.steps["bake-start"].detail
        assert isinstance(detail, Reading)
        assert detail.high is not None
        assert detail.high.text == "start_most"
        assert [way.act for way in detail.outside] == [Act.ASIDE, Act.SCRAP]

    def test_the_bake_is_as_long_as_the_strength_asks(self) -> None:
        detail = procedure(self.name).route.steps["bake-time"].detail
        assert isinstance(detail, Reading)
        assert detail.low is not None
        assert detail.low.text == "bake_least"
        bake = procedure(self.name).route.steps["bake-least"].detail
        assert isinstance(bake, WorkOut)
        assert bake.formula.reads == {"tensile"}

    def test_what_goes_back_to_the_plater_passes_the_bake_once_more(self) -> None:
        assert in_order(self.name, "away", "bake-start", "bake-time", "plate", "weep")
        back = []
        for step in procedure(self.name).route.steps.values():
            detail = step.detail
            if isinstance(detail, Inspect):
                back += [way for one in detail.findings for way in one.consequences]
            elif isinstance(detail, Reading | WorkOut):
                back += detail.outside
        assert {way.act for way in back} >= {Act.REWORK}
        assert Act.AWAY not in {way.act for way in back}
        assert {way.to for way in back if way.act == Act.REWORK} == {"away", "plate-low"}

    def test_hard_steel_worked_since_hardening_is_relieved_before_plating(self) -> None:
        assert in_order(self.name, "known-by", "worked-hard", "strip", "away")
        assert ways(self.name, "worked-hard", "worked or not known") == [Act.ASIDE]
        assert guarded(self.name, "strip", "stripping in acid")

    def test_hardness_is_sorted_before_the_order_and_counts_after(self) -> None:
        assert in_order(
            self.name, "known-by", "tensile-measured", "tensile-class", "hardness-sure",
            "count-out", "order", "count-signed", "away",
            "count-in", "release-quarantine",
        )  # fmt: skip
