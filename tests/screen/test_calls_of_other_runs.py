"""A call of another run: its name, a key that goes there and back, and a page that stays put."""

import pytest
from screen_bench import press, settled, show_run, until
from test_wet_parts import JOB

from benchrun.dialogue.turns import Send
from benchrun.run import commands as c

SECOND = 1000


@pytest.fixture
def two_runs(bench, tmp_path):
    """A run with an arm in the tub for 30 s, and another one, not begun to be worked on."""
    path = tmp_path / "rinse.yaml"
    path.write_text(JOB)
    soaking = bench.begin(path, ["arm 1"], tag="soak")
    soaking.send(c.PutIn("etch", ("arm 1",), soaking.run.n - 1)).result()
    soaking.leave()
    other = tmp_path / "pack.yaml"
    text = JOB.replace("rinse-soon", "other-job").replace("Etch and rinse", "Rims of a cart")
    other.write_text(text.replace("tub", "bath"))
    bench.clock.wait(10 * SECOND)
    return bench.begin(other, ["rim 1", "rim 2"], tag="rims")


def kinds(bench, tag):
    from benchrun.load_run import read_kept
    from benchrun.record.folder import run_folders

    folder = next(one for one in run_folders(bench.shop.runs) if one.run.endswith(tag))
    return [entry.kind for entry in read_kept(folder)[1] if entry.kind not in ("seal", "beat")]


async def in_the_other(bench, pilot, session):
    """The work page of the other run, over a board that knows both."""
    await settled(pilot)
    await show_run(bench.app, session)


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_enter_goes_to_the_other_run_ready_for_its_act_and_minus_comes_back(
    bench, two_runs, size
):
    async with bench.app.run_test(size=size) as pilot:
        await in_the_other(bench, pilot, two_runs)
        bench.clock.wait(20 * SECOND)
        bench.app.screen.tick()
        top = bench.screen().splitlines()[0]
        assert top.startswith("  DUE   Etch and rinse: arm 1: take out of the etch tub, by 14:0")
        assert " Enter go to the alarm   0 silence" in "".join(bench.screen().splitlines()[-2:])
        await press(pilot, "enter")
        await until(bench, "- back to Rims of a cart")
        assert "Enter take out" in bench.screen()
        await press(pilot, "enter")
        await until(bench, "2  Rinse in running water.")
        await press(pilot, "enter", "minus")
        await until(bench, "Rims of a cart")
        assert bench.app.screen.session is two_runs
        assert "back to" not in bench.screen()
        assert not two_runs.left
    assert kinds(bench, "soak")[-2:] == ["out", "do"]


async def test_what_was_done_in_the_run_below_calls_no_more_from_above(bench, two_runs):
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await in_the_other(bench, pilot, two_runs)
        await press(pilot, "enter")  # rim 1 goes into the tub, at 10.6 s
        bench.clock.wait(30 * SECOND)
        bench.app.screen.tick()
        lines = [one.line for one in bench.app.alarm_book.standing]
        assert any("rim 1: take out" in line for line in lines)
        await press(pilot, "enter")  # to the other run, whose arm 1 is more urgent
        await until(bench, "- back to Rims of a cart")
        two_runs.send(c.Lift(("rim 1",), two_runs.run.n - 1)).result()
        bench.app.screen.tick()
        lines = [one.line for one in bench.app.alarm_book.standing]
        assert not any("rim 1: take out" in line for line in lines)


async def test_what_was_done_in_a_run_that_was_left_calls_no_more_before_the_next_look(
    bench, two_runs
):
    async def no_look():
        """The shop is not looked at meanwhile, as on a slow disk."""

    async with bench.app.run_test(size=(80, 24)) as pilot:
        await in_the_other(bench, pilot, two_runs)
        bench.clock.wait(20 * SECOND)
        bench.app.screen.tick()
        bench.app.screen_stack[-2].look_again = no_look
        await press(pilot, "enter")  # to the other run
        await until(bench, "Enter take out")
        await settled(pilot)
        await press(pilot, "enter")
        await until(bench, "2  Rinse in running water.")
        await press(pilot, "enter", "minus")
        await until(bench, "Rims of a cart")
        bench.app.screen.tick()
        lines = [one.line for one in bench.app.alarm_book.standing]
        assert not any("arm 1: take out" in line for line in lines)


