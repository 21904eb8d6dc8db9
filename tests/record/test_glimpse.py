"""What a run's log says of itself at a glance: its title and what was last done."""

import json
import os

import pytest

from benchrun.moment import Moment
from benchrun.record.glimpse import LOG_NAME, SEAL_NAME, closed, first_end, glimpse, run_paths

START = 1_790_000_000_000
NAME = "2026-09-21-brake-drums-abcd"


def line(n, kind, **data):
    at = Moment(START + n * 1000, n * 1000, "b", True).as_data()
    return json.dumps({"n": n, "at": at, "by": "ann", "kind": kind, "data": data}).encode() + b"\n"


FIRST = line(0, "open", procedure={"title": "Brake drums (invented)"})


@pytest.fixture
def run(tmp_path):
    path = tmp_path / NAME
    path.mkdir()
    (path / LOG_NAME).write_bytes(FIRST)
    return path


def kept(path, *rows):
    (path / LOG_NAME).write_bytes(b"".join(rows))
    os.utime(path / LOG_NAME, (5, 5))
    return glimpse(path)


def test_seals_and_signs_of_life_are_nothing_that_was_done(run):
    found = kept(run, FIRST, line(1, "do"), line(2, "beat"), line(3, "seal"))
    assert (found.title, found.since_ms) == ("Brake drums (invented)", START + 1000)


def test_what_was_done_before_days_of_signs_of_life_is_found(run):
    beats = [line(n, "beat") for n in range(2, 3000)]
    assert kept(run, FIRST, line(1, "do"), *beats).since_ms == START + 1000


def test_every_length_of_the_tail_finds_what_was_last_done(run):
    for count in range(480, 520):  # where the line of interest is cut by the first piece read
        beats = [line(n, "beat") for n in range(2, count)]
        assert kept(run, FIRST, line(1, "do"), *beats).since_ms == START + 1000


def test_where_nobody_did_anything_the_last_line_counts(run):
    assert kept(run, line(0, "seal"), line(7, "beat")).since_ms == START + 7000


@pytest.mark.parametrize(
    "torn", [b'{"n":2,"at":{"utc":"2026', b"[" * 60_000, b"\xff\n", b'{"at":{"utc":"soon"}}', b"7"]
)
def test_a_torn_or_damaged_last_line_is_passed_over(run, torn):
    assert kept(run, FIRST, line(1, "do"), torn).since_ms == START + 1000


@pytest.mark.parametrize("first", [b"", b"\n", b"[]\n", b'{"data":{"procedure":7}}\n'])
def test_a_log_that_does_not_tell_goes_by_its_folder_and_its_file(run, first):
    found = kept(run, first)
    assert (found.title, found.since_ms) == (NAME, 5000)


def test_a_log_that_is_gone_meanwhile_breaks_nothing(run):
    (run / LOG_NAME).unlink()
    assert glimpse(run).title == NAME


def into(n, part, most):
    each = {part: {"least": 60_000, "most": most, "possible": 0, "proven": 0}}
    return canonical(n, "in", parts=[part], step="etch", each=each)


def canonical(n, kind, **data):
    return json.dumps(json.loads(line(n, kind, **data)), separators=(",", ":")).encode() + b"\n"


def test_the_load_that_must_come_out_first_is_known_by_the_last_lines(run):
    rows = [FIRST, into(1, "a", 600_000), into(2, "b", 60_000), into(3, "c", 300_000)]
    kept(run, *rows, canonical(4, "out", parts=["b"]), b"torn")
    assert first_end(run) == START + 3000 + 300_000
    kept(run, *rows, canonical(4, "out", parts=["a", "b", "c"]))
    assert first_end(run) is None
    kept(run, *rows, canonical(4, "out", parts=["c"]), into(5, "c", None))
    assert first_end(run) == START + 2000 + 60_000


def test_runs_are_the_folders_that_bear_such_a_name_and_have_a_log(run):
    (run.parent / "notes").mkdir()
    (run.parent / "2026-09-20-no-log-abcd").mkdir()
    assert run_paths(run.parent) == [run]
    assert run_paths(run.parent / "nowhere") == []


def test_a_run_is_closed_by_the_seal_over_its_log_and_open_once_it_is_begun(run):
    assert not closed(run)
    (run / SEAL_NAME).write_bytes(b"")
    assert closed(run)
    (run / SEAL_NAME).unlink()
    kept(run)
    assert closed(run)
