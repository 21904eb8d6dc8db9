"""Everything kept before is checked before anything is added: forged work is told, not sealed."""

import hashlib
import json
import os
import shutil
import subprocess

import pytest
from wiping import PROCEDURE, Wiping

from benchrun.account.record_text import show
from benchrun.account.walk import facts_of
from benchrun.board import GONE, look
from benchrun.errors import BenchrunError
from benchrun.history.estimates import keep_up
from benchrun.history.index import History
from benchrun.history.questions import part_life
from benchrun.load_run import read_kept
from benchrun.procedure.load import load_bytes
from benchrun.record.anchor import state_folder
from benchrun.record.line import encode
from benchrun.record.trouble import Unsound
from benchrun.run import commands as c
from benchrun.run.entries import PartSpec
from benchrun.session import Kept, begin, closing_statement, read_along, take_up
from benchrun.verify import verify

QUARTER_MS = 15 * 60_000


class Bench(Wiping):
    """A run of which one step is done."""

    def __init__(self, path):
        super().__init__(path)
        self.do("wipe")

    def take_up(self, reason=""):
        self.writer = take_up(self.shop, self.folder, self.person, self.clock, reason=reason)

    def close(self):
        says = closing_statement(self.writer.hand)
        assert isinstance(self.writer.sign(c.Close({}, says), "one").result(), Kept)

    def forge(self, change):
        """Change the lines of the log and make the chain anew."""
        lines = [json.loads(raw) for raw in self.folder.log.read_bytes().splitlines()]
        lines = change(lines)
        prev, made = "0" * 64, []
        for n, line in enumerate(lines):
            made.append(encode({**line, "n": n, "prev": prev}))
            prev = hashlib.sha256(made[-1]).hexdigest()
        self.folder.log.write_bytes(b"".join(made))

    def forget(self):
        """Go on as a machine that never saw the shop, or that a kill left with less of it."""
        shutil.rmtree(state_folder())

    def files(self):
        paths = sorted(path for path in self.shop.path.rglob("*") if path.is_file())
        return {path: path.read_bytes() for path in paths if path.name != ".lock"}


@pytest.fixture
def bench(tmp_path):
    made = Bench(tmp_path)
    yield made
    made.writer.leave()


def renamed_step(lines):
    for line in lines:
        if line["kind"] == "do":
            line["at"]["utc"] = line["at"]["utc"].replace("08:00", "08:01")
    return lines


def test_a_changed_entry_under_a_seal_is_told_and_nothing_is_written(bench):
    bench.writer.leave()
    bench.forge(renamed_step)
    before = bench.files()
    with pytest.raises(Unsound) as told:
        bench.take_up()
    assert any("entry 3: the signature does not hold" in text for text in told.value.findings)
    assert any("another entry 3" in text for text in told.value.findings)
    assert bench.files() == before


def test_later_seals_taken_away_are_told_where_the_register_is_cut_as_well(bench):
    for _ in range(3):
        bench.clock.wait(QUARTER_MS)
        bench.writer.send(c.KeepNote("a word")).result()
    bench.writer.leave()
    bench.forge(lambda lines: [*lines[:2], *(one for one in lines[2:] if one["kind"] != "seal")])
    register = bench.shop.path / "register.jsonl"
    rows = register.read_bytes().splitlines(keepends=True)
    opened = next(n for n, row in enumerate(rows) if b'"kind":"opened"' in row)
    register.write_bytes(b"".join(rows[: opened + 1]))
    bench.forget()
    with pytest.raises(Unsound, match="entries 2 to 5 lie under no seal although they lie 45 min"):
        bench.take_up()


def test_a_run_of_which_the_register_says_nothing_is_told(bench):
    bench.writer.leave()
    register = bench.shop.path / "register.jsonl"
    rows = register.read_bytes().splitlines(keepends=True)
    opened = next(n for n, row in enumerate(rows) if b'"kind":"opened"' in row)
    register.write_bytes(b"".join(rows[:opened]))
    bench.forget()
    with pytest.raises(Unsound, match="register does not know this run"):
        bench.take_up()


def test_a_log_set_back_is_told_by_what_the_register_marked(bench):
    bench.writer.leave()
    lines = bench.folder.log.read_bytes().splitlines(keepends=True)
    bench.folder.log.write_bytes(b"".join(lines[:2]))
    with pytest.raises(Unsound, match="which the log no longer has"):
        bench.take_up()


