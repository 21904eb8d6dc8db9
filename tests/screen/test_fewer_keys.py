"""What one key does at once: an alarm's own act, a signature begun by its passphrase."""

import pytest
from keypad_hand import WORD, Hand
from screen_bench import press, show_run

MINUTE = 60_000


def kinds(session) -> list[str]:
    return [one.kind for one in session.entries if one.kind not in ("seal", "beat")]


async def to_etch(pilot) -> None:
    await press(pilot, "enter", "1", "enter")


async def to_kind(bench, pilot, kind: str) -> None:
    """On to the first step of a kind."""
    session, hand = bench.app.screen.session, Hand({"bore": "61.96"})
    while True:
        offer = bench.app.screen.panes[0].now().offer
        if offer.step is not None and offer.step.kind.value == kind:
            return
        keys = hand.keys(session.run, bench.clock.now(), other_signs=True)
        if isinstance(keys, int):
            bench.clock.wait(keys)
            bench.app.screen.tick()
            keys = ["0"] * len(bench.app.alarm_book.standing)
        await press(pilot, *("full_stop" if key == "." else key for key in keys))


@pytest.mark.parametrize(("wait", "word", "kind"), [(2, "tended", "tend"), (21, "take out", "out")])
async def test_an_alarm_is_answered_by_what_it_calls_for(bench, every_state, wait, word, kind):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_etch(pilot)
        bench.clock.wait(wait * MINUTE)
        bench.app.screen.tick()
        rows = bench.screen().splitlines()
        assert any("0 silence" in row for row in rows[:4])
        assert f" Enter {word}" in rows[-1]
        assert "0 silence" in rows[-1]
        await press(pilot, "enter")
        assert not bench.app.alarm_book.standing or word == "take out"
    assert kinds(session)[-1] == kind


async def test_silence_has_its_own_key_and_records_nothing(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_etch(pilot)
        bench.clock.wait(2 * MINUTE)
        bench.app.screen.tick()
        before = kinds(session)
        await press(pilot, "0")
        assert not bench.app.alarm_book.standing
        assert kinds(session) == before
        assert "tend" in bench.screen()


async def test_both_keys_are_deaf_while_the_alarm_is_new(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_etch(pilot)
        bench.clock.wait(2 * MINUTE)
        bench.app.screen.tick()
        await press(pilot, "enter", "0", wait_ms=100)
        assert kinds(session)[-1] == "in"
        assert bench.app.alarm_book.standing
        await press(pilot, "enter")
    assert kinds(session)[-1] == "tend"


async def test_with_other_work_in_hand_a_number_means_what_it_meant_and_enter_goes_there(
    bench, every_state
):
    session = bench.begin(every_state, ["arm 1", "arm 2"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "full_stop", "1", "enter", "enter")
        await press(pilot, "full_stop", "1", "enter", "1", "full_stop", "1", "enter", "enter")
        assert kinds(session)[-1] == "in"
        await press(pilot, "full_stop", "2", "enter", "enter", "full_stop", "2", "enter")
        bench.clock.wait(2 * MINUTE)
        bench.app.screen.tick()
        assert bench.screen().startswith("  DUE   ")
        assert " Enter go to the alarm" in bench.screen()
        assert " 0 silence" in bench.screen()
        before = kinds(session)
        await press(pilot, "enter")
        assert kinds(session) == before
        assert " Enter tended" in bench.screen()
        await press(pilot, "enter")
        assert kinds(session)[-1] == "tend"
        await press(pilot, "1")
    assert session.entries[-1].data.parts == ("arm 2",)
    assert kinds(session)[-1] == "do"


async def test_from_a_page_over_the_work_enter_goes_to_what_an_alarm_calls_for(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_etch(pilot)
        await press(pilot, "slash")
        bench.clock.wait(2 * MINUTE)
        bench.app.screen.tick()
        assert " Enter go to the alarm" in bench.screen()
        assert " 0 silence" in bench.screen()
        await press(pilot, "enter", "enter")
    assert kinds(session)[-1] == "tend"


async def test_what_is_typed_keeps_its_keys_while_an_alarm_stands(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_etch(pilot)
        await press(pilot, "asterisk", "1", *"wet 10")
        bench.clock.wait(2 * MINUTE)
        bench.app.screen.tick()
        assert bench.screen().startswith("  DUE   ")
        assert "silence" not in bench.screen()
        await press(pilot, "0", "enter")
    assert session.entries[-1].data.text == "wet 100"


async def test_later_signatures_begin_with_the_passphrase_itself(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_kind(bench, pilot, "hold")
        await press(pilot, WORD[0])
        assert "Who signs" not in bench.screen()
        assert " sign      “" in bench.screen()
        await press(pilot, "enter", "1", *WORD, "enter")
        assert kinds(session)[-1] == "sign"
        await press(pilot, "enter")
        assert "Before you sign, line 1 of 2" in bench.screen()
        await press(pilot, "1")
        assert "Before you sign, line 2 of 2" in bench.screen()
        await press(pilot, "1")
        assert "Who signs" not in bench.screen()
        assert "passphrase type it" in bench.screen()
        await press(pilot, "escape")
        assert "digits the passphrase" in bench.screen()
        await press(pilot, *WORD)
        assert "I carried out this run as it is recorded here" in bench.screen()
        await press(pilot, "enter")
        assert "signed and sealed" in bench.screen()
    assert session.run.ended
