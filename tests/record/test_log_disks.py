"""Full disks, failing disks and power cuts: each with a control that shows it can fail."""

import os
import random
import resource
import shutil
import signal
import subprocess
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest
from processes import entry, forked, missing, mounted, read_all, read_some

from benchrun.record.chain import read_log
from benchrun.record.durable import write_file
from benchrun.record.line import Line
from benchrun.record.trouble import NotKept
from benchrun.record.writer import LogWriter

SBIN = f"{os.environ.get('PATH', '')}:/sbin:/usr/sbin"


def mkfs() -> str:
    tool = shutil.which("mkfs.ext4", path=SBIN)
    if tool is None:
        pytest.skip("mkfs.ext4 is not installed")
    return tool


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

    with mounted(tmp_path / "small", "-t", "tmpfs", "-o", "size=64k", "none") as small:
        path = small / "signers"
        write_file(path, b"old\n")
        with pytest.raises(NotKept, match="no space left"):
            write_file(path, b"x" * 100_000)
        assert [p.name for p in small.iterdir()] == ["signers"]
        assert path.read_bytes() == b"old\n"


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
    image = tmp_path / "disk.img"
    with image.open("wb") as file:
        file.truncate(16 * 1024 * 1024)
    subprocess.run([mkfs(), "-q", "-b", "4096", str(image)], check=True)
    with mounted(tmp_path / "disk", "-o", "loop", str(image)) as where:
        yield image, where


def power_cuts(disk, tmp_path, times):
    image, where = disk
    chance = random.Random(7)
    for number in range(times):
        copy = tmp_path / f"cut-{number}.img"
        assert stopped_copy(image, where, copy, True, chance) == 0
        copy.unlink()
    # The control: without fsync the same cut loses what was acknowledged, unless the system happens
    # to have written it just then.
    controls = (tmp_path / f"control-{number}.img" for number in range(5))
    assert any(stopped_copy(image, where, copy, False, chance) for copy in controls)


def test_what_was_acknowledged_is_there_after_power_cuts(disk, tmp_path):
    power_cuts(disk, tmp_path, 3)


@pytest.mark.long
@pytest.mark.timeout(900)
def test_what_was_acknowledged_is_there_after_a_hundred_power_cuts(disk, tmp_path):
    power_cuts(disk, tmp_path, 100)


def on_a_failing_disk(folder: Path, pipe: int, deaf: bool) -> None:
    real = os.fsync

    def unheard(fd: int) -> None:
        try:
            real(fd)
        except OSError:
            return

    if deaf:
        os.fsync = unheard
    with LogWriter.create(folder) as writer:
        for _ in range(260):
            try:
                entry(writer, said="x" * 30_000)
            except NotKept:
                return
            os.write(pipe, f"{writer.n - 1} {writer.head}\n".encode())


def whatever_is_left(path: Path) -> bytes:
    raw = b""
    with suppress(OSError), path.open("rb", buffering=0) as file:
        while block := file.read(4096):
            raw += block
    return raw


@contextmanager
def loop_of_single_pages(image: Path) -> Iterator[str]:
    """A block device over a file that is written one page at a time.

    Of a longer write that half fits, the loop driver says that all of it went in.
    """
    tool = shutil.which("losetup", path=SBIN)
    if tool is None:
        pytest.skip("losetup is not installed")
    made = subprocess.run(
        [tool, "-f", "--show", str(image)], capture_output=True, text=True, check=False
    )
    if made.returncode:
        pytest.skip(f"losetup does not work here: {made.stderr.strip()}")
    device = made.stdout.strip()
    try:
        Path(f"/sys/block/{Path(device).name}/queue/max_sectors_kb").write_text("4")
        yield device
    finally:
        subprocess.run([tool, "-d", device], check=True)


@pytest.mark.parametrize("deaf", [False, True])
def test_a_disk_that_really_fails_loses_nothing_acknowledged(tmp_path, deaf):
    """A disk that promised more than it has, so that fsync fails for real.

    The control is a writer that does not hear its fsyncs fail.
    """
    with mounted(tmp_path / "under", "-t", "tmpfs", "-o", "size=10m", "none") as under:
        image = under / "disk.img"
        with image.open("wb") as file:
            file.truncate(64 * 1024 * 1024)
        subprocess.run([mkfs(), "-q", "-b", "4096", "-J", "size=4", str(image)], check=True)
        with loop_of_single_pages(image) as device:
            with mounted(tmp_path / "disk", device) as disk:
                pid, pipe = forked(lambda theirs: on_a_failing_disk(disk, theirs, deaf))
                said = read_all(pipe)
                os.waitpid(pid, 0)
            # The disk comes back to its senses, so that its file system can be mended and read.
            subprocess.run(["mount", "-o", "remount,size=80m", str(under)], check=True)
            with mounted(tmp_path / "disk", device) as disk:
                raw = whatever_is_left(disk / "log.jsonl")
    log = tmp_path / "log.jsonl"
    log.write_bytes(raw)
    assert said.count(b"\n") > 100
    lost = missing(said, readable(log))
    assert lost > 0 if deaf else lost == 0
