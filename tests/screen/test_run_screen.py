"""Each action of the run screen through its keys, with the real session."""

import resource

from keypad_hand import Hand
from screen_bench import press, show_run

from benchrun.run import entries as e
from benchrun.run.state import Status

ARMS = ["arm 1", "arm 2", "arm 3", "arm 4"]
MINUTE = 60_000


def kinds(session) -> list[str]:
    """The kinds of entries, without the machine's own."""
    return [one.kind for one in session.entries if one.kind not in ("seal", "beat")]


def last(session, kind: str):
    """The data of the last entry of a kind."""
    return [one.data for one in session.entries if one.kind == kind][-1]


async def to_etch(pilot) -> None:
    """All arms into the tub, as many as fit."""
    await press(pilot, "enter", "1", "enter")


async def to_bore(bench, pilot) -> None:
    """To the first reading."""
    session, hand = bench.app.screen.session, Hand({})
    while "Measure the bore" not in bench.screen().split("then")[0]:
        keys = hand.keys(session.run, bench.clock.now(), other_signs=False)
        if isinstance(keys, int):
            bench.clock.wait(keys)
            bench.app.screen.tick()
            keys = ["enter"] * len(bench.app.bells.waiting)
        await press(pilot, *keys)


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


async def test_tending_becomes_an_alarm_that_takes_enter_first(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_etch(pilot)
        bench.clock.wait(2 * MINUTE)
        bench.app.screen.tick()
        assert bench.screen().startswith(" TEND ")
        before = kinds(session)
        await press(pilot, "enter")
        assert kinds(session) == before
        assert not bench.screen().startswith(" TEND ")
        await press(pilot, "enter")
    assert kinds(session)[-1] == "tend"


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
        assert "beyond the upper limit" in bench.screen()
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


async def test_a_note_and_a_lesson_are_three_keys_and_the_text(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "asterisk", "1", *"dull", "enter")
        await press(pilot, "asterisk", "3", *"glove", "enter")
    assert last(session, "note").text == "dull"
    assert (last(session, "lesson").text, last(session, "lesson").step) == ("glove", "wipe")


async def test_a_photo_is_copied_into_the_record(bench, every_state, tmp_path):
    picture = tmp_path / "p.jpg"
    picture.write_bytes(b"not a real picture")
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "asterisk", "2", "2")
        for char in str(picture):
            await bench.app.screen.press(char)
        await press(pilot, "enter")
        assert "p.jpg may tell where it was taken: it cannot be looked into." in bench.screen()
        await press(pilot, "minus")
        assert not list(session.folder.photos.iterdir())
        await press(pilot, "asterisk", "2", "2")
        for char in str(picture):
            await bench.app.screen.press(char)
        await press(pilot, "enter", "enter")
    kept = last(session, "photo")
    assert (session.folder.path / kept.file).read_bytes() == picture.read_bytes()


async def test_the_newest_photo_of_the_watched_folder_is_three_keys(bench, every_state, tmp_path):
    session = bench.begin(every_state, ["arm"])
    settings = session.shop.path / "shop.yaml"
    settings.write_text(settings.read_text() + f"watched folder: {tmp_path}\n")
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "asterisk", "2", "1")
        assert "there is no picture in" in bench.screen()
        (tmp_path / "newest.jpg").write_bytes(b"not a real picture")
        await press(pilot, "asterisk", "2", "3", "enter")
        assert "newest.jpg is kept, position not looked for." in bench.screen()
    assert last(session, "photo").text == "newest.jpg"


