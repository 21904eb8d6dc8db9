"""Acts in processes of their own, each killed or refused at one of its system calls by strace.

A process gets ready (a run taken up, a key at hand), is attached to, and only then acts, so that
what is counted are the calls of the act alone.
"""

import gc
import os
import re
import shutil
import signal
import socket
import subprocess
import time
import traceback
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from benchrun.errors import BenchrunError
from benchrun.procedure.load import load_bytes
from benchrun.record.anchor import state_folder
from benchrun.record.clock import SystemClock
from benchrun.record.folder import run_folders
from benchrun.run import commands as c
from benchrun.run.entries import PartSpec
from benchrun.run.offers import Deed, offers
from benchrun.session import Kept, begin, closing_statement, take_up
from benchrun.shop.folder import open_shop
from benchrun.shop.people import read_people
from benchrun.signing_keys import enrol, new_shop

PROCEDURE = b"""\
procedure: wipe-it
title: Wipe it (invented)
revision: 1
status: draft
scope: Invented, for tests only.
batch: {part: bracket, at most: 3}
stages:
  - stage: All
    steps:
      - {do: Wipe the part., id: wipe}
      - hold: Release the part.
        id: release
        another person: yes
        signs: I looked at it.
      - {do: Dry the part., id: dry}
"""
CLOCK = SystemClock()
CALLS = (
    "openat,mkdir,mkdirat,rename,renameat,renameat2,link,linkat,unlink,unlinkat,rmdir,"
    "ftruncate,write,pwrite64,writev,fsync,fdatasync,fchmod,chmod,copy_file_range,sendfile"
)
READ_ONLY = re.compile(r"openat\((?!.*O_CREAT)")
TASKS = Path("/proc/self/task")
THREADS = len(list(TASKS.iterdir())) if TASKS.is_dir() else 1
"""How many threads this process has by itself."""

TRACED = re.compile(r"(?P<tid>\d+) +(?P<call>\w+)\(")


class Bench:
    """A shop, its two people and what a process has open of it.

    Attributes:
        said: What was acknowledged, in order: entry numbers with kinds, and refusals.
    """

    def __init__(self, path):
        self.shop = open_shop(path)
        self.first, self.second = read_people(self.shop)
        self.session = None
        self.photo = None
        self.said = []

    @property
    def folder(self):
        return next(iter(run_folders(self.shop.runs)), None)

    def begin(self):
        procedure = load_bytes(PROCEDURE, "wipe.yaml")
        self.session = begin(self.shop, procedure, [PartSpec("a")], self.first, CLOCK)

    def take_up(self):
        self.session = take_up(self.shop, self.folder, self.first, CLOCK)

    def did(self, reply):
        if isinstance(reply, Kept):
            self.said += [f"{entry.n} {entry.kind}" for entry in reply.entries]
            return True
        self.said.append(f"no {reply.text}")
        return False

    def do(self, step):
        seen = self.session.run.n - 1
        return self.did(self.session.send(c.Do(step, ("a",), seen)).result())

    def hold(self):
        self.session.hand_over(self.second)
        hold = c.Do("release", ("a",), self.session.run.n - 1)
        kept = self.did(self.session.sign(hold, "two").result())
        self.session.hand_over(self.first)
        return kept

    def hand_over(self):
        self.session.hand_over(self.second)
        self.did(self.session.send(c.KeepNote("from the second")).result())

    def copy_photo(self):
        picture = self.shop.path / "hub.jpg"
        self.photo = self.session.copy_photo(picture, unsure=True)

    def keep_photo(self):
        self.did(self.session.send(self.photo).result())

    def close(self):
        close = c.Close({}, closing_statement(self.session.hand))
        return self.did(self.session.sign(close, "one").result())

    def leave(self):
        self.session.leave()

    def cut_begin(self):
        """Leave what a kill leaves before the register is told of a begin."""
        log = self.folder.log
        log.write_bytes(b"".join(log.read_bytes().splitlines(keepends=True)[:2]))
        register = self.shop.path / "register.jsonl"
        rows = register.read_bytes().splitlines(keepends=True)
        opened = next(n for n, row in enumerate(rows) if b'"kind":"opened"' in row)
        register.write_bytes(b"".join(rows[:opened]))
        shutil.rmtree(state_folder())  # no machine saw what was never written

    def cut_close(self):
        """Leave what a kill leaves after the signature under a close."""
        self.folder.seal.unlink()
        for file in (self.folder.log, self.shop.path / "register.jsonl"):
            file.write_bytes(b"".join(file.read_bytes().splitlines(keepends=True)[:-1]))
        shutil.rmtree(state_folder())

    def finish_close(self):
        try:
            self.take_up()
        except BenchrunError as error:
            if "is closed" not in error.message:
                raise

    def finish(self):
        """Do what is on offer until the run is closed, as a person does."""
        while not self.session.run.ended:
            offer = offers(self.session.run, CLOCK.now())[0]
            if offer.deed is Deed.CLOSE:
                assert self.close(), self.said
            elif offer.step.id == "release":
                assert self.hold(), self.said
            else:
                assert self.do(offer.step.id), self.said
        self.session.leave()


