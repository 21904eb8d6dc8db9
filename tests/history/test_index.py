"""The index over many runs: what it reads, when it reads anew, and what it skips."""

import sqlite3
from concurrent.futures import ThreadPoolExecutor

import pytest
from synthetic import STEPS, Log, asked, many

from benchrun.errors import BenchrunError
from benchrun.history.command import IndexQuestion, run_history
from benchrun.history.index import History
from benchrun.history.questions import (
    deviations_by_step,
    part_life,
    reading_history,
    recall_list,
    step_times,
)


def test_only_new_entries_are_read(shop):
    log = Log("2026-03-02-seats-aaaa")
    log.read("bore-1", {"hub": "61.960"})
    log.write(shop / "runs", sealed=False)
    with History(shop) as history:
        assert history.refresh().entries == 2
        assert history.refresh().entries == 0
        log.read("bore-1", {"hub": "61.961"})
        log.write(shop / "runs", sealed=False)
        done = history.refresh()
        assert (done.entries, done.read) == (1, 1)
        assert [r.value for r in reading_history(history, "seats", "bore-1").rows] == [
            "61.960",
            "61.961",
        ]
        assert len(step_times(history, "seats")) == 1


def test_windows_that_make_the_index_at_once_do_not_hinder_each_other(shop):
    log = Log("2026-03-02-seats-aaaa")
    log.read("bore-1", {"hub": "61.960"})
    log.write(shop / "runs")

    def ask(_):
        return len(asked(shop, reading_history, "seats", "bore-1").rows)

    with ThreadPoolExecutor(8) as windows:
        assert list(windows.map(ask, range(24))) == [1] * 24


def test_two_windows_that_read_on_at_once_count_everything_once(shop):
    for day in range(1, 10):
        log = Log(f"2026-03-0{day}-seats-aaaa")
        log.read("bore-1", {"hub": "61.960"})
        log.write(shop / "runs", sealed=day % 2 == 0)
    with History(shop) as one, History(shop) as other:
        looked = one._names

        def meanwhile():
            names = looked()
            one._names = looked
            other.refresh()
            return names

        one._names = meanwhile
        assert one.refresh().runs == 9
        assert len(reading_history(one, "seats", "bore-1").rows) == 9


def test_a_line_that_is_being_written_waits_until_it_is_whole(shop):
    log = Log("2026-03-02-seats-aaaa")
    folder = log.write(shop / "runs", sealed=False)
    log.read("bore-1", {"hub": "61.960"})
    whole = b"".join(log.lines)
    with History(shop) as history:
        for cut in range(len(log.lines[0]), len(whole)):
            if cut % 40 == 0 or cut == len(whole) - 1:
                (folder / "log.jsonl").write_bytes(whole[:cut])
                assert not history.refresh().skipped
                assert history.store.execute("SELECT count(*) FROM readings").fetchone() == (0,)
        (folder / "log.jsonl").write_bytes(whole)
        history.refresh()
        assert len(reading_history(history, "seats", "bore-1").rows) == 1


def test_a_log_made_anew_is_read_anew(shop):
    log = Log("2026-03-02-seats-aaaa")
    log.read("bore-1", {"hub": "61.960"})
    log.write(shop / "runs", sealed=False)
    with History(shop) as history:
        history.refresh()
        other = Log("2026-03-02-seats-aaaa", begins="2026-03-03T08:00:00")
        other.read("bore-1", {"hub": "61.971"})
        other.read("bore-1", {"hub": "61.972"})
        other.write(shop / "runs", sealed=False)
        history.refresh()
        found = reading_history(history, "seats", "bore-1")
        assert [row.value for row in found.rows] == ["61.971", "61.972"]


def test_a_damaged_log_is_told_and_is_in_no_answer(shop):
    good, bad = Log("2026-03-02-seats-aaaa"), Log("2026-03-03-seats-bbbb")
    for log in (good, bad):
        log.read("bore-1", {"hub": "61.960"})
        log.read("bore-1", {"hub": "61.961"})
    good.write(shop / "runs")
    bad.lines[1] = bad.lines[1].replace(b"61.960", b"61.970")
    bad.write(shop / "runs")
    with History(shop) as history:
        for _ in range(2):
            done = history.refresh()
            assert list(done.skipped) == ["2026-03-03-seats-bbbb"]
            assert "entry 2: it does not follow" in done.skipped["2026-03-03-seats-bbbb"]
            rows = reading_history(history, "seats", "bore-1").rows
            assert {row.run for row in rows} == {"2026-03-02-seats-aaaa"}
    answer, skipped = run_history(shop, IndexQuestion(procedure="seats", reading="bore-1"))
    assert "2 values" in answer
    assert skipped.startswith("skipped, damaged: 2026-03-03-seats-bbbb: ")


