"""A full shop: many open runs, many rows in the books, many runs to verify, commands that start.

All figures are processor seconds of the programs that were started, children and all, so that they
hold on a machine that does other things too. The shops are made by rehearsals; that takes longest.
"""

import math
import os
import resource
import shutil
import statistics
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent.parent / "screen"))
from screen_terminal import Terminal
from shop_generator import GeneratedShop
from test_bench_screen import first_minimal, report, seconds_of, used

from benchrun.board import look
from benchrun.procedure.load import load
from benchrun.record.clock import VirtualClock
from benchrun.run import commands as c
from benchrun.run.entries import PartSpec
from benchrun.session import Kept, begin
from benchrun.shop.people import read_people

pytestmark = [pytest.mark.bench, pytest.mark.timeout(3600)]
WIPES = """\
procedure: wipes
title: Wipe and paint (invented, for timings)
revision: 1
scope: Invented, for timings only.
changes: {1: First.}
batch: {part: lever}
needs: {supplies: [moisture-cured paint 7]}
stages:
  - stage: All
    steps:
      - {do: Wipe it., id: wipe}
      - {do: Paint it., id: paint, uses: {supply: moisture-cured paint 7, amount: 2 ml}}
"""


def made(folder: Path, *, open_runs: int = 0, closed: int = 0, rows: int = 0) -> GeneratedShop:
    os.environ["BENCHRUN_STATE"] = str(folder / "state")
    shop = GeneratedShop(folder)
    shop.open_runs(open_runs)
    shop.closed_runs(closed)
    if rows:
        shop.rows(rows)
    return shop


@pytest.fixture(autouse=True)
def state(monkeypatch):
    """What a generated shop sets of this machine's state goes with the test."""
    monkeypatch.setenv("BENCHRUN_STATE", os.environ.get("BENCHRUN_STATE", ""))


def cpu_of(command: list[str], times: int = 3) -> float:
    """Median processor seconds of a command with its children."""
    took = []
    for _ in range(times):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        done = subprocess.run(command, capture_output=True, check=False)
        assert done.returncode in (0, 1), done.stderr
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        took.append(sum(after[:2]) - sum(before[:2]))
    return statistics.median(took)


def benchrun(shop: GeneratedShop, *words: str) -> list[str]:
    return [sys.executable, "-m", "benchrun", "--shop", str(shop.path), *words]


def board_cpu(shop: GeneratedShop, words: str | None = None) -> float:
    """Processor seconds until the whole board stands, or words on it."""
    terminal = Terminal(shop.path.parent, answers="yes")
    terminal.wall, terminal.up = shop.clock.now().utc_ms, shop.clock.now().up_ms
    terminal.pass_time(0)
    try:
        ends = time.monotonic() + 300
        while time.monotonic() < ends:
            text = terminal.text
            if words is None and "UNDER WAY" in text and "being read" not in text:
                break
            if words is not None and words in text:
                break
            terminal.read(0.02)
        return used(terminal.child.pid)[0]
    finally:
        terminal.close()


def test_the_complete_board_of_many_open_runs(tmp_path):
    took = {}
    for count in (2, 50, 200):
        shop = made(tmp_path / str(count), open_runs=count)
        board_cpu(shop)
        took[count] = statistics.median(board_cpu(shop) for _ in range(3))
        if count == 200:
            first = statistics.median(board_cpu(shop, "ON THE CLOCK") for _ in range(3))
            report("board-200-first-clock", first, took[2], "s")
        for number in (1, 2):
            begun = time.process_time()
            look(shop.shop, shop.clock.now())
            print(f"look {number} at {count} runs: {time.process_time() - begun:.3f} s")
    report("board-50-against-2", took[50], took[2], "s")
    report("board-200-against-2", took[200], took[2], "s")
    bare = statistics.median(first_minimal() for _ in range(5))
    report("board-complete-against-bare-app", took[2], bare, "s")


def test_books_of_many_rows(tmp_path):
    commands: dict[int, dict[str, float]] = {}
    shops = {}
    for rows in (20, 2000):
        shop = made(tmp_path / str(rows), open_runs=5, rows=rows)
        commands[rows] = {
            words: cpu_of(benchrun(shop, *words.split()))
            for words in ("board", "shop", "supplies list", "ready brush-coats")
        }
        shops[rows] = shop
    acts = act_to_act(shops, tmp_path / "wipes.yaml")
    for words in commands[20]:
        report(f"{words}-2000-rows", commands[2000][words], commands[20][words], "s")
    for act in acts[20]:
        report(f"act-to-act-{act}-2000-rows", acts[2000][act] * 1e3, acts[20][act] * 1e3, "ms")


