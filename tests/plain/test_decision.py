"""A run that does not hold, on the plain face: it is told, and goes on only with a reason."""

import subprocess

import pytest
from patience import PATIENCE_S

from benchrun.load_run import read_kept
from benchrun.procedure.load import load_bytes
from benchrun.record.clock import SystemClock
from benchrun.run.entries import PartSpec
from benchrun.session import begin
from benchrun.signing_keys import enrol, new_shop

PROCEDURE = b"""\
procedure: wipe-it
title: Wipe it
revision: 1
status: draft
scope: One part.
batch: {part: bracket, at most: 3}
stages:
  - stage: All
    steps:
      - {do: Wipe the part., id: wipe}
"""


@pytest.fixture
def damaged(tmp_path):
    """A shop with a run whose log was set back by one entry."""
    clock = SystemClock()
    shop = new_shop(tmp_path / "shop", "Shed", clock.now())
    person = enrol(shop, "Ada Brook", clock.now(), passphrase="one")
    procedure = load_bytes(PROCEDURE, "wipe.yaml")
    run = begin(shop, procedure, [PartSpec("a")], person, clock)
    run.leave()
    run.folder.log.write_bytes(b"".join(run.folder.log.read_bytes().splitlines(keepends=True)[:-1]))
    return shop, run.folder


def talk(benchrun, shop, typed):
    command = [benchrun, "--plain", "--shop", str(shop.path)]
    return subprocess.run(
        command, input=typed, capture_output=True, text=True, timeout=PATIENCE_S
    ).stdout


def test_going_on_takes_a_reason_and_without_one_nothing_is_written(benchrun, damaged):
    shop, folder = damaged
    before = folder.log.read_bytes()
    said = talk(benchrun, shop, "1\n\n\n\n")
    assert "What this run has kept does not hold" in said
    assert "which the log no longer has" in said
    assert folder.log.read_bytes() == before
    talk(benchrun, shop, "1\n\n\nthe disk was full\n")
    doubts = [entry for entry in read_kept(folder)[1] if entry.kind == "doubt"]
    assert [doubt.data.reason for doubt in doubts] == ["the disk was full"]
