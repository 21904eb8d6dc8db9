"""Writers in processes of their own, to be killed, starved and cut off."""

import os
import subprocess
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import pytest

from benchrun.record.clock import SystemClock
from benchrun.record.line import Line
from benchrun.record.writer import LogWriter

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


def missing(said: bytes, lines: Sequence[Line]) -> int:
    """How many of the entries that a writer acknowledged are not among the lines."""
    heads = {line.n: line.head for line in lines}
    acknowledged = [row.split() for row in said.decode().split("\n")[:-1]]
    assert acknowledged
    return sum(
        int(n) not in heads or head not in {heads[int(n)], "unknown"} for n, head in acknowledged
    )


def kept_heads(said: list[list[str]]) -> dict[int, str]:
    return {int(row[1]): row[2] for row in said if row[0] == "kept"}


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
