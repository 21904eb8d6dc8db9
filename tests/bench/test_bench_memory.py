"""Memory of a screen that runs on with fifty clocks and an act a minute.

A day and a night pass in virtual time; half an hour passes for real, with the ticks that the
program makes by itself. What may grow is the log: its lines on the disk, and its entries in memory.
"""

import asyncio
import gc
import re
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from types import FunctionType, ModuleType

import pytest

sys.path.insert(0, str(Path(__file__).parent.parent / "screen"))
from screen_bench import Bench, show_run
from test_bench_screen import RunningClock

from benchrun.run import commands as c
from benchrun.session import Session

pytestmark = [pytest.mark.bench, pytest.mark.timeout(7200)]
EVERY_STATE = Path(__file__).parent.parent / "screen" / "procedures" / "every-state.yaml"
HOURS, MINUTES = 24, 30


@dataclass(frozen=True)
class Sizes:
    """What the program and its log take, in KiB.

    Attributes:
        resident: The program's memory.
        log: The log on the disk.
        entries: The log's entries in memory, with all that they alone hold.
        lines: How many there are.
    """

    resident: int
    log: int
    entries: int
    lines: int

    @classmethod
    def of(cls, session: Session) -> "Sizes":
        gc.collect()
        resident = int(re.search(r"VmRSS:\s+(\d+)", Path("/proc/self/status").read_text())[1])
        log = session.folder.log.stat().st_size // 1024
        return cls(resident, log, held_bytes(session.entries) // 1024, len(session.entries))

    def __str__(self) -> str:
        return f"{self.resident} KiB resident, log {self.log} KiB, entries {self.entries} KiB"


def held_bytes(entries) -> int:
    """How much memory entries take with all that hangs on them, each thing counted once."""
    seen, rest, size = set(), list(entries), 0
    while rest:
        one = rest.pop()
        if id(one) in seen or isinstance(one, (type, FunctionType, ModuleType)):
            continue
        seen.add(id(one))
        size += sys.getsizeof(one)
        rest += gc.get_referents(one)
    return size


def fifty_clocks(bench: Bench, folder: Path) -> Session:
    """A run with fifty parts in the tub, each a load of its own."""
    procedure = folder / "fifty.yaml"
    procedure.write_text(EVERY_STATE.read_text().replace("holds: 3", "holds: 60"))
    parts = [f"arm {n}" for n in range(50)]
    session = bench.begin(procedure, parts)
    session.send(c.Do("wipe", tuple(parts), session.run.n - 1)).result()
    session.send(c.Do("cracks", tuple(parts), session.run.n - 1, finding="sound")).result()
    for part in parts:
        session.send(c.PutIn("etch", (part,), session.run.n - 1)).result()
    return session


def told(name: str, sizes: list[Sizes]) -> None:
    """The growth of the second half, when all that is made once is made, against the log's."""
    half, last = sizes[len(sizes) // 2], sizes[-1]
    grown, log = last.resident - half.resident, last.log - half.log
    entries, lines = last.entries - half.entries, last.lines - half.lines
    print(f"\nbench {name} ratio={grown / max(1, log):.2f} ours={grown} floor={log} unit=KiB")
    print(
        f"bench {name}-entries ratio={grown / max(1, entries):.2f} ours={grown} floor={entries} "
        f"unit=KiB ({entries * 1024 / max(1, lines):.0f} B an entry in memory, "
        f"{log * 1024 / max(1, lines):.0f} B a line on the disk)"
    )


async def test_memory_over_a_day_and_a_night(tmp_path):
    """Each second is a tick that paints; the log is the growth that is due."""
    bench = Bench(tmp_path)
    session = fifty_clocks(bench, tmp_path)
    sizes = []
    async with bench.app.run_test(size=(80, 24)) as pilot:
        screen = await show_run(bench.app, session)
        for minute in range(HOURS * 60 + 1):
            if minute % 60 == 0:
                sizes.append(Sizes.of(session))
                print(f"hour {minute // 60}: {sizes[-1]}")
            session.send(c.KeepNote(f"minute {minute}")).result()
            for _ in range(60):
                bench.clock.wait(1000)
                screen.tick()
            session.tick().result()
            await pilot.pause()
        bench.app.leave_runs()
    told("memory-a-day", sizes)


async def test_memory_over_half_an_hour_of_real_time(tmp_path):
    """The program ticks, paints and beats by its own timers; only the act a minute is sent."""
    bench = Bench(tmp_path)
    bench.clock = RunningClock(bench.clock.now())
    bench.new_app()
    session = fifty_clocks(bench, tmp_path)
    sizes = []
    async with bench.app.run_test(size=(80, 24)):
        await show_run(bench.app, session)
        begun, used = time.monotonic(), time.process_time()
        for minute in range(MINUTES + 1):
            sizes.append(Sizes.of(session))
            print(f"minute {minute}: {sizes[-1]}")
            session.send(c.KeepNote(f"minute {minute}")).result()
            await asyncio.sleep(60)
        core = (time.process_time() - used) / (time.monotonic() - begun)
        bench.app.leave_runs()
    told("memory-half-an-hour", sizes)
    print(f"bench memory-half-an-hour-core ours={core * 100:.2f} unit=%core")
