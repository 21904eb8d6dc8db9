"""The instrument of a reading comes from the shop's register, and one that is not fit is asked."""

import os

from screen_bench import press, show_run
from test_run_screen import last, to_bore

REGISTER = """\
# Invented for tests.
instruments:
  - {id: small-gauge, name: bore gauge, range: 18 to 60 mm, uncertainty: 0.003 mm}
  - id: gauge-2
    name: bore gauge
    range: 50 to 160 mm
    resolution: 0.001 mm
    uncertainty: 0.002 mm
    calibrated: 2026-01-09
    until: UNTIL
  - {id: caliper, name: caliper, range: 0 to 150 mm, uncertainty: 0.005 mm}
"""


def keep(bench, until: str = "2027-01-09", text: str = REGISTER) -> None:
    """Write the register of instruments."""
    (bench.shop.path / "instruments.yaml").write_text(text.replace("UNTIL", until))


async def test_the_shops_own_gauge_that_is_fit_is_taken_and_stands_in_the_log(bench, every_state):
    keep(bench)
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_bore(bench, pilot)
        assert "gauge-2, ±0.002" in bench.screen()
        await press(pilot, *"61.96", "enter")
    tool = last(session, "do").tool
    assert (tool.name, tool.uncertainty, tool.misgivings) == ("gauge-2", "0.002", ())
    assert "good until 2027-01-09" in tool.about


async def test_without_a_register_the_procedure_says_what_is_measured_with(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_bore(bench, pilot)
        assert "bore gauge, ±0.003" in bench.screen()
        await press(pilot, "slash")
        assert "Instrument" not in bench.screen()


async def test_a_gauge_past_its_date_is_told_and_asks_a_reason_that_is_kept(bench, every_state):
    keep(bench, "2026-11-01")
    session = bench.begin(every_state, ["arm 1", "arm 2"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_bore(bench, pilot)
        assert (
            "gauge-2 is past its calibration date, 2026-11-01: a reason is asked" in bench.screen()
        )
        before = session.run.n
        await press(pilot, *"61.96", "enter")
        assert session.run.n == before
        assert "A reason" in bench.screen()
        await press(pilot, "4")
        done = last(session, "do")
        assert done.reason == "called away"
        assert done.tool.misgivings == ("is past its calibration date, 2026-11-01",)
        # Nothing of what was typed for one reading is left for the next.
        assert bench.app.screen.panes[0].field.text == ""


async def test_another_gauge_is_taken_by_number_and_stays_in_hand(bench, every_state):
    keep(bench)
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_bore(bench, pilot)
        await press(pilot, "slash", "9", "1")
        assert "small-gauge" in bench.screen()
        await press(pilot, "3")
        assert "caliper, ±0.005" in bench.screen()
        await press(pilot, *"61.964", "enter")
        assert last(session, "do").tool.name == "caliper"
        assert "caliper, ±0.005" in bench.screen()


async def test_a_register_that_changes_meanwhile_is_read_anew(bench, every_state):
    keep(bench, "2026-11-01")
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_bore(bench, pilot)
        keep(bench)
        os.utime(bench.shop.path / "instruments.yaml", ns=(1, 1))
        bench.app.screen.paint()
        assert "past its calibration" not in bench.screen()
        keep(bench, text="instruments:\n  - {id: 7, [\n")
        bench.app.screen.paint()
        assert "bore gauge, ±0.003" in bench.screen()


async def test_of_two_gauges_that_fit_it_is_asked_once_which_one_it_was(bench, every_state):
    twin = "  - {id: gauge-3, name: bore gauge, range: 40 to 100 mm, uncertainty: 0.002 mm}\n"
    keep(bench, text=REGISTER + twin)
    session = bench.begin(every_state, ["arm 1", "arm 2"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_bore(bench, pilot)
        assert "gauge-2 or gauge-3, asked once" in bench.screen()
        await press(pilot, *"61.96", "enter")
        assert "The instrument" in bench.screen()
        await press(pilot, "2")
        assert last(session, "do").tool.name == "gauge-3"
        await press(pilot, *"61.961", "enter")
        assert last(session, "do").each["arm 1"].value.typed == "61.961"
        assert last(session, "do").tool.name == "gauge-3"
