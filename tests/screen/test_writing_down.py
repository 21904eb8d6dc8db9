"""What is written down beside the work: notes, photos, corrections, signatures, hand over."""

import resource

from run_walk import ARMS, kinds, last, to_bore
from screen_bench import press, show_run

from benchrun.run import entries as e
from benchrun.run.state import Status


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
    assert last(session, "correct").reason == "typed wrongly"


async def test_a_step_left_out_and_a_part_set_aside_ask_for_a_reason(bench, every_state):
    session = bench.begin(every_state, ARMS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "asterisk", "4", "1", "3")
        await press(pilot, "asterisk", "4", "2", "full_stop", "1", "enter", "1")
    assert last(session, "skip").reason == "as agreed with the owner"
    assert session.run.markers["arm 1"].status is Status.ASIDE


async def test_when_all_is_set_aside_the_page_asks_for_a_reason_by_the_part_s_own_tag(
    bench, every_state
):
    session = bench.begin(every_state, ["arm R"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "asterisk", "4", "2", "full_stop", "1", "enter", "1")
        assert "Not finished: arm R; closing needs a reason." in bench.screen()
        assert "* 4 4 returns to work what was set aside." in bench.screen()
        pointers, marks = bench.screen().split("\n")[1:3]
        assert pointers.index("▼") == marks.index("┃")  # where the part stands: nothing is done yet


async def test_the_run_is_stopped_and_taken_up_again(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "asterisk", "4", "8", "3")
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
        said = " ".join(bench.screen().split())
        assert "does not open the key of Ada Brook: nothing was signed. Type it again." in said
        assert str(bench.shop.path) not in said
        await press(pilot, *"1234", "enter")
    assert "sign" in kinds(session)


async def test_a_signed_hold_says_who_signed_it(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_bore(bench, pilot)
        for _ in range(4):
            await press(pilot, *"61", "full_stop", *"96", "enter")
        await press(pilot, "enter", "enter", "1", *"1234", "enter")
        assert "signed by Ada Brook, arm." in bench.screen()


async def test_a_slip_in_a_note_is_rubbed_out_on_the_keypad(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "asterisk", "1", "7", "3", "asterisk")
        assert "* rub out" in bench.screen()
        await press(pilot, "enter")
        assert "note" in kinds(session)
        assert session.entries[-1].data.text == "7"
        await press(pilot, "asterisk", "1", "7", "asterisk", "minus", "minus")
    assert kinds(session).count("note") == 1


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


async def test_the_bell_rings_at_the_first_tick_at_which_nothing_can_be_kept(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    aside = session.shop.path / "aside"
    async with bench.app.run_test(size=(80, 24)) as pilot:
        screen = await show_run(bench.app, session)
        rung = []
        bench.app.bell = lambda: rung.append(bench.clock.now().up_ms)
        session.folder.path.rename(aside)
        bench.clock.wait(1000)
        screen.tick()
        session.tick().result()  # the log's own thread looks
        screen.tick()
        assert "gone from its place" in " ".join(bench.screen().split())
        assert len(rung) == 1
        screen.tick()
        assert len(rung) == 1
        aside.rename(session.folder.path)
        session.tick().result()
        screen.tick()
        assert "gone from its place" not in " ".join(bench.screen().split())
        await press(pilot, "asterisk", "1", *"dull", "enter")
    assert last(session, "note").text == "dull"
