"""Before the start each condition is checked by itself and the tools are counted; then back."""

import shutil
from pathlib import Path

import pytest
from screen_bench import press, settled, until

from benchrun.load_run import read_kept
from benchrun.record.folder import run_folders
from benchrun.report.command import report_content

PAGE = Path(__file__).parents[1] / "rehearse" / "procedures" / "count-tools.yaml"


@pytest.fixture
def ready(bench):
    shutil.copy(PAGE, bench.shop.path / "procedures" / "count-tools.yaml")
    return bench


def kept(bench):
    (folder,) = run_folders(bench.shop.runs)
    return read_kept(folder)


async def begun(pilot, bench):
    """From the board to the first step."""
    await settled(pilot)
    await press(pilot, "1", "enter", "1")  # Ada
    await until(bench, "1 of 2")
    await press(pilot, "enter", "enter", "enter", "enter")
    await until(bench, "The batch for")
    await press(pilot, "enter")
    await until(bench, "Wipe the plate")


async def test_each_condition_is_entered_with_who_and_when_and_the_tools_with_their_numbers(ready):
    async with ready.app.run_test(size=(80, 24)) as pilot:
        await begun(pilot, ready)
        page = ready.screen()
        assert "see that" in page
        assert "The guard stays closed." in page
        assert "free: steps 1 and 2 in any order" in page
    _, entries = kept(ready)
    level, closed = entries[0].data.about["conditions"]
    assert (level["says"], level["who"]) == ("The press stands level.", "ada-brook")
    assert level["utc"] < closed["utc"]
    out = [(one.tool, one.number, one.who) for one in entries[0].data.tools_out]
    assert out == [("press plate", 1, "ada-brook"), ("drift", 2, "ada-brook")]


async def test_what_is_not_so_is_told_and_nothing_is_begun(ready):
    async with ready.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "1", "enter", "1", "enter", "0")
        await until(ready, "Not so: The guard is closed.")
    assert not list(run_folders(ready.shop.runs))


async def test_a_tool_that_lacks_at_the_end_asks_a_reason_and_stands_in_the_report(ready):
    async with ready.app.run_test(size=(80, 24)) as pilot:
        await begun(pilot, ready)
        await press(pilot, "enter", "enter")
        await until(ready, "2 people")
        await press(pilot, "enter", "enter")
        await until(ready, "Count the tools back")
        await press(pilot, "enter", "1", "enter")
        await until(ready, "Missing: 1 × drift")
        await press(pilot, *"lost", "enter")
        await until(ready, "close")
    _, entries = kept(ready)
    back = next(entry.data for entry in entries if getattr(entry.data, "tools_back", ()))
    assert [(one.tool, one.number) for one in back.tools_back] == [("press plate", 1), ("drift", 1)]
    assert (back.flags, back.reason) == (("missing: 1 × drift",), "lost")
    (folder,) = run_folders(ready.shop.runs)
    page = report_content([folder.path], ".md").decode()
    assert "| The press stands level. | Ada Brook | 2026-11-25 14:02 |" in page
    assert "1 missing (lost)" in page
    assert "missing: 1 × drift" in page.partition("Tools out and back")[2]
