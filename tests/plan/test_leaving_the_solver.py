"""The solver is ended: by another thread, and before the program ends."""

import datetime as dt
import subprocess
import sys
import time
from threading import Thread
from threading import enumerate as enumerate_threads

import pytest
from patience import PATIENCE_S
from plan_runs import JOB, Shop
from plan_shops import large, shop, workload_of

from benchrun.board import look
from benchrun.dialogue.conversation import Conversation
from benchrun.dialogue.evening import plan_page
from benchrun.dialogue.page_prompt import PagePrompt
from benchrun.dialogue.turns import BackgroundCall, Say, Turn
from benchrun.plan.list_plan import list_plan
from benchrun.plan.score import faults
from benchrun.plan.solver import Halt, has_solver, proved_plan

pytestmark = pytest.mark.skipif(not has_solver(), reason="the extra `plan` is not installed")

LEAVES = """
import atexit, sys, threading
from pathlib import Path
from benchrun.board import look
from benchrun.dialogue.evening import plan_page
from benchrun.record.clock import VirtualClock
from benchrun.shop.folder import open_shop

atexit.register(lambda: print(*[one.name for one in threading.enumerate()]))
shop = open_shop(Path(sys.argv[1]))
now = VirtualClock("2026-11-25T14:12:00.000Z", up_ms=4_200_000, name="plan").now()
flow = plan_page(shop, look(shop, now).open_runs, now)
turn = next(flow)
page = flow.send(turn.work())
said = [row.text for row in page.rows()]
print("The solver is at work; its result comes here." in said)
"""


def test_a_search_that_is_halted_gives_what_it_found_until_then():
    workload = workload_of(large())
    listed = list_plan(workload)
    halt, found = Halt(), []

    def search():
        found.append(proved_plan(workload, listed, effort=1000.0, rounds=1000, halt=halt))

    solver = Thread(target=search, daemon=True)
    solver.start()
    time.sleep(1.0)
    assert solver.is_alive()
    began = time.monotonic()
    while solver.is_alive() and time.monotonic() - began < PATIENCE_S:
        halt.call()
        solver.join(0.05)
    assert not solver.is_alive()
    (proof,) = found
    assert faults(workload, proof.plan) == []
    assert len(proof.plan.unplaced) <= len(listed.unplaced)
    assert not proof.soonest


def test_a_search_that_was_halted_before_it_began_gives_the_plan_of_the_list():
    workload = workload_of(shop("small"))
    listed = list_plan(workload)
    halt = Halt()
    halt.call()
    proof = proved_plan(workload, listed, halt=halt)
    assert (proof.plan, proof.fewest, proof.soonest) == (listed, False, False)


def test_who_leaves_while_the_solver_is_at_work_leaves_no_thread_of_it_behind(tmp_path):
    kept = Shop(tmp_path, hours="Wed 14:00-18:00, Fri 14:00-18:00, Sat 9:00-16:00")
    for number in range(1, 7):
        kept.begin(JOB, [f"arm {number}"])
    done = subprocess.run(
        [sys.executable, "-c", LEAVES, str(kept.shop.path)],
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.splitlines() == ["True", "MainThread"]


def solvers() -> set[Thread]:
    """The solvers at work."""
    return {one for one in enumerate_threads() if one.name == "solver"}


def carried_on(talk: Conversation, turn: Turn | None) -> Turn | None:
    """The next question, when all before it was done."""
    while isinstance(turn, BackgroundCall | Say):
        turn = talk.reply(turn.work() if isinstance(turn, BackgroundCall) else None)
    return turn


def test_a_plan_that_is_made_again_or_left_leaves_no_solver_at_work_on_the_one_before(tmp_path):
    kept = Shop(tmp_path, hours="Wed 14:00-18:00, Fri 14:00-18:00, Sat 9:00-16:00")
    for number in range(1, 13):
        kept.begin(JOB, [f"arm {number}"])
    flow = plan_page(kept.shop, look(kept.shop, kept.now).open_runs, kept.now, dt.UTC)
    talk, before = Conversation(flow), solvers()
    carried_on(talk, talk.reply())
    (first,) = solvers() - before
    for typed in ("", "3", "1700", ""):
        page = carried_on(talk, talk.answer(typed))
    assert isinstance(page, PagePrompt)
    (second,) = solvers() - before - {first}
    first.join(5)
    assert not first.is_alive()
    assert "The solver is at work; its result comes here." in [row.text for row in page.rows()]
    assert carried_on(talk, talk.answer("-")) is None
    second.join(5)
    assert not second.is_alive()
