"""Small windows: 60×16 keeps clock, caution, step and alarm; a smaller one the alarm alone."""

import itertools

import pytest
from run_walk import to_etch
from screen_bench import press, settled, show_run

from benchrun.run import commands as c
from benchrun.screen.reader_page import ReadPane
from benchrun.screen.text_line import BLANK

MINUTE = 60_000
RUN_OUT = """\
procedure: run-out
title: Run-out of a disc
revision: 1
scope: Invented, for tests only.
batch: {part: disc}
stages:
  - stage: Measure
    steps:
      - reading: Measure the run-out.
        id: run-out
        unit: mm
        places: {angles: [0, 45, 90, 135, 180, 225, 270, 315]}
        high: 0.1 mm
        outside: set aside
"""


def kinds(session) -> list[str]:
    return [one.kind for one in session.entries if one.kind not in ("seal", "beat")]


@pytest.mark.parametrize("size", [(60, 16), (70, 18), (80, 23)])
async def test_what_matters_stays_in_a_small_window(bench, every_state, size):
    session = bench.begin(every_state, ["arm 1", "arm 2", "arm 3"])
    async with bench.app.run_test(size=size) as pilot:
        await show_run(bench.app, session)
        await to_etch(pilot)
        for wait, call in ((2, "  DUE   all 3: tend"), (20, "  LATE   ")):
            bench.clock.wait(wait * MINUTE)
            bench.app.screen.tick()
            rows = bench.screen().splitlines()
            assert rows[0].startswith(call)
            assert wait < 20 or "ake out of the etch tub" in rows[0]
            assert len(rows) == size[1]
            assert any(" 3  Keep every face wet." in row for row in rows)
            assert any("WARNING   Phosphoric acid burns" in row for row in rows)
            assert any("▀▀██" in row for row in rows)
            assert any("0 silence" in row for row in rows[-2:])
        assert any(" Enter take out all 3" in row for row in rows[-2:])
        await press(pilot, "enter")
    assert kinds(session)[-1] == "out"


