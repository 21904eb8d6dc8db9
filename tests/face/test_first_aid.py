"""First aid is one key away from every page, and stands before the begin and in the report."""

import asyncio
import io
import math
import sys
from pathlib import Path

import pytest
from textual.pilot import Pilot

from benchrun.account.gather import gather
from benchrun.plain.start import open_plain
from benchrun.plain.talk import Talk
from benchrun.procedure.first_aid import first_aid_in
from benchrun.procedure.load import load
from benchrun.report.command import run_report
from benchrun.shop.folder import shipped
from benchrun.verify import verify

sys.path.insert(0, str(Path(__file__).parents[1] / "screen"))
from screen_bench import Bench, press, settled, show_run

FIRST = "Acid in an eye - flush with water"
PROCEDURE = """\
procedure: etch-one
title: Etch one arm
revision: 1
status: draft
scope: One part.
batch: {part: arm, at most: 3}
first aid:
  - Acid in an eye - flush with water for 15 min (from memory, safety texts).
  - "Acid on skin: clothes off, flush."
hazards:
  - {id: acid, warning: Acid burns eyes., then: Blindness., avoid: Face shield., codes: [H314]}
stages:
  - stage: All
    steps:
      - reading: Measure the bore.
        id: bore
        unit: mm
        cautions: [acid]
      - dwell: Soak the arm.
        id: soak
        most: 20 min
        late: [go on]
"""


@pytest.fixture
def bench(tmp_path) -> Bench:
    made = Bench(tmp_path)
    (tmp_path / "etch.yaml").write_text(PROCEDURE)
    return made


PLACES = {
    "the board": (),
    "the shop's menu": ("asterisk",),
    "the books": ("asterisk", "2"),
    "a book": ("asterisk", "2", "1"),
    "what can be looked up": ("slash",),
    "a tag being typed": ("slash", "6", "x"),
    "past runs": ("slash", "4"),
    "the guide": ("slash", "3", "1"),
}
IN_RUN = {
    "a step": (),
    "a reading being typed": ("2", "5"),
    "the log": ("slash", "3"),
    "a note being typed": ("asterisk", "1", "x"),
    "why": ("0",),
    "the books over a run": ("slash", "6", "3"),
    "the keys": ("h",),
}


async def aided(bench: Bench, pilot: "Pilot", where: str, keys: tuple[str, ...]) -> None:
    await press(pilot, *keys)
    before = bench.screen()
    await press(pilot, "f8")
    page = bench.screen()
    assert page.lstrip().startswith("First aid"), (where, page)
    assert FIRST in page, (where, page)
    await press(pilot, "f8")
    assert bench.screen() == page, where
    await press(pilot, "escape")
    assert without_time(bench.screen()) == without_time(before), where


def without_time(page: str) -> list[str]:
    """A page without its head, where the time goes on, and without what loads beside."""
    return page.splitlines()[1:3]


def test_one_key_shows_it_from_every_page(bench, tmp_path):
    async def go(number: int, where: str, keys: tuple[str, ...], *, inside: bool) -> None:
        app = bench.new_app()
        session = bench.begin(tmp_path / "etch.yaml", ["arm 1"], tag=f"t{number:03}")
        try:
            async with app.run_test(size=(80, 24)) as pilot:
                await settled(pilot)
                if inside:
                    await show_run(app, session)
                    await pilot.pause()
                await aided(bench, pilot, where, keys)
        finally:
            session.leave()

    places = [(*place, False) for place in PLACES.items()]
    places += [(*place, True) for place in IN_RUN.items()]
    for number, (where, keys, inside) in enumerate(places):
        asyncio.run(go(number, where, keys, inside=inside))


def test_where_nothing_is_typed_a_sign_shows_it_and_its_key_stands_in_the_corner(bench, tmp_path):
    async def go() -> None:
        session = bench.begin(tmp_path / "etch.yaml", ["arm 1"])
        async with bench.app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            await show_run(bench.app, session)
            await pilot.pause()
            assert "F8 first aid" in "".join(bench.screen().splitlines()[-2:])
            await press(pilot, "exclamation_mark")
            assert FIRST in bench.screen()
            await press(pilot, "minus", "asterisk", "1", "exclamation_mark")
            assert FIRST not in bench.screen()
        session.leave()

    asyncio.run(go())


def test_an_alarm_does_not_keep_it_away(bench, tmp_path):
    async def go() -> None:
        session = bench.begin(tmp_path / "etch.yaml", ["arm 1"])
        async with bench.app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            await show_run(bench.app, session)
            await pilot.pause()
            await press(pilot, "2", "5", "enter", "enter")
            bench.clock.wait(25 * 60_000)
            bench.app.screen.tick()
            assert "LATE" in bench.screen()
            await press(pilot, "f8")
            assert FIRST in bench.screen()
            assert "LATE" in bench.screen()
        session.leave()

    asyncio.run(go())


def said(bench: Bench, procedure: Path | None, lines: list[str]) -> str:
    out = io.StringIO()
    talk = Talk(io.StringIO("\n".join(lines) + "\n"), out, listens_s=math.inf)
    open_plain(bench.shop.path, procedure=procedure, talk=talk, clock=bench.clock)
    return out.getvalue()


def test_line_by_line_it_is_said_at_any_question(bench, tmp_path):
    etch = tmp_path / "etch.yaml"
    board = said(bench, None, ["!", ""])
    assert "from the shop's procedures" in board
    assert "Burn - cool under running water" in board
    # Before the begin, at the batch, at the work, and within a question of the work.
    told = said(bench, etch, ["!", "", "!", "1", "!", "", "!"])
    assert told.count(f"  {FIRST}") == 4
    assert told.count(f"first aid: {FIRST}") == 1  # the page before the begin says it by itself
    assert "Burn - cool" not in told


def test_it_stands_before_the_begin_and_in_the_report(bench, tmp_path):
    etch = tmp_path / "etch.yaml"
    assert f"first aid: {FIRST}" in said(bench, etch, [""])
    session = bench.begin(etch, ["arm 1"])
    session.leave()
    report = tmp_path / "report.txt"
    run_report([session.folder.path], report, [verify(session.folder.path).as_data()])
    assert " ".join(load(etch).first_aid[0].split()) in " ".join(report.read_text("utf-8").split())
    assert gather(session.folder.path).first_aid == load(etch).first_aid


def test_it_is_read_from_the_file_alone_as_the_compiled_procedure_has_it():
    paths = sorted(shipped("procedures").glob("*.yaml"))
    assert len(paths) > 20
    for path in paths:
        assert first_aid_in(path) == load(path).first_aid, path.name
