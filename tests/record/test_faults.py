"""Real kills, real full disks, real failing calls: each with a control that shows it can fail."""

import os
import random
import resource
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import pytest

from benchrun.record.chain import read_log
from benchrun.record.clock import SystemClock
from benchrun.record.line import MOST_BYTES, Line
from benchrun.record.trouble import NotKept
from benchrun.record.writer import RECOVERED, LogWriter

CLOCK = SystemClock()


def entry(writer: LogWriter, **data: object) -> bytes:
    return writer.append(CLOCK.now(), "ann@shop", "do", data or {"step": f"step-{writer.n}"})


def forked(child: Callable[[int], None]) -> tuple[int, int]:
    """Run a function in a process of its own; it writes to a pipe that is given back."""
    ours, theirs = os.pipe()
    pid = os.fork()
    if pid == 0:
        os.close(ours)
        try:
            child(theirs)
        finally:
            os._exit(0)
    os.close(theirs)
    return pid, ours


def read_all(pipe: int) -> bytes:
    said = b""
    while more := os.read(pipe, 65536):
        said += more
    os.close(pipe)
    return said


def read_some(pipe: int, least: int) -> bytes:
    said = b""
    while len(said) < least and (more := os.read(pipe, least - len(said))):
        said += more
    return said


# --- kills ---------------------------------------------------------------------------------------


def honest(folder: Path, pipe: int) -> None:
    with LogWriter.open(folder) as writer:
        if writer.set_aside:
            files = [aside.as_data() for aside in writer.set_aside]
            writer.append(CLOCK.now(), "station", RECOVERED, {"files": files})
        while True:
            entry(writer)
            os.write(pipe, f"{writer.n - 1} {writer.head}\n".encode())


def boaster(folder: Path, pipe: int) -> None:
    """A writer that calls an entry kept before it is: what the test must find out."""
    with LogWriter.open(folder) as writer:
        while True:
            os.write(pipe, f"{writer.n} unknown\n".encode())
            entry(writer)


