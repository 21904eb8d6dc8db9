"""Work on the run screen: offers, parts, clocks and readings, with the real session."""

from run_walk import ARMS, MINUTE, kinds, last, to_bore, to_etch
from screen_bench import press, show_run


async def test_one_key_does_the_first_offer_for_all_parts(bench, every_state):
    session = bench.begin(every_state, ARMS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter")
    assert last(session, "do").parts == tuple(ARMS)


async def test_a_second_enter_within_half_a_second_does_nothing(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter")
        before = session.run.n
        await press(pilot, "1", wait_ms=100)
        await press(pilot, "enter", wait_ms=100)
        assert session.run.n == before
        await press(pilot, "1", wait_ms=400)
        assert session.run.n == before + 1


async def test_a_part_or_a_few_are_chosen_by_number(bench, every_state):
    session = bench.begin(every_state, ARMS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "full_stop", "2", "4", "enter", "enter")
        assert last(session, "do").parts == ("arm 2", "arm 4")
        assert "arm 1" in bench.screen()


async def test_two_digits_choose_in_a_large_batch(bench, every_state):
    arms = [f"arm {i}" for i in range(1, 41)]
    session = bench.begin(every_state, arms)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "full_stop", "0", "7", "4", "0", "enter", "enter")
    assert last(session, "do").parts == ("arm 7", "arm 40")


async def test_only_as_many_parts_go_in_as_the_vessel_holds(bench, every_state):
    session = bench.begin(every_state, ARMS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_etch(pilot)
        assert last(session, "in").parts == ("arm 1", "arm 2", "arm 3")
        assert not last(session, "in").reason


async def test_tending_becomes_an_alarm_and_enter_does_it_after_silence_too(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_etch(pilot)
        bench.clock.wait(2 * MINUTE)
        bench.app.screen.tick()
        assert bench.screen().startswith("  DUE   ")
        before = kinds(session)
        await press(pilot, "0")
        assert kinds(session) == before
        assert not bench.screen().startswith("  DUE   ")
        await press(pilot, "enter")
    assert kinds(session)[-1] == "tend"


async def test_what_may_be_lifted_calls_though_its_tending_was_heard_and_not_done(
    bench, every_state
):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_etch(pilot)
        bench.clock.wait(2 * MINUTE)
        bench.app.screen.tick()
        await press(pilot, "0")
        bench.clock.wait(9 * MINUTE)
        bench.app.screen.tick()
        assert bench.screen().startswith("  LATE   ")  # it was due four times more meanwhile
        await press(pilot, "0")
        assert bench.screen().startswith("  DUE   ")
        assert "take out of the etch" in bench.screen()


async def test_an_alarm_lies_over_the_title_and_moves_nothing_on_the_page(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_etch(pilot)
        await press(pilot, "plus")
        bench.clock.wait(2 * MINUTE - 2000)
        bench.app.screen.tick()
        still = places_of(bench)
        assert len(still) == 5
        bench.clock.wait(2000)
        bench.app.screen.tick()
        assert bench.screen().startswith("  DUE   ")
        assert "hose trailer" not in bench.screen()
        assert places_of(bench) == still


def places_of(bench):
    """The rows in which what the bench must never lose stands."""
    words = ("WARNING", "Keep every face wet.", "too early", "earliest 10 min", "etch tub")
    rows = bench.screen().split("\n")
    return {word: at for word in words for at, row in enumerate(rows) if word in row}


async def test_what_was_answered_is_said_in_the_words_of_the_question(bench, every_state):
    session = bench.begin(every_state, ["arm 1", "arm 2"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter", "3", "2")
        assert "arm 1/2 answered “Back to step 1”." in bench.screen()
        await press(pilot, "enter", "3", "1")
        assert "arm 1/2 answered “Set aside”." in bench.screen()


async def test_an_early_lift_is_taken_in_hand_on_purpose_and_asked_about(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_etch(pilot)
        await press(pilot, "plus", "enter")
        assert "Early" in bench.screen()
        await press(pilot, "2", "4")
    answer = last(session, "answer")
    assert (answer.code, answer.reason) == ("go on", "called away")


async def test_out_of_limits_asks_and_a_typed_reason_is_kept(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_bore(bench, pilot)
        await press(pilot, *"62", "enter")
        assert "over the upper limit" in bench.screen()
        await press(pilot, "1", *"61", "full_stop", *"96", "enter")
    readings = [one.data for one in session.entries if one.kind == "do" and one.data.place]
    assert [r.each["arm"].verdict for r in readings] == ["outside", "inside"]


async def test_a_gauge_that_sends_twice_at_once_is_taken_once(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_bore(bench, pilot)
        before = session.run.n
        await press(pilot, *"6196", "enter", wait_ms=120)
        assert session.run.n == before + 1
        await press(pilot, "1", *"61", "full_stop", *"96")
        await press(pilot, "enter", *"61", "full_stop", *"96", "enter", wait_ms=5)
        assert "came twice at once" in bench.screen()
        await press(pilot, *"61", "full_stop", *"97", "enter", wait_ms=5)
    taken = [
        one.data.each["arm"].value.typed
        for one in session.entries
        if one.kind == "do"
        and one.data.each
        and one.data.each["arm"].value
        and one.data.each["arm"].value.typed
    ]
    assert taken == ["6196", "61.96", "61.97"]


async def test_a_digit_too_many_is_rubbed_out_on_the_keypad(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_bore(bench, pilot)
        await press(pilot, *"619", "asterisk", "full_stop", *"968", "enter")
    assert next(iter(last(session, "do").each.values())).value.typed == "61.968"


async def test_what_is_typed_stays_in_hand_when_a_clock_calls(bench, every_state):
    session = bench.begin(every_state, ["arm 1", "arm 2"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_bore(bench, pilot)
        await press(pilot, "6", "1")
        bench.app.screen.tick()
        assert "61▏" in bench.screen()


async def test_cautions_that_do_not_fit_are_read_on_a_page_of_their_own(
    bench, tmp_path, every_state
):
    path = tmp_path / "many-cautions.yaml"
    caution = (
        "{warning: "
        + "word " * 30
        + ", then: "
        + "harm " * 30
        + ", avoid: gloves, source: invented}"
    )
    many = ", ".join([caution] * 4)
    path.write_text(
        every_state.read_text().replace(
            "        why: Water thins the acid.",
            f"        why: Water thins the acid.\n        cautions: [{many}]",
        )
    )
    session = bench.begin(path, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        before = session.run.n
        await press(pilot, "enter")
        assert "Before step 1" in bench.screen()
        assert session.run.n == before
        while "Before step 1" in bench.screen():
            await press(pilot, "enter")
        await press(pilot, "enter")
    assert session.run.n == before + 1


async def test_a_letter_in_place_of_a_reading_is_told_and_does_not_leave_the_run(
    bench, every_state
):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        screen = await show_run(bench.app, session)
        await to_bore(bench, pilot)
        before = session.run.n
        await press(pilot, "b")
        assert "A reading begins with a figure" in bench.screen()
        await press(pilot, *"61.96", "b", "enter")
        assert bench.app.screen is screen
        assert session.run.n == before
