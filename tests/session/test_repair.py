"""The way out where a register or the station's key stops begin and close: it stays told."""

import hashlib
import json
import shutil
import subprocess

import pytest
from patience import PATIENCE_S
from wiping import PROCEDURE, Wiping

from benchrun.errors import BenchrunError
from benchrun.procedure.load import load_bytes
from benchrun.record.register import Register
from benchrun.record.trouble import RecordBroken, Unsound
from benchrun.run import commands as c
from benchrun.run.entries import PartSpec
from benchrun.session import begin, closing_statement, take_up
from benchrun.shop_repair import repair
from benchrun.signing_keys import compromise, keys_of
from benchrun.verify import trust_of, verify, verify_shop

WHY = "the card fell into the bath"


class Bench(Wiping):
    """A shop with a closed run and an open one."""

    def __init__(self, path):
        super().__init__(path)
        self.do("wipe")
        self.do("dry")
        self.close(self.writer)
        self.closed = self.folder
        self.open = self.another()
        self.open.leave()

    def another(self):
        self.clock.wait(5000)
        return begin(
            self.shop, load_bytes(PROCEDURE, "w.yaml"), [PartSpec("b")], self.person, self.clock
        )

    def close(self, session):
        says = closing_statement(session.hand)
        reasons = {} if session is self.writer else {"b": "no time"}
        session.sign(c.Close(reasons, says), "one").result()
        session.leave()

    def resume(self, reason=""):
        self.clock.wait(5000)
        return take_up(self.shop, self.open.folder, self.person, self.clock, reason=reason)

    def damage(self):
        path = self.shop.path / "register.jsonl"
        rows = path.read_bytes().splitlines(keepends=True)
        path.write_bytes(b"".join([*rows[:3], rows[3].replace(b'"n":', b'"n": ', 1), *rows[4:]]))
        return path.read_bytes()

    def repair(self, **more):
        self.clock.wait(5000)
        return repair(self.shop, self.person.id, self.clock.now(), WHY, **more)

    def verdicts(self):
        trust = trust_of(self.shop.path)
        folders = sorted(path for path in self.shop.runs.iterdir() if path.is_dir())
        runs = [verify(folder, trust=trust) for folder in folders]
        return verify_shop(self.shop.path, trust, {run.run: run.run for run in runs}), runs


@pytest.fixture
def bench(tmp_path):
    return Bench(tmp_path)


def test_a_damaged_register_names_the_way_out(bench):
    bench.damage()
    with pytest.raises(RecordBroken, match="benchrun shop repair --why"):
        bench.another()


def test_after_a_repair_runs_begin_go_on_and_close_and_what_was_wrong_is_told_for_ever(bench):
    damaged = bench.damage()
    bench.repair()
    (aside,) = bench.shop.path.glob("register.jsonl.damaged-*")
    assert aside.read_bytes() == damaged
    bench.close(bench.resume())
    later = bench.another()
    bench.close(later)
    shop, runs = bench.verdicts()
    assert [verdict.faults for verdict in (shop, *runs)] == [[], [], [], []]
    assert all("register" not in text for run in runs for text in run.doubts)
    (told,) = [text for text in shop.doubts if WHY in text]
    assert f"{bench.person.id} went on although" in told
    first = Register(bench.shop.path).read().lines[0].data
    last_line = damaged.splitlines(keepends=True)[-1]
    assert first["head"] == hashlib.sha256(last_line).hexdigest()
    assert first["file"] == aside.name


def test_a_register_that_was_cut_and_damaged_is_told_as_both(bench):
    path = bench.shop.path / "register.jsonl"
    path.write_bytes(b"".join(path.read_bytes().splitlines(keepends=True)[:-2]))
    bench.damage()
    bench.repair()
    (told,) = Register(bench.shop.path).read().doubts
    assert any("this machine saw entry" in text for text in told.findings)
    shop, _ = bench.verdicts()
    assert any("this machine saw entry" in text for text in shop.doubts)


def test_a_run_that_the_register_set_aside_knows_is_missed(bench):
    bench.damage()
    bench.repair()
    shutil.rmtree(bench.closed.path)
    shop, _ = bench.verdicts()
    assert any(f"{bench.closed.run} is missing" in text for text in shop.faults)


def test_a_run_set_back_is_still_told_by_the_register_that_was_set_aside(bench):
    bench.damage()
    bench.repair()
    log = bench.open.folder.log
    log.write_bytes(b"".join(log.read_bytes().splitlines(keepends=True)[:2]))
    with pytest.raises(Unsound, match=r"register\.jsonl\.damaged-1 says it was marked"):
        bench.resume()


