"""A second window on a run that is being written: it follows, refuses, and may take the run up."""

import asyncio

from screen_bench import press, settled, tick_lines

from benchrun.run import commands as c
from benchrun.screen.run.follow import AlongScreen
from benchrun.screen.run.screen import RunScreen
from benchrun.session import Kept

ARMS = ("arm 1", "arm 2", "arm 3", "arm 4")


async def shows(bench, words: str) -> None:
    """Let seconds pass, and in each be read what was written, until words stand on the screen."""
    for _ in range(200):
        bench.clock.wait(1000)
        if isinstance(bench.app.screen, AlongScreen):
            await asyncio.wrap_future(bench.app.screen.along.tick())
        bench.app.screen.tick()
        if words in bench.screen():
            return
        await asyncio.sleep(0.001)
    raise AssertionError(f"{words!r} did not come:\n{bench.screen()}")


def done(session, command) -> None:
    """Something done in the window that writes."""
    assert isinstance(session.send(command).result(), Kept)


def wiped(session) -> None:
    done(session, c.Do("wipe", ARMS, session.run.n - 1))


def put_in(session) -> None:
    wiped(session)
    done(session, c.Do("cracks", ARMS[:1], session.run.n - 1, finding="sound"))
    done(session, c.PutIn("etch", ARMS[:1], session.run.n - 1))


async def read_along(bench, pilot):
    await settled(pilot)
    await press(pilot, "1")
    assert isinstance(bench.app.screen, AlongScreen)


async def test_opening_a_run_that_another_window_writes_reads_along(bench, every_state):
    session = bench.begin(every_state, ARMS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await read_along(bench, pilot)
        assert "view only: run is open in another window" in bench.screen()
        assert "1  Wipe every part dry." in bench.screen()
        wiped(session)
        await shows(bench, "2  Look for cracks at every radius.")
    session.leave()


async def test_every_act_is_refused_with_one_line_and_nothing_is_written(bench, every_state):
    session = bench.begin(every_state, ARMS)
    before = session.folder.log.read_bytes()
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await read_along(bench, pilot)
        for key in ("enter", "1", "5", "*", "w", ".", "s", "x"):
            await press(pilot, key)
            assert "Nothing is recorded from here" in bench.screen(), key
            await press(pilot, "/", "escape")
            assert "Nothing is recorded from here" not in bench.screen()
        # A sum may be looked up here, but not written down as a note.
        refused = bench.app.screen.session.send(c.KeepNote("x", "")).result()
        assert refused.text.startswith("Nothing is recorded from here")
        assert session.folder.log.read_bytes() == before
    session.leave()


async def test_a_clock_that_was_started_in_the_other_window_runs_here(bench, every_state):
    session = bench.begin(every_state, ARMS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await read_along(bench, pilot)
        put_in(session)
        await shows(bench, "0:05")
        await shows(bench, "0:09")
    session.leave()


async def test_when_the_writer_lets_go_enter_takes_the_run_up(bench, every_state):
    session = bench.begin(every_state, ARMS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await read_along(bench, pilot)
        session.leave()
        await shows(bench, "The other window has left this run. Enter carries on here.")
        await press(pilot, "enter")
        while isinstance(bench.app.screen, AlongScreen):
            await asyncio.sleep(0.001)
        taken = bench.app.screen
        assert isinstance(taken, RunScreen)
        await press(pilot, "enter", "1")  # the first entry asks who works
        kinds = [one.kind for one in taken.session.entries]
        assert kinds == ["open", "seal", "seal", "seal", "do"]


async def test_a_third_window_that_was_quicker_is_told(bench, every_state):
    session = bench.begin(every_state, ARMS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await read_along(bench, pilot)
        session.leave()
        await shows(bench, "has left this run")
        with session.folder.open_log():
            await press(pilot, "enter")
            assert "another window" in " ".join(bench.screen().split())
            assert isinstance(bench.app.screen, AlongScreen)


async def test_a_run_that_is_closed_in_the_other_window_is_shown_as_closed(bench, every_state):
    session = bench.begin(every_state, ARMS)
    reasons = dict.fromkeys(ARMS, "the day is over")
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await read_along(bench, pilot)
        tick_lines(session)
        session.sign(c.Close(reasons, says="Ada Brook: closed."), "1234").result()
        assert session.run.ended
        await shows(bench, "closed")
        await press(pilot, "enter")
        assert not isinstance(bench.app.screen, AlongScreen)


async def test_a_log_that_is_damaged_meanwhile_is_told(bench, every_state):
    session = bench.begin(every_state, ARMS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await read_along(bench, pilot)
        with session.folder.log.open("ab") as file:
            file.write(b"what is this\n")
        await shows(bench, "it is not JSON")
    session.leave()
