"""Whatever is typed: no crash, nothing lost, nothing written that the rules refuse."""

import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from screen_bench import Bench, press, show_run

from benchrun.kept import folded, read_kept
from benchrun.run.commands import Refusal
from benchrun.run.decide import decide
from benchrun.run.replay import command_of
from benchrun.run.state import Run
from benchrun.screen.run.screen import RunScreen

KEYS = [*"0123456789", "enter", "plus", "minus", "asterisk", "slash", "full_stop", "escape", "a"]
LIKELY = st.sampled_from([*KEYS, "enter", "enter", "enter", "1", "minus"])
PRESSES = st.lists(st.tuples(LIKELY, st.sampled_from([50, 600, 120_000])), max_size=60)
EVERY_STATE = Path(__file__).parent / "procedures" / "every-state.yaml"


async def hammer(presses, folder: Path) -> None:
    """Press keys at random, then read the log again and decide each entry anew."""
    bench = Bench(folder, people=["Bea Mill"])
    session = bench.begin(EVERY_STATE, ["arm 1", "arm 2", "arm 3", "arm 4"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        for key, wait_ms in presses:
            await press(pilot, key, wait_ms=wait_ms)
            bench.app.screen.tick()
            if not isinstance(bench.app.screen, RunScreen):
                break
        bench.app.leave_runs()
    procedure, entries = read_kept(session.folder)
    assert tuple(entry.n for entry in entries) == tuple(range(len(entries)))
    assert folded(procedure, entries) == session.run or not session.run.ended
    for n in range(1, len(entries)):
        before: Run = folded(procedure, entries[:n])
        entry = entries[n]
        if entry.kind in ("do", "in", "out", "tend", "answer", "put", "skip"):
            again = decide(before, command_of(n, entry.data), entry.at, session.hand)
            assert not isinstance(again, Refusal), again


@settings(
    max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(PRESSES)
async def test_random_keys_never_crash_nor_write_what_the_rules_refuse(presses):
    with tempfile.TemporaryDirectory() as folder:
        await hammer(presses, Path(folder))


@pytest.mark.long
@settings(max_examples=1000, deadline=None)
@given(PRESSES)
async def test_random_keys_for_long(presses):
    with tempfile.TemporaryDirectory() as folder:
        await hammer(presses, Path(folder))
