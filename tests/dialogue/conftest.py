"""What tests of the dialogue share."""

from pathlib import Path

import pytest
from scripted_face import ScriptedRun

PROCEDURE = """\
procedure: small-job
title: A small job
revision: 1
status: draft
scope: One part. Invented.
batch: {part: bracket, at most: 12}
needs: {supplies: [oil]}
vessels: {tub: {title: tub, holds: 2}}
stages:
  - stage: All
    steps:
      - do: Wipe the part clean.
        id: wipe
      - reading: Measure the bore.
        id: bore
        unit: mm
        low: 9 mm
        high: 10 mm
        outside: [again at most 1 times, set aside, scrap]
      - inspect: Look for cracks.
        id: look
        findings:
          sound: go on
          not sure: [rework from wipe at most 1 times, set aside, scrap]
      - dwell: Soak the part.
        id: soak
        in: tub
        least: 10 min
        tend: {every: 2 min, do: Turn it.}
        early: [again]
      - do: Drill the hole.
        id: drill
        critical: yes
        uses: {supply: oil, amount: 5 ml}
      - hold: Release the part.
        id: release
        signs: I looked at it.
        another person: yes
"""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A procedure with each kind of step."""
    path = tmp_path / "job.yaml"
    path.write_text(PROCEDURE)
    return path


@pytest.fixture
def run(tmp_path: Path, job: Path) -> ScriptedRun:
    """A run of two parts."""
    return ScriptedRun(tmp_path, job, ["a", "b"])


@pytest.fixture
def alone(tmp_path: Path, job: Path) -> ScriptedRun:
    """A run of one part."""
    return ScriptedRun(tmp_path, job, ["a"])