def kill_and_look(folder: Path, child: Callable[[Path, int], None], chance: random.Random) -> int:
    """Kill a writer at some moment; how many of its acknowledged entries are missing."""
    pid, pipe = forked(lambda theirs: child(folder, theirs))
    said = read_some(pipe, chance.randint(1, 2000))
    for _ in range(chance.randint(0, 3000)):
        pass
    os.kill(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    return missing(said + read_all(pipe), read_log(folder / "log.jsonl").lines)


def missing(said: bytes, lines: Sequence[Line]) -> int:
    """How many of the entries that a writer acknowledged are not among the lines."""
    heads = {line.n: line.head for line in lines}
    acknowledged = [row.split() for row in said.decode().split("\n")[:-1]]
    assert acknowledged
    return sum(
        int(n) not in heads or head not in {heads[int(n)], "unknown"} for n, head in acknowledged
    )


def kills(folder: Path, times: int) -> None:
    chance = random.Random(11)
    LogWriter.create(folder).close()
    for _ in range(times):
        assert kill_and_look(folder, honest, chance) == 0
    with LogWriter.open(folder) as writer:
        assert writer.n > times
        entry(writer)  # and the run can go on


def test_what_was_acknowledged_is_there_after_every_kill(tmp_path):
    kills(tmp_path, 60)


@pytest.mark.long
@pytest.mark.timeout(900)
def test_what_was_acknowledged_is_there_after_a_thousand_kills(tmp_path):
    kills(tmp_path, 1000)


def test_a_writer_that_boasts_is_found_out_by_the_same_test(tmp_path):
    LogWriter.create(tmp_path).close()
    chance = random.Random(11)
    assert sum(kill_and_look(tmp_path, boaster, chance) for _ in range(20)) > 0


def test_a_kill_between_any_two_bytes_loses_nothing_acknowledged(tmp_path):
    """Every length that a kill or a power cut can leave the last write at, with stale bytes."""
    LogWriter.create(tmp_path).close()
    with LogWriter.open(tmp_path) as writer:
        raws = [entry(writer) for _ in range(4)]
    kept, last = b"".join(raws[:-1]), raws[-1]
    for length in range(1, len(last)):
        for tail in (b"", b"\0" * 9):
            (tmp_path / "log.jsonl").write_bytes(kept + last[:length] + tail)
            with LogWriter.open(tmp_path) as writer:
                assert writer.n == 3
                assert writer.path.read_bytes() == kept
                assert writer.set_aside[-1].size is not None
            for torn in tmp_path.glob("torn-*"):
                torn.unlink()


# --- full disks ----------------------------------------------------------------------------------


def fill(writer: LogWriter) -> NotKept:
    for _ in range(10_000):
        try:
            entry(writer, said="x" * 700)
        except NotKept as told:
            return told
    pytest.fail("the disk never filled")


def limited(folder: Path, pipe: int) -> None:
    most = 20_000
    with LogWriter.create(folder) as writer:
        resource.setrlimit(resource.RLIMIT_FSIZE, (most, resource.RLIM_INFINITY))
        told = fill(writer)
        kept = writer.size == len(writer.path.read_bytes()) <= most
        resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
        before = writer.n
        entry(writer, said="x" * 700)
        os.write(pipe, f"{told.retry} {kept} {writer.n == before + 1}".encode())


def test_a_file_size_limit_cuts_back_and_lets_try_again(tmp_path):
    pid, pipe = forked(lambda theirs: limited(tmp_path, theirs))
    assert read_all(pipe) == b"True True True"
    os.waitpid(pid, 0)
    read = read_log(tmp_path / "log.jsonl")
    assert read.torn_tail is None
    assert read.lines[-1].n == len(read.lines) - 1 > 10


def bare(folder: Path, pipe: int) -> None:
    resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, resource.RLIM_INFINITY))
    fd = os.open(folder / "bare", os.O_WRONLY | os.O_CREAT)
    counts = [os.write(fd, b"x" * 699 + b"\n") for _ in range(29)]
    os.write(pipe, str(counts[-1]).encode())


def test_the_limit_does_tear_a_bare_write(tmp_path):
    pid, pipe = forked(lambda theirs: bare(tmp_path, theirs))
    assert 0 < int(read_all(pipe)) < 700
    os.waitpid(pid, 0)


@contextmanager
def mounted(where: Path, *what: str) -> Iterator[Path]:
    where.mkdir(exist_ok=True)
    if os.geteuid() != 0:
        pytest.skip("mounting a file system takes root")
    done = subprocess.run(["mount", *what, str(where)], capture_output=True, text=True, check=False)
    if done.returncode:
        pytest.skip(f"mount does not work here: {done.stderr.strip()}")
    try:
        yield where
    finally:
        subprocess.run(["umount", str(where)], check=True)


def test_a_full_disk_is_cut_back_and_room_lets_the_run_go_on(tmp_path):
    with mounted(tmp_path / "small", "-t", "tmpfs", "-o", "size=128k", "none") as small:
        ballast = small / "ballast"
        ballast.write_bytes(b"x" * 60_000)
        with LogWriter.create(small) as writer:
            told = fill(writer)
            assert told.retry
            assert writer.path.stat().st_size == writer.size
            assert "Make room on the disk" in told.message
            kept = read_log(writer.path)
            assert (len(kept.lines), kept.torn_tail) == (writer.n, None)
            with pytest.raises(NotKept):
                entry(writer, said="x" * 5000)  # the control: it is still full
            ballast.unlink()
            entry(writer, said="x" * 5000)
        assert len(read_log(writer.path).lines) == len(kept.lines) + 1


