"""What verifying a whole record costs: the keeping checked and every entry decided again.

The floor is json.loads and SHA-256 of the same lines; the check without the rules stands beside it.
"""

import hashlib
import json
import random
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from bench_run_world import HAND, Bench

from benchrun.procedure.load import load
from benchrun.record.check import check_run
from benchrun.record.folder import RunFolder
from benchrun.record.line import ZEROS, encode
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.course import Course
from benchrun.run.state import Run
from benchrun.verify import verify

pytestmark = [pytest.mark.bench, pytest.mark.timeout(600)]

PARTS, BLOCKS, LINES = 60, 40, 10_000
HEAD = """\
procedure: long-bench
title: A long day at the bench (invented, for timings)
revision: 1
scope: Invented, for timings only.
changes: {1: First.}
batch: {part: arm}
vessels: {tub: {title: etching tub, holds: 24}}
stages:
"""
BLOCK = """\
  - stage: Block {0}
    steps:
      - {{do: Clean the arm., id: clean-{0}}}
      - {{reading: Measure the bore., id: bore-{0}, unit: mm, high: 50 mm, outside: [go on]}}
      - inspect: Look at the arm.
        id: look-{0}
        findings: {{sound: go on, cracked: scrap}}
      - {{dwell: Etch the arm., id: etch-{0}, in: tub, least: 10 min, early: [again]}}
      - repeat: Coat
        id: coats-{0}
        at least: 2
        at most: 2
        steps:
          - {{do: Coat the arm., id: coat-{0}}}
          - {{do: Wipe the arm., id: wipe-{0}}}
"""


def told(name: str, ours: float, floor: float, unit: str) -> None:
    print(f"bench {name} ratio={ours / floor:.2f} ours={ours:.3g} floor={floor:.3g} unit={unit}")


def best_of_each(*acts: Callable[[], object]) -> list[float]:
    """The best of some rounds of each in processor microseconds a line.

    They take turns, so that all meet the same moods of the machine.
    """
    times: list[list[float]] = [[] for _ in acts]
    for _ in range(5):
        for taken, act in zip(times, acts, strict=True):
            begin = time.process_time()
            act()
            taken.append(time.process_time() - begin)
    return [min(taken) / LINES * 1e6 for taken in times]


def test_verify_with_the_rules_against_loads_and_sha256(tmp_path: Path):
    folder = _long_run(tmp_path)

    def floor() -> None:
        with folder.log.open("rb") as file:
            for raw in file:
                json.loads(raw)
                hashlib.sha256(raw).hexdigest()

    assert verify(folder.path).faults == []
    whole, kept, bare = best_of_each(
        lambda: verify(folder.path), lambda: check_run(folder.path), floor
    )
    told("verify.replay", whole, bare, "us/line")
    told("verify.replay-against-check", whole, kept, "us/line")


def _long_run(place: Path) -> RunFolder:
    """A run of 60 parts that went by its offers for 10,000 entries, as the rules made them."""
    path = place / "long-bench.yaml"
    path.write_text(HEAD + "".join(BLOCK.format(n) for n in range(BLOCKS)), "utf-8")
    procedure = load(path)
    bench = Bench(Run(Course(procedure.route)), 0, random.Random(7))
    folder = RunFolder.create(place / "runs", "long", bench.now, procedure.content)
    about = {
        "format": 1,
        "run": folder.run,
        "procedure_sha256": procedure.sha256,
        "register_head": ZEROS,
        "people": {HAND.id: {"name": HAND.name, "roles": []}},
    }
    entries = [bench.keep(c.Open(tuple(e.PartSpec(f"arm {n}") for n in range(PARTS)), about))]
    for entry in bench.entries():
        entries.append(entry)
        if len(entries) == LINES:
            break
    head, rows = ZEROS, []
    for entry in entries:
        line = {"n": entry.n, "at": entry.at.as_data(), "by": entry.by, "kind": entry.kind}
        raw = encode({**line, "data": e.data_of(entry.data), "prev": head})
        head = hashlib.sha256(raw).hexdigest()
        rows.append(raw)
    assert len(rows) == LINES
    folder.log.write_bytes(b"".join(rows))
    return folder
