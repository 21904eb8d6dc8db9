"""A slip is mended, and every page left, with the keys of a keypad alone."""

from screen_bench import press, settled, show_run, until

MINUTE = 60_000


async def test_a_slip_in_a_form_is_rubbed_out_and_an_earlier_field_mended(bench, every_state):
    named = every_state.read_text().replace("batch: {", "batch: {identity: cast number, ")
    (bench.shop.path / "procedures" / "every-state.yaml").write_text(named)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "1", "enter", "1", "enter")
        await until(bench, "The batch for")
        await press(pilot, "2", "enter")
        await until(bench, "What tells them apart")
        await press(pilot, *"28", "asterisk", "enter")
        assert "- back a field" in bench.screen()
        await press(pilot, "minus", *"5", "enter", *"7")
        rows = bench.screen().splitlines()
        assert any(row.split()[-1:] == ["25"] for row in rows)
        assert "* rub out" in rows[-1]
        await press(pilot, "asterisk", "minus", "asterisk", "asterisk", "minus")
        assert "The batch for" in bench.screen()


async def test_a_page_to_be_read_says_how_it_is_left_while_an_alarm_has_enter(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter", "1", "enter", "0")
        bench.clock.wait(3 * MINUTE)
        bench.app.screen.tick()
        foot = bench.screen().splitlines()[-1]
        assert "- back" in foot
        assert "Enter go to the alarm" in foot
        assert "+ on" not in foot
        await press(pilot, "minus")
        assert " Enter tended" in bench.screen()


async def test_what_is_to_be_tended_calls_again_after_the_next_interval(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter", "1", "enter")
        bench.clock.wait(2 * MINUTE)
        bench.app.screen.tick()
        await press(pilot, "0")
        bench.clock.wait(MINUTE)
        bench.app.screen.tick()
        assert "0 silence" not in bench.screen()
        bench.clock.wait(MINUTE)
        bench.app.screen.tick()
        assert "0 silence" in bench.screen()


async def test_the_work_page_says_which_key_leaves_the_run(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        assert "* write, leave" in bench.screen()
        await press(pilot, "asterisk", "9")
    assert session.left


async def test_a_load_without_room_says_for_which_parts_it_waits(bench, every_state):
    session = bench.begin(every_state, ["arm 1", "arm 2", "arm 3", "arm 4"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter", "1", "enter", "plus", "plus")
        assert "waits     arm 4: no room in the etch tub yet" in bench.screen()
