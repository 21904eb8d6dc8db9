"""SIGKILL in the middle of a run: every acknowledged entry is there, and the run is finished."""

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from benchrun.load_run import read_kept
from benchrun.procedure.load import load
from benchrun.record.clock import SystemClock
from benchrun.record.folder import run_folders
from benchrun.run import commands as c
from benchrun.run.entries import PartSpec
from benchrun.run.offers import offers
from benchrun.session import Kept, begin, closing_statement, take_up
from benchrun.shop.folder import open_shop
from benchrun.shop.people import read_people
from benchrun.signing_keys import enrol, new_shop
from benchrun.verify import verify

PROCEDURE = """\
procedure: many-wipes
title: Wipe many times
revision: 1
status: draft
scope: One part, wiped over and over.
batch: {part: bracket, at most: 3}
stages:
  - stage: All
    steps:
      - repeat: Rounds
        id: rounds
        at least: 1000
        steps:
          - repeat: Wipes
            id: wipes
            at least: 1000
            steps:
              - do: Wipe the part clean.
                id: wipe
"""

# At each line of its input it becomes two: the second is a bench of its own process, which says its
# number, takes the run up and does the first offer over and over, saying each acknowledged entry.
BENCHES = """\
import os
import sys
from benchrun.load_run import read_kept
from benchrun.record.clock import SystemClock
from benchrun.record.folder import run_folders
from benchrun.run import commands as c
from benchrun.run.offers import offers
from benchrun.session import take_up
from benchrun.shop.folder import open_shop
from benchrun.shop.people import read_people
from pathlib import Path

shop = open_shop(Path(sys.argv[1]))
folder = next(iter(run_folders(shop.runs)))
read_kept(folder)  # which imports what every bench would

def bench():
    session = take_up(shop, folder, read_people(shop)[0], SystemClock())
    print("up", os.getpid(), flush=True)
    while True:
        offer = offers(session.run, session.now())[0]
        kept = session.send(c.Do(offer.step.id, offer.parts, session.run.n - 1)).result()
        entry = kept.entries[-1]
        print(entry.n, entry.kind, flush=True)

for _ in sys.stdin:
    child = os.fork()
    if not child:
        bench()
    print("\\nended", os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), flush=True)
"""


@pytest.fixture
def shop(tmp_path):
    made = new_shop(tmp_path / "shop", "Shop", SystemClock().now())
    person = enrol(made, "Somebody", SystemClock().now(), passphrase="word")
    (tmp_path / "many.yaml").write_text(PROCEDURE)
    parts = [PartSpec("a"), PartSpec("b")]
    begin(made, load(tmp_path / "many.yaml"), parts, person, SystemClock()).leave()
    return made


@pytest.fixture
def benches(shop):
    """A program that imported all that a bench needs, once for all of them."""
    command = [sys.executable, "-c", BENCHES, str(shop.path)]
    pipe = subprocess.PIPE
    with subprocess.Popen(command, stdin=pipe, stdout=pipe, text=True) as program:
        yield program
        program.stdin.close()


def killed_bench(benches: subprocess.Popen, wait: float) -> list[tuple[int, str]]:
    """Start a bench, kill it `wait` seconds after it took the run up: what it acknowledged."""
    print(file=benches.stdin, flush=True)
    up, pid = benches.stdout.readline().split()
    assert up == "up"
    time.sleep(wait)
    os.kill(int(pid), signal.SIGKILL)
    said = [*iter(benches.stdout.readline, f"ended {-signal.SIGKILL}\n")]
    # An empty line ends what is whole; a line that was cut short has it for its end.
    return [(int(n), kind) for n, kind in (line.split() for line in said[:-1])]


def finish(shop_path: Path) -> None:
    shop = open_shop(shop_path)
    person = read_people(shop)[0]
    session = take_up(shop, next(iter(run_folders(shop.runs))), person, SystemClock())
    assert offers(session.run, session.now())[0].ready
    reasons = dict.fromkeys(session.run.parts, "the test ends here")
    says = closing_statement(session.hand)
    assert isinstance(session.sign(c.Close(reasons, says), "word").result(), Kept)


def all_is_there(shop_path: Path, acknowledged: dict[int, str]) -> int:
    folder = next(iter(run_folders(shop_path / "runs")))
    _, entries = read_kept(folder)
    kinds = {entry.n: entry.kind for entry in entries}
    missing = {n: kind for n, kind in acknowledged.items() if kinds.get(n) != kind}
    assert not missing
    return len(entries)


def kill_over_and_over(benches: subprocess.Popen, shop_path: Path, times: int) -> int:
    chance = random.Random(20261125)
    acknowledged: dict[int, str] = {}
    for _ in range(times):
        acknowledged.update(killed_bench(benches, chance.uniform(0, 0.03)))
        all_is_there(shop_path, acknowledged)
    return len(acknowledged)


def test_fifty_kills_lose_no_acknowledged_entry(shop, benches):
    acknowledged = rounds = 0
    # How much is acknowledged before a kill is the machine's speed.
    while acknowledged <= 50 and rounds < 8:
        acknowledged += kill_over_and_over(benches, shop.path, 50)
        rounds += 1
    assert acknowledged > 50
    finish(shop.path)
    verdict = verify(next(iter(run_folders(shop.runs))).path)
    assert verdict.whole, verdict.faults
    assert verdict.keeping.closed


@pytest.mark.long
@pytest.mark.timeout(7200)
def test_a_thousand_kills_lose_no_acknowledged_entry(shop, benches):
    kill_over_and_over(benches, shop.path, 1000)
    finish(shop.path)
    assert verify(next(iter(run_folders(shop.runs))).path).whole


def test_the_look_for_lost_entries_can_fail(shop, benches):
    acknowledged: dict[int, str] = {}
    while not acknowledged:
        acknowledged = dict(killed_bench(benches, 0.03))
    log = next(iter(run_folders(shop.runs))).log
    lines = log.read_bytes().splitlines(keepends=True)
    log.write_bytes(b"".join(lines[:2]))
    with pytest.raises(AssertionError):
        all_is_there(shop.path, acknowledged)