async def test_a_smaller_window_shows_the_alarm_and_takes_its_key_alone(bench, every_state):
    session = bench.begin(every_state, ["arm 1"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_etch(pilot)
        await pilot.resize_terminal(44, 9)
        bench.clock.wait(22 * MINUTE)
        bench.app.screen.tick()
        rows = bench.screen().splitlines()
        assert rows[0].startswith("  LATE   Take out of the etch tub")
        assert "0 silence" in rows[3]
        assert "Enter" not in rows[3]
        before = kinds(session)
        await press(pilot, "enter", "1")
        assert kinds(session) == before
        assert bench.app.alarm_book.first is not None
        first = bench.app.alarm_book.first.key
        await press(pilot, "0")
        assert first not in [one.key for one in bench.app.alarm_book.standing]


async def test_the_board_keeps_every_open_run_and_a_way_to_begin(bench, every_state):
    arms = ("arm 1", "arm 2")
    for tag in ("aaaa", "bbbb", "cccc", "dddd"):
        session = bench.begin(every_state, arms, tag)
        session.send(c.Do("wipe", arms, session.run.n - 1)).result()
        session.send(c.Do("cracks", arms, session.run.n - 1, finding="sound")).result()
        session.send(c.PutIn("etch", arms, session.run.n - 1)).result()
        session.leave()
    async with bench.app.run_test(size=(60, 16)) as pilot:
        await settled(pilot)
        rows = bench.screen().splitlines()
        under_way = rows[rows.index(" UNDER WAY") + 1 :][:4]
        assert [row[1] for row in under_way] == ["1", "2", "3", "4"]
        clocks = rows[rows.index(" ON THE CLOCK") + 1 : rows.index(" UNDER WAY")]
        assert [row[1] for row in clocks[:3]] == ["1", "2", "3"]  # each with the number of its run
        assert any(row.startswith((" 5 ", " 9 ")) for row in rows)
        await press(pilot, "9")
        listed = [row.split()[0] for row in bench.screen().splitlines() if row.startswith("   ")]
        assert [one for one in listed if one.isdigit()] == list("123456789")


@pytest.mark.parametrize("size", [(60, 16), (80, 24)])
async def test_an_alarm_takes_no_key_from_the_rows_of_keys(bench, every_state, size):
    session = bench.begin(every_state, ["arm 1"])
    session.send(c.Do("wipe", ("arm 1",), session.run.n - 1)).result()
    session.send(c.Do("cracks", ("arm 1",), session.run.n - 1, finding="sound")).result()
    session.send(c.PutIn("etch", ("arm 1",), session.run.n - 1)).result()
    session.leave()
    async with bench.app.run_test(size=size) as pilot:
        await settled(pilot)
        for keys, wanted in (
            ((), ("* the shop", "/ look up", ". leave", "F8 first aid")),
            (("asterisk", "2", "1"), ("* add an instrument", "- back", "F8 first aid")),
        ):
            await press(pilot, *keys)
            before = bench.screen().splitlines()
            bench.clock.wait(0 if keys else 23 * MINUTE)
            bench.app.screen.tick()
            rows = bench.screen().splitlines()
            assert "LATE" in rows[0], rows
            foot = "\n".join(rows[-3:])
            assert all(one in foot for one in wanted), foot
            assert "Enter go to the alarm" in foot
            assert len(rows) == len(before) == size[1]


async def test_a_page_to_read_begins_where_it_would_in_a_window_of_its_size(bench, every_state):
    session = bench.begin(every_state, ["arm 1"])
    async with bench.app.run_test(size=(60, 16)) as pilot:
        screen = await show_run(bench.app, session)
        pane = ReadPane(screen, "Forty", lambda paper: [paper.line(str(n)) for n in range(40)])
        screen.push(pane)
        screen.paint()
        await press(pilot, "+", "+", "+")
        assert "page 4 of 4" in bench.screen()
        await pilot.resize_terminal(60, 30)
        await pilot.pause()
        rows = bench.screen().splitlines()
        assert rows[0].endswith("page 2 of 2")
        assert "25" in rows
        assert "24" not in rows
        await pilot.resize_terminal(60, 50)
        await pilot.pause()
        rows = bench.screen().splitlines()
        assert "0" in rows
        assert "39" in rows
        await pilot.resize_terminal(60, 16)
        await pilot.pause()
        await press(pilot, "+", "-")
        assert "page 1 of 4" in bench.screen()


async def test_a_message_as_wide_as_the_window_hides_no_first_aid(bench, every_state):
    session = bench.begin(every_state, ["arm 1"])
    async with bench.app.run_test(size=(60, 16)) as pilot:
        screen = await show_run(bench.app, session)
        for words in ("Short.", "x" * 55, "word " * 20, "y" * 58):
            screen.say(words)
            screen.paint()
            assert "F8 first aid" in bench.screen(), words
        assert len(bench.screen().splitlines()) <= 16
        await press(pilot, "f8")


async def test_the_place_that_is_typed_is_among_those_that_are_shown(bench, tmp_path):
    path = tmp_path / "run-out.yaml"
    path.write_text(RUN_OUT)
    session = bench.begin(path, ["disc"])
    async with bench.app.run_test(size=(60, 16)) as pilot:
        await show_run(bench.app, session)
        for place in ("0°", "45°", "90°", "135°", "180°", "225°", "270°", "315°"):
            await press(pilot, *"0.0")
            head, typed = next(
                (above, row)
                for above, row in itertools.pairwise(bench.screen().splitlines())
                if above.split() and above.split()[0].endswith("°")
            )
            end = f"{head} ".index(f" {place} ") + len(place) + 1
            assert typed[:end].endswith(("0.0", "0.0▏")), place
            await press(pilot, "2", "enter")
    assert session.run.markers["disc"].values


def begin_rows(paper) -> list:
    """What stands before a begin: sentences, a list longer than a small page, sentences again."""
    things = ", ".join(f"{name} {n}" for name in ("cap", "plug", "tin") for n in range(1, 24))
    rows = paper.paragraph("It takes small parts from dirty to coated and cured. " * 2)
    rows += [BLANK, *paper.paragraph("Acid burns skin and may well destroy an eye. " * 9)]
    rows += [BLANK, *paper.paragraph(f"{things}.")]
    return rows + paper.paragraph("Extraction runs, and somebody is in call. " * 12)


@pytest.mark.parametrize("size", [(60, 16), (80, 24)])
async def test_a_page_before_a_begin_never_starts_in_mid_sentence(bench, every_state, size):
    session = bench.begin(every_state, ["arm 1"])
    async with bench.app.run_test(size=size) as pilot:
        screen = await show_run(bench.app, session)
        screen.push(ReadPane(screen, "Before you begin", begin_rows))
        screen.paint()
        pages = []
        while "+ on" in bench.screen():
            pages.append(bench.screen().splitlines()[2:-1])
            await press(pilot, "+")
        pages.append(bench.screen().splitlines()[2:-1])
    assert len(pages) >= 2
    for page, after in itertools.pairwise(pages):
        assert [row for row in page if row][-1].endswith((".", ",")), page
        assert after[0]
