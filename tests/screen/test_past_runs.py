"""Questions over past runs, asked on the screen: from the board and from the step in hand."""

import asyncio
import shutil
import sys
import threading
import time
from decimal import Decimal
from pathlib import Path

import pytest
from patience import PATIENCE_S
from screen_bench import WORD, ascii_look, press, settled, show_run, tick_lines, until

from benchrun.dialogue.tables import TrendCurve
from benchrun.dialogue.turns import Progress, called
from benchrun.history.estimates import keep_up, run_words
from benchrun.run import commands as c
from benchrun.screen.progress_pane import ProgressPane
from benchrun.screen.text_line import Paper
from benchrun.screen.widgets.trend import ROWS, room, trend_plot

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "history"))

from synthetic import Log

MIN = 60_000
NUMBERS = ("61.960", "61.962", "61.959", "61.961", "61.960", "61.990", "61.960", "61.961")


@pytest.fixture
def seats(bench):
    """Three runs that measured one bore, the last of them still open."""
    for number, day in enumerate(("2026-11-02", "2026-11-09", "2026-11-16")):
        log = Log(f"{day}-seats-aaa{number}", f"{day}T08:00:00", "seats", ("hub", "drum"))
        for value in NUMBERS:
            log.read("bore-1", {"hub": value}, "A", tool="gauge-2")
        log.add("skip", {"step": "wipe", "parts": ["hub"], "reason": f"no rag {number}"})
        if number < 2:
            log.close()
        log.write(bench.shop.path / "runs", sealed=number < 2)
    return bench


def damage(bench):
    log = bench.shop.path / "runs" / "2026-11-09-seats-aaa1" / "log.jsonl"
    raw = log.read_bytes()
    log.write_bytes(raw.replace(b'"61.962"', b'"61.963"', 1))


async def ask(bench, pilot, *keys):
    await settled(pilot)
    await press(pilot, "slash", "4")
    for key in keys:
        await press(pilot, key)
        await until_answered(bench)


async def until_answered(bench):
    ends = time.monotonic() + PATIENCE_S
    while isinstance(bench.app.screen.panes[-1], ProgressPane):
        assert time.monotonic() < ends, bench.screen()
        await asyncio.sleep(0.002)


async def test_a_reading_is_shown_over_all_runs_with_its_trend(seats):
    async with seats.app.run_test(size=(120, 40)) as pilot:
        await ask(seats, pilot, "1", "1", "1")
        text = seats.screen()
    assert "24 values: 21 inside and 3 outside" in text
    assert "● 3 beyond them" in text
    assert text.count(" ● ") >= 3
    rows = [row for row in text.splitlines() if "hub A" in row]
    assert rows[0].startswith("   2026-11-16 08:08") or " ● 2026-11-16" in "".join(rows[:3])
    assert all(number + " mm" in text for number in set(NUMBERS))


async def test_a_rehearsal_is_told_as_such_and_is_no_verdict(seats):
    log = Log("2026-11-17-seats-aaa9", "2026-11-17T08:00:00", rehearsal="a trial of the shop")
    log.read("bore-1", {"hub": "61.958"}, "A", tool="gauge-2")
    log.write(seats.shop.path / "runs")
    async with seats.app.run_test(size=(120, 40)) as pilot:
        await ask(seats, pilot, "1", "1", "1")
        text = seats.screen()
    assert "1 from rehearsals, not from real work" in text
    (row,) = (row for row in text.splitlines() if "61.958 mm" in row and "2026-11-17" in row)
    assert row.split()[-3:] == ["inside", "2026-11-17-seats-aaa9,", "rehearsal"]


async def test_a_page_with_ascii_alone_holds_nothing_else(seats):
    seats.look = ascii_look()
    app = seats.new_app()
    async with app.run_test(size=(80, 24)) as pilot:
        await ask(seats, pilot, "1", "1", "1")
        text = seats.screen()
    assert text.isascii()
    assert "* 3 beyond them" in " ".join(text.split())


async def test_a_damaged_run_is_told_and_in_no_answer(seats):
    damage(seats)
    async with seats.app.run_test(size=(80, 24)) as pilot:
        await ask(seats, pilot, "1", "1", "1")
        text = seats.screen()
        assert "skipped, damaged  2026-11-09-seats-aaa1" in text
        assert "16 values" in text
        await press(pilot, "minus", "minus", "minus", "6")
        await until_answered(seats)
        assert "2 runs, 16 values, 1 damaged run skipped." in seats.screen()
        await press(pilot, "2")
        assert "2026-11-09-seats-aaa1" in seats.screen()


async def test_a_parts_life_step_times_an_instrument_and_deviations_are_asked(seats):
    async with seats.app.run_test(size=(80, 24)) as pilot:
        await ask(seats, pilot, "2", "3")
        assert "The life of hub" in seats.screen()
        assert "cast hub" in seats.screen()
        await press(pilot, "minus", "minus", "3")
        await until_answered(seats)
        await press(pilot, "1")
        await until_answered(seats)
        assert "Step times: Measure seats" in seats.screen()
        await press(pilot, "minus", "minus", "4")
        await until_answered(seats)
        await press(pilot, "1")
        await until_answered(seats)
        assert "24 readings of 3 parts in 3 runs" in seats.screen()
        await press(pilot, "minus", "minus", "5")
        await until_answered(seats)
        await press(pilot, "1")
        await until_answered(seats)
        assert "skipped" in seats.screen()
        assert "no rag 2" in seats.screen()


