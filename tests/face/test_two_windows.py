"""Two windows on one run, each a process of its own: one writes, the other reads along."""

import os
import selectors
import signal
import subprocess
import sys
import time

import pytest
from patience import PATIENCE_S

from benchrun.plain.face import HEARD
from benchrun.record.clock import SystemClock
from benchrun.record.folder import run_folders
from benchrun.signing_keys import enrol, new_shop
from benchrun.verify import verify

PROCEDURE = """\
procedure: small-job
title: A small job (invented)
revision: 1
status: draft
scope: One part.
batch: {part: bracket, at most: 3}
stages:
  - stage: All
    steps:
      - {do: Wipe the part clean., id: wipe}
      - {dwell: Soak the part., id: soak, least: 10 min, early: [again]}
      - {do: Dry the part., id: dry}
"""
SHORT = PROCEDURE.partition("      - {dwell")[0].replace("small-job", "wipe-only")


class Window:
    """The program line by line in a process of its own."""

    def __init__(self, shop, *args):
        self.process = subprocess.Popen(
            [sys.executable, "-m", "benchrun", "--plain", "--shop", str(shop.path), *args],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            env={**os.environ, "PYTHONUNBUFFERED": "1"},
        )
        self.said = ""
        self._ready = selectors.DefaultSelector()
        self._ready.register(self.process.stdout, selectors.EVENT_READ)

    def type(self, line):
        self.process.stdin.write(f"{line}\n".encode())
        self.process.stdin.flush()

    def until(self, words):
        """Read what it says until these words came, and give what it said up to then.

        Long words end in a pause; Enter goes on behind each that is not waited for.
        """
        give_up = time.monotonic() + PATIENCE_S
        while words not in self.said:
            if not self._ready.select(max(0, give_up - time.monotonic())):
                raise AssertionError(f"{words!r} did not come after:\n{self.said}")
            piece = os.read(self.process.stdout.fileno(), 65536)
            if not piece:
                raise AssertionError(f"it ended before {words!r}:\n{self.said}")
            self.said += piece.decode()
            if self.said.rstrip(" ").endswith(HEARD) and words != HEARD:
                self.type("")
                self.said += "\n"
        before, self.said = self.said.split(words, 1)
        return before + words

    def ends(self):
        assert self.process.wait(PATIENCE_S) == 0

    def kill(self):
        self.process.send_signal(signal.SIGKILL)
        self.process.wait(PATIENCE_S)


@pytest.fixture
def shop(tmp_path):
    made = new_shop(tmp_path / "shop", "Shop (invented)", SystemClock().now())
    enrol(made, "Somebody", SystemClock().now(), passphrase="12")
    (made.path / "procedures" / "small-job.yaml").write_text(PROCEDURE)
    (made.path / "procedures" / "wipe-only.yaml").write_text(SHORT)
    return made


@pytest.fixture
def windows(shop):
    opened = []

    def window(*args):
        opened.append(Window(shop, *args))
        return opened[-1]

    yield window
    for one in opened:
        one.kill()


def begun(windows, shop, procedure="small-job"):
    """A window in which a run was begun, and the run's folder."""
    writer = windows("run", procedure)
    writer.until("tags with commas")
    writer.type("a, b")
    writer.until("step 1, Wipe the part clean.")
    (folder,) = run_folders(shop.runs)
    return writer, folder


def test_a_second_window_prints_each_entry_as_it_comes(windows, shop):
    writer, folder = begun(windows, shop)
    reader = windows("run", folder.run)
    reader.until("Reading along: another window writes this run.")
    reader.until("Next: a, b: step 1, Wipe the part clean.")
    writer.type("")
    reader.until("a, b: 1. Wipe the part clean.")
    writer.until("step 2")
    writer.type("")
    reader.until("a, b begun: 2. Soak the part; at least 10 minutes")
    for window, leaves in ((reader, ""), (writer, "-")):
        window.type(leaves)
        window.until("go on, and nobody is called")
        window.until("leave")
        window.type("")
        window.ends()
    assert verify(folder.path).whole


def test_the_board_of_a_second_window_reads_along_too(windows, shop):
    writer, _ = begun(windows, shop)
    reader = windows()
    reader.until("1 go on: A small job (invented)")
    reader.type("1")
    reader.until("Reading along: another window writes this run.")
    reader.until("Only Enter leaves.")
    reader.type("")
    reader.until("Number or words, only Enter leaves:")
    writer.type("")
    writer.until("Recorded, entry")


@pytest.mark.parametrize("how", ["left", "killed"])
def test_when_the_writer_has_gone_the_run_may_be_taken_up(windows, shop, how):
    writer, folder = begun(windows, shop)
    reader = windows("run", str(folder.path))
    reader.until("Only Enter leaves.")
    if how == "left":
        writer.type("-")
        writer.ends()
    else:
        writer.kill()
    reader.until("The other window has left this run.")
    reader.until("1 carries on here, only Enter leaves:")
    reader.type("1")
    reader.until("Resumed: last entry")
    reader.until("step 1, Wipe the part clean.")
    reader.type("")
    reader.until("Recorded, entry")
    reader.type("-")
    reader.ends()
    found = verify(folder.path)
    assert found.whole
    kinds = [line.kind for line in folder.read().lines]
    assert kinds == ["open", "seal", *(["seal"] * (how == "left")), "seal", "do", "seal"]


def test_a_second_window_never_writes(windows, shop):
    _, folder = begun(windows, shop)
    before = folder.log.read_bytes()
    reader = windows("run", folder.run)
    reader.until("Only Enter leaves.")
    reader.type("1")
    reader.ends()
    assert folder.log.read_bytes() == before


def test_a_run_that_is_closed_meanwhile_is_told_and_not_taken_up(windows, shop):
    writer, folder = begun(windows, shop, "wipe-only")
    reader = windows("run", folder.run)
    reader.until("Only Enter leaves.")
    writer.type("")
    writer.until("all done: close the run")
    writer.type("")
    writer.until(HEARD)  # what the record holds is heard before it is signed
    writer.type("")
    writer.until("Passphrase of Somebody:")
    writer.type("12")
    writer.until("Recorded, entry 3: closed.")
    assert "signed by somebody@shop-invented" in reader.until("The run is closed.")
    reader.ends()
    late = subprocess.run(
        [sys.executable, "-m", "benchrun", "--plain", "run", str(folder.path)],
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
    )
    assert late.returncode == 2
    assert "is closed; this prints it: benchrun --shop " in late.stderr


def test_a_run_outside_the_named_shop_is_refused(windows, shop, tmp_path):
    _, folder = begun(windows, shop)
    other = new_shop(tmp_path / "other", "Other (invented)", SystemClock().now())
    refused = subprocess.run(
        [
            sys.executable,
            "-m",
            "benchrun",
            "--plain",
            "--shop",
            str(other.path),
            "run",
            folder.path,
        ],
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
    )
    assert refused.returncode == 2
    assert "does not lie in the shop" in refused.stderr
