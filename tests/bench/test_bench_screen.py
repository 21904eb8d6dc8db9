"""How quick the screen is, each figure beside the least that would do."""

import asyncio
import os
import pty
import re
import select
import statistics
import subprocess
import sys
import time
from pathlib import Path

import pytest
from textual.events import Key

sys.path.insert(0, str(Path(__file__).parent.parent / "screen"))
from screen_bench import Bench, show_run
from screen_terminal import Terminal

from benchrun.run import commands as c
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
    began = time.perf_counter()
    child, fd = minimal()
    seen = b""
    while b"READY" not in seen:
        select.select([fd], [], [], 1)
        seen += os.read(fd, 65536)
    took = time.perf_counter() - began
    child.kill()
    child.wait()
    os.close(fd)
    return took


def first_board(folder: Path, words: bytes = b"BEGIN") -> float:
    began = time.perf_counter()
    terminal = Terminal(folder)
    while words not in terminal.raw:
        terminal.read(1)
    took = time.perf_counter() - began
    terminal.close()
    return took


def report(name: str, ours: float, floor: float, unit: str) -> None:
    print(f"\nbench {name} ratio={ours / floor:.2f} ours={ours:.4g} floor={floor:.4g} unit={unit}")


def test_first_frame_of_the_board(tmp_path):
    Terminal(tmp_path).close()
    first_board(tmp_path)
    ours = statistics.median(first_board(tmp_path) for _ in range(7))
    floor = statistics.median(first_minimal() for _ in range(7))
    report("board-first-frame", ours * 1000, floor * 1000, "ms")


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
        report(f"board-{name}-open-run", ours * 1000, floor * 1000, "ms")


def used(pid: int) -> tuple[float, int]:
    """Processor seconds and resident kilobytes of a process."""
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    status = Path(f"/proc/{pid}/status").read_text()
    seconds = (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
    return seconds, int(re.search(r"VmRSS:\s+(\d+)", status)[1])


def test_fifty_clocks_ticking_and_memory(tmp_path):
    path = tmp_path / "shop"
    Terminal(tmp_path).close()
    bench = Bench(tmp_path / "seed")
    text = EVERY_STATE.read_text().replace("holds: 3", "holds: 60")
    procedure = tmp_path / "fifty.yaml"
    procedure.write_text(text)
    bench.shop = open_shop(path)
    bench.person = read_people(bench.shop)[0]
    parts = [f"arm {i}" for i in range(50)]
    session = bench.begin(procedure, parts)
    session.send(c.Do("wipe", tuple(parts), session.run.n - 1)).result()
    session.send(c.Do("cracks", tuple(parts), session.run.n - 1, finding="sound")).result()
    for part in parts:
        session.send(c.PutIn("etch", (part,), session.run.n - 1)).result()
    session.leave()
    terminal = Terminal(tmp_path, size=(150, 60))
    terminal.see("ON THE CLOCK")
    ends = time.monotonic() + 3  # until what goes on beside the board is done
    while time.monotonic() < ends:
        terminal.read(0.1)
    before, raw = used(terminal.child.pid), len(terminal.raw)
    for _ in range(10):
        terminal.pass_time(1000)
        ends = time.monotonic() + 1
        while time.monotonic() < ends:
            terminal.read(0.1)
    after = used(terminal.child.pid)
    sent = len(terminal.raw) - raw
    terminal.close()
    child, fd = minimal()
    time.sleep(1.5)
    idle = used(child.pid)
    time.sleep(5)
    still = used(child.pid)
    child.kill()
    child.wait()
    os.close(fd)
    ours, floor = (after[0] - before[0]) * 10, (still[0] - idle[0]) * 20
    print(
        f"\nbench fifty-clocks ratio={ours / max(floor, 0.1):.2f} ours={ours:.2f} "
        f"floor={floor:.2f} unit=%core sent={sent / 10:.0f} B/s"
    )
    report("memory", after[1] / 1024, still[1] / 1024, "MiB")


async def test_key_to_recorded(tmp_path):
    """A bare write and fsync follows each key, so that both meet the disk in the same mood."""
    bench = Bench(tmp_path)
    session = bench.begin(EVERY_STATE, ["arm"])
    session.send(c.Do("wipe", ("arm",), session.run.n - 1)).result()
    session.send(c.Do("cracks", ("arm",), session.run.n - 1, finding="sound")).result()
    session.send(c.PutIn("etch", ("arm",), session.run.n - 1)).result()
    fd = os.open(tmp_path / "floor", os.O_CREAT | os.O_WRONLY | os.O_APPEND)
    kept, shown, bare = [], [], []

    def timed(command):
        """The run's own `send`; its reply comes on the thread that kept the line."""
        reply = send(command)
        reply.add_done_callback(lambda _: kept.append(time.perf_counter() - began))
        return reply

    send, session.send = session.send, timed
    async with bench.app.run_test(size=(80, 24)):
        await show_run(bench.app, session)
        for _ in range(120):
            bench.clock.wait(600)
            screen = bench.app.screen
            heard, began = screen.heard, time.perf_counter()
            bench.app.post_message(Key("enter", "\r"))
            while screen.heard == heard:
                await asyncio.sleep(0.0001)
            shown.append(time.perf_counter() - began)
            bare.append(once_on_disk(fd))
    os.close(fd)
    assert len(kept) == len(shown)
    floor = statistics.median(bare) * 1e6
    report("key-to-recorded", statistics.median(kept) * 1e6, floor, "us")
    report("key-to-page", statistics.median(shown) * 1e6, floor, "us")


def once_on_disk(fd: int) -> float:
    """Seconds of a bare write of 300 bytes and its fsync."""
    began = time.perf_counter()
    os.write(fd, b"x" * 300)
    os.fsync(fd)
    return time.perf_counter() - began
