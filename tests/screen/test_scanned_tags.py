"""A scanner types a tag and Enter: on every page that asks for a part it picks that part."""

import os
from pathlib import Path

import pytest
from screen_bench import press, settled, show_run, until

from benchrun.screen.parts.pane import PartsPane

EXPECTED = Path(__file__).parent / "expected"
JOB = """\
procedure: wash-arms
title: Wash arms
revision: 1
status: draft
scope: Arms. Invented.
batch: {part: arm, at most: 3}
stages:
  - stage: All
    steps:
      - {do: Wipe the arm., id: wipe}
"""
PARTS = """\
parts:
  - {id: arm-1, name: arm, side: left, numbers: [cast 7], route: arm, where: shelf 2}
  - {id: arm-2, name: arm, route: arm}
  - {id: arm-3, name: arm, route: arm}
  - {id: frame, name: frame, where: yard}
"""


@pytest.fixture
def arms(bench):
    (bench.shop.path / "parts.yaml").write_text(PARTS)
    (bench.shop.path / "routes.yaml").write_text(
        "routes:\n  - {id: arm, procedures: [wash-arms]}\n"
    )
    (bench.shop.path / "procedures" / "wash-arms.yaml").write_text(JOB)
    return bench


async def scan(pilot, tag):
    """As a scanner types it: without a pause, Enter behind."""
    keys = {" ": "space", "-": "minus"}
    await press(pilot, *(keys.get(char, char) for char in tag), "enter", wait_ms=2)


def kept(bench, name, size):
    path = EXPECTED / f"{name}-{size[0]}x{size[1]}.txt"
    if os.environ.get("BENCHRUN_WRITE_PAGES"):
        path.write_text(bench.screen())
    assert path.read_text() == bench.screen()


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 50)])
async def test_a_batch_is_picked_by_scanned_tags_from_the_parts_that_are_ready(arms, size):
    async with arms.app.run_test(size=size) as pilot:
        await settled(pilot)
        await until(arms, "3 parts ready")
        await press(pilot, "1", "enter")
        await until(arms, "3 parts are ready for it by their routes")
        await press(pilot, "asterisk")
        await scan(pilot, "ARM-2")
        await scan(pilot, "arm-2")
        await scan(pilot, "frame")
        await scan(pilot, "lug 9")
        kept(arms, "batch-picked", size)
        await press(pilot, "4", "enter")
        await until(arms, "Not in the parts book yet")
        await press(pilot, "2")
        await until(arms, "Who works")
        await press(pilot, "1")
        await until(arms, "Wipe the arm")
        assert "arm-2" in arms.screen()
        assert "lug 9" in arms.screen()
        assert "frame" not in arms.screen()


async def test_a_scanned_tag_opens_the_page_of_its_part_from_the_board_and_from_the_parts_book(
    arms,
):
    async with arms.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "slash", "6")
        await scan(pilot, "arm-1")
        await until(arms, "arm-1: arm, left")
        await until(arms, "No run yet.")
        await press(pilot, "minus", "asterisk", "2", "4")
        await scan(pilot, "frame")
        await until(arms, "frame: frame")
        await press(pilot, "minus")
        await scan(pilot, "nobody")
        assert "no part 'nobody'" in arms.screen()
        await scan(pilot, "cast-7")
        await until(arms, "arm-1: arm, left")


async def test_a_scanned_tag_chooses_its_part_among_those_of_a_run(arms):
    session = arms.begin(
        arms.shop.path / "procedures" / "wash-arms.yaml", ["arm-1", "arm 2", "arm-3"]
    )
    async with arms.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        screen = await show_run(arms.app, session)
        await press(pilot, "full_stop")
        pane = screen.panes[-1]
        assert isinstance(pane, PartsPane)
        await press(pilot, "asterisk", "asterisk")  # all, then none
        await scan(pilot, "arm-2")
        assert "1 of 3 chosen" in arms.screen()
        await scan(pilot, "arm-2")
        assert "1 of 3 chosen" in arms.screen()
        await scan(pilot, "arm-9")
        assert "There is no part arm-9 here." in arms.screen()
        await press(pilot, "enter")
        assert "arm 2" in arms.screen()
        session.leave()
