"""The second that passes on a page: once for each screen."""

from pathlib import Path

import pytest
from screen_bench import Bench, settled, show_run

from benchrun.screen.bench_screen import TICK_S, BenchScreen
from benchrun.screen.board.screen import BoardScreen
from benchrun.screen.book.screen import BookScreen
from benchrun.screen.run.screen import RunScreen

EVERY_STATE = Path(__file__).parent / "procedures" / "every-state.yaml"


@pytest.fixture
def ticking(monkeypatch):
    """The screens that asked for a tick every second, once for each time that they did."""
    asked = []
    set_interval = BenchScreen.set_interval

    def counted(self, interval, callback, **kwargs):
        if interval == TICK_S and callback == self.tick:
            asked.append(type(self))
        return set_interval(self, interval, callback, **kwargs)

    monkeypatch.setattr(BenchScreen, "set_interval", counted)
    return asked


async def test_each_screen_ticks_once_a_second(tmp_path, ticking):
    bench = Bench(tmp_path)
    session = bench.begin(EVERY_STATE, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await show_run(bench.app, session)
        await bench.app.push_screen(BookScreen(bench.app, bench.shop))
        await settled(pilot)
        assert ticking == [BoardScreen, RunScreen, BookScreen]
        bench.app.leave_runs()


async def test_the_shop_is_looked_at_every_tenth_second(tmp_path):
    bench = Bench(tmp_path)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        board, looks = bench.app.screen, []
        look_again = board.look_again

        async def counted():
            looks.append(bench.clock.now())
            await look_again()

        board.look_again = counted
        for _ in range(25):
            bench.clock.wait(1000)
            board.tick()
            await pilot.pause()
        assert len(looks) == 2
