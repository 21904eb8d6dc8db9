"""The wall clock set wrong for real in the middle of a dwell, and sleep faked by the kernel."""

import glob
import io
import json
import os
import shutil
import subprocess
import sys

import pytest
from patience import PATIENCE_S

from benchrun.cli import main

PROCEDURE = """\
procedure: soak-it
title: Soak it
revision: 1
status: draft
scope: One part.
batch: {part: bracket}
stages:
  - stage: All
    steps:
      - dwell: Soak the part.
        id: soak
        least: 10 min
        early: [again]
"""
# Puts a part in, lets the clock be set as the first line of input says, and tells what it sees.
BENCH = """\
import json, sys, time
from pathlib import Path
from benchrun.signing_keys import enrol, new_shop
from benchrun.procedure.load import load
from benchrun.record.clock import SystemClock
from benchrun.run import commands as c
from benchrun.run.clocks import loads
from benchrun.run.entries import PartSpec
from benchrun.session import begin

clock, folder = SystemClock(), Path(sys.argv[1])
shop = new_shop(folder / "shop", "Shop", clock.now())
person = enrol(shop, "Somebody", clock.now(), passphrase="word")
session = begin(shop, load(folder / "soak.yaml"), [PartSpec("a")], person, clock)
session.send(c.PutIn("soak", ("a",), session.run.n - 1)).result()
print("in", flush=True)
sys.stdin.readline()
session.tick().result()
(load_clock,) = loads(session.run, session.now())
beats = [entry.data.stepped for entry in session.entries if entry.kind == "beat"]
spent = load_clock.spent
print(json.dumps({"stepped": beats, "proven": spent.proven_ms, "possible": spent.possible_ms}))
session.leave()
"""
LIBRARY = next(iter(glob.glob("/usr/lib/*/faketime/libfaketime.so.1")), "")  # noqa: PTH207


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "soak.yaml").write_text(PROCEDURE)
    return tmp_path


@pytest.mark.skipif(not LIBRARY, reason="needs libfaketime")
@pytest.mark.parametrize("hours", [-1, 1])
def test_a_wall_clock_set_by_an_hour_is_noticed_and_moves_no_dwell(folder, hours):
    stamp = folder / "offset"
    stamp.write_text("+0\n")
    env = {
        **os.environ,
        "LD_PRELOAD": LIBRARY,
        "FAKETIME_TIMESTAMP_FILE": str(stamp),
        "FAKETIME_NO_CACHE": "1",
        "FAKETIME_DONT_FAKE_MONOTONIC": "1",
    }
    bench = subprocess.Popen(
        [sys.executable, "-c", BENCH, str(folder)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env=env,
    )
    assert bench.stdout is not None
    assert bench.stdout.readline() == "in\n"
    stamp.write_text(f"{hours:+d}h\n")
    told, _ = bench.communicate("set\n", timeout=PATIENCE_S)
    seen = json.loads(told)
    assert len(seen["stepped"]) == 1
    assert abs(seen["stepped"][0] - hours * 3_600_000) < 5_000
    assert seen["proven"] == seen["possible"] < 60_000
    run = next((folder / "shop" / "runs").iterdir())
    checked = subprocess.run(
        [sys.executable, "-m", "benchrun", "verify", str(run)], capture_output=True, text=True
    )
    assert checked.returncode == 0, checked.stdout + checked.stderr


@pytest.mark.skipif(
    os.geteuid() != 0 or shutil.which("unshare") is None, reason="needs root and unshare"
)
def test_a_boot_clock_that_counts_an_hour_of_sleep_is_the_one_that_is_read():
    code = "from benchrun.record.clock import SystemClock; print(SystemClock().now().up_ms)"
    plain = [sys.executable, "-c", code]
    here = subprocess.run(plain, capture_output=True, text=True, check=True)
    shifted = subprocess.run(
        ["unshare", "--time", "--fork", "--boottime", "3600", *plain],
        capture_output=True,
        text=True,
    )
    if shifted.returncode:
        pytest.skip(f"the kernel has no time namespaces: {shifted.stderr.strip()[:80]}")
    assert 3_600_000 <= int(shifted.stdout) - int(here.stdout) < 3_660_000


def test_a_system_that_names_no_boots_is_told_at_the_start(monkeypatch, tmp_path, capsys):
    monkeypatch.setattr("benchrun.record.clock._BOOT_ID", tmp_path / "none")
    monkeypatch.setattr(sys, "stdin", io.StringIO())
    monkeypatch.delenv("BENCHRUN_SHOP")
    assert main(["--plain"]) == 2  # nobody answers
    told = capsys.readouterr().out
    assert told.startswith("This system has no clock that counts sleep, or no id of its boots:")
