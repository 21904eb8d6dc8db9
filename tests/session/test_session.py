"""The live run: what it keeps by itself while people work, sleep, restart and set clocks."""

import shutil

import pytest

from benchrun.errors import BenchrunError
from benchrun.load_run import folded, read_kept
from benchrun.procedure.load import load_bytes
from benchrun.record.anchor import state_folder
from benchrun.record.chain import Chain
from benchrun.record.clock import VirtualClock
from benchrun.record.register import Register
from benchrun.record.register_log import REGISTER_NAME
from benchrun.record.trouble import NotKept
from benchrun.run import commands as c
from benchrun.run.clocks import loads
from benchrun.run.commands import Refusal
from benchrun.run.entries import PartSpec
from benchrun.session import Kept, begin, closing_statement, take_up
from benchrun.signing_keys import enrol, new_shop
from benchrun.verify import verify

PROCEDURE = b"""\
procedure: soak-it
title: Soak it
revision: 1
status: draft
scope: One part.
batch: {part: bracket, at most: 3}
stages:
  - stage: All
    steps:
      - dwell: Soak the part.
        id: soak
        least: 10 min
        most: 20 min
        early: [again]
        late: [go on]
      - hold: Release the part.
        id: release
        another person: yes
        signs: I looked at it.
"""
MINUTE = 60_000
HOUR = 60 * MINUTE


class Bench:
    """A shop with two people, a clock moved by hand, and a run in it."""

    def __init__(self, path):
        self.clock = VirtualClock()
        self.shop = new_shop(path / "shop", "Shop", self.clock.now())
        self.first = enrol(self.shop, "First Hand", self.clock.now(), passphrase="one")
        self.second = enrol(self.shop, "Second Hand", self.clock.now(), passphrase="two")
        procedure = load_bytes(PROCEDURE, "soak.yaml")
        self.session = begin(self.shop, procedure, [PartSpec("a")], self.first, self.clock)

    def send(self, command):
        return self.session.send(command).result()

    def put_in(self):
        assert isinstance(self.send(c.PutIn("soak", ("a",), self.session.run.n - 1)), Kept)

    def tick(self):
        self.session.tick().result()

    def kinds(self):
        return [entry.kind for entry in self.session.entries]

    def clock_now(self):
        (load,) = loads(self.session.run, self.clock.now())
        return load

    def come_back(self):
        folder = self.session.folder
        self.session.leave()
        self.session = take_up(self.shop, folder, self.first, self.clock)


@pytest.fixture
def bench(tmp_path):
    made = Bench(tmp_path)
    yield made
    made.session.leave()
    verdict = verify(made.session.folder.path)
    assert verdict.whole, verdict.faults


def test_heartbeats_are_kept_only_while_something_soaks(bench):
    bench.clock.wait(5 * MINUTE)
    bench.tick()
    assert "beat" not in bench.kinds()
    bench.put_in()
    for _ in range(4):
        bench.clock.wait(MINUTE)
        bench.tick()
    assert bench.kinds().count("beat") == 4


def test_sleep_counts_and_is_noticed(bench):
    bench.put_in()
    bench.clock.sleep(12 * MINUTE)
    bench.tick()
    assert bench.session.entries[-1].data.slept == 12 * MINUTE
    load = bench.clock_now()
    assert load.spent.exact
    assert load.spent.proven_ms == 12 * MINUTE
    assert load.state == "in time"


@pytest.mark.parametrize("step", [-HOUR, HOUR])
def test_a_clock_set_wrong_in_mid_dwell_moves_nothing_and_is_noticed(bench, step):
    bench.put_in()
    bench.clock.wait(5 * MINUTE)
    bench.clock.step(step)
    bench.clock.wait(7 * MINUTE)
    bench.tick()
    assert bench.session.entries[-1].data.stepped == step
    assert bench.clock_now().spent.proven_ms == 12 * MINUTE
    assert bench.clock_now().spent.exact


def test_a_reboot_leaves_what_is_proven_and_what_is_possible(bench):
    bench.put_in()
    bench.clock.wait(4 * MINUTE)
    bench.come_back()
    bench.clock.reboot(8 * MINUTE)
    bench.clock.wait(3 * MINUTE)
    load = bench.clock_now()
    assert load.spent.proven_ms == 7 * MINUTE
    assert load.spent.possible_ms == 15 * MINUTE
    assert load.state == "perhaps early"


def test_after_a_reboot_with_an_unset_clock_the_possible_time_is_unknown(bench):
    bench.put_in()
    bench.clock.wait(4 * MINUTE)
    bench.come_back()
    bench.clock.reboot(8 * MINUTE, sync=False)
    bench.clock.wait(3 * MINUTE)
    assert bench.clock_now().spent.possible_ms is None
    assert bench.clock_now().state == "early or late"
    bench.clock.set_sync(True)
    assert bench.clock_now().spent.possible_ms == 15 * MINUTE