async def test_what_another_window_did_calls_here_no_more(bench, two_runs):
    from benchrun.record.folder import run_folders
    from benchrun.session import take_up

    async with bench.app.run_test(size=(80, 24)) as pilot:
        await in_the_other(bench, pilot, two_runs)
        bench.clock.wait(20 * SECOND)
        bench.app.screen.tick()
        assert "arm 1: take out of the etch tub" in bench.screen()
        folder = next(one for one in run_folders(bench.shop.runs) if one.run.endswith("soak"))
        beside = take_up(bench.shop, folder, bench.person, bench.clock)
        beside.send(c.Lift(("arm 1",), beside.run.n - 1)).result()
        beside.leave()
        board = bench.app.screen_stack[-2]
        await board.look_again()
        bench.app.screen.tick()
        assert "take out of the etch tub" not in bench.screen()


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
@pytest.mark.parametrize("wait", [20, 200, 400])
async def test_the_page_under_an_alarm_does_not_move(bench, tmp_path, size, wait):
    path = tmp_path / "rinse.yaml"
    path.write_text(JOB)
    session = bench.begin(path, ["arm 1"])
    async with bench.app.run_test(size=size) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter")
        bench.clock.wait(wait * SECOND)
        bench.app.screen.tick()
        assert bench.app.alarm_book.first is not None
        called = places(bench)
        assert len(called) == 4
        await press(pilot, "0")
        assert bench.app.alarm_book.first is None
        assert places(bench) == called


def places(bench):
    """The rows in which what is read from afar stands."""
    words = (" 1  Keep it wet.", "latest 5 min", "━━━", "etch tub  [")
    rows = bench.screen().split("\n")
    return {word: at for word in words for at, row in enumerate(rows) if word in row}


async def test_an_alarm_of_the_run_below_leads_back_down_and_leaves_the_one_above(bench, two_runs):
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await in_the_other(bench, pilot, two_runs)
        await press(pilot, "enter")  # rim 1 goes in, at 10.6 s; arm 1 is due at 20 s
        bench.clock.wait(10 * SECOND)
        bench.app.screen.tick()
        await press(pilot, "enter")
        await until(bench, "- back to Rims of a cart")
        above = bench.app.screen.session
        await press(pilot, "enter", "enter")  # taken out, rinsed
        bench.clock.wait(12 * SECOND)
        bench.app.screen.tick()
        assert "Rims of a cart: rim 1: take out of the etch bath" in bench.screen()
        await press(pilot, "enter")
        await until(bench, "Enter take out rim 1")
        assert bench.app.screen.session is two_runs
        assert above.left
        assert "back to" not in bench.screen()
        await settled(pilot)  # a page that changes just now takes no Enter
        await press(pilot, "enter")
        await until(bench, "taken out")
    assert kinds(bench, "rims")[-1] == "out"


@pytest.mark.parametrize("band", [20, 250, 301])
async def test_a_narrow_window_says_the_act_and_by_when_whatever_the_names_are(
    bench, tmp_path, band
):
    path = tmp_path / "rinse.yaml"
    path.write_text(JOB.replace("holds: 1", "holds: 4"))
    arms = [f"left stub axle {n}" for n in "ABC"]
    session = bench.begin(path, arms)
    session.send(c.PutIn("etch", tuple(arms), session.run.n - 1)).result()
    async with bench.app.run_test(size=(60, 16)) as pilot:
        await show_run(bench.app, session)
        bench.clock.wait(band * SECOND)
        bench.app.screen.tick()
        await press(pilot, "asterisk")  # a page whose first row alone gives way
        told = "".join(bench.screen().splitlines()[:2])
        assert "take out of the etch tub" in told
        assert "by 14:07" in told or "1 s past 5 min" in told
        assert "…" not in told


async def test_what_was_just_done_calls_no_more_before_the_next_tick(bench, two_runs):
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await in_the_other(bench, pilot, two_runs)
        await press(pilot, "enter")  # rim 1 goes in
        bench.clock.wait(301 * SECOND)
        bench.app.screen.tick()
        assert bench.screen().startswith("  LATE   ")
        bench.app.screen.tick = lambda: None
        two_runs.send(c.Lift(("rim 1",), two_runs.run.n - 1)).result()
        await bench.app.screen.deliver(Send(c.KeepNote("Out.", "")))
        lines = [one.line for one in bench.app.alarm_book.standing]
        assert not any("rim 1: take out" in line for line in lines)