@dataclass(frozen=True)
class Act:
    """One act of a person.

    Attributes:
        name: What it is called.
        before: What was done before the process that acts.
        ready: What that process does before it is attached to.
        act: What is cut.
    """

    name: str
    before: tuple[Callable[[Bench], object], ...]
    ready: tuple[Callable[[Bench], object], ...]
    act: Callable[[Bench], object]


def _do(step):
    return lambda bench: bench.do(step)


BEGUN = (Bench.begin, Bench.leave)
AT_HOLD = (Bench.begin, _do("wipe"), Bench.leave)
AT_CLOSE = (Bench.begin, _do("wipe"), Bench.hold, _do("dry"), Bench.leave)
BEGIN_CUT = (*BEGUN, Bench.cut_begin)
CLOSE_CUT = (*AT_CLOSE, Bench.take_up, Bench.close, Bench.cut_close)
UP = (Bench.take_up,)
ACTS = (
    Act("begin", (), (), Bench.begin),
    Act("hold", AT_HOLD, UP, Bench.hold),
    Act("hand over", AT_HOLD, UP, Bench.hand_over),
    Act("photo", BEGUN, UP, Bench.copy_photo),
    Act("photo entry", BEGUN, (*UP, Bench.copy_photo), Bench.keep_photo),
    Act("suspend", BEGUN, UP, Bench.leave),
    Act("resume", AT_HOLD, (), Bench.take_up),
    Act("close", AT_CLOSE, UP, Bench.close),
    Act("resume a begin that was cut", BEGIN_CUT, (), Bench.take_up),
    Act("finish a close that was cut", CLOSE_CUT, (), Bench.finish_close),
)


def need_strace():
    """Skip, with the reason, where strace cannot inject."""
    if shutil.which("strace") is None:
        pytest.skip("strace is not installed: no system call can be cut")
    tried = subprocess.run(
        ["strace", "-o", "/dev/null", "-e", "inject=fsync:error=EIO:when=1", "true"],
        capture_output=True,
        text=True,
    )
    if tried.returncode:
        pytest.skip(f"strace cannot inject here: {tried.stderr.strip()[:200]}")


def lay_shop(path):
    """A shop with two people, and a picture to be taken."""
    shop = new_shop(path, "Shop", CLOCK.now())
    enrol(shop, "First Hand", CLOCK.now(), passphrase="one")
    enrol(shop, "Second Hand", CLOCK.now(), passphrase="two")
    (path / "hub.jpg").write_bytes(b"an invented picture")
    return path


def lay_out(act, shop, place):
    """A copy of a shop in which all was done that comes before an act; no machine saw another."""
    shutil.rmtree(state_folder().parent, ignore_errors=True)
    shutil.copytree(shop, place)
    bench = Bench(place)
    for deed in act.before:
        deed(bench)
    return place


@dataclass(frozen=True)
class Call:
    """One file-changing system call of an act: the nth of its name in its thread."""

    name: str
    nth: int
    reachable: bool


