"""Each row of the table *Fault, doubt or fine* of the format's page, tried on the vectors."""

import hashlib
import json
import os
import re
import shutil
from pathlib import Path

import pytest
from test_record_reader import VECTORS, lay

import benchrun.record
from benchrun.errors import BenchrunError
from benchrun.record.anchor import state_folder
from benchrun.record.chain import read_log
from benchrun.record.folder import RunFolder
from benchrun.record.line import encode
from benchrun.record.register import Register
from benchrun.record.signers import read_signers
from benchrun.record.soundness import unsound
from benchrun.verify import trust_of, verify, verify_shop

PAGE = Path(benchrun.record.__file__).with_name("FORMAT.md").read_text("utf-8")
TABLE = PAGE.partition("\n## Fault, doubt or fine\n")[2].partition("\n## ")[0]
ROWS = [
    [cell.strip() for cell in row.strip("|").split("|")]
    for row in TABLE.splitlines()
    if row.startswith("| ") and not row.startswith("| what is")
]
OPEN, CLOSED = VECTORS["an open run"]["run"], VECTORS["a closed run"]["run"]


class Yard:
    """The shop of the vectors, or of one of them, in which a run is looked at."""

    def __init__(self, path):
        self.path = path

    def vector(self, name):
        shutil.rmtree(self.path, ignore_errors=True)
        lay(self.path, VECTORS[name])
        return self.path / "runs" / VECTORS[name]["run"]

    def run(self, run):
        return self.vector("an open run" if run == OPEN else "a closed run")

    def changed(self, run, change):
        place = self.run(run)
        change(place)
        return place


@pytest.fixture
def yard(tmp_path):
    return Yard(tmp_path / "shop")


def grade(place, usual):
    """The grade of what lacks in a run, beside one in which nothing does."""
    try:
        verdict = verify(place)
    except BenchrunError:
        return "could not be told"
    if not verdict.whole:
        return "fault"
    return "doubt" if {without_numbers(text) for text in verdict.doubts} - usual else "fine"


def without_numbers(text):
    return re.sub(r"\d+", "N", text)


def doubts_of(place):
    return {without_numbers(text) for text in verify(place).doubts}


def taken_up(place):
    """Whether taking a run up finds a fault."""
    shop = place.parent.parent
    folder = RunFolder(place)
    register = Register(shop).read()
    found = unsound(folder, read_log(folder.log), read_signers(shop / "signers"), register)
    return "fault when it is taken up" if found else "fine when it is taken up"


def append(file, raw):
    file.write_bytes(file.read_bytes() + raw)


def linked(place):
    moved = place.parent.parent / "elsewhere.jsonl"
    (place / "log.jsonl").rename(moved)
    (place / "log.jsonl").symlink_to(moved)


def piped(place):
    (place / "log.jsonl").unlink()
    os.mkfifo(place / "log.jsonl")


def never_sealed(place):
    """A closed run whose last seal is gone, in no shop."""
    rows = (place / "log.jsonl").read_bytes().splitlines(keepends=True)
    (place / "log.jsonl").write_bytes(b"".join(rows[:-1]))
    (place / "log.jsonl.sig").unlink()
    for name in ("register.jsonl", "signers"):
        (place.parent.parent / name).unlink()


def long_unsealed(place):
    """Work that went on for 20 minutes without a seal, as if seals had been taken away."""
    log = place / "log.jsonl"
    raw = log.read_bytes()
    last = json.loads(raw.splitlines()[-1])
    for minutes in (1, 20):
        at = {**last["at"], "up_ms": last["at"]["up_ms"] + minutes * 60_000}
        head = hashlib.sha256(raw.splitlines(keepends=True)[-1]).hexdigest()
        line = {"n": len(raw.splitlines()), "at": at, "by": "ada-brook", "kind": "note"}
        raw += encode({**line, "data": {"text": "on it"}, "prev": head})
    log.write_bytes(raw)


def ben_too(place):
    """A key in the run's signers that signed nothing: another person's of the shop."""
    rows = (place.parent.parent / "signers").read_bytes().splitlines(keepends=True)
    append(place / "signers", next(row for row in rows if row.startswith(b"ben-mill")))