@pytest.mark.parametrize("how", ["unlink", "change"])
def test_the_register_that_was_set_aside_must_stay_as_it_is(bench, how):
    bench.damage()
    bench.repair()
    (aside,) = bench.shop.path.glob("register.jsonl.damaged-*")
    if how == "unlink":
        aside.unlink()
    else:
        aside.write_bytes(aside.read_bytes() + b"{}\n")
    shop, _ = bench.verdicts()
    assert any("set aside as register.jsonl.damaged-1" in text for text in shop.faults)


def test_a_register_can_be_set_aside_twice_and_both_are_told(bench):
    bench.damage()
    bench.repair()
    bench.close(bench.another())
    bench.damage()
    bench.repair()
    bench.close(bench.another())
    shop, runs = bench.verdicts()
    assert [verdict.faults for verdict in (shop, *runs)] == [[], [], [], [], []]
    assert sum(WHY in text for text in shop.doubts) == 2


def test_a_compromised_key_of_the_station_is_followed_by_another(bench):
    compromise(bench.shop, "station", bench.clock.now(), "the disk was stolen")
    with pytest.raises(BenchrunError, match="shop repair"):
        bench.another()
    bench.repair()
    states = [state for _, state in keys_of(bench.shop, "station")]
    assert sum(state.startswith("good") for state in states) == 1
    assert sum(state.startswith("compromised") for state in states) == 1
    later = bench.another()
    bench.close(later)
    assert verify(later.folder.path).whole
    assert not verify(bench.closed.path).whole  # nothing that the key sealed stands
    with pytest.raises(Unsound):
        bench.resume()
    bench.close(bench.resume("it was worked by me, I was there"))
    shop, _ = bench.verdicts()
    assert shop.whole
    assert any("compromised" in text and WHY in text for text in shop.doubts)


@pytest.mark.parametrize("how", ["lost", "changed"])
def test_a_new_key_of_the_station_leaves_old_seals_as_they_are(bench, how):
    if how == "lost":
        (bench.shop.keys / "station").unlink()
        with pytest.raises(BenchrunError):
            bench.another()
        bench.repair()
    else:
        bench.repair(new_key=True)
    assert (bench.shop.keys / "station").stat().st_mode & 0o777 == 0o600
    bench.close(bench.resume())
    bench.close(bench.another())
    shop, runs = bench.verdicts()
    assert [verdict.faults for verdict in (shop, *runs)] == [[], [], [], []]
    assert any("to 2026-01-05" in state for _, state in keys_of(bench.shop, "station"))
    assert any(WHY in text for text in shop.doubts) == (how == "lost")


def test_nothing_is_sealed_with_a_key_of_the_station_that_was_ended_and_put_back(bench):
    old = (bench.shop.keys / "station").read_bytes()
    bench.repair(new_key=True)
    (bench.shop.keys / "station").write_bytes(old)
    register = (bench.shop.path / "register.jsonl").read_bytes()
    with pytest.raises(BenchrunError, match=r"has ended.*shop repair"):
        bench.another()
    with pytest.raises(BenchrunError, match=r"has ended.*shop repair"):
        bench.resume()
    assert (bench.shop.path / "register.jsonl").read_bytes() == register
    bench.repair()
    bench.close(bench.resume())
    shop, runs = bench.verdicts()
    assert [verdict.faults for verdict in (shop, *runs)] == [[], [], []]


def test_nothing_is_repaired_where_all_holds_where_no_reason_is_given_or_a_window_writes(bench):
    with pytest.raises(BenchrunError, match="nothing to do"):
        bench.repair()
    with pytest.raises(BenchrunError, match="say in a few words"):
        repair(bench.shop, bench.person.id, bench.clock.now(), "  ")
    live = bench.another()
    with pytest.raises(BenchrunError, match="leave it first"):
        bench.repair(new_key=True)
    live.leave()


def test_the_command_says_what_it_did(bench, benchrun):
    bench.damage()
    command = [benchrun, "--shop", str(bench.shop.path), "shop", "repair", "--why", WHY]
    done = subprocess.run(command, capture_output=True, text=True, timeout=PATIENCE_S)
    assert done.returncode == 0, done.stderr
    assert "set aside as register.jsonl.damaged-1" in done.stdout
    again = subprocess.run(command, capture_output=True, text=True, timeout=PATIENCE_S)
    assert again.returncode != 0
    assert "nothing to do" in again.stderr
    whole = [benchrun, "--shop", str(bench.shop.path), "verify", "--all", "--json"]
    told = subprocess.run(whole, capture_output=True, text=True, timeout=PATIENCE_S)
    assert WHY in json.dumps(json.loads(told.stdout))