async def test_a_mis_tap_is_taken_back_in_three_keys(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter", "asterisk", "6", "1")
        assert " 1 of 9" in bench.screen()
    assert kinds(session)[-1] == "retract"


async def test_a_wrong_finding_is_corrected_with_a_reason(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter", "1", "asterisk", "5", "1", "2", "1")
    correction = last(session, "correct")
    assert correction.given.word == "cracked"
    assert correction.reason


async def test_a_wrong_reading_is_corrected_with_a_reason(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_bore(bench, pilot)
        await press(pilot, *"61", "full_stop", *"96", "enter", "asterisk", "5", "1")
        await press(pilot, *"61", "full_stop", *"97", "enter", "1")
    assert last(session, "correct").given.typed == "61.97"


async def test_a_step_left_out_and_a_part_set_aside_ask_for_a_reason(bench, every_state):
    session = bench.begin(every_state, ARMS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "asterisk", "4", "1", "3")
        await press(pilot, "asterisk", "4", "2", "full_stop", "1", "enter", "1")
    assert last(session, "skip").reason == "as agreed with the owner"
    assert session.run.markers["arm 1"].status is Status.ASIDE


async def test_the_run_is_stopped_and_taken_up_again(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "asterisk", "4", "8", "4")
        assert session.run.stopped == "called away"
        assert "stopped: called away" in bench.screen()
        await press(pilot, "enter")
    assert not session.run.stopped


async def test_another_hand_goes_on_in_its_own_name(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "asterisk", "7", "2", "enter")
        assert "Bea Mill" in bench.screen()
    assert session.entries[-1].by == "bea-mill"


async def test_a_wrong_passphrase_leaves_nothing_behind(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_bore(bench, pilot)
        for _ in range(4):
            await press(pilot, *"61", "full_stop", *"96", "enter")
        await press(pilot, "enter", "enter", "1", *"999")
        before = session.run.n
        await press(pilot, "enter")
        assert session.run.n == before
        assert "does not open the key" in bench.screen()
        await press(pilot, *"1234", "enter")
    assert "sign" in kinds(session)


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


async def test_the_run_is_left_and_taken_up_where_it_stood(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    session.leave()
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await press(pilot, "1", "1")
        assert "taken up again" in bench.screen()
        await press(pilot, "enter", "enter", "asterisk", "9")
        assert "WANTS A HAND" in bench.screen()
        again = bench.new_app()
    async with again.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await press(pilot, "1", "1", "enter")
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
            assert " 1 of 9" in bench.screen(), number


async def test_the_log_is_searched(bench, every_state):
    session = bench.begin(every_state, ARMS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter", "slash", "3", "1", *"wipe", "enter")
        assert "1 of" in bench.screen()
        assert "Wipe every part dry" in bench.screen()
        assert "opened" not in bench.screen()


async def test_the_log_of_a_large_batch_tells_equal_outcomes_once_and_is_searched_by_each(
    bench, every_state
):
    session = bench.begin(every_state, [f"arm {i}" for i in range(1, 41)])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter", "full_stop", "0", "7", "enter", "2", "1", "1", "slash", "3")
        assert "arm 7: 2. Look for cracks at every radius.; arm 7: cracked" in bench.screen()
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


async def test_two_signers_are_told_apart(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_bore(bench, pilot)
        for _ in range(4):
            await press(pilot, *"61", "full_stop", *"96", "enter")
        await press(pilot, "enter", "enter")
        assert "Who signs?" in bench.screen()
        await press(pilot, "2", *"1234", "enter")
    signed = [one for one in session.entries if isinstance(one.data, e.Signed)]
    assert signed[-1].by == "bea-mill"
    assert session.hand.id == "ada-brook"


async def test_a_note_that_the_disk_had_no_room_for_stays_typed(bench, every_state):
    session = bench.begin(every_state, ["arm L"])
    size = session.folder.log.stat().st_size
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        before = resource.getrlimit(resource.RLIMIT_FSIZE)
        resource.setrlimit(resource.RLIMIT_FSIZE, (size + 40, before[1]))
        try:
            await press(pilot, "asterisk", "1", *"rust", "space", *"behind", "enter")
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, before)
        assert "not kept" in bench.screen()
        assert "rust behind" in bench.screen()
        await press(pilot, "enter")
        assert "Recorded" in bench.screen()
    assert kinds(session).count("note") == 1
    assert last(session, "note").text == "rust behind"
