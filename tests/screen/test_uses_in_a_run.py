"""What a step uses, on the screen: the tin, another, a corrected amount, a book that lags."""

import pytest
from screen_bench import Bench, press, settled, show_run

from benchrun.errors import BenchrunError
from benchrun.shop.parts import read_parts
from benchrun.shop.supplies import read_supplies

SUPPLIES = """\
supplies:
  - {id: primer-1, name: primer, amount: 500 ml, book: [{on: 2026-11-01, used: 420 ml}]}
"""
PARTS = "parts:\n  - {id: hub-l, name: hub, side: left}\n"
POURED = """\
procedure: pour
title: Pour
revision: 1
scope: Invented for the tests of the screen.
changes: {1: First.}
sources: {s: "common practice, no source"}
needs: {supplies: [primer]}
batch: {part: lever}
stages:
  - stage: All
    steps:
      - do: Brush on one coat.
        id: coat
        uses: {supply: primer, amount: 30 ml}
        source: s
      - do: Wipe the brush.
        id: brush
"""


@pytest.fixture
def stocked(bench) -> Bench:
    (bench.shop.path / "supplies.yaml").write_text(SUPPLIES)
    (bench.shop.path / "parts.yaml").write_text(PARTS)
    return bench


async def test_a_step_tells_what_it_uses_of_which_tin_and_another_may_be_taken(stocked, tmp_path):
    path = tmp_path / "pour.yaml"
    path.write_text(POURED)
    supplies = stocked.shop.path / "supplies.yaml"
    supplies.write_text(
        supplies.read_text()
        + "  - {id: primer-0, name: primer, amount: 1 l, best before: 2026-01-01}\n"
    )
    session = stocked.begin(path, ["hub L", "hub R"])
    async with stocked.app.run_test(size=(80, 24)) as pilot:
        await show_run(stocked.app, session)
        await pilot.pause()
        assert " uses      60 ml of primer from primer-1" in stocked.screen()
        await press(pilot, "slash", "6", "4")
        assert "primer-0, 1 l left" in stocked.screen()
        await press(pilot, "2")
        assert "60 ml of primer from primer-0" in stocked.screen()
        assert "primer-0 was good until 2026-01-01" in stocked.screen()
        await press(pilot, "enter")
        await settled(pilot)
        assert session.run.used[session.run.n - 1][0].name == "primer-0"
        await press(pilot, "slash", "6", "2")
        assert "60 ml of primer from primer-0" in stocked.screen()
        await press(pilot, "enter", "asterisk", "5")
        assert "used: 60 ml of primer" in stocked.screen()
        await press(pilot, "1")
        await press(pilot, "7", "5", "space", "m", "l", wait_ms=1)
        await press(pilot, "enter", "1")
        session.tick().result()
        assert read_supplies(stocked.shop).named("primer-0").left.words == "925 ml"
        stocked.app.leave_runs()
    assert read_parts(stocked.shop).named("hub-l").runs == (session.folder.run,)


async def test_a_book_that_does_not_follow_is_told_on_the_run(stocked, tmp_path, monkeypatch):
    path = tmp_path / "pour.yaml"
    path.write_text(POURED)
    session = stocked.begin(path, ["hub L"])

    def refused(*_):
        raise BenchrunError("supplies.yaml cannot be written: no space left on device")

    async with stocked.app.run_test(size=(80, 24)) as pilot:
        await show_run(stocked.app, session)
        monkeypatch.setattr("benchrun.session.books.enter_uses", refused)
        await press(pilot, "enter")
        session.tick().result()
        stocked.app.screen.tick()
        assert "Recorded in the log, not yet in the books" in stocked.screen()
        monkeypatch.undo()
        await press(pilot, "enter")
        session.tick().result()
        assert read_supplies(stocked.shop).named("primer-1").left.words == "50 ml"
        stocked.app.leave_runs()
