"""What the keeping costs, against the floor that the disk and the standard library set."""

import hashlib
import json
import os
import statistics
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from benchrun.record.check import check_run
from benchrun.record.clock import SystemClock, VirtualClock
from benchrun.record.folder import RunFolder
from benchrun.record.keys import make_key
from benchrun.record.line import ZEROS, encode
from benchrun.record.seals import seal_data
from benchrun.record.writer import LogWriter

pytestmark = pytest.mark.bench

LINES = 100_000
CLOCK = SystemClock()
READING = {
    "step": "seat-bore",
    "parts": ["hub-left"],
    "reading": {"typed": "25,43", "value": "25.43", "unit": "mm"},
    "verdict": "inside",
}


def told(name: str, ours: float, floor: float, unit: str) -> None:
    print(f"bench {name} ratio={ours / floor:.2f} ours={ours:.3g} floor={floor:.3g} unit={unit}")


def once(act: Callable[[], object]) -> float:
    begin = time.perf_counter()
    act()
    return time.perf_counter() - begin


def test_append_against_a_bare_write_and_fsync(tmp_path):
    """The two take turns, so that both meet the same moods of the disk."""
    raw = encode(
        {
            "n": 1,
            "at": CLOCK.now().as_data(),
            "by": "ann",
            "kind": "do",
            "data": READING,
            "prev": "",
        }
    )
    bare = os.open(tmp_path / "bare", os.O_WRONLY | os.O_CREAT | os.O_APPEND)

    def floor() -> None:
        os.write(bare, raw)
        os.fsync(bare)

    with LogWriter.create(tmp_path) as writer:

        def ours() -> None:
            writer.append(CLOCK.now(), "ann-bench@museum-shed", "reading", READING)

        pairs = [(once(ours), once(floor)) for _ in range(3000)]
    os.close(bare)
    mine, bares = ([pair[side] * 1e6 for pair in pairs[200:]] for side in (0, 1))
    told("record.append.p50", statistics.median(mine), statistics.median(bares), "us")
    p99 = [statistics.quantiles(some, n=100)[98] for some in (mine, bares)]
    told("record.append.p99", *p99, "us")


def test_seal_against_one_fsync(tmp_path):
    key = make_key(tmp_path / "station", None)
    path = tmp_path / "bare"
    fd = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND)

    def floor() -> None:
        os.write(fd, b"x" * 700)
        os.fsync(fd)

    with LogWriter.create(tmp_path) as writer:
        for _ in range(2000):
            writer.append(CLOCK.now(), "ann", "reading", READING)

        def ours() -> None:
            data = seal_data(writer, key, "station@museum-shed", "hold")
            writer.append(CLOCK.now(), "station@museum-shed", "seal", data)

        pairs = [(once(ours), once(floor)) for _ in range(500)]
    os.close(fd)
    mine, bares = (statistics.median(p[side] for p in pairs[20:]) * 1e6 for side in (0, 1))
    told("record.seal", mine, bares, "us")


@pytest.fixture(scope="module")
def long_run(tmp_path_factory: pytest.TempPathFactory) -> RunFolder:
    clock = VirtualClock()
    folder = RunFolder.create(tmp_path_factory.mktemp("runs"), "long", clock.now(), b"x: 1\n")
    opened = {
        "format": 1,
        "run": folder.run,
        "procedure_sha256": folder.procedure_sha256(),
        "register_head": ZEROS,
    }
    prev, rows = ZEROS, []
    for n in range(LINES):
        clock.wait(1013)
        kind, data = ("reading", READING) if n else ("open", opened)
        at = clock.now().as_data()
        raw = encode({"n": n, "at": at, "by": "ann", "kind": kind, "data": data, "prev": prev})
        prev = hashlib.sha256(raw).hexdigest()
        rows.append(raw)
    folder.log.write_bytes(b"".join(rows))
    return folder


def loads_and_sha256(path: Path) -> None:
    with path.open("rb") as file:
        for raw in file:
            json.loads(raw)
            hashlib.sha256(raw).hexdigest()


def best_of_each(ours: Callable[[], object], floor: Callable[[], object]) -> tuple[float, float]:
    """The best of five of each, in turns, so that both meet the same moods of the machine."""
    pairs = [(timed(ours), timed(floor)) for _ in range(5)]
    return min(pair[0] for pair in pairs), min(pair[1] for pair in pairs)


def timed(act: Callable[[], object]) -> float:
    """Microseconds a line."""
    begin = time.perf_counter()
    result = act()  # kept until the clock has stopped, as a run that goes on keeps it
    took = time.perf_counter() - begin
    del result
    return took / LINES * 1e6


def test_check_against_loads_and_sha256(long_run):
    each = best_of_each(lambda: check_run(long_run.path), lambda: loads_and_sha256(long_run.log))
    told("record.check", *each, "us/line")


def test_opening_a_long_run_against_loads_and_sha256(long_run):
    def ours() -> LogWriter:
        with long_run.open_log() as writer:
            return writer

    each = best_of_each(ours, lambda: loads_and_sha256(long_run.log))
    told("record.open", *each, "us/line")