# By the beginning of a row: the vectors, or changes, of an open and of a closed run.
TRIED = {
    "a line changed": ("a changed word in an open run", "a line dropped"),
    "a signature or seal": (None, "a seal over an earlier state"),
    "`by`, the words": (None, "signed by another person"),
    "a line by somebody": (None, "a line by nobody known"),
    "a key of a name": (None, "a signer unknown to the shop"),
    "a key that the register did not add": (None, "two keys of one name"),
    "a key that the register ended": (None, "a key that the register ended"),
    "entries under no signature": ("a run that was broken off", never_sealed),
    "no close": ("an open run", None),
    "`log.jsonl.sig` missing": (lambda place: None, "no seal over the whole"),
    "`log.jsonl.sig` that": (
        lambda place: (place / "log.jsonl.sig").write_text("none\n"),
        "another seal over the whole",
    ),
    "a torn end": ("a torn end", lambda place: append(place / "log.jsonl", b'{"at":')),
    "`procedure.yaml`": (lambda place: (place / "procedure.yaml").unlink(), "no picture"),
    "a file set aside missing": (None, "a file set aside that is gone"),
    "a file set aside changed": (None, "another file set aside"),
    "a file that no entry": (
        lambda place: (place / "stray.txt").write_text("x"),
        "a file that nothing names",
    ),
    "another page of the format": (None, "another reader"),
    "`signers` missing": (lambda place: (place / "signers").unlink(), "no signers"),
    "a key in `signers`": (ben_too, "a key that signed nothing"),
    "a link": (linked, linked),
    "a pipe": (piped, piped),
    "the register has another head": ("a log that was set back", "a register with another head"),
    "the register does not know": (
        "an open run that the register does not know",
        "a run that the register does not know",
    ),
    "the register has no `closed`": (lambda place: None, "a register without the close"),
    "the register lacks what any run": ("a cut register", "a head that the register never had"),
    "a line of the register": (None, "a line of the register without its seal"),
    "a register that was set aside": (None, "a register set aside that is gone"),
}
APART = (
    "entries under no seal for longer",
    "the page of the format or the reader missing",
    "a register of an earlier program",
    "a run of the register that is not there",
    "the register never had a head",
    "the register lacks an entry that this machine saw",
    "a `doubt` in the register",
    "the run that carried a procedure out",
    "that run has another last line",
)
"""The rows that have a test of their own: below, and the last two in `test_carried_runs.py`."""


def test_every_row_is_tried():
    for what, *_ in ROWS:
        found = [key for key in (*TRIED, *APART) if what.startswith(key)]
        assert len(found) == 1, what
    assert len(ROWS) == len(TRIED) + len(APART)


def expected(cell):
    """The grade that a cell begins with, apart from when a run is taken up."""
    word = cell.partition(";")[0].partition(",")[0].strip()
    return "doubt" if word.startswith("doubt") else word


@pytest.mark.parametrize("key", TRIED)
def test_a_row_is_graded_as_the_page_says(yard, key):
    row = next(row for row in ROWS if row[0].startswith(key))
    for run, cell, how in zip((OPEN, CLOSED), row[1:], TRIED[key], strict=True):
        if how is None:
            continue
        usual = doubts_of(yard.run(run)) - {"the run is not closed"}
        usual |= set() if key == "no close" else {"the run is not closed"}
        place = yard.vector(how) if isinstance(how, str) else yard.changed(run, how)
        said = grade(place, usual)
        if key == "a pipe":
            assert said in ("could not be told", "fault")
        elif cell == "the same":
            assert said == expected(row[1]), (run, cell)
        else:
            assert said == expected(cell), (run, cell)
        if "taken up" in cell and "set aside" not in cell:
            assert taken_up(place) == cell.partition("; ")[2]


def test_entries_under_no_seal_for_longer_than_the_program_leaves_them(yard):
    place = yard.vector("a run that was broken off")
    assert taken_up(place) == "fine when it is taken up"
    long_unsealed(place)
    assert taken_up(place) == "fault when it is taken up"
    assert verify(place).whole


def test_the_page_of_the_format_and_the_reader_missing_are_a_doubt(yard):
    place = yard.run(CLOSED)  # the vectors lack both
    told = [text for text in verify(place).doubts if "no longer there" in text]
    assert len(told) == 2


def test_a_register_of_an_earlier_program_is_a_doubt(tmp_path):
    sample = Path(__file__).parent / "released" / "1"
    shutil.copytree(sample, tmp_path / "shop")
    trust = trust_of(tmp_path / "shop")
    (finding,) = trust.register.findings(trust.signers)
    assert (finding.grade.value, "not sealed" in finding.text) == ("doubt", True)


def shop_verdict(yard, runs=None, head=""):
    return verify_shop(yard.path, trust_of(yard.path), runs, head=head)


def test_a_run_of_the_register_that_is_not_there_is_a_fault(yard):
    yard.run(CLOSED)
    assert shop_verdict(yard, {OPEN: OPEN, CLOSED: CLOSED}).whole
    assert not shop_verdict(yard, {CLOSED: CLOSED}).whole


def test_a_head_that_the_register_never_had_is_a_fault(yard):
    yard.run(CLOSED)
    assert shop_verdict(yard, head=Register(yard.path).read().short_head).whole
    assert not shop_verdict(yard, head="0123-4567-89ab-cdef").whole


def test_an_entry_that_this_machine_saw_and_the_register_lacks_is_a_fault(yard):
    place = yard.run(CLOSED)
    Register(yard.path).read().keep_seen()
    assert verify(place).whole
    rows = (yard.path / "register.jsonl").read_bytes().splitlines(keepends=True)
    (yard.path / "register.jsonl").write_bytes(b"".join(rows[:-1]))
    assert any("this machine saw" in fault for fault in verify(place).faults)
    shutil.rmtree(state_folder())
    assert verify(place).whole  # then only a head that was noted shows it


def test_a_doubt_in_the_register_is_told_of_the_whole_shop_for_ever(yard):
    place = yard.vector("a doubt in the register")
    assert verify(place).whole
    assert any("went on although" in doubt for doubt in shop_verdict(yard).doubts)
