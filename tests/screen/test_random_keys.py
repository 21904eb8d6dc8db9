"""Whatever is typed: no crash, nothing lost, nothing written that the rules refuse."""

import asyncio
import re
import tempfile
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from apprentice import kinds_seen, next_keys
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from keypad_hand import NAMES
from screen_bench import Bench, press, show_run

from benchrun.dialogue.acknowledgement import kept_words, signed_words
from benchrun.load_run import folded, read_kept
from benchrun.record.folder import run_folders
from benchrun.screen.bench_screen import BenchScreen
from benchrun.screen.run.screen import RunScreen
from benchrun.screen.run.work import WorkPane
from benchrun.verify import verify

ROOT = Path(__file__).resolve().parents[2]
EVERY_STATE = Path(__file__).parent / "procedures" / "every-state.yaml"
SECOND, MINUTE, HOUR = 1000, 60_000, 3_600_000

KEYS = [*"0123456789", "enter", "plus", "minus", "asterisk", "slash", "full_stop", "escape"]
OTHERS = [*"anpwlsyh?[]\\é漢", "tab", "backspace", "up", "down", "f1", "f2", "f3", "f4", "ctrl+u"]
DIGITS = "123456789"
MENUS = [("asterisk", d) for d in DIGITS] + [("slash", d) for d in DIGITS]
DEEPER = [("asterisk", "4", d) for d in DIGITS] + [("slash", "4", d) for d in DIGITS]
WHOLE = [("asterisk", "4", "8", "4"), ("asterisk", "5", "1", "1", "1"), ("asterisk", "6", "1")]
GO = ("go",)
MOVES = st.one_of(
    st.just(GO),
    st.just(GO),
    st.sampled_from([(key,) for key in KEYS]),
    st.sampled_from([(key,) for key in [*KEYS, *OTHERS]]),
    st.sampled_from([*MENUS, *DEEPER, *WHOLE, ("plus", "enter"), ("full_stop", "2", "enter")]),
)
WAITS = st.sampled_from([5, 600, 600, 600, 2 * MINUTE, 11 * MINUTE, 3 * HOUR])
PRESSES = st.lists(st.tuples(MOVES, WAITS, st.integers(0, 41)), max_size=60)
AHEAD = st.sampled_from([0, 0, 0, 4, 12, 24, 40])
"""So many sensible moves go before the random ones, so that all of a run is reached."""
TOUR = st.sampled_from([*MENUS, *DEEPER, *WHOLE, ("slash", "6", "1"), ("0",), ("full_stop",)])
"""One page to begin with, so that rare ones are not left to chance."""
SIZES = st.sampled_from([(80, 24), (80, 24), (120, 40), (60, 20)])
JOBS = st.sampled_from(
    [
        (EVERY_STATE, 4),
        (EVERY_STATE, 1),
        (EVERY_STATE, 12),
        (ROOT / "procedures" / "degrease-etch-coat.yaml", 3),
        (ROOT / "procedures" / "plating-send-out.yaml", 2),
        (ROOT / "procedures" / "end-float-and-shims.yaml", 1),
    ]
)
SEEN: Counter[str] = Counter()


@dataclass
class Told:
    """What the screen has called recorded: run, number of the line, words."""

    lines: list[tuple[str, int, str]] = field(default_factory=list)

    def read(self, bench: Bench) -> None:
        screen = bench.app.screen
        if not isinstance(screen, RunScreen):
            return
        said = re.fullmatch(r"Recorded, entry (\d+): (.*)", screen.message[0])
        if said:
            self.lines.append((screen.session.folder.run, int(said[1]), said[0]))


async def hammer(job, ahead, tour, size, presses, folder: Path) -> None:
    """Press keys at random, then check what was kept against what was told, and by the rules."""
    # What the screen reads beside, such as times of past runs, ends before its folder goes.
    with ThreadPoolExecutor() as beside:
        asyncio.get_running_loop().set_default_executor(beside)
        await _hammer(job, ahead, tour, size, presses, folder)


