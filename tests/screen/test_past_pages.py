"""The pages of past runs as they stand in a terminal, kept as plain text and compared."""

import sys
from pathlib import Path

import pytest
from screen_terminal import Terminal
from test_expected_pages import PROCEDURE, SIZES, Walk
from test_expected_pages import folder as a_folder

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "history"))

from synthetic import Log

DAYS = ("2026-11-02", "2026-11-09", "2026-11-16", "2026-11-17")
NUMBERS = ("61.960", "61.962", "61.959", "61.991", "61.958")

folder = a_folder  # the fixture under its own name


def fill(runs):
    """Four runs; the third is damaged."""
    for number, day in enumerate(DAYS):
        log = Log(f"{day}-seats-aaa{number}", f"{day}T08:00:00", "seats", ("hub", "drum"))
        for at, value in enumerate(NUMBERS):
            log.read("bore-1", {"hub": value}, "AB"[at % 2], tool="gauge-2")
        log.read("bore-2", {"hub": "61.955", "drum": "61.981"}, tool="gauge-2")
        log.add("skip", {"step": "wipe", "parts": ["hub"], "reason": "no clean rag at hand"})
        log.close(drum="waits for a bush")
        path = log.write(runs) / "log.jsonl"
        if number == 2:
            path.write_bytes(path.read_bytes().replace(b'"n":3', b'"n":4'))


@pytest.mark.parametrize("size", SIZES)
def test_the_pages_of_past_runs(folder, size):
    terminal = Terminal(folder, size=size, own=str(PROCEDURE))
    fill(folder / "shop" / "runs")
    walk = Walk(terminal)
    try:
        terminal.see("BEGIN")
        walk.press("/4", "The index")
        walk.compare("past-menu")
        walk.press("1", "Measure seats")
        walk.press("1", "Bore 2")
        walk.press("1", "15 values")
        walk.compare("past-reading")
        walk.press("---", "The index")
        walk.press("2", "Another")
        walk.press("3", "the last value")
        walk.compare("past-part")
        walk.press("--", "The index")
        walk.press("3", "Measure seats")
        walk.press("1", "median")
        walk.compare("past-times")
        walk.press("--", "The index")
        walk.press("4", "gauge-2")
        walk.press("1", "21 readings")
        walk.compare("past-instrument")
        walk.press("--", "The index")
        walk.press("5", "All of them")
        walk.press("1", "no clean rag")
        walk.compare("past-deviations")
        walk.press("--", "The index")
        walk.press("6", "Rebuild")
        walk.compare("past-index")
    finally:
        terminal.close()
    assert not walk.wrong, "\n".join(walk.wrong)
