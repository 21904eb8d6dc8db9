"""A run is left and taken up again; what is looked up lies on top of it."""

from run_walk import ARMS
from screen_bench import press, settled, show_run, until
from textual.events import Key
from textual.keys import key_to_character


async def test_the_run_is_left_and_taken_up_where_it_stood(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    session.leave()
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await press(pilot, "1")
        assert "Resumed: last entry 14:02" in bench.screen()
        assert "nobody named yet" in bench.screen()
        await press(pilot, "enter")
        assert "Who works" in bench.screen()
        await press(pilot, "1")
        assert " 2 of 9" in bench.screen()
        assert "Ada Brook" in bench.screen()
        assert "Resumed" not in bench.screen()
        await press(pilot, "asterisk", "9")
        assert "UNDER WAY" in bench.screen()
        again = bench.new_app()
    async with again.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await press(pilot, "1")
        assert " 2 of 9" in bench.screen()
        again.leave_runs()


async def test_a_second_that_passes_while_a_run_is_left_does_no_harm(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        screen = await show_run(bench.app, session)
        bench.app.leave_runs()
        before = session.run.n
        screen.tick()
        await press(pilot, "enter")
        assert session.run.n == before


async def test_look_ups_lie_on_top_and_go_away_again(bench, every_state):
    session = bench.begin(every_state, ARMS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        for number in "12345678":
            await press(pilot, "slash", number)
            assert " 1 of 9" not in bench.screen().split("\n")[1]
            await press(pilot, "minus")
            assert bench.screen().lstrip().startswith("Look up"), number
            await press(pilot, "minus")
            assert " 1 of 9" in bench.screen(), number


async def test_the_log_is_searched(bench, every_state):
    session = bench.begin(every_state, ARMS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter", "slash", "3", "1", *"wipe", "enter")
        assert "Log   1 of 3 entries, with “wipe”" in bench.screen()
        assert "Wipe every part dry" in bench.screen()
        assert "opened" not in bench.screen()
        await press(pilot, "2", "3")
        assert "0 of 3 entries, only: questions and answers, with “wipe”" in bench.screen()
        await press(pilot, "3")
        assert "opened" in bench.screen()


async def test_the_log_of_a_large_batch_tells_equal_outcomes_once_and_is_searched_by_each(
    bench, every_state
):
    session = bench.begin(every_state, [f"arm {i}" for i in range(1, 41)])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter", "full_stop", "0", "7", "enter", "2", "1", "1", "slash", "3")
        assert "arm 7: 2. Look for cracks at every radius; cracked" in bench.screen()
        assert "opened with arm 1–40" in bench.screen()
        assert bench.screen().count("sound") == 1
        await press(pilot, "1", *"arm", "space", *"23", "enter")
        assert "sound" in bench.screen()
        assert "cracked" not in bench.screen()


async def test_a_sum_is_worked_out_at_the_bench(bench, every_state):
    session = bench.begin(every_state, ARMS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "slash", "4", "1")
        assert "limits" in bench.screen()
        await press(pilot, *"62", "enter", *"P7", "asterisk")
        assert "61.949" in bench.screen() or "61.979" in bench.screen()


async def test_a_key_that_waits_while_a_run_is_opened_does_not_open_it_once_more(
    bench, every_state
):
    bench.begin(every_state, ["arm"]).leave()
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        board = bench.app.screen
        bench.clock.wait(600)
        for key in ("1", "enter"):  # the second comes before the run stands
            board.post_message(Key(key, key_to_character(key)))
        await until(bench, "Wipe every part dry.")
        await settled(pilot)
        assert "view only" not in bench.screen()
        assert len(bench.app.screen_stack) == 3
        assert bench.app.screen_stack[-2] is board
