"""Clocks set wrong, sleep, another zone, five alarms at once: all told, none lost, pages usable."""

import datetime as dt

import pytest
from screen_bench import Bench, press, settled, show_run, until
from test_wet_parts import JOB

from benchrun.run import commands as c
from benchrun.screen.theme import Appearance

SECOND, HOUR = 1000, 3_600_000
YEAR = 365 * 24 * HOUR


@pytest.fixture
def soaking(bench, tmp_path):
    """An arm in the tub, 20 s to 5 min."""
    path = tmp_path / "rinse.yaml"
    path.write_text(JOB)
    session = bench.begin(path, ["arm 1"])
    session.send(c.PutIn("etch", ("arm 1",), session.run.n - 1)).result()
    return session


@pytest.mark.parametrize("step", [-HOUR, HOUR, -YEAR, YEAR])
async def test_a_wall_clock_set_wrong_moves_no_alarm_and_no_silence(bench, soaking, step):
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, soaking)
        bench.clock.wait(10 * SECOND)
        bench.clock.step(step)
        bench.app.screen.tick()
        assert bench.app.alarm_book.first is None
        bench.clock.wait(11 * SECOND)
        bench.app.screen.tick()
        assert bench.screen().startswith("  DUE   arm 1: take out of the etch tub")
        await press(pilot, "0")
        bench.clock.step(-2 * step)
        bench.clock.wait(50 * SECOND)
        bench.app.screen.tick()
        assert bench.app.alarm_book.first is None
        bench.clock.wait(11 * SECOND)
        bench.app.screen.tick()
        assert bench.screen().startswith("  DUE   ")
        bench.clock.wait(4 * 60 * SECOND)
        bench.app.screen.tick()
        assert bench.screen().startswith("  LATE   Take out of the etch tub")
        await press(pilot, "enter")
    (out,) = [entry.data for entry in soaking.entries if entry.kind == "out"]
    assert next(iter(out.each.values())).verdict == "late"


async def test_after_sleep_what_became_late_calls_at_the_first_tick(bench, soaking):
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, soaking)
        rung = []
        bench.app.bell = lambda: rung.append(bench.clock.now().up_ms)
        bench.clock.sleep(HOUR)
        bench.app.screen.tick()
        assert bench.screen().startswith("  LATE   Take out of the etch tub")
        assert "55 min past 5 min" in bench.screen()
        assert len(rung) == 1
        await press(pilot, "enter")
        assert "1  Go on as it is" in bench.screen()


async def test_the_alarm_tells_the_time_of_the_zone_of_the_bench(tmp_path):
    bench = Bench(tmp_path, look=Appearance(zone=dt.timezone(dt.timedelta(hours=9, minutes=30))))
    path = tmp_path / "rinse.yaml"
    path.write_text(JOB)
    session = bench.begin(path, ["arm 1"])
    session.send(c.PutIn("etch", ("arm 1",), session.run.n - 1)).result()
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        bench.clock.wait(21 * SECOND)
        bench.app.screen.tick()
        await settled(pilot)
        assert "take out of the etch tub, by 23:37" in bench.screen()  # 14:02 UTC and five minutes
        await press(pilot, "enter")
        assert "left, by 23:33" in bench.screen()


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_five_alarms_at_once_are_all_told_and_taken_one_after_the_other(
    bench, tmp_path, size
):
    path = tmp_path / "rinse.yaml"
    path.write_text(JOB)
    sessions = []
    for number in range(1, 6):
        session = bench.begin(path, [f"arm {number}"], tag=f"run{number}")
        session.send(c.PutIn("etch", (f"arm {number}",), session.run.n - 1)).result()
        bench.clock.wait(SECOND)
        session.leave()
        sessions.append(session)
    async with bench.app.run_test(size=size) as pilot:
        await settled(pilot)
        bench.clock.wait(400 * SECOND)
        bench.app.screen.tick()
        await until(bench, "ON THE CLOCK")
        book = bench.app.alarm_book
        assert [one.clock.parts for one in book.standing] == [(f"arm {n}",) for n in range(1, 6)]
        what, where, below = bench.screen().splitlines()[:3]  # the board gives two rows
        assert what.startswith("  LATE   Etch and rinse: arm 1: take out of the etch tub")
        assert where.startswith("  1 min 45 s past 5 min  also ")
        assert where.rstrip().endswith("  Enter go there   0 silence")
        others = ["LATE arm 2, + 3 more", "LATE arm 2, LATE arm 3, LATE arm 4, + 1 more"]
        assert f"also {others[size[0] == 120]}  " in where
        assert below.startswith(" ON THE CLOCK")
        assert len(bench.screen().splitlines()) <= size[1]
        for number in range(1, 6):
            await press(pilot, "enter")
            await until(bench, "Enter take out")
            assert bench.app.screen.session.run.parts == (f"arm {number}",)
            await press(pilot, "enter", *(["1"] if number == 1 else []))  # who works, asked once
            await until(bench, "Go on as it is")
            bench.app.screen.tick()
            if number < 5:
                assert f"arm {number + 1}   Etch and rinse" in bench.screen()
        assert len(bench.app.screen_stack) <= 7
        bench.app.leave_runs()