def test_a_log_damaged_after_it_was_read_is_taken_out(shop):
    log = Log("2026-03-02-seats-aaaa")
    log.read("bore-1", {"hub": "61.960"})
    log.write(shop / "runs", sealed=False)
    with History(shop) as history:
        history.refresh()
        log.read("bore-1", {"hub": "61.961"})
        log.lines[-1] = log.lines[-1].replace(b'"prev":"', b'"prev":"0')
        log.write(shop / "runs", sealed=False)
        assert history.refresh().skipped
        assert history.store.execute("SELECT count(*) FROM readings").fetchone() == (0,)
        assert history.store.execute("SELECT count(*) FROM runs").fetchone() == (0,)


@pytest.mark.parametrize(
    "raw",
    [b"", b"\n", b"{}\n", b"\xff\xfe\n", b"[1]\n", b'{"a":1}\n', b"x" * 3_000_000],
    ids=["empty", "line", "object", "bytes", "list", "keys", "long"],
)
def test_any_rubbish_in_a_run_is_no_trouble(shop, raw):
    Log("2026-03-02-seats-aaaa").write(shop / "runs")
    folder = shop / "runs" / "2026-03-03-seats-bbbb"
    folder.mkdir()
    (folder / "log.jsonl").write_bytes(raw)
    (shop / "runs" / "a-file").write_bytes(b"")
    with History(shop) as history:
        assert history.refresh().runs == 1


def test_an_entry_without_its_form_is_told(shop):
    log = Log("2026-03-02-seats-aaaa")
    log.add("do", {"parts": ["hub"]})
    log.write(shop / "runs")
    with History(shop) as history:
        assert "has not its form" in history.refresh().skipped["2026-03-02-seats-aaaa"]


def test_a_run_whose_folder_is_gone_is_gone(shop):
    log = Log("2026-03-02-seats-aaaa")
    log.read("bore-1", {"hub": "61.960"})
    folder = log.write(shop / "runs")
    with History(shop) as history:
        history.refresh()
        for path in folder.iterdir():
            path.unlink()
        folder.rmdir()
        assert history.refresh().runs == 0
        assert history.store.execute("SELECT count(*) FROM readings").fetchone() == (0,)


def everything(shop):
    with History(shop) as history:
        history.refresh()
        return (
            reading_history(history, "seats", "bore-3", latest=5000),
            part_life(history, "hub 3"),
            step_times(history, "seats"),
            recall_list(history, "bore gauge 2"),
            deviations_by_step(history),
        )


def test_the_index_thrown_away_and_built_again_answers_alike(shop):
    many(shop / "runs", 30)
    before = everything(shop)
    with History(shop) as history:
        done = history.rebuild()
    assert (done.runs, done.read) == (30, 30)
    assert everything(shop) == before
    assert before[3].total == len(before[3].rows) == 30 * 2 * 12


def test_reading_on_gives_what_building_at_once_gives(shop, tmp_path):
    many(shop / "runs", 6)
    logs = {path: (path / "log.jsonl").read_bytes() for path in (shop / "runs").iterdir()}
    for share in (3, 2, 1):
        for path, content in logs.items():
            lines = content.splitlines(keepends=True)
            (path / "log.jsonl").write_bytes(b"".join(lines[: len(lines) // share]))
            (path / "log.jsonl.sig").unlink(missing_ok=True)
        grown = everything(shop)
    with History(shop) as history:
        history.rebuild()
    assert everything(shop) == grown


@pytest.mark.parametrize(
    "content", [b"not a database at all, but text" * 200, b"", b"SQLite format 3"]
)
def test_a_damaged_index_is_made_anew(shop, content):
    many(shop / "runs", 2)
    (shop / "history.sqlite").write_bytes(content)
    with History(shop) as history:
        assert history.refresh().runs == 2


def test_an_index_of_another_version_is_made_anew(shop):
    many(shop / "runs", 2)
    with History(shop) as history:
        history.refresh()
        history.store.execute("PRAGMA user_version = 99")
    with History(shop) as history:
        assert history.refresh().read == 2


def test_an_index_that_cannot_be_written_is_one_line(tmp_path):
    with pytest.raises(BenchrunError, match="cannot be used") as refused:
        History(tmp_path / "nowhere")
    assert "\n" not in refused.value.message


def test_another_window_that_builds_is_no_traceback(shop, monkeypatch):
    monkeypatch.setattr("benchrun.history.store._WAIT_S", 0.05)
    many(shop / "runs", 2)
    with History(shop) as history:
        history.refresh()
        Log("2026-05-01-seats-zzzz").write(shop / "runs")
        other = sqlite3.connect(shop / "history.sqlite", isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(BenchrunError, match="locked"):
            history.refresh()
        other.execute("ROLLBACK")
        assert history.refresh().read == 1
        other.close()


def test_progress_is_told_while_it_builds(shop):
    many(shop / "runs", 450, lines=2)
    seen = []
    with History(shop) as history:
        history.refresh(lambda done, total: seen.append((done, total)))
    assert seen == [(200, 450), (400, 450), (450, 450)]
    assert len(STEPS) == 20