def test_a_copy_of_a_run_under_another_name_is_not_gone_on_with(bench):
    bench.writer.leave()
    copied = bench.folder.path.with_name("2026-01-05-wipe-it-copy")
    shutil.copytree(bench.folder.path, copied)
    with pytest.raises(Unsound, match="not the one that the run was begun in"):
        take_up(bench.shop, type(bench.folder)(copied), bench.person, bench.clock)


def test_going_on_is_a_decision_that_is_repeated_for_ever(bench):
    bench.writer.leave()
    bench.forge(renamed_step)
    with pytest.raises(Unsound):
        bench.take_up(reason="  ")
    bench.take_up(reason="the time was put right by hand")
    doubt = next(entry for entry in bench.writer.entries if entry.kind == "doubt")
    assert doubt.by == bench.person.id
    bench.writer.leave()
    bench.take_up()  # decided once; it stays written
    bench.do("dry")
    bench.close()
    verdict = verify(bench.folder.path)
    assert not verdict.whole
    place = f"entry {doubt.n}: "
    assert any(text.startswith(f"{place}gone on although entry 3:") for text in verdict.doubts)
    assert any("the time was put right by hand" in text for text in verdict.doubts)
    assert "gone on although entry 3:" in show(bench.folder)
    assert "the time was put right by hand" in show(bench.folder)


def test_a_decision_that_lies_under_no_seal_decides_nothing(bench):
    bench.writer.leave()

    def forged(lines):
        findings = ["entry 3: the signature does not hold: it was made over other bytes"]
        doubt = {**lines[2], "kind": "doubt", "by": "first-hand"}
        doubt["data"] = {"findings": findings, "reason": "all is well"}
        return [*renamed_step(lines), doubt]

    bench.forge(forged)
    with pytest.raises(Unsound):
        bench.take_up()


def test_after_a_kill_the_log_says_that_nothing_was_suspended(bench, tmp_path):
    killed = tmp_path / "killed"
    shutil.copytree(bench.shop.path, killed)
    bench.writer.leave()
    shutil.rmtree(bench.shop.path)
    killed.rename(bench.shop.path)
    bench.forget()
    bench.take_up()
    assert bench.writer.entries[-1].data.notes == (
        "nothing was suspended: the run was broken off after entry 2, with 1 entry under no seal",
    )
    assert "nothing was suspended" in show(bench.folder)
    bench.writer.leave()
    verdict = verify(bench.folder.path)
    assert verdict.whole
    bench.take_up()
    assert bench.writer.entries[-1].data.notes == ()


def test_a_run_folder_taken_away_is_told_at_the_first_tick_and_by_the_board(bench):
    aside = bench.shop.path / "aside"
    bench.folder.path.rename(aside)
    assert bench.writer.trouble == ""
    bench.writer.tick().result()
    assert "log.jsonl is gone from its place" in bench.writer.trouble
    refused = bench.writer.send(c.Do("dry", ("a",), bench.writer.run.n - 1)).result()
    assert "entry 3 is not kept" in refused.text
    (gone,) = look(bench.shop, bench.clock.now()).open_runs
    assert (gone.id, gone.words) == (bench.folder.run, GONE)
    aside.rename(bench.folder.path)
    bench.writer.tick().result()
    assert bench.writer.trouble == ""
    bench.do("dry")
    assert [entry.n for entry in read_kept(bench.folder)[1]] == [0, 1, 2, 3]


def test_a_run_folder_that_was_deleted_is_told_and_leaving_is_quiet(bench):
    shutil.rmtree(bench.folder.path)
    bench.writer.tick().result()
    assert "gone from its place" in bench.writer.trouble


def test_closed_runs_that_are_gone_are_counted_on_the_board(bench):
    bench.do("dry")
    bench.close()
    assert look(bench.shop, bench.clock.now()).open_runs == ()
    shutil.rmtree(bench.folder.path)
    (gone,) = look(bench.shop, bench.clock.now()).open_runs
    assert (gone.title, gone.words) == ("1 closed run", GONE)


