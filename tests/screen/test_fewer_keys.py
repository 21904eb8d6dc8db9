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
            keys = ["enter"] * len(bench.app.alarm_book.standing)
        await press(pilot, *("full_stop" if key == "." else key for key in keys))


@pytest.mark.parametrize(
    ("wait", "word", "kind"), [(2, "tended", "tend"), (21, "taken out", "out")]
)
async def test_an_alarm_is_answered_by_what_it_calls_for(bench, every_state, wait, word, kind):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_etch(pilot)
        bench.clock.wait(wait * MINUTE)
        bench.app.screen.tick()
        assert f"1 {word}   Enter silence" in bench.screen()
        await press(pilot, "1")
        assert not bench.app.alarm_book.standing or word == "taken out"
    assert kinds(session)[-1] == kind


async def test_enter_alone_never_says_that_an_alarm_s_act_was_done(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_etch(pilot)
        bench.clock.wait(2 * MINUTE)
        bench.app.screen.tick()
        await press(pilot, "enter")
    assert kinds(session)[-1] == "in"


async def test_the_key_is_deaf_while_the_alarm_is_new(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_etch(pilot)
        bench.clock.wait(2 * MINUTE)
        bench.app.screen.tick()
        await press(pilot, "1", wait_ms=100)
        assert kinds(session)[-1] == "in"
        await press(pilot, "1")
    assert kinds(session)[-1] == "tend"


async def test_with_other_work_in_hand_a_number_means_what_it_meant(bench, every_state):
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
        assert "tended   Enter silence" not in bench.screen()
        await press(pilot, "1")
    assert session.entries[-1].data.parts == ("arm 2",)
    assert kinds(session)[-1] == "do"


async def test_an_alarm_over_a_page_of_its_own_is_only_heard(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_etch(pilot)
        await press(pilot, "slash")
        bench.clock.wait(2 * MINUTE)
        bench.app.screen.tick()
        assert "tended   Enter silence" not in bench.screen()
        assert "Enter silence" in bench.screen()


async def test_later_signatures_begin_with_the_passphrase_itself(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_kind(bench, pilot, "hold")
        await press(pilot, WORD[0])
        assert "Who signs" not in bench.screen()
        assert "to be signed" in bench.screen()
        await press(pilot, "enter", "1", *WORD, "enter")
        assert kinds(session)[-1] == "sign"
        assert "digits the passphrase" in bench.screen()
        await press(pilot, *WORD)
        assert "I carried out this run as it is recorded here" in bench.screen()
        await press(pilot, "enter")
        assert "signed and sealed" in bench.screen()
    assert session.run.ended
