"""What may have to be written down at any moment is at most three keys away, and then its text."""

import pytest
from screen_bench import Bench, press, show_run

ARM = ["arm"]


@pytest.mark.parametrize(
    ("what", "keys", "field"),
    [
        ("note", ["asterisk", "1"], "Note"),
        ("photo", ["asterisk", "2", "2"], "The picture's file"),
        ("lesson", ["asterisk", "3"], "Lesson"),
        ("deviation: a step left out", ["asterisk", "4", "1"], "A reason"),
        ("deviation: a part set aside", ["asterisk", "4", "2"], "set aside. Why?"),
        ("correction", ["asterisk", "5", "1"], "What was found"),
        ("pause", ["asterisk", "4", "8"], "A reason"),
        ("sign-off", ["asterisk", "8"], "Enter goes on to sign"),
    ],
)
async def test_three_keys_lead_to_the_text(bench: Bench, every_state, tmp_path, what, keys, field):
    path = every_state
    if what == "sign-off":
        path = tmp_path / "held.yaml"
        head, _, _ = every_state.read_text().partition("  - stage: Clean")
        path.write_text(
            head + "  - stage: All\n    steps:\n      - hold: Release the parts.\n"
            "        id: release\n        signs: All is well.\n        source: invented\n"
        )
    session = bench.begin(path, ARM)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        if what == "correction":
            await press(pilot, "enter", "1")
        await press(pilot, *keys)
        assert field in bench.screen()
    assert len(keys) <= 3


@pytest.mark.parametrize(
    ("what", "keys", "said"),
    [
        ("mis-tap", ["asterisk", "6", "1"], "undone"),
        ("hand over", ["asterisk", "7", "2"], "in the name of Bea Mill"),
        ("leave for now", ["asterisk", "9"], "UNDER WAY"),
    ],
)
async def test_three_keys_do_it(bench: Bench, every_state, what, keys, said):
    session = bench.begin(every_state, ARM)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await show_run(bench.app, session)
        await press(pilot, "enter")
        await press(pilot, *keys)
        if what == "leave for now":
            while "UNDER WAY" not in bench.screen():
                await pilot.pause()
        assert said in bench.screen()
    assert len(keys) <= 3
