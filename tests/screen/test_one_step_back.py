"""Esc goes one step back from every page, never further, and never out of the program."""

import asyncio
import re
import shutil
import time
from itertools import dropwhile
from pathlib import Path

import pytest
from drawn_pages import DrawnRun
from patience import PATIENCE_S
from screen_bench import Bench, press, settled, show_run
from textual.pilot import Pilot

from benchrun.screen.app import BenchApp
from benchrun.screen.board.screen import BoardScreen
from benchrun.screen.progress_pane import ProgressPane
from benchrun.shop.folder import shipped

MINUTE = 60_000
DEEP = 4
DIGITS = tuple("123456789")
NAMES = {"asterisk": "*", "slash": "/", "full_stop": ".", "plus": "+"}
MENUS = ("MenuPane", "ChoosePane", "BooksPane", "BookListPane", "ThingPane")


def where(app) -> tuple[object, ...]:
    """The page in front: what lies on what, and its head without the time of day."""
    screen = app.screen
    rows = [row.text.strip() for row in screen.page_view.rows]
    rows = list(dropwhile(lambda row: not row, rows))[:2]  # above a question there are empty rows
    head = re.sub(r"\d\d:\d\d|page \d+ of \d+|\d+ to \d+ of \d+", "", " ".join(rows))
    panes = tuple(type(pane).__name__ for pane in screen.panes)
    return (len(app.screen_stack), type(screen).__name__, panes, " ".join(head.split()))


class Walk:
    """Goes down into each page that looking leads to, and back again with Esc."""

    def __init__(self, pilot: Pilot) -> None:
        self.pilot = pilot
        self.app = pilot.app
        self.seen: set[object] = set()
        self.way: list[str] = []

    async def into(self, keys: tuple[str, ...], above: tuple[object, ...] = ()) -> object:
        """Press each key here, go on from where it led, and come back one step.

        Returns:
            The page above to which a key led that chose something for good; None: none did.
        """
        here = where(self.app)
        for key in keys:
            await self.press(key)
            there = where(self.app)
            if there == here:
                continue
            if there[:3] in above:
                return there[:3]
            self.way.append(key)
            chosen = None
            if there not in self.seen and len(self.way) < DEEP:
                self.seen.add(there)
                chosen = await self.into(self.keys_here(), (*above, here[:3]))
            if chosen is None:
                await self.press("escape")
            self.way.pop()
            if chosen not in (None, here[:3]):
                return chosen
            back = where(self.app)
            assert back[:3] == here[:3], (self.way, key, there, back)
        return None

    async def press(self, key: str) -> None:
        """Press a key, and wait until what it asked for beside has come."""
        await press(self.pilot, key)
        before, ends = None, time.monotonic() + PATIENCE_S
        while time.monotonic() < ends:
            await self.pilot.pause()
            now = where(self.app)
            if now == before and not isinstance(self.app.screen.panes[-1], ProgressPane):
                return
            before = now
            await asyncio.sleep(0.02)
        raise AssertionError(f"{key} leads to no page that stays: {before}")

    def keys_here(self) -> tuple[str, ...]:
        """The keys that look further from a page; none that types, records or leaves."""
        name = type(self.app.screen.panes[-1]).__name__
        if name not in MENUS:
            return ()
        rows = [row.text.strip() for row in self.app.screen.page_view.rows]
        offered = [row[0] for row in rows if re.match(r"[1-9] +\S", row)]
        kept = [row[0] for row in rows if re.match(r"[1-9] +(Leave|Hand over)\b", row)]
        more = {"BookListPane": ("asterisk",), "ThingPane": ("enter",)}.get(name, ())
        return (*(digit for digit in offered if digit not in kept), *more)


@pytest.fixture
def full(tmp_path: Path, every_state: Path) -> Bench:
    """A shop with books, as they come as a sample, and a closed and an open run."""
    bench = Bench(tmp_path)
    for name in ("instruments", "supplies", "vessels", "parts", "routes"):
        shutil.copy(shipped("samples") / "shop" / f"{name}.yaml", bench.shop.path)
    return bench


def walked(bench: Bench, begun, keys: tuple[str, ...], size=(80, 24)) -> Walk:
    async def go() -> Walk:
        async with bench.app.run_test(size=size) as pilot:
            await settled(pilot)
            if begun is not None:
                await show_run(bench.app, begun)
                await pilot.pause()
            walk = Walk(pilot)
            await walk.into(keys)
            return walk

    return asyncio.run(go())


def test_from_the_board_each_page_leads_back_one_step(full):
    walk = walked(full, None, ("1", "9", "asterisk", "slash", "h", "f8"))
    assert len(walk.seen) > 40, walk.seen


def test_from_a_run_each_page_leads_back_one_step(full, every_state):
    session = full.begin(every_state, ["arm 1", "arm 2"])
    try:
        walk = walked(full, session, ("asterisk", "slash", "full_stop", "0", "h", "f8"))
    finally:
        session.leave()
    assert len(walk.seen) > 20, walk.seen


def test_esc_on_the_board_stays_there(full):
    async def go() -> None:
        async with full.app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            before = where(full.app)
            await press(pilot, "escape", "escape", "minus")
            assert where(full.app) == before
            assert isinstance(full.app.screen, BoardScreen)

    asyncio.run(go())


def test_esc_from_a_run_goes_to_the_board_and_a_list_goes_one_page_back(full, every_state):
    session = full.begin(every_state, ["arm 1", "arm 2"])

    async def go() -> None:
        async with full.app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            await show_run(full.app, session)
            await pilot.pause()
            await press(pilot, "slash", "2")
            first = where(full.app), full.screen()
            await press(pilot, "plus")
            assert full.screen() != first[1]
            await press(pilot, "minus")
            assert full.screen().splitlines()[2:] == first[1].splitlines()[2:]
            await press(pilot, "escape", "escape", "escape")
            assert isinstance(full.app.screen, BoardScreen)

    asyncio.run(go())


async def test_the_first_start_goes_back_question_by_question_and_asks_before_it_is_left(tmp_path):
    bench = Bench(tmp_path)
    app = BenchApp(
        tmp_path / "none", look=bench.look, clock=bench.clock, pulse=lambda: bench.seconds
    )
    bench.app = app
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await press(pilot, *"Shed", "enter", *"Cleo", "enter", "1", *"12", "enter")
        heads = []
        for _ in range(5):
            heads.append(bench.screen().lstrip("\n").split("\n")[0].strip())
            await press(pilot, "escape")
        assert heads == [
            "The passphrase once more",
            "A passphrase",
            "The key",
            "Who works here",
            "What the shop is called",
        ]
        assert "Nothing is made yet. Leave the program?" in bench.screen()
        await press(pilot, "escape")
        assert "What the shop is called" in bench.screen()
        await press(pilot, "escape", "enter")
        await pilot.pause()
    assert app.return_code == 0
    assert not (tmp_path / "none").exists()


SENT = """\
procedure: plate-one
title: Plate one arm
revision: 1
status: draft
scope: One part.
batch: {part: arm, at most: 3}
stages:
  - stage: All
    steps:
      - dwell: Wait for the arm.
        id: plate
        at: the plater
      - do: Wipe the arm.
        id: wipe
"""


def test_what_was_sent_away_comes_back_when_it_comes(bench, tmp_path):
    (tmp_path / "plate.yaml").write_text(SENT)
    run = DrawnRun(bench, bench.begin(tmp_path / "plate.yaml", ["arm"]))
    run.press("enter")
    page = run.page(80, 24).text
    assert "+ back in" in page
    assert "anyway" not in page
    run.press("+")
