"""A stranger at a record: each way of tampering is told in words that say what is so."""

import hashlib
import json
import os
import shutil

import pytest

from benchrun.cli import main
from benchrun.errors import BenchrunError
from benchrun.record.chain import FORMAT
from benchrun.record.line import ZEROS, encode
from benchrun.verify import verify

CLOSED = "2026-04-09-cylinder-bore-inspection-bore"
PICTURED = "2026-04-01-dye-penetrant-inspection-dyed"
OPEN = "2026-05-09-brush-coats-coat"


@pytest.fixture
def runs(root, tmp_path):
    """The runs of a copy of the invented sample shop."""
    shutil.copytree(root / "samples" / "shop", tmp_path / "shop")
    return tmp_path / "shop" / "runs"


def entries(run):
    return [json.loads(line) for line in (run / "log.jsonl").read_bytes().splitlines()]


def chain(run, changed):
    """Write entries as a log whose numbers and digests are right."""
    raw, prev = b"", ZEROS
    for n, entry in enumerate(changed):
        line = encode({**entry, "n": n, "prev": prev})
        raw, prev = raw + line, hashlib.sha256(line).hexdigest()
    (run / "log.jsonl").write_bytes(raw)


def bytes_of(change):
    def attack(run):
        log = run / "log.jsonl"
        log.write_bytes(change(log.read_bytes()))

    return attack


def entries_of(change):
    def attack(run):
        found = entries(run)
        change(found)
        chain(run, found)

    return attack


def appended(kind, data):
    return entries_of(lambda found: found.append({**found[-1], "kind": kind, "data": data}))


def edit_a_reading(found):
    for entry in found:
        for outcome in entry["data"].get("each", {}).values():
            if outcome.get("value", {}).get("number"):
                outcome["value"]["number"] += "9"
                return


def drop_the_tail(found):
    seals = [entry["n"] for entry in found if entry["kind"] == "seal"]
    del found[seals[-2] + 1 :]


def do_again(found):
    first = next(entry for entry in found if entry["kind"] == "do")
    found.append({**found[-1], "by": first["by"], "kind": "do", "data": first["data"]})


def change_the_procedure(run):
    copy = run / "procedure.yaml"
    copy.write_bytes(copy.read_bytes().replace(b"title:", b"title: My", 1))
    found = entries(run)
    found[0]["data"]["procedure_sha256"] = hashlib.sha256(copy.read_bytes()).hexdigest()
    chain(run, found)


def damage_the_register(run):
    register = run.parent.parent / "register.jsonl"
    register.write_bytes(register.read_bytes().replace(b'"opened"', b'"Opened"', 1))


def swap_the_logs(run):
    shutil.copy(run.parent / PICTURED / "log.jsonl", run / "log.jsonl")


def swap_the_picture(run):
    (picture,) = (run / "photos").iterdir()
    picture.write_bytes(b"another picture")


NOT_WHOLE = [
    (CLOSED, entries_of(edit_a_reading), "these were changed since, or it was"),
    (CLOSED, entries_of(edit_a_reading), "with another entry {last} than the log has"),
    (CLOSED, entries_of(edit_a_reading), "Leave the folder as it is: entry 0 is as"),
    (OPEN, entries_of(drop_the_tail), "with entry {last}, which the log no longer has"),
    (OPEN, entries_of(do_again), "entry {next}: the rules refuse this do: hub-l is at step 26"),
    (
        OPEN,
        appended("bless", {}),
        "entry {next}: the rules cannot follow it: no entry is of the kind",
    ),
    (
        OPEN,
        appended("do", {"step": "x"}),
        "entry {next}: the rules cannot follow it: do lacks parts",
    ),
    (CLOSED, swap_the_logs, f"is called {CLOSED}, the run {PICTURED}: it was renamed, or is"),
    (CLOSED, swap_the_logs, "no entry could be decided again by the rules"),
    (
        CLOSED,
        change_the_procedure,
        "no seal or signature before the first fault speaks for any of it. Look for",
    ),
    (CLOSED, damage_the_register, "the shop's own register cannot be relied on: register.jsonl"),
    (PICTURED, swap_the_picture, "is not the one that was taken"),
    (CLOSED, bytes_of(lambda raw: raw[:-50]), "log.jsonl.sig does not hold"),
    (CLOSED, bytes_of(lambda raw: raw.replace(b"\n", b"\r\n")), "changed the line ends"),
    (CLOSED, bytes_of(lambda raw: b"\xef\xbb\xbf" + raw), "a byte order mark: an editor"),
    (CLOSED, bytes_of(lambda raw: raw.decode().encode("utf-16")), "entry 0: it is not UTF-8"),
    (CLOSED, bytes_of(lambda raw: raw + b"\n"), "entry {next}: it is empty"),
    (CLOSED, bytes_of(lambda raw: raw.replace(b'"n":4,', b'"n": 4,')), "another program wrote"),
    (CLOSED, bytes_of(lambda raw: b""), "the log has no entries"),
    (OPEN, bytes_of(lambda raw: raw + b"x" * 3_000_000 + b"\n"), "entry {next}: it does not end"),
    (
        OPEN,
        bytes_of(lambda raw: raw + b"[" * 99_999 + b"\n"),
        "entry {next}: it is nested too deep",
    ),
]