def test_activity_is_sealed_every_quarter_of_an_hour_and_idling_is_not(bench):
    before = bench.kinds().count("seal")
    bench.send(c.KeepNote("a word"))
    bench.clock.wait(16 * MINUTE)
    bench.tick()
    assert bench.kinds().count("seal") == before + 1
    bench.clock.wait(60 * MINUTE)
    bench.tick()
    assert bench.kinds().count("seal") == before + 1


def test_a_hold_moves_nothing_until_it_is_signed(bench):
    bench.put_in()
    bench.clock.wait(12 * MINUTE)
    bench.send(c.Lift(("a",), bench.session.run.n - 1))
    hold = c.Do("release", ("a",), bench.session.run.n - 1)
    refused = bench.session.sign(hold, "one").result()
    assert isinstance(refused, Refusal)
    assert "Let another person sign" in refused.text
    bench.session.hand_over(bench.second)
    before = bench.session.run.n
    wrong = bench.session.sign(hold, "no").result()
    assert isinstance(wrong, Refusal)
    assert bench.session.run.n == before
    assert isinstance(bench.session.sign(hold, "two").result(), Kept)
    assert bench.session.run.markers["a"].status.value == "done"


def test_a_full_disk_is_a_refusal_and_the_same_command_may_be_given_again(bench, monkeypatch):
    append = bench.session._writer.append
    failing = [True]

    def full(*args):
        if failing.pop() if failing else False:
            raise NotKept("the disk is full. Make room, then try again", retry=True)
        return append(*args)

    monkeypatch.setattr(bench.session._writer, "append", full)
    before = bench.session.run
    reply = bench.send(c.PutIn("soak", ("a",), before.n - 1))
    assert isinstance(reply, Refusal)
    assert "Make room" in reply.text
    assert bench.session.run is before
    bench.put_in()


def test_what_is_folded_live_is_what_the_log_folds_to(bench):
    bench.put_in()
    bench.clock.wait(25 * MINUTE)
    bench.tick()
    bench.send(c.Lift(("a",), bench.session.run.n - 1))
    assert folded(*read_kept(bench.session.folder)) == bench.session.run


def test_a_closed_run_is_not_taken_up_again(bench):
    reasons = {"a": "no time"}
    close = c.Close(reasons, closing_statement(bench.session.hand))
    assert isinstance(bench.session.sign(close, "one").result(), Kept)
    assert bench.session.folder.seal.is_file()
    with pytest.raises(BenchrunError, match="is closed"):
        take_up(bench.shop, bench.session.folder, bench.first, bench.clock)


def test_a_close_whose_seal_was_lost_to_a_power_cut_is_sealed_at_the_next_start(bench):
    close = c.Close({"a": "no time"}, closing_statement(bench.session.hand))
    assert isinstance(bench.session.sign(close, "one").result(), Kept)
    log = bench.session.folder.log
    register = bench.shop.path / "register.jsonl"
    for file in (log, register):
        lines = file.read_bytes().splitlines(keepends=True)
        file.write_bytes(b"".join(lines[:-1]))
    bench.session.folder.seal.unlink()
    shutil.rmtree(state_folder())
    with pytest.raises(BenchrunError, match="is closed"):
        take_up(bench.shop, bench.session.folder, bench.first, bench.clock)
    assert bench.session.folder.seal.is_file()


def test_the_copy_of_the_procedure_must_be_the_one_begun_with(bench):
    folder = bench.session.folder
    bench.session.leave()
    kept = folder.procedure.read_bytes()
    folder.procedure.write_bytes(kept.replace(b"10 min", b"11 min"))
    with pytest.raises(BenchrunError, match="not the one"):
        take_up(bench.shop, folder, bench.first, bench.clock)
    folder.procedure.write_bytes(kept)


def test_begin_and_close_prove_each_line_of_the_register_once(tmp_path, monkeypatch):
    """A register has two lines a run: of a thousand, one look is all of an act."""
    bench, proven, take = Bench(tmp_path), [], Chain.take

    def counted(chain, raw):
        if chain.name == REGISTER_NAME:
            proven.append(chain.n)
        return take(chain, raw)

    monkeypatch.setattr(Chain, "take", counted)
    procedure = load_bytes(PROCEDURE, "soak.yaml")
    for tag in ("once", "more"):
        there = len(Register(bench.shop.path).read().lines)
        proven.clear()
        session = begin(bench.shop, procedure, [PartSpec("a")], bench.first, bench.clock, tag=tag)
        assert proven == list(range(there))
        session.send(c.Put(("a",), session.run.n - 1, "scrap", "cracked")).result()
        there += 1
        proven.clear()
        close = c.Close(says=closing_statement(session.hand))
        assert isinstance(session.sign(close, "one").result(), Kept)
        assert session.left
        assert proven == list(range(there))
        session.leave()
