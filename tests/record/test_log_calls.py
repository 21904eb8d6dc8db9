"""System calls that fail, by injection: each with a control that shows it can fail."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from processes import entry, kept_heads

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
@pytest.mark.parametrize("when", [3, 5, 10])
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


def test_a_write_that_fails_is_tried_again_by_whoever_wrote_it(tmp_path):
    folder = tmp_path / "run"
    said = injected(folder, "pwrite64", "3")
    assert [row[0] for row in said] == ["kept"] * 2 + ["again"] + ["kept"] * 6
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