@pytest.mark.parametrize(("name", "attack", "said"), NOT_WHOLE)
def test_tampering_makes_a_run_not_whole_and_is_told_in_words(runs, name, attack, said):
    kept = len(entries(runs / name))
    attack(runs / name)
    verdict = verify(runs / name)
    assert not verdict.whole
    assert said.format(last=kept - 1, next=kept) in verdict.text()


def test_the_sample_runs_are_whole_before_anybody_tampers(runs):
    for run in (CLOSED, PICTURED, OPEN):
        assert verify(runs / run).whole


def link(run):
    (run / "log.jsonl").rename(run.parent.parent / "log")
    (run / "log.jsonl").symlink_to(run.parent.parent / "log")


def set_the_clock_back(found):
    last = found[-1]
    at = {**last["at"], "utc": "2020" + last["at"]["utc"][4:], "up_ms": 1}
    by = next(entry["by"] for entry in found if entry["kind"] == "do")
    data = {"parts": [], "step": "", "text": "later"}
    found.append({**last, "at": at, "by": by, "kind": "note", "data": data})


@pytest.mark.parametrize(
    ("name", "attack", "said"),
    [
        (CLOSED, link, "log.jsonl is a link: the log lies elsewhere"),
        (CLOSED, lambda run: (run / "log.jsonl.sig").unlink(), "nothing seals the whole file"),
        (OPEN, entries_of(set_the_clock_back), "entry {next}: the boot clock ran backwards here"),
        (OPEN, entries_of(set_the_clock_back), "entry {next} lies under no signature or seal"),
    ],
)
def test_what_a_whole_run_does_not_prove_is_a_doubt(runs, name, attack, said):
    kept = len(entries(runs / name))
    attack(runs / name)
    verdict = verify(runs / name)
    assert verdict.whole
    assert any(said.format(next=kept) in text for text in verdict.doubts)


def test_two_folders_with_one_run_are_told_apart(runs):
    shutil.copytree(runs / CLOSED, runs / "2026-04-10-another-name")
    verdict = verify(runs / "2026-04-10-another-name")
    assert any("it was renamed, or is a copy" in text for text in verdict.doubts)


def test_what_lies_behind_damage_is_neither_called_missing_nor_open(runs):
    run = runs / CLOSED
    lines = (run / "log.jsonl").read_bytes().splitlines(keepends=True)
    (run / "log.jsonl").write_bytes(b"".join([*lines[:4], b"\n", *lines[4:]]))
    said = verify(run).text()
    assert "entry 4: it is empty" in said
    assert "nothing from entry 4 on was judged" in said
    assert "no longer has" not in said
    assert "not closed\n" not in said.partition("\n")[2]


def pipe(path):
    path.unlink()
    os.mkfifo(path)


@pytest.mark.parametrize(
    ("attack", "said"),
    [
        (lambda run: pipe(run / "log.jsonl"), "it is a pipe or a device"),
        (lambda run: (run / "log.jsonl").unlink(), "no run"),
        (lambda run: ((run / "log.jsonl").unlink(), (run / "log.jsonl").mkdir()), "a directory"),
        (
            lambda run: (
                (run / "log.jsonl").unlink(),
                (run / "log.jsonl").symlink_to("log.jsonl"),
            ),
            "cannot be read",
        ),
        (lambda run: (run.parent.parent / "signers").write_text("x\n"), "the shop's own signers"),
        (
            entries_of(lambda found: found[0]["data"].update(format=FORMAT + 1)),
            "made by a newer benchrun",
        ),
    ],
)
def test_what_cannot_be_read_could_not_be_told(runs, capsys, attack, said):
    attack(runs / CLOSED)
    assert main(["verify", str(runs / CLOSED)]) == 2
    assert said in capsys.readouterr().err


@pytest.mark.parametrize("name", ["signers", "procedure.yaml", "log.jsonl.sig"])
def test_a_pipe_in_place_of_a_file_holds_nobody_up(runs, name):
    pipe(runs / CLOSED / name)
    try:
        said = verify(runs / CLOSED).text()
    except BenchrunError as error:
        said = error.message
    assert "it is a pipe or a device, not a plain file" in said


def test_a_log_that_may_not_be_read_could_not_be_told(runs, capsys, monkeypatch):
    """Made by the opening itself, since the superuser may read whatever there is."""

    def refuse(path, *_):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("benchrun.record.check.open_regular", refuse)
    assert main(["verify", str(runs / CLOSED)]) == 2
    assert "log.jsonl cannot be read: permission denied" in capsys.readouterr().err


def test_an_old_register_does_not_know_the_run(runs):
    register = runs.parent / "register.jsonl"
    kept = register.read_bytes().splitlines(keepends=True)
    first = next(n for n, line in enumerate(kept) if CLOSED.encode() in line)
    register.write_bytes(b"".join(kept[:first]))
    assert "the shop's register does not know this run" in verify(runs / CLOSED).doubts
