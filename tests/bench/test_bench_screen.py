"""How quick the screen is, each figure beside the least that would do."""

import asyncio
import fcntl
import os
import pty
import re
import select
import statistics
import struct
import subprocess
import sys
import termios
import time
from dataclasses import replace
from pathlib import Path

import pytest
from textual.events import Key

sys.path.insert(0, str(Path(__file__).parent.parent / "screen"))
from screen_bench import Bench, show_run
from screen_terminal import Terminal

from benchrun.moment import Moment
from benchrun.run import commands as c
from benchrun.screen.app import BenchApp
from benchrun.shop.folder import open_shop
from benchrun.shop.people import read_people

pytestmark = pytest.mark.bench
EVERY_STATE = Path(__file__).parent.parent / "screen" / "procedures" / "every-state.yaml"
MINIMAL = """
from textual.app import App
from textual.widgets import Static
class Least(App):
    def compose(self):
        yield Static("READY")
Least().run(mouse=False)
"""


def minimal() -> tuple[subprocess.Popen, int]:
    """The least Textual app in a terminal of its own."""
    fd, other = pty.openpty()
    environ = {**os.environ, "TERM": "xterm-256color", "COLUMNS": "80", "LINES": "24"}
    child = subprocess.Popen(
        [sys.executable, "-c", MINIMAL], stdin=other, stdout=other, stderr=other, env=environ
    )
    os.close(other)
    return child, fd


def first_minimal() -> float:
    """Processor seconds until the least app has drawn."""
    child, fd = minimal()
    seen = b""
    while b"READY" not in seen:
        select.select([fd], [], [], 1)
        seen += os.read(fd, 65536)
    took = used(child.pid)[0]
    child.kill()
    child.wait()
    os.close(fd)
    return took


def first_board(folder: Path, words: bytes = b"BEGIN") -> float:
    """Processor seconds until words stand on the board."""
    terminal = Terminal(folder)
    while words not in terminal.raw:
        terminal.read(1)
    took = used(terminal.child.pid)[0]
    terminal.close()
    return took


def report(name: str, ours: float, floor: float, unit: str) -> None:
    print(f"\nbench {name} ratio={ours / floor:.2f} ours={ours:.4g} floor={floor:.4g} unit={unit}")


def test_first_frame_of_the_board(tmp_path):
    Terminal(tmp_path).close()
    first_board(tmp_path)
    ours = statistics.median(first_board(tmp_path) for _ in range(7))
    floor = statistics.median(first_minimal() for _ in range(7))
    report("board-first-frame", ours, floor, "s")


def test_first_frame_of_a_board_with_an_open_run(tmp_path):
    Terminal(tmp_path).close()
    bench = Bench(tmp_path / "seed")
    bench.shop = open_shop(tmp_path / "shop")
    bench.person = read_people(bench.shop)[0]
    bench.begin(EVERY_STATE, ["arm"]).leave()
    first_board(tmp_path)
    floor = statistics.median(first_minimal() for _ in range(7))
    for name, words in (("first-frame", b"being read"), ("complete", b"step 1")):
        ours = statistics.median(first_board(tmp_path, words) for _ in range(7))
        report(f"board-{name}-open-run", ours, floor, "s")


def used(pid: int) -> tuple[float, int]:
    """Processor seconds and resident kilobytes of a process."""
    status = Path(f"/proc/{pid}/status").read_text()
    return seconds_of(pid), int(re.search(r"VmRSS:\s+(\d+)", status)[1])


