"""Leaving the program while clocks run is asked once, and names what will not call."""

import shutil

from screen_bench import press, settled, show_run

from benchrun.run import commands as c
from benchrun.screen.board.screen import BoardScreen

LEAVE = "Leave while 2 clocks run"


def soaking(bench, every_state):
    """A run with one part in the tub."""
    shutil.copy(every_state, bench.shop.path / "procedures" / "every-state.yaml")
    session = bench.begin(every_state, ["arm"])
    for command in (
        c.Do("wipe", ("arm",), 1),
        c.Do("cracks", ("arm",), 2, finding="sound"),
        c.PutIn("etch", ("arm",), 3),
    ):
        session.send(command).result()
    return session


async def test_the_board_asks_once_and_names_what_will_not_call(bench, every_state):
    soaking(bench, every_state).leave()
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "full_stop")
        page = bench.screen()
        assert LEAVE in page
        assert "arm: take out of the etch tub" in page
        await press(pilot, "minus")
        assert "ON THE CLOCK" in bench.screen()
        assert bench.app.is_running
        await press(pilot, "full_stop", "enter")
        assert not bench.app.is_running


async def test_leaving_the_program_from_a_run_asks_and_a_second_time_is_a_yes(bench, every_state):
    session = soaking(bench, every_state)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await show_run(bench.app, session)
        await pilot.press("f10")
        assert LEAVE in bench.screen()
        assert not session.left
        await pilot.press("f10")
        assert session.left


async def test_a_run_is_left_for_the_board_unasked_as_the_board_calls(bench, every_state):
    session = soaking(bench, every_state)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await show_run(bench.app, session)
        await press(pilot, "escape")
        assert session.left
        assert isinstance(bench.app.screen, BoardScreen)


async def test_nothing_is_asked_where_no_clock_runs(bench, every_state):
    bench.begin(every_state, ["arm"]).leave()
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "full_stop")
        assert not bench.app.is_running


async def test_clocks_that_call_and_those_that_do_not_stand_in_one_column(bench, every_state):
    soaking(bench, every_state).leave()
    bench.clock.wait(150_000)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "full_stop")
        rows = [row for row in bench.screen().splitlines()[2:] if "arm: " in row]
        assert len(rows) == 2, bench.screen()
        assert [row[:8].strip() for row in rows] == ["LATE", ""]
        assert len({row.index("arm: ") for row in rows}) == 1, rows
