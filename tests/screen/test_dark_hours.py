"""What would close while nobody is in the shop is told before the step that opens it, and after."""

import datetime as dt

import pytest
from screen_bench import press, settled, show_run, until

from benchrun.shopkeeping.overview import board_text
from benchrun.signing_keys import change_settings

HOUR = 3_600_000
JOB = """\
procedure: two-coats
title: Two coats on a bracket
revision: 1
status: draft
scope: Brackets. Invented.
batch: {part: bracket, at most: 4}
stages:
  - stage: All
    steps:
      - {do: Brush on the first coat., id: first}
      - do: Brush on the second coat.
        id: second
        window:
          after: first
          least: 2 h
          most: 24 h
          late:
            - first: [{do: Scuff the coat., id: scuff}]
              at most: 3
            - set aside
      - {do: Look at the coats., id: look}
"""


def opened(bench, tmp_path, hours):
    change_settings(bench.shop, {"hours": hours})
    path = tmp_path / "coats.yaml"
    path.write_text(JOB)
    return bench.begin(path, ["bracket-1", "bracket-2"])


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_before_the_coat_it_is_told_that_the_next_one_would_close_in_the_dark(
    bench, tmp_path, size
):
    session = opened(bench, tmp_path, "Wed 13:00-15:30, Thu 19:00-22:30")
    async with bench.app.run_test(size=size) as pilot:
        await show_run(bench.app, session)
        left = (row.partition(" │ ")[0] for row in bench.screen().splitlines())
        page = " ".join(" ".join(left).split())
        assert "dark Step 3, Brush on the second coat, would close 14:03 tomorrow" in page
        assert "shop dark until 19:00 tomorrow. Then: " in page
        assert "scuff the coat" in page.lower()
        await press(pilot, "enter")
        assert "would close" not in bench.screen()
    told = board_text(bench.shop, bench.clock.now(), dt.UTC)
    assert "shop dark until 19:00 tomorrow" in told


@pytest.mark.parametrize("hours", ["", "Wed 13:00-17:00", "Wed 13:00-15:30, Thu 9:00-12:00"])
async def test_nothing_is_told_where_somebody_is_there_in_time_or_no_hours_are_kept(
    bench, tmp_path, hours
):
    session = opened(bench, tmp_path, hours)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        assert "dark" not in bench.screen()
        await press(pilot, "enter")
    assert "dark" not in board_text(bench.shop, bench.clock.now(), dt.UTC)


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_the_board_tells_it_below_the_row_and_one_key_lengthens_the_evening(
    bench, tmp_path, size
):
    session = opened(bench, tmp_path, "Wed 13:00-15:30, Thu 19:00-22:30")
    async with bench.app.run_test(size=size) as pilot:
        await settled(pilot)
        await show_run(bench.app, session)
        await press(pilot, "enter")
        await bench.app.pop_screen()
        await until(bench, "shop dark until 19:00 tomorrow")
        await press(pilot, "asterisk")
        await until(bench, "Here today until")
        assert "13:00-15:30" in bench.screen()
        await press(pilot, "3", *"1630", "enter")
        await until(bench, "How many work today")
        await press(pilot, "enter")
        await until(bench, "Hours today: 13:00-16:30.")
        bench.app.screen.tick()
        await settled(pilot)
        assert "dark" not in bench.screen()
    assert 'other hours: "2026-11-25 13:00-16:30"' in (bench.shop.path / "shop.yaml").read_text()


async def test_who_comes_today_is_kept_with_the_hours_and_the_plan_is_made_for_them(
    bench, tmp_path
):
    opened(bench, tmp_path, "Wed 13:00-17:00, Thu 19:00-22:30")
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "slash")
        await until(bench, "Plan of the evening")
        row = next(line for line in bench.screen().splitlines() if "Plan of the evening" in line)
        await press(pilot, row.split()[0])
        await until(bench, "until 17:00")
        await press(pilot, "enter", "enter")
        await until(bench, "Who works, until when")
        await press(pilot, "3")
        await until(bench, "Here today until")
        await press(pilot, *"1700", "enter")
        await until(bench, "How many work today")
        await press(pilot, "backspace", "2", "enter")
        await until(bench, "until 17:00, 2 people")
    kept = (bench.shop.path / "shop.yaml").read_text()
    assert 'other hours: "2026-11-25 13:00-17:00 2 people"' in kept


async def test_an_hour_that_is_past_is_refused_and_nothing_is_kept(bench, tmp_path):
    opened(bench, tmp_path, "Wed 13:00-15:30")
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "asterisk", "3", *"1300", "enter")
        await until(bench, "1300 is past: it is 14:02")
    assert "\nother hours:" not in (bench.shop.path / "shop.yaml").read_text()
