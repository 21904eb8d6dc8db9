"""What the rules cost at 60 parts over 400 steps, early and late in a run, and on re-reading."""

import hashlib
import io
import json
import statistics
import time
from collections.abc import Callable
from functools import partial

import pytest
from bench_run_world import HAND, Bench

from benchrun.gc_pause import no_collecting
from benchrun.load_run import entry_of
from benchrun.record.chain import read_open
from benchrun.record.line import ZEROS, encode
from benchrun.run import entries as e
from benchrun.run.decide import decide
from benchrun.run.fold import fold
from benchrun.run.offers import offers
from benchrun.run.state import Run

pytestmark = [pytest.mark.bench, pytest.mark.timeout(600)]

EARLY, LATE, LOOK = 100, 20_000, 400


def told(name: str, ours: float, floor: float, unit: str) -> None:
    print(f"bench {name} ratio={ours / floor:.2f} ours={ours:.3g} floor={floor:.3g} unit={unit}")


def once(act: Callable[[], object]) -> float:
    begin = time.perf_counter()
    act()
    return time.perf_counter() - begin


def times_of(bench: Bench, entries: int) -> dict[str, float]:
    """The medians of decide, fold and offers in microseconds over some entries from here."""
    found: dict[str, list[float]] = {"decide": [], "fold": [], "offers": []}
    go_on = bench.entries()
    for _ in range(entries):
        before = bench.run
        entry = next(go_on)
        command = bench.told[-1]
        found["decide"].append(once(partial(decide, before, command, entry.at, HAND)))
        found["fold"].append(once(partial(fold, before, entry)))
        found["offers"].append(once(partial(offers, bench.run, entry.at)))
    return {name: statistics.median(each) * 1e6 for name, each in found.items()}


def test_decide_fold_and_offers_early_and_late_in_a_run():
    """The floor is the same act early in the run: what grows with the log would show."""
    bench = Bench.begin()
    go_on = bench.entries()
    while bench.run.n < EARLY:
        next(go_on)
    early = times_of(bench, LOOK)
    go_on = bench.entries()
    while bench.run.n < LATE:
        next(go_on)
    late = times_of(bench, LOOK)
    for name, took in late.items():
        told(f"run-{name}-at-20000-against-100", took, early[name], "us")


def line_of(entry: e.Entry, prev: str) -> bytes:
    """An entry as its line in the log."""
    data = e.data_of(entry.data)
    line = {"n": entry.n, "at": entry.at.as_data(), "by": entry.by, "kind": entry.kind}
    return encode({**line, "data": data, "prev": prev})


def test_reading_twenty_thousand_entries_again():
    """Taking up a log of 20,000, the best of five, against json.loads and SHA-256 of its lines."""
    bench = Bench.begin()
    course = bench.run.course
    lines = [line_of(bench.first, ZEROS)]
    for entry in bench.entries():
        lines.append(line_of(entry, hashlib.sha256(lines[-1]).hexdigest()))
        if entry.n == LATE:
            break

    def floor() -> None:
        for line in lines:
            hashlib.sha256(line).hexdigest()
            json.loads(line)

    def ours() -> None:
        run = Run(course)
        with no_collecting():
            for line in read_open(io.BytesIO(b"".join(lines)), "log").lines:
                run = fold(run, entry_of(line))
        ends.append(run)

    ends: list[Run] = []
    rounds = []
    for _ in range(5):
        rounds.append((processor(ours), processor(floor)))
        assert ends.pop() == bench.run
    told("run-read-20000", min(o for o, _ in rounds), min(f for _, f in rounds), "s")


def processor(act: Callable[[], object]) -> float:
    """Processor seconds of a call."""
    begin = time.process_time()
    act()
    return time.process_time() - begin
