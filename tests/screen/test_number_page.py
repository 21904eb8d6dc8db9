"""The page of a number: large figures say what will be recorded, or nothing is large."""

import pytest
from screen_bench import press, show_run

from benchrun.screen.text_line import Paper
from benchrun.screen.widgets.digits import large_digits

JOB = """\
procedure: number-job
title: A number
revision: 1
status: draft
scope: One part. Invented.
batch: {part: bracket, at most: 12}
stages:
  - stage: All
    steps:
      - reading: Measure the width.
        id: width
        unit: mm
        low: 34 mm
        high: 35 mm
        outside: set aside
        source: memory, an invented part
"""


@pytest.fixture
def number(tmp_path):
    path = tmp_path / "number.yaml"
    path.write_text(JOB)
    return path


def large(figures: str, width=80, height=24) -> list[str]:
    return [row.text.strip() for row in large_digits(Paper(width, height), figures)]


def is_large(screen: str, figures: str) -> bool:
    return all(row in screen for row in large(figures) if row)


def anything_large(screen: str) -> bool:
    return any(block in screen for block in ("██", "▀▀", "▄▄"))


async def test_a_size_in_inches_is_drawn_in_the_millimetres_that_are_recorded(bench, number):
    session = bench.begin(number, ["a"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, *"1 3/8 in")
        screen = bench.screen()
        assert is_large(screen, "34.925")
        assert "1 3/8 in▏  = 34.925 mm" in screen
        assert "inside, 0.075 mm under the upper limit 35 mm" in screen
        assert "too small" in screen
        assert "too large" in screen
        await press(pilot, "enter")
    assert session.entries[-1].data.each["a"].value.number == "34.925"


@pytest.mark.parametrize("text", ["1 3/", "34 kg", "34..9", "34x"])
async def test_what_is_not_understood_stands_alone(bench, number, text):
    session = bench.begin(number, ["a"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, *text)
        assert not anything_large(bench.screen())
        assert f"{text}▏\n" in bench.screen().replace(" \n", "\n")


async def test_what_does_not_fit_is_not_drawn_large(bench, number):
    session = bench.begin(number, ["a"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, *"34.123456789")
        assert not anything_large(bench.screen())
        assert "34.123456789▏ mm" in bench.screen()


async def test_a_minus_is_refused_as_it_is_typed(bench, number):
    session = bench.begin(number, ["a"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "minus")
        assert "This length cannot be below zero: type it without a minus." in bench.screen()
        await press(pilot, *"34.5")
        assert is_large(bench.screen(), "34.5")
