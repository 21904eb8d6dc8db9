"""System calls that fail, by injection: each with a control that shows it can fail."""

import errno
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from processes import entry, kept_heads

from benchrun.record import durable
from benchrun.record.chain import read_log
from benchrun.record.writer import LogWriter

SCRIPT = """
import sys
from pathlib import Path
from benchrun.record.clock import SystemClock
from benchrun.record.trouble import NotKept
from benchrun.record.writer import LogWriter

clock = SystemClock()
writer = LogWriter.create(Path(sys.argv[1]))
while writer.n < 8:
    try:
        writer.append(clock.now(), "ann", "do", {"step": f"step-{writer.n}"})
        print("kept", writer.n - 1, writer.head, flush=True)
    except NotKept as told:
        print("again" if told.retry else "ended", flush=True)
        if not told.retry:
            break
"""


def injected(folder: Path, call: str, when: str) -> list[list[str]]:
    """Run a writer whose n-th call of a kind fails with EIO; what it said."""
    strace = shutil.which("strace")
    if strace is None:
        pytest.skip("strace is not installed")
    folder.mkdir()
    script = folder.with_suffix(".py")
    script.write_text(SCRIPT)
    done = subprocess.run(
        [
            *(strace, "-f", "-qq", "-o", str(folder.with_suffix(".trace"))),
            *("-e", f"trace={call}", "-e", f"inject={call}:error=EIO:when={when}"),
            *(sys.executable, str(script), str(folder)),
        ],
        capture_output=True,
        text=True,
        check=False,
    )
    if "ptrace" in done.stderr or "INJECTED" not in folder.with_suffix(".trace").read_text():
        pytest.skip("strace cannot inject failures here")
    assert done.returncode == 0, done.stderr
    return [row.split() for row in done.stdout.splitlines()]


# The first two calls bring the empty file and its folder to the disk, so line n is call n + 3.
@pytest.mark.parametrize("when", [3, 4, 5, 7, 9, 10])
def test_an_fsync_that_fails_once_loses_nothing(tmp_path, when):
    folder = tmp_path / "run"
    said = injected(folder, "fsync", str(when))
    assert [row[0] for row in said] == ["kept"] * 8
    read = read_log(folder / "log.jsonl")
    assert {line.n: line.head for line in read.lines} == kept_heads(said)
    assert (folder / "log.jsonl.failed-1").exists()
    with LogWriter.open(folder) as writer:
        assert [aside.file for aside in writer.set_aside] == ["log.jsonl.failed-1"]


def test_fsyncs_that_fail_for_good_end_the_log_with_what_was_proven(tmp_path):
    folder = tmp_path / "run"
    said = injected(folder, "fsync", "6+")
    assert [row[0] for row in said] == ["kept"] * 3 + ["ended"]
    read = read_log(folder / "log.jsonl")
    assert {line.n: line.head for line in read.lines} == kept_heads(said)
    with LogWriter.open(folder) as writer:
        entry(writer)


@pytest.mark.parametrize("when", [1, 3, 5, 8])
def test_a_write_that_fails_is_tried_again_by_whoever_wrote_it(tmp_path, when):
    folder = tmp_path / "run"
    said = injected(folder, "pwrite64", str(when))
    kept = when - 1
    assert [row[0] for row in said] == ["kept"] * kept + ["again"] + ["kept"] * (8 - kept)
    lines = read_log(folder / "log.jsonl").lines
    assert {line.n: line.head for line in lines} == kept_heads(said)
    assert not (folder / "log.jsonl.failed-1").exists()


def test_a_cut_back_that_fails_moves_the_log(tmp_path):
    folder = tmp_path / "run"
    strace = shutil.which("strace")
    if strace is None:
        pytest.skip("strace is not installed")
    folder.mkdir()
    script = tmp_path / "cut.py"
    script.write_text(SCRIPT)
    trace = tmp_path / "trace"
    done = subprocess.run(
        [
            *(strace, "-f", "-qq", "-o", str(trace), "-e", "trace=pwrite64,ftruncate"),
            *("-e", "inject=pwrite64:error=ENOSPC:when=3"),
            *("-e", "inject=ftruncate:error=EIO:when=1"),
            *(sys.executable, str(script), str(folder)),
        ],
        capture_output=True,
        text=True,
        check=False,
    )
    if "ptrace" in done.stderr or trace.read_text().count("INJECTED") != 2:
        pytest.skip("strace cannot inject failures here")
    said = [row.split() for row in done.stdout.splitlines()]
    assert [row[0] for row in said] == ["kept"] * 2 + ["again"] + ["kept"] * 6
    lines = read_log(folder / "log.jsonl").lines
    assert {line.n: line.head for line in lines} == kept_heads(said)
    assert (folder / "log.jsonl.failed-1").exists()


class Drive:
    """Stands for macOS's fcntl: counts full syncs, and refuses from the n-th on if told to."""

    def __init__(self, monkeypatch, refuses: int = 0, number: int = errno.EIO) -> None:
        self.full: list[int] = []
        self.bare: list[int] = []
        self._refuses, self._number = refuses, number
        real = os.fsync
        monkeypatch.setattr(durable, "FULL_SYNC", FULL)
        monkeypatch.setattr(durable.fcntl, "fcntl", self.fcntl)
        monkeypatch.setattr(durable.os, "fsync", lambda fd: (self.bare.append(fd), real(fd)))

    def fcntl(self, fd: int, command: int) -> int:
        assert command == FULL
        self.full.append(fd)
        if self._refuses and len(self.full) == self._refuses:
            raise OSError(self._number, os.strerror(self._number))
        return 0


FULL = 51  # F_FULLFSYNC in macOS's sys/fcntl.h, from memory


def test_where_there_is_a_full_sync_every_line_waits_for_it(tmp_path, monkeypatch):
    writer = LogWriter.create(tmp_path)
    drive = Drive(monkeypatch)
    for count in (1, 2, 3):
        entry(writer)
        assert len(drive.full) == count
    assert drive.bare == []  # fsync does not empty the drive's cache there, so it proves nothing
    writer.close()


def test_a_full_sync_that_fails_moves_the_log_as_a_failed_fsync_does(tmp_path, monkeypatch):
    writer = LogWriter.create(tmp_path)
    entry(writer)
    Drive(monkeypatch, refuses=1)
    entry(writer)
    writer.close()
    assert (tmp_path / "log.jsonl.failed-1").exists()
    assert len(read_log(tmp_path / "log.jsonl").lines) == 2


@pytest.mark.parametrize("number", [errno.ENOTSUP, errno.EINVAL, errno.ENOTTY])
def test_where_the_file_system_knows_no_full_sync_an_fsync_is_made(tmp_path, monkeypatch, number):
    writer = LogWriter.create(tmp_path)
    drive = Drive(monkeypatch, refuses=1, number=number)
    entry(writer)
    assert len(drive.bare) == 1
    assert not (tmp_path / "log.jsonl.failed-1").exists()
    writer.close()


def test_small_files_are_brought_to_the_disk_by_a_full_sync_too(tmp_path, monkeypatch):
    drive = Drive(monkeypatch)
    durable.write_file(tmp_path / "signers", b"x")
    assert len(drive.full) == 1
    assert len(drive.bare) == 1  # the folder's list of names


@pytest.mark.skipif(sys.platform != "darwin", reason="only macOS has a full sync")
def test_macos_has_the_full_sync_that_is_asked_for():
    assert durable.FULL_SYNC == FULL