def act_to_act(shops: dict[int, GeneratedShop], path: Path) -> dict[int, dict[str, float]]:
    """Processor seconds of an act with all that follows it, in each shop by its rows.

    The shops take turns, so that all meet the same load.
    """
    path.write_text(WIPES)
    clock = VirtualClock("2026-04-07T08:00:00.000Z", name="bench")
    parts = [f"a {n}" for n in range(40)]
    specs = [PartSpec(one) for one in parts]
    sessions = {
        rows: begin(shop.shop, load(path), specs, read_people(shop.shop)[0], clock)
        for rows, shop in shops.items()
    }
    took: dict[int, dict[str, list[float]]] = {rows: {} for rows in shops}
    for step in ("wipe", "paint"):
        for part in parts:
            clock.wait(1000)
            for rows, session in sessions.items():
                begun = time.process_time()
                reply = session.send(c.Do(step, (part,), session.run.n - 1)).result()
                session.tick().result()  # behind what followed the act
                took[rows].setdefault(step, []).append(time.process_time() - begun)
                assert isinstance(reply, Kept), reply
    for session in sessions.values():
        session.leave()
    return {
        rows: {step: statistics.median(each) for step, each in steps.items()}
        for rows, steps in took.items()
    }


def processors_of_each(command: list[str]) -> list[float]:
    """Processor seconds of a command and of each process that it started, as last seen of them."""
    seen: dict[int, float] = {}
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    while child.poll() is None:
        pids = [child.pid]
        with suppress(OSError):
            for task in Path(f"/proc/{child.pid}/task").iterdir():
                pids += map(int, (task / "children").read_text().split())
        for pid in pids:
            with suppress(OSError):
                seen[pid] = seconds_of(pid)
        time.sleep(0.02)
    return list(seen.values())


def test_verifying_all_and_reporting_many(tmp_path):
    """The growth of verifying all, and of a report of many; each shop is the one before, grown."""
    shop, took = made(tmp_path / "closed", closed=10), {}
    had = 10
    for count in (10, 100, 1000):
        shop.closed_runs(count - had)
        had = count
        took[count] = cpu_of(benchrun(shop, "verify", "--all"))
        each = processors_of_each(benchrun(shop, "verify", "--all"))
        print(f"\nverify --all of {count}: {took[count]:.2f} s of processors, by process {each}")
    first = took[10] - (took[100] - took[10]) / 9  # what verifying costs before the first run
    grown = {count: took[count] - first for count in (100, 1000)}
    print(f"exponent from 100 to 1,000 runs: {math.log10(grown[1000] / grown[100]):.3f}")
    share = (took[100] - first) / 100
    report("verify-1000-against-1000-shares", took[1000] - first, 1000 * share, "s")
    workers = sorted(each)[-(os.cpu_count() or 1) :]
    report("verify-busiest-core-against-idlest", max(workers), min(workers), "s")
    bare = cpu_of(benchrun(shop, "people", "list"))
    runs = sorted(path.name for path in (shop.path / "runs").iterdir() if "wash" in path.name)
    took = {}
    for count in (10, 100):
        out = tmp_path / f"report-{count}.html"

        def once(count=count, out=out) -> float:
            out.unlink(missing_ok=True)
            shutil.rmtree(out, ignore_errors=True)
            return cpu_of(benchrun(shop, "report", *runs[:count], "--to", str(out)), 1)

        took[count] = statistics.median(once() for _ in range(3))
    report("report-100-against-10", took[100], took[10], "s")
    print(f"report: {(took[100] - took[10]) / 90 * 1e3:.1f} ms a run more, bare {bare:.2f} s")


IMPORTS = """
import sys, time
from importlib.machinery import SourceFileLoader
below, own, load = [0.0], 0.0, SourceFileLoader.exec_module
def timed(self, module):
    global own
    begun = time.process_time()
    below.append(0.0)
    load(self, module)
    took, inner = time.process_time() - begun, below.pop()
    below[-1] += took
    own += (took - inner) * module.__name__.startswith("benchrun")
SourceFileLoader.exec_module = timed
from benchrun.cli import main
try:
    main()
finally:
    print("own imports", own * 1000, file=sys.stderr)
"""


def own_import_ms(shop: GeneratedShop, *words: str) -> float:
    """Processor milliseconds of importing benchrun's own modules, not what these import."""
    command = [sys.executable, "-c", IMPORTS, "--shop", str(shop.path), *words]
    said = subprocess.run(command, capture_output=True, text=True, check=False).stderr
    return float(said.rpartition("own imports ")[2])


def test_start_of_commands(tmp_path):
    shop = made(tmp_path / "small", open_runs=1)
    bare = cpu_of([sys.executable, "-c", "pass"], 5)
    for words, most in (("people list", 60), ("ready brush-coats", 150), ("board", 0)):
        own = min(own_import_ms(shop, *words.split()) for _ in range(7))
        cpu = cpu_of(benchrun(shop, *words.split()), 5)
        report(f"start-{words.replace(' ', '-')}", cpu, bare, "s")
        print(f"own imports {own:.0f} ms" + f" of {most} at most" * bool(most))
