"""What loading a procedure costs, against reading its YAML in Python alone."""

import hashlib
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from ruamel.yaml import YAML

from benchrun.procedure import yamlread
from benchrun.procedure.examine import examined
from benchrun.procedure.load import load_bytes
from benchrun.procedure.plain_form import compiled

STAGE = """\
  - stage: Stage {n}
    steps:
      - do: Wipe the part number {n} dry with a clean rag.
        id: wipe-{n}
        why: Water left in the seat shows as rust by morning.
        cautions: [sharp]
      - reading: Measure the bore of the seat.
        id: bore-{n}
        unit: mm
        places: {{planes: [A, B], angles: [0, 45, 90, 135]}}
        low: 61.949 mm
        high: 61.979 mm
        outside: [set aside, scrap]
        source: practice
      - work out: Work out the mean bore.
        id: mean-{n}
        unit: mm
        formula: mean(bore_{n}) - 0.01 mm
        low: 61.9 mm
        outside: set aside
        source: practice
      - inspect: Look at every radius for cracks.
        id: cracks-{n}
        findings:
          none seen: go on
          crack: scrap
          not sure: [rework from wipe-{n} at most 2 times, set aside]
      - if: mean_{n} > 61.95 mm and cracks_{n} is "none seen"
        steps:
          - dwell: Keep every face wet.
            id: etch-{n}
            in: tub
            least: 10 min
            most: 20 min
            tend: {{every: 2 min, do: Brush solution over dry patches.}}
            early: [again, go on]
            late: [set aside, go on]
            source: practice
"""
HEAD = """\
procedure: long-one
title: A long one (invented)
revision: 1
scope: Invented, for timing only.
changes: {1: First issue.}
sources: {practice: "common practice, no source"}
hazards: [{caution: Edges are sharp., id: sharp, then: Cut fingers., avoid: Wear gloves.}]
batch: {part: arm}
vessels: {tub: {title: etch tub, holds: 3}}
stages:
"""


def best(work: Callable[[], object], times: int = 5) -> float:
    taken = []
    for _ in range(times):
        begun = time.process_time()
        work()
        taken.append(time.process_time() - begun)
    return min(taken)


@pytest.mark.bench
def test_loading_and_checking_a_thousand_steps() -> None:
    content = (HEAD + "".join(STAGE.format(n=n) for n in range(200))).encode()
    text = content.decode()
    found = examined(content, None, advise=True)
    assert found.procedure is not None, found.problems[:3]
    assert len(found.procedure.route.steps) == 1_000
    ours = best(lambda: examined(content, None, advise=True))
    floor = best(lambda: YAML(typ="safe", pure=True).load(text))
    print(
        f"\nbench procedure-load-1000 ratio={ours / floor:.2f} ours={ours * 1000:.0f} "
        f"floor={floor * 1000:.0f} unit=ms"
    )


@pytest.mark.bench
def test_loading_a_procedure_cold_and_by_the_form_that_another_process_kept(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, root: Path
) -> None:
    monkeypatch.setenv("BENCHRUN_CACHE", str(tmp_path))
    content = (root / "procedures" / "degrease-etch-coat.yaml").read_bytes()
    digest = hashlib.sha256(content).hexdigest()
    made = load_bytes(content, "it.yaml")

    def unasked() -> None:
        raise AssertionError("the form that was kept is there")

    assert compiled(content, digest, lambda: made) == made
    cold = best(lambda: load_bytes(content, "it.yaml"), 15)
    again = best(lambda: compiled(content, digest, unasked), 15)
    monkeypatch.setattr(yamlread, "quick_events", lambda text: None)
    floor = best(lambda: load_bytes(content, "it.yaml"), 15)
    for name, ours in (("cold", cold), ("again", again)):
        print(
            f"\nbench procedure-load-{name} ratio={ours / floor:.3f} ours={ours * 1000:.2f} "
            f"floor={floor * 1000:.2f} unit=ms"
        )
