"""What a page says beside the work: keys in the order in which they are pressed, and titles."""

from pathlib import Path

import pytest
from drawn_pages import DrawnRun

from benchrun.board import OpenRun
from benchrun.screen.board.blocks import open_block
from benchrun.screen.text_line import Paper

MINUTE = 60_000
ARMS = ["arm 1", "arm 2"]
LONG = """\
procedure: long-steps
title: Long steps
revision: 1
scope: Invented, for tests only.
batch: {part: small steel part, at most: 9}
stages:
  - stage: All
    steps:
      - {do: Wash the part., id: wash}
      - {do: Rinse all faces until the water runs off clear., id: rinse}
      - do: Dry all of its faces with the warm air of the gun.
        id: dry
"""
SIZES = [(60, 16), (80, 24), (120, 40), (200, 50)]


def in_the_tub(bench, every_state, *, resumed: bool = False) -> DrawnRun:
    """Two arms that went into the tub two and a half minutes ago."""
    session = bench.begin(every_state, ARMS)
    run = DrawnRun(bench, session)
    run.press("enter", "1", "enter")
    run.wait(5 * MINUTE // 2)
    return DrawnRun(bench, session, resumed=True) if resumed else run


@pytest.mark.parametrize("size", SIZES)
def test_an_alarm_leaves_the_title_of_a_menu_in_sight_and_moves_no_line_of_it(
    bench, every_state, size
):
    run = DrawnRun(bench, bench.begin(every_state, ARMS))
    run.press("enter", "1", "enter", "*")
    before = run.page(*size).text.splitlines()
    run.wait(3 * MINUTE)
    rows = run.page(*size).text.splitlines()
    assert rows[0].startswith("  LATE   ")
    title = rows.index(" Write down")
    assert all(row.startswith("  ") for row in rows[:title])  # the alarm has every row above it
    leave = next(place for place, row in enumerate(rows) if row.startswith("   9  Leave"))
    assert rows[title : leave + 1] == before[title : leave + 1]


def test_a_resumed_run_names_the_keys_that_tell_more(bench, every_state):
    run = in_the_tub(bench, every_state, resumed=True)
    page = run.page(80, 24).text
    assert "/ then 5 tells more." in page
    run.press("/", "5")
    assert "last entries of the log" in run.page(80, 24).text
    run.press("-", "-", "*", "1", *"wet", "enter")
    assert "note" in [entry.kind for entry in run.session.entries]
    assert "Resumed:" not in run.page(80, 24).text


def test_what_is_waited_for_says_the_keys_that_do_it_anyway_and_these_do_it(bench, every_state):
    run = in_the_tub(bench, every_state)
    run.wait(10 * MINUTE)
    run.press(*["enter"] * 5)
    run.wait(MINUTE)
    run.press("enter")
    page = run.page(80, 24).text
    assert "Nothing to do yet: too early, " in page
    assert "+ and then Enter: take out both anyway." in page.replace("\n ", " ")
    run.press("+", "enter")
    assert run.session.entries[-1].kind == "out"


def test_on_a_wide_board_an_open_run_is_told_in_full(bench):
    words = "arm 1–4, lever-l/r: step 12, Work the pits and dry patches with the brush, again"
    now = bench.clock.now()
    title = "Take a spare part in and match it to the original part"
    run = OpenRun(Path("run-1"), title, words, since_ms=now.utc_ms)
    row = open_block(Paper(200, 50), [run], now, bench.look).short[1].text
    assert title in row
    assert words in row
    assert row.rstrip().endswith("14:02")
    narrow = open_block(Paper(120, 40), [run], now, bench.look).short[1].text
    assert "…" in narrow
    assert len(narrow.rstrip()) <= 120


@pytest.mark.parametrize("size", [(110, 30), (120, 40), (200, 50)])
def test_long_tags_are_told_apart_and_the_next_steps_told_in_full_where_there_is_room(
    bench, tmp_path, size
):
    path = tmp_path / "long.yaml"
    path.write_text(LONG)
    parts = [f"small steel part {n}" for n in range(1, 7)]
    run = DrawnRun(bench, bench.begin(path, parts))
    page = run.page(*size)
    edge = min(100, size[0] * 55 // 100)
    left = "\n".join(row.text[:edge] for row in page.rows)
    right = "\n".join(row.text[edge:].rstrip() for row in page.rows)
    assert all(f" {n}]" in left for n in range(1, 7))
    assert all(f"part {n} " in right for n in range(1, 7))
    told = " ".join(right.replace("│", "").split())
    assert "3 Dry all of its faces with the warm air of the gun." in told
    assert "…" not in told.partition("next step")[2].partition(" log ")[0]
    run.press(".")
    for width in (60, 80, size[0]):
        listed = run.page(width, 24).text
        assert all(f" {n}]" in listed for n in range(1, 7)), listed


def test_before_a_load_stands_how_much_the_vessel_holds_by_the_vessels_book(bench, every_state):
    book = bench.shop.path / "vessels.yaml"
    run = DrawnRun(bench, bench.begin(every_state, [*ARMS, "arm 3"]))
    run.press("enter", "1")
    assert "etch tub, room for 3 of 3" in run.page(80, 24).text
    book.write_text("vessels:\n  - {id: tub, name: etch tub, holds: 2}\n")
    assert "etch tub, room for 2 of 2" in run.page(80, 24).text
    run.press(".", "1", "enter", "enter")
    assert "etch tub, room for 1 of 2" in run.page(80, 24).text
    book.write_text("vessels:\n  - {id: tub, name: etch tub, holds: 40}\n")
    assert "etch tub, room for 2 of 3" in run.page(80, 24).text


def test_the_act_of_a_late_alarm_is_never_cut_for_its_large_figures(bench, every_state):
    run = DrawnRun(bench, bench.begin(every_state, [*ARMS, "arm 3"]))
    run.press("enter", "1", ".", "1", "2", "enter", "enter", "+", "+")
    run.wait(15 * MINUTE)
    drawn = set()
    for width in range(60, 130, 3):
        rows = run.page(width, 30).text.splitlines()[:4]
        assert "Brush acid over dry patches" in rows[0], rows
        drawn.add("▀" in "".join(rows))
    assert drawn == {False, True}