def seconds_of(pid: int) -> float:
    """Processor seconds of a process, also of one that has ended and is not waited for yet."""
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def first_try(words: bytes) -> float:
    """Processor seconds of `benchrun try`, until words stand in its terminal."""
    fd, other = pty.openpty()
    environ = {**os.environ, "TERM": "xterm-256color"}
    fcntl.ioctl(other, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    command = [sys.executable, "-m", "benchrun", "try"]
    child = subprocess.Popen(command, stdin=other, stdout=other, stderr=other, env=environ)
    os.close(other)
    seen = b""
    while words not in seen:
        ready, _, _ = select.select([fd], [], [], 120)
        assert ready, seen[-2000:]
        seen += os.read(fd, 65536)
    took = used(child.pid)[0]
    child.terminate()
    child.wait()
    os.close(fd)
    return took


def test_start_of_the_sample_shop_to_look_round_in(tmp_path, monkeypatch):
    """From the command to the board; at most three times the first frame of a board."""
    monkeypatch.setenv("BENCHRUN_STATE", str(tmp_path / "state"))
    Terminal(tmp_path).close()
    first_board(tmp_path)
    ours, floor = [], []
    for _ in range(5):
        ours.append(first_try(b"UNDER WAY"))
        floor.append(first_board(tmp_path))
    report("try-start-against-board", statistics.median(ours), statistics.median(floor), "s")


def on_cores(pid: int) -> float:
    """Seconds that all threads of a process were on a core, to the nanosecond."""
    tasks = Path(f"/proc/{pid}/task").iterdir()
    return sum(int((task / "schedstat").read_text().split()[0]) for task in tasks) / 1e9


@pytest.mark.parametrize("page", ["board", "run"])
@pytest.mark.parametrize("size", [(80, 24), (150, 60)], ids=["80x24", "150x60"])
def test_fifty_clocks_ticking_and_memory(tmp_path, size, page):
    """The least app runs beside for as long, so that both meet the same load."""
    Terminal(tmp_path).close()
    _with_fifty_clocks(tmp_path)
    child, fd = minimal()
    terminal = Terminal(tmp_path, size=size, answers="yes")
    terminal.see("ON THE CLOCK")
    if page == "run":
        terminal.type("1")
        terminal.see("Keep every face wet")

    def pass_seconds(seconds: int) -> tuple[float, float, int]:
        begun = on_cores(terminal.child.pid), on_cores(child.pid), len(terminal.raw)
        for _ in range(seconds):
            terminal.pass_time(1000)
            ends = time.monotonic() + 1
            while time.monotonic() < ends:
                terminal.read(0.1)
                if select.select([fd], [], [], 0)[0]:
                    os.read(fd, 65536)
        now = on_cores(terminal.child.pid), on_cores(child.pid), len(terminal.raw)
        return tuple(after - before for after, before in zip(now, begun, strict=True))

    pass_seconds(6)  # until what goes on beside the first page is done
    ours, floor, sent = pass_seconds(20)
    memory, least = used(terminal.child.pid)[1], used(child.pid)[1]
    terminal.close()
    child.kill()
    child.wait()
    os.close(fd)
    ours, floor = ours * 5, floor * 5
    print(
        f"\nbench fifty-clocks-{page}-{size[0]}x{size[1]} ratio={ours / floor:.2f} "
        f"ours={ours:.2f} floor={floor:.2f} unit=%core over={ours - floor:.2f} "
        f"sent={sent / 20:.0f} B/s"
    )
    report("memory", memory / 1024, least / 1024, "MiB")


def _with_fifty_clocks(folder: Path) -> None:
    """Begin a run with fifty parts in the tub in a folder's shop, and leave it open."""
    bench = Bench(folder / "seed")
    procedure = folder / "fifty.yaml"
    procedure.write_text(EVERY_STATE.read_text().replace("holds: 3", "holds: 60"))
    bench.shop = open_shop(folder / "shop")
    bench.person = read_people(bench.shop)[0]
    parts = tuple(f"arm {i}" for i in range(50))
    session = bench.begin(procedure, parts)
    session.send(c.Do("wipe", parts, session.run.n - 1)).result()
    session.send(c.Do("cracks", parts, session.run.n - 1, finding="sound")).result()
    for part in parts:
        session.send(c.PutIn("etch", (part,), session.run.n - 1)).result()
    session.leave()


@pytest.mark.parametrize(("pause", "name"), [(0.0, ""), (0.02, "-after-a-pause")])
async def test_key_to_recorded(tmp_path, pause, name):
    """A bare write and fsync follows each key, so that both meet the disk in the same mood.

    The clock goes on, as it does for a person: one that stood still would spare what is worked out
    for each moment. Key upon key, the processor is at work; after a pause, as keys mostly come, it
    wakes up first, for the bare write too.
    """
    bench = Bench(tmp_path)
    bench.clock = RunningClock(bench.clock.now())
    bench.new_app()
    session = bench.begin(EVERY_STATE, ["arm"])
    session.send(c.Do("wipe", ("arm",), session.run.n - 1)).result()
    session.send(c.Do("cracks", ("arm",), session.run.n - 1, finding="sound")).result()
    session.send(c.PutIn("etch", ("arm",), session.run.n - 1)).result()
    fd = os.open(tmp_path / "floor", os.O_CREAT | os.O_WRONLY | os.O_APPEND)
    kept, shown, bare, began = [], [], [], 0.0

    def timed(command):
        """The run's own `send`; its reply comes on the thread that kept the line."""
        reply = send(command)
        reply.add_done_callback(lambda _: kept.append(time.perf_counter() - began))
        return reply

    def painted():
        """The run screen's own `paint`; its last one after a key shows what came of it."""
        paint()
        if shown:
            shown[-1] = time.perf_counter() - began
        drawn.set()

    drawn = asyncio.Event()

    send, session.send = session.send, timed
    async with asyncio.timeout(120), bench.app.run_test(size=(80, 24)):
        screen = await show_run(bench.app, session)
        paint, screen.paint = screen.paint, painted
        for _ in range(120):
            bench.clock.wait(600)
            await asyncio.sleep(pause)
            shown.append(0.0)
            heard, began = screen.heard, time.perf_counter()
            bench.app.post_message(Key("enter", "\r"))
            while screen.heard == heard:
                drawn.clear()
                await drawn.wait()
                await asyncio.sleep(0)
            await asyncio.sleep(pause)
            bare.append(once_on_disk(fd))
    os.close(fd)
    assert len(kept) == len(shown)
    floor = statistics.median(bare) * 1e6
    report(f"key-to-recorded{name}", statistics.median(kept) * 1e6, floor, "us")
    report(f"key-to-page{name}", statistics.median(shown) * 1e6, floor, "us")


def once_on_disk(fd: int) -> float:
    """Seconds of a bare write of 300 bytes and its fsync."""
    began = time.perf_counter()
    os.write(fd, b"x" * 300)
    os.fsync(fd)
    return time.perf_counter() - began


class RunningClock:
    """A clock that goes on in real time from a moment."""

    def __init__(self, start: Moment) -> None:
        self._start, self._began = start, time.perf_counter()

    def now(self) -> Moment:
        ms = int((time.perf_counter() - self._began) * 1000)
        return replace(self._start, utc_ms=self._start.utc_ms + ms, up_ms=self._start.up_ms + ms)

    def slept_ms(self) -> int:
        return 0

    def wait(self, ms: int) -> None:
        """Go on by so much at once."""
        start = self._start
        self._start = replace(start, utc_ms=start.utc_ms + ms, up_ms=start.up_ms + ms)


SOAKS = """\
procedure: soaks
title: Two hundred soaks (invented, for tests)
revision: 1
status: draft
use: step by step
scope: Invented.
changes: {1: First.}
sources: {s: "common practice, no source"}
batch: {part: lever}
vessels: {tub: {title: tub}}
stages:
  - stage: All
    steps:
      - {dwell: Soak it., id: soak, in: tub, least: 10 min, most: 60 min, early: [again],
         late: [go on], source: s}
"""


async def test_from_the_band_to_the_row(tmp_path):
    """The floor is the tick of a second: a call that waited for it would take half of it."""
    bench = Bench(tmp_path)
    path = tmp_path / "soaks.yaml"
    path.write_text(SOAKS)
    sessions = [
        bench.begin(path, [f"l {n}" for n in range(50)], tag=f"tes{run}") for run in range(4)
    ]
    calls = 8
    for part in range(calls):
        session = sessions[0]
        session.send(c.PutIn("soak", (f"l {part}",), session.run.n - 1)).result()
        bench.clock.wait(2_500)
    bench.clock.wait(300_000)
    for session in sessions:
        for part in session.run.parts:
            if session.run.markers[part].soak is None:
                session.send(c.PutIn("soak", (part,), session.run.n - 1)).result()
        session.leave()
    bench.clock.wait(600_000 - 300_000 - calls * 2_500 - 1_300)
    clock = RunningClock(bench.clock.now())
    base = clock.now().up_ms + 1_300
    app = BenchApp(bench.shop.path, look=bench.look, clock=clock)
    took = []
    async with app.run_test(size=(80, 24)):
        while not app.screen.board.looked:
            await asyncio.sleep(0.01)
        assert len(app.screen.board.clocks_at(clock.now())) == 200
        for call in range(calls):
            seen = f"l {call}: take out"
            while seen not in app.screen.page_view.rows[0].text:
                await asyncio.sleep(0.001)
            took.append(clock.now().up_ms - base - call * 2_500)
            app.alarm_book.silence(app.alarm_book.first, clock.now())
            app.screen.paint()
    took = took[1:]  # the first look at the runs may come after the first call
    print(f"\nfrom the band to the row, 200 clocks: {sorted(took)} ms")
    report("band-to-row", statistics.median(took), 1000, "ms")