def test_a_full_disk_refuses_a_small_file_and_leaves_the_old_one(tmp_path):
    from benchrun.record.durable import write_file

    with mounted(tmp_path / "small", "-t", "tmpfs", "-o", "size=64k", "none") as small:
        path = small / "signers"
        write_file(path, b"old\n")
        with pytest.raises(NotKept, match="no space left"):
            write_file(path, b"x" * 100_000)
        assert [p.name for p in small.iterdir()] == ["signers"]
        assert path.read_bytes() == b"old\n"


# --- calls that fail -----------------------------------------------------------------------------

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


def kept_heads(said: list[list[str]]) -> dict[int, str]:
    return {int(row[1]): row[2] for row in said if row[0] == "kept"}


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


# --- power cuts ----------------------------------------------------------------------------------


def readable(log: Path) -> Sequence[Line]:
    """The lines of a log up to its first damage; a control's file may hold blocks of zeros."""
    raw = log.read_bytes() if log.exists() else b""
    whole = log.with_name("whole.jsonl")
    whole.write_bytes(raw[: raw.index(b"\0")] if b"\0" in raw else raw)
    return read_log(whole).lines


def stopped_copy(image: Path, disk: Path, copy: Path, sync: bool, chance: random.Random) -> int:
    """Copy a disk's image under a stopped writer; how many acknowledged entries the copy lacks."""
    folder = disk / "run"
    folder.mkdir(exist_ok=True)

    def child(pipe: int) -> None:
        if not sync:
            os.fsync = lambda fd: None
        path = folder / "log.jsonl"
        writer = LogWriter.open(folder) if path.exists() else LogWriter.create(folder)
        while True:
            entry(writer)
            os.write(pipe, f"{writer.n - 1} {writer.head}\n".encode())

    pid, pipe = forked(child)
    said = read_some(pipe, chance.randint(500, 3000))
    os.kill(pid, signal.SIGSTOP)
    os.waitpid(pid, os.WUNTRACED)
    # Nothing may be flushed on the way: the image file is what the cut leaves.
    shutil.copyfile(image, copy)
    os.kill(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    said += read_all(pipe)
    with mounted(copy.with_suffix(".mnt"), "-o", "loop", str(copy)) as cut:
        log = cut / "run" / "log.jsonl"
        lines = readable(log)
    return missing(said, lines)


@pytest.fixture
def disk(tmp_path):
    tool = shutil.which("mkfs.ext4", path=f"{os.environ.get('PATH', '')}:/sbin:/usr/sbin")
    if tool is None:
        pytest.skip("mkfs.ext4 is not installed")
    image = tmp_path / "disk.img"
    with image.open("wb") as file:
        file.truncate(16 * 1024 * 1024)
    subprocess.run([tool, "-q", "-b", "4096", str(image)], check=True)
    with mounted(tmp_path / "disk", "-o", "loop", str(image)) as where:
        yield image, where


def power_cuts(disk, tmp_path, times):
    image, where = disk
    chance = random.Random(7)
    for number in range(times):
        copy = tmp_path / f"cut-{number}.img"
        assert stopped_copy(image, where, copy, True, chance) == 0
        copy.unlink()
    # The control: without fsync the same cut loses what was acknowledged.
    assert stopped_copy(image, where, tmp_path / "control.img", False, chance) > 0


def test_what_was_acknowledged_is_there_after_power_cuts(disk, tmp_path):
    power_cuts(disk, tmp_path, 3)


@pytest.mark.long
@pytest.mark.timeout(900)
def test_what_was_acknowledged_is_there_after_a_hundred_power_cuts(disk, tmp_path):
    power_cuts(disk, tmp_path, 100)


def test_a_line_that_is_too_long_is_told_before_the_disk_is_asked(tmp_path):
    from benchrun.errors import BenchrunError

    with LogWriter.create(tmp_path) as writer:
        with pytest.raises(BenchrunError, match="too long"):
            entry(writer, said="x" * MOST_BYTES)
        assert writer.size == 0
