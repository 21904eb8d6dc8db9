"""Memory of a screen that runs a day and a night with fifty clocks and an act a minute."""

import gc
import re
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent.parent / "screen"))
from screen_bench import Bench, show_run

from benchrun.run import commands as c

pytestmark = [pytest.mark.bench, pytest.mark.timeout(7200)]
EVERY_STATE = Path(__file__).parent.parent / "screen" / "procedures" / "every-state.yaml"
HOURS = 24


def resident_kib() -> int:
    gc.collect()
    return int(re.search(r"VmRSS:\s+(\d+)", Path("/proc/self/status").read_text())[1])


async def test_memory_over_a_day_and_a_night(tmp_path):
    """Each second is a tick that paints; the log is the growth that is due."""
    bench = Bench(tmp_path)
    procedure = tmp_path / "fifty.yaml"
    procedure.write_text(EVERY_STATE.read_text().replace("holds: 3", "holds: 60"))
    parts = [f"arm {n}" for n in range(50)]
    session = bench.begin(procedure, parts)
    session.send(c.Do("wipe", tuple(parts), session.run.n - 1)).result()
    session.send(c.Do("cracks", tuple(parts), session.run.n - 1, finding="sound")).result()
    for part in parts:
        session.send(c.PutIn("etch", (part,), session.run.n - 1)).result()
    sizes = []
    async with bench.app.run_test(size=(80, 24)) as pilot:
        screen = await show_run(bench.app, session)
        for minute in range(HOURS * 60 + 1):
            if minute % 60 == 0:
                sizes.append((resident_kib(), session.folder.log.stat().st_size // 1024))
                print(f"hour {minute // 60}: {sizes[-1][0]} KiB resident, log {sizes[-1][1]} KiB")
            session.send(c.KeepNote(f"minute {minute}")).result()
            for _ in range(60):
                bench.clock.wait(1000)
                screen.tick()
            session.tick().result()
            await pilot.pause()
        bench.app.leave_runs()
    half = len(sizes) // 2
    grown, log = sizes[-1][0] - sizes[half][0], sizes[-1][1] - sizes[half][1]
    print(f"\nbench memory-a-day ratio={grown / max(1, log):.2f} ours={grown} floor={log} unit=KiB")
