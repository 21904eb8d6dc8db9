"""The index over 10,000 runs with 1,000,000 readings: how fast it is built, how fast it answers."""

import datetime as dt
import hashlib
import json
import resource
import statistics
import sys
import time
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "history"))

from synthetic import Log, many

from benchrun.history.estimates import estimates_for, run_words
from benchrun.history.index import History
from benchrun.history.known import indexed_parts, known_tools, known_values
from benchrun.history.questions import (
    deviations_by_step,
    part_life,
    reading_history,
    recall_list,
    step_times,
)

pytestmark = [pytest.mark.bench, pytest.mark.timeout(1200)]

RUNS, LINES, READINGS = 10_000, 50, 1_000_000


def told(name, ours, floor, unit):
    print(f"bench {name} ratio={ours / floor:.2f} ours={ours:.4g} floor={floor:.4g} unit={unit}")


def once(act):
    begin = time.perf_counter()
    act()
    return time.perf_counter() - begin


def memory_mib():
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def floor(runs):
    """Only reading every line, hashing it and parsing its JSON."""
    for folder in runs.iterdir():
        with (folder / "log.jsonl").open("rb") as file:
            for raw in file:
                hashlib.sha256(raw).hexdigest()
                json.loads(raw)


def test_a_million_readings(tmp_path):
    many(tmp_path / "runs", RUNS, LINES)
    bare = once(lambda: floor(tmp_path / "runs"))
    before = memory_mib()
    with History(tmp_path) as history:
        build = once(history.refresh)
        grown = memory_mib() - before
        (count,) = history.store.execute("SELECT count(*) FROM readings").fetchone()
        assert count == READINGS
        told("history-build", build, bare, "s")
        told("history-build-rate", READINGS / build, READINGS / bare, "readings/s")
        size = (tmp_path / "history.sqlite").stat().st_size
        logs = sum((one / "log.jsonl").stat().st_size for one in (tmp_path / "runs").iterdir())
        told("history-size", size / 2**20, logs / 2**20, "MiB")
        told("history-memory", before + grown, before, "MiB")
        told("history-refresh-nothing-new", *_pair(history.refresh), "ms")
        log = Log("2026-03-02-seats-new-aaaa", "2026-03-02T08:00:00", "seats", ("hub 1",))
        log.read("bore-1", {"hub 1": "61.960"})
        log.write(tmp_path / "runs", sealed=False)
        told("history-refresh-one-run", 1000 * once(history.refresh), 100, "ms")
        _questions(history, tmp_path)


def _questions(history, shop):
    since = dt.date(2024, 1, 1)
    asked = {
        "reading": lambda: reading_history(history, "seats", "bore-3"),
        "reading-of-part": lambda: reading_history(history, "seats", "bore-3", "hub 7"),
        "part": lambda: part_life(history, "hub 7"),
        "part-by-numbers": lambda: part_life(history, "cast hub 7"),
        "times": lambda: step_times(history, "seats"),
        "tool": lambda: recall_list(history, "bore gauge 2", since),
        "tool-all": lambda: recall_list(history, "bore gauge 2"),
        "deviations": lambda: deviations_by_step(history),
        "which-tools": lambda: known_tools(history),
        "which-parts": lambda: indexed_parts(history),
        "which-values": lambda: known_values(history, "seats"),
        "estimates": lambda: estimates_for(shop, "seats"),
        "whole-run": lambda: run_words(shop, "seats"),
    }
    for name, ask in asked.items():
        ask()
        told(f"history-ask-{name}", *_pair(ask), "ms")


def _pair(ask):
    """The median of some calls, against the 100 ms that a person does not notice."""
    return 1000 * statistics.median(once(ask) for _ in range(7)), 100.0