def test_a_close_that_nobody_signed_is_none_and_is_offered_again(bench, tmp_path):
    bench.do("dry")
    bench.close()
    lines = bench.folder.log.read_bytes().splitlines(keepends=True)
    close = next(n for n, raw in enumerate(lines) if b'"kind":"close"' in raw)
    bench.folder.log.write_bytes(b"".join(lines[: close + 1]))
    bench.folder.seal.unlink()
    register = bench.shop.path / "register.jsonl"
    register.write_bytes(b"".join(register.read_bytes().splitlines(keepends=True)[:-1]))
    bench.forget()
    assert not verify(bench.folder.path).keeping.closed
    assert "NOT SIGNED: it counts for nothing" in show(bench.folder)
    bench.take_up()
    assert not bench.writer.run.ended
    assert (
        f"nobody signed entry {close}: it counts for nothing" in bench.writer.entries[-1].data.notes
    )
    bench.close()
    verdict = verify(bench.folder.path)
    assert verdict.whole
    assert verdict.keeping.closed


def part_run(bench):
    with History(bench.shop.path) as history:
        history.refresh()
        (run,) = part_life(history, "a").runs
    return run


def test_the_index_counts_a_close_when_it_is_signed_and_says_by_which_key(bench):
    says = closing_statement(bench.writer.hand)
    bench.writer.sign(c.Close({"a": "no time"}, says), "one").result()
    raw = bench.folder.log.read_bytes()
    lines = raw.splitlines(keepends=True)
    close = next(n for n, line in enumerate(lines) if b'"kind":"close"' in line)
    for end in (close + 1, close):
        bench.folder.log.write_bytes(b"".join(lines[:end]))
        run = part_run(bench)
        assert (run.status, run.reason, run.signers) == ("in play", "", ())
    bench.folder.log.write_bytes(raw)  # read on from where the index was
    run = part_run(bench)
    assert (run.status, run.reason) == ("not done", "no time")
    assert run.signers == (f"{bench.person.id}@shop, key known to the shop",)


def test_past_runs_and_show_say_where_the_shop_does_not_know_a_key(bench, benchrun):
    bench.do("dry")
    bench.close()

    def shown():
        done = subprocess.run(
            [benchrun, "--shop", bench.shop.path, "show", bench.folder.run],
            capture_output=True,
            text=True,
        )
        return next(row for row in done.stdout.splitlines() if "signed by" in row)

    assert shown().endswith(f"signed by {bench.person.id}@shop, key known to the shop")
    signers = bench.shop.signers
    own = f"{bench.person.id}@shop "
    kept = [row for row in signers.read_text().splitlines() if not row.startswith(own)]
    signers.write_text("".join(f"{row}\n" for row in kept))
    assert shown().endswith(f"signed by {bench.person.id}@shop, key NOT known to the shop")
    assert part_run(bench).signers == (f"{bench.person.id}@shop, key NOT known to the shop",)


def test_show_of_a_run_that_does_not_hold_says_so_first(bench, benchrun):
    bench.writer.leave()
    bench.forge(renamed_step)
    done = subprocess.run(
        [benchrun, "--shop", bench.shop.path, "show", bench.folder.run],
        capture_output=True,
        text=True,
    )
    assert "DAMAGED: " in done.stdout.partition("\n\n")[0]


def test_a_close_that_nobody_signed_leaves_no_deviation(bench):
    says = closing_statement(bench.writer.hand)
    bench.writer.sign(c.Close({"a": "no time"}, says), "one").result()
    procedure, entries = read_kept(bench.folder)
    close = next(entry.n for entry in entries if entry.kind == "close")
    signed = facts_of(procedure, entries).deviations
    assert [remark.words for remark in signed] == ["closed though not done"]
    assert any("closed though not done" in text for text in verify(bench.folder.path).doubts)
    assert facts_of(procedure, entries[: close + 1]).deviations == []
    lines = bench.folder.log.read_bytes().splitlines(keepends=True)
    bench.folder.log.write_bytes(b"".join(lines[: close + 1]))
    assert not any("closed though" in text for text in verify(bench.folder.path).doubts)


def test_a_pipe_as_the_log_of_one_run_holds_up_no_other(bench):
    procedure = load_bytes(PROCEDURE, "wipe.yaml")
    other = begin(bench.shop, procedure, [PartSpec("b")], bench.person, bench.clock)
    other.leave()
    keep_up(bench.shop.path)
    other.folder.log.unlink()
    os.mkfifo(other.folder.log)
    bench.writer.leave()
    keep_up(bench.shop.path)
    assert [one.words for one in look(bench.shop, bench.clock.now()).open_runs][1:] == [GONE]
    with pytest.raises(BenchrunError, match="pipe or a device"):
        take_up(bench.shop, other.folder, bench.person, bench.clock)
    with pytest.raises(BenchrunError, match="pipe or a device"):
        read_along(bench.shop, other.folder, bench.person, bench.clock)