async def test_in_a_run_the_part_in_hand_is_asked_about_at_once(bench, every_state):
    past = bench.begin(every_state, ["arm"], "past")
    past.leave()
    session = bench.begin(every_state, ["arm"], "next")
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "slash", "8")
        assert "This part" in bench.screen()
        await press(pilot, "1")
        await until(bench, "The life of arm")
        await until_answered(bench)
        assert bench.screen().count("in work") == 2
        await press(pilot, "enter", "minus", "minus")
        assert "1 of 9" in bench.screen()


async def test_a_step_says_how_long_it_took_in_past_runs(bench, every_state):
    past = bench.begin(every_state, ["arm 1", "arm 2"], "past")
    bench.clock.wait(8 * MIN)
    past.send(c.Do("wipe", ("arm 1", "arm 2"), past.run.n - 1)).result()
    past.leave()
    keep_up(bench.shop.path)
    bench.clock.wait(60 * MIN)
    session = bench.begin(every_state, ["arm"], "next")
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await until(bench, "takes     about 4 min a part (in 1 past run)")
        await press(pilot, "enter")
        assert "takes" not in bench.screen()


async def test_the_board_reads_on_in_passing_and_the_start_tells_how_long_past_runs_took(
    bench, every_state
):
    shutil.copy(every_state, bench.shop.path / "procedures" / "every-state.yaml")
    past = bench.begin(every_state, ["arm"], "past")
    bench.clock.wait(8 * MIN)
    past.send(c.Do("wipe", ("arm",), past.run.n - 1)).result()
    past.send(c.Put(("arm",), past.run.n - 1, "scrap", "cracked")).result()
    bench.clock.wait(4 * MIN)
    tick_lines(past)
    past.sign(c.Close({}, "Ada Brook: done"), WORD).result()
    past.leave()
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        ends = time.monotonic() + PATIENCE_S
        while not run_words(bench.shop.path, past.procedure.id):
            assert time.monotonic() < ends, "the board does not read on"
            await asyncio.sleep(0.002)
        await press(pilot, "1")
        await until(bench, "past runs\n   at work about 8 min (in 1 past run of 1 part), from")
        assert "from beginning to close 12 min" in " ".join(bench.screen().split())


async def test_a_value_that_no_run_holds_is_told_and_left_again(seats):
    async with seats.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "slash", "4", "2")
        await until(seats, "Another")
        await press(pilot, "1", *"gate", "enter")
        await until(seats, "no run knows a part 'gate'")
        assert any(row.startswith("   gate") for row in seats.screen().splitlines())  # to be mended
        await press(pilot, "escape")
        assert "Another" in seats.screen()


async def test_keys_and_clocks_go_on_while_the_index_is_read_and_leaving_ends_the_reading(seats):
    reading, go_on, ended = threading.Event(), threading.Event(), threading.Event()

    progress = Progress("Something slow", before="b", kept="k", after="a")

    def slow():
        reading.set()
        go_on.wait(PATIENCE_S)
        ended.set()
        return 1

    def flow():
        yield from called(slow, progress=progress)
        raise AssertionError("an answer that nobody waits for is not shown")

    async with seats.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        screen = seats.app.screen
        await screen.converse(flow)
        await asyncio.to_thread(reading.wait, 20)
        screen.paint()
        assert "Something slow" in seats.screen()
        await press(pilot, "minus")
        assert "Something slow" not in seats.screen()
        await press(pilot, "slash")
        assert "Past runs" in seats.screen()
        go_on.set()
        await asyncio.to_thread(ended.wait, 20)
        await pilot.pause()
        assert "Past runs" in seats.screen()


def cells(paper, curve):
    """The plot as its cells, without the labels at its left."""
    lead = 1 + max(map(len, curve.labels)) + 2
    return [line.text[lead:] for line in trend_plot(paper, curve)]


@pytest.mark.parametrize("ascii_only", [False, True])
def test_every_value_stands_in_its_column_at_the_height_of_its_number(ascii_only):
    numbers = tuple(Decimal(number) for number in NUMBERS)
    curve = TrendCurve(numbers, Decimal("61.964"), Decimal("61.945"), Decimal("61.983"))
    paper = Paper(80, 24, ascii_only)
    rows = cells(paper, curve)
    assert len(rows) == ROWS
    top, bottom = Decimal("61.990"), Decimal("61.945")
    for place, number in enumerate(numbers):
        column = 2 * place + 1
        found = [at for at, row in enumerate(rows) if row[column] in "∘●" + "oO*"]
        exact = (top - number) / (top - bottom) * (ROWS - 1)
        assert len(found) == 1
        assert abs(found[0] - exact) <= Decimal("0.5")
        sign = rows[found[0]][column]
        bead = paper.signs.chosen
        assert (sign == bead) == (number > curve.upper)


def test_of_more_values_than_there_is_room_for_the_latest_stand():
    numbers = tuple(Decimal(number) for number in range(500))
    curve = TrendCurve(numbers, Decimal(250), Decimal(0), Decimal(499))
    paper, labels = Paper(80, 24), curve.labels
    rows = cells(paper, curve)
    assert max(map(len, rows)) <= room(paper, labels) + 1
    first = numbers[-room(paper, labels)]
    at = next(i for i, row in enumerate(rows) if row[1] == "∘")
    assert abs(at - (499 - first) / 499 * (ROWS - 1)) <= Decimal("0.5")
    assert all(line.width <= 80 for line in trend_plot(paper, curve))