async def _hammer(job, ahead, tour, size, presses, folder: Path) -> None:
    bench, told = Bench(folder, people=["Bea Mill"]), Told()
    procedure, parts = job
    session = bench.begin(procedure, [f"arm {n + 1}" for n in range(parts)])
    async with bench.app.run_test(size=size) as pilot:
        await show_run(bench.app, session)
        for _ in range(ahead):
            await _make(bench, pilot, GO, _wait_of(bench), 2, told)
        for move, wait_ms, turn in [(tour, 600, 0), *presses]:
            await _make(bench, pilot, move, wait_ms, turn, told)
            if bench.app.return_code is not None:
                break
        bench.app.leave_runs()
    for kept in run_folders(bench.shop.runs):
        _check(kept, [one for one in told.lines if one[0] == kept.run])


def _wait_of(bench: Bench) -> int:
    """How long to wait for what comes next; a moment where something is ready."""
    work = bench.app.screen.panes[0] if isinstance(bench.app.screen, RunScreen) else None
    offer = work.now().offer if isinstance(work, WorkPane) else None
    waits = offer is not None and not offer.ready and offer.wait_ms
    return offer.wait_ms if waits else 600


async def _make(bench: Bench, pilot, move, wait_ms: int, turn: int, told: Told) -> None:
    bench.clock.wait(wait_ms)
    if isinstance(bench.app.screen, BenchScreen):
        bench.app.screen.tick()
    keys = move
    if move == GO:
        keys = [NAMES.get(key, key) for key in next_keys(bench.app.screen, turn)]
    for key in keys:
        await press(pilot, key, wait_ms=min(wait_ms, 600))
        if bench.app.return_code is not None:
            return
        told.read(bench)
        if isinstance(bench.app.screen, BenchScreen):
            kinds_seen(bench.app.screen, SEEN)


def _check(kept, told) -> None:
    procedure, entries = read_kept(kept)
    run = folded(procedure, entries)
    assert run.n == len(entries)
    for _, n, words in told:
        assert n < len(entries), f"{words!r} was told, the log has {len(entries)} lines"
        entry, before = entries[n], folded(procedure, entries[:n])
        if entry.kind == "do" and entries[n + 1 : n + 2] and entries[n + 1].kind == "sign":
            name = entries[0].data.about["people"][entry.by]["name"]
            assert signed_words(entry, before, name) == words
        else:
            assert kept_words(entry, before) == words
    verdict = verify(kept.path)
    assert verdict.whole, verdict.faults


@settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(JOBS, AHEAD, TOUR, SIZES, PRESSES)
async def test_random_keys_never_crash_nor_lose_nor_write_what_the_rules_refuse(
    job, ahead, tour, size, presses
):
    with tempfile.TemporaryDirectory() as folder:
        await hammer(job, ahead, tour, size, presses, Path(folder))


PAGES = {
    "work: lift dwell", "work: tend dwell", "work: put in dwell", "work: do do",
    "work: do reading", "work: do inspect", "work: do hold", "work: do work out",
    "work: answer inspect", "work: answer reading", "work: answer dwell", "work: resume",
    "work: close", "PartsPane", "LogPane", "SumPane", "SignaturePane", "FinishedPane",
    "BoardPane", "ChoosePane: Write down", "ChoosePane: Look up", "ChoosePane: Which is wrong",
    "TextPane: Note", "TextPane: Lesson", "TextPane: A reason", "ChoosePane: Photo",
    "ChoosePane: Who goes on", "ReadPane: Where it stands", "ReadPane: What must be at hand",
}  # fmt: skip


@pytest.mark.long
@pytest.mark.timeout(7200)
def test_random_keys_for_long_come_to_every_page():
    @settings(max_examples=1000, deadline=None, database=None)
    @given(JOBS, AHEAD, TOUR, SIZES, PRESSES)
    def hammered(job, ahead, tour, size, presses):
        with tempfile.TemporaryDirectory() as folder:
            asyncio.run(hammer(job, ahead, tour, size, presses, Path(folder)))

    hammered()
    print("\n" + "\n".join(f"{count:7} {page}" for page, count in SEEN.most_common()))
    assert SEEN.keys() >= PAGES, PAGES - SEEN.keys()