@dataclass(frozen=True)
class Outcome:
    """The fate of an act that was cut.

    Attributes:
        said: What it acknowledged and refused.
        killed: Whether it was killed.
        error: What it raised, in words.
    """

    said: tuple[str, ...]
    killed: bool
    error: str = ""


def acted(act, place, *strace, again=False):
    """Let a process act while strace looks on.

    Args:
        act: What it does.
        place: The shop.
        strace: What strace is to do.
        again: Whether the process does it once more where it was refused, and then leaves the run.
    """
    ours, pid = _ready(act, place, again)
    with ours:
        looker = subprocess.Popen(
            ["strace", "-f", "-qq", "-s", "0", "-p", str(pid), *strace],
            stderr=subprocess.PIPE,
            text=True,
        )
        _attached(pid)
        ours.sendall(b"go")
        said = b""
        while more := ours.recv(65536):
            said += more
    _, status = os.waitpid(pid, 0)
    looker.communicate()
    rows = said.decode().splitlines()
    errors = [row[6:] for row in rows if row.startswith("error ")]
    kept = tuple(row for row in rows if not row.startswith("error "))
    killed = os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL
    return Outcome(kept, killed, "; ".join(errors))


def _ready(act, place, again):
    """A process that is ready to act, and the pipe to it.

    One that was forked while a thread held a lock of the C library never gets ready: another is.
    """
    for _ in range(3):
        ours, theirs = socket.socketpair()
        _threads_ended()
        pid = os.fork()
        if pid == 0:
            ours.close()
            try:
                _act(act, place, theirs, again)
            finally:
                os._exit(0)
        theirs.close()
        ours.settimeout(40)
        try:
            assert ours.recv(16) == b"ready"
        except TimeoutError:
            ours.close()
            os.kill(pid, signal.SIGKILL)
            os.waitpid(pid, 0)
            continue
        ours.settimeout(None)
        return ours, pid
    raise AssertionError("no process got ready to act")


def _act(act, place, pipe, again):
    bench = Bench(place)
    for deed in act.ready:
        deed(bench)
    bench.said.clear()
    pipe.sendall(b"ready")
    pipe.recv(2)
    if not _tried(act.act, bench) and again:
        _tried(act.act, bench)
    if again and bench.session is not None:
        _tried(Bench.leave, bench)
    pipe.sendall("".join(f"{row}\n" for row in bench.said).encode())


def _tried(deed, bench):
    """Whether a deed was done; what stood in its way is said."""
    before = len(bench.said)
    try:
        deed(bench)
    except BenchrunError as error:
        bench.said.append(f"error {error.message}")
    except BaseException as error:
        bench.said.append(f"error FAULT {traceback.format_exc()!r} {error!r}")
    return not any(row.startswith(("no ", "error ")) for row in bench.said[before:])


def _threads_ended():
    """Wait until the threads of earlier runs have ended.

    A joined one may hold a lock of the C library for signatures yet, which a fork would never free.
    """
    if len(list(TASKS.iterdir())) > THREADS:
        gc.collect()  # those of runs that tests of other files left open end with them
    until = time.monotonic() + 10
    while len(list(TASKS.iterdir())) > THREADS and time.monotonic() < until:
        time.sleep(0.001)


def _attached(pid):
    """Wait until every thread of a process is traced."""
    while True:
        traced = [
            re.search(r"TracerPid:\s+(\d+)", (thread / "status").read_text())[1] != "0"
            for thread in Path(f"/proc/{pid}/task").iterdir()
        ]
        if all(traced):
            return


def calls_of(act, shop, place):
    """The file-changing calls of an act, in order."""
    lay_out(act, shop, place)
    log = place.with_suffix(".strace")
    outcome = acted(act, place, "-o", str(log), "-e", f"trace={CALLS}")
    assert not outcome.error, outcome.error
    counts, first, found = Counter(), {}, []
    for row in log.read_text().splitlines():
        matched = TRACED.match(row)
        if matched is None or "resumed>" in row:
            continue
        tid, name = matched["tid"], matched["call"]
        counts[tid, name] += 1
        nth = counts[tid, name]
        reachable = first.setdefault((name, nth), tid) == tid
        if not READ_ONLY.search(row):
            found.append(Call(name, nth, reachable))
    return found
