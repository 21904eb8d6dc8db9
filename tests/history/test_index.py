"""The index over many runs: it answers as the logs say, reads on, and tells what it skips."""

import datetime as dt
import json
import sqlite3
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal

import pytest
from synthetic import STEPS, Log, many

from benchrun.errors import BenchrunError
from benchrun.history.command import Question, run_history
from benchrun.history.index import History
from benchrun.history.questions import (
    deviations,
    part_life,
    reading_history,
    step_times,
    tool_history,
)
from benchrun.history.taking import judged
from benchrun.shopmath.spread import control


@pytest.fixture
def shop(tmp_path):
    (tmp_path / "runs").mkdir()
    return tmp_path


def asked(shop, question, *args, **more):
    with History(shop) as history:
        history.refresh()
        return question(history, *args, **more)


def values(answer):
    return [(row.part, row.place, row.value) for row in answer.rows]


def test_a_reading_is_answered_as_the_logs_say(shop):
    many(shop / "runs", 40)
    answer = asked(shop, reading_history, "seats", "bore-3", latest=1000)
    told = []
    for path in sorted((shop / "runs").iterdir()):
        for raw in (path / "log.jsonl").read_bytes().splitlines():
            line = json.loads(raw)
            if line["kind"] == "do" and line["data"]["step"] == "bore-3":
                for part, outcome in line["data"]["each"].items():
                    told.append((path.name, line["n"], part, outcome["value"]["number"]))
    assert sorted((r.run, r.n, r.part, r.value) for r in answer.rows) == sorted(told)
    assert answer.verdicts == {
        "inside": sum(61.949 <= float(x[3]) <= 61.979 for x in told),
        "outside": sum(float(x[3]) > 61.979 for x in told),
    }
    assert [r.utc for r in answer.rows] == sorted(r.utc for r in answer.rows)


def test_the_trend_is_that_of_the_shops_sum(shop):
    log = Log("2026-03-02-seats-aaaa")
    numbers = ["61.960", "61.961", "61.959", "61.960", "61.962", "61.960", "61.975"]
    for number in numbers:
        log.read("bore-1", {"hub": number})
    log.write(shop / "runs")
    trend = asked(shop, reading_history, "seats", "bore-1").trend
    ours = control([Decimal(number) for number in numbers], "mm").outputs
    for key in ("centre", "lower", "upper"):
        told = Decimal(getattr(trend, key))
        assert abs(told - Decimal(str(ours[key].value))) < Decimal("0.00001")
    outside = str(ours["points"].value)
    assert trend.points == tuple(int(x) for x in outside.split(", ") if x.isdigit())


def test_a_trend_over_several_sizes_says_so_and_findings_have_none(shop):
    log = Log("2026-03-02-seats-aaaa")
    log.read("bore-1", {"hub": "61.960"})
    log.read("bore-1", {"hub": "71.960"}, low="71.949", high="71.979")
    for _ in range(3):
        each = {"hub": {"value": {"word": "none seen"}, "verdict": "none seen"}}
        log.add("do", {"step": "look", "parts": ["hub"], "each": each})
    log.write(shop / "runs")
    assert "several sizes" in asked(shop, reading_history, "seats", "bore-1").trend.notes[0]
    look = asked(shop, reading_history, "seats", "look")
    assert look.trend is None
    assert look.verdicts == {"none seen": 3}


def test_a_correction_and_a_mis_tap_change_what_stands(shop):
    log = Log("2026-03-02-seats-aaaa")
    first = log.read("bore-1", {"hub": "62.500"})
    tap = log.read("bore-1", {"hub": "61.111"})
    revised = {"hub": {"revised": [{"n": first, "part": "hub", "number": "61.950"}]}}
    about = {"of": first, "part": "hub", "parts": ["hub"], "each": revised, "reason": "swapped"}
    log.add("correct", {**about, "given": {"number": "61.950", "unit": "mm"}})
    log.add("retract", {"of": tap, "parts": ["hub"], "reason": "wrong key"})
    log.write(shop / "runs", sealed=False)
    (row,) = asked(shop, reading_history, "seats", "bore-1").rows
    assert (row.value, row.verdict, row.corrected) == ("61.950", "inside", True)


def test_a_correction_that_was_taken_back_changes_nothing(shop):
    log = Log("2026-03-02-seats-aaaa")
    first = log.read("bore-1", {"hub": "61.950"})
    values = ["61.951", "62.500"]
    for number in values:
        revised = {"hub": {"revised": [{"n": first, "part": "hub", "number": number}]}}
        about = {"of": first, "part": "hub", "parts": ["hub"], "each": revised, "reason": "swapped"}
        wrong = log.add("correct", {**about, "given": {"number": number, "unit": "mm"}})
    log.add("retract", {"of": wrong, "parts": ["hub"], "reason": "it was another hub"})
    log.write(shop / "runs", sealed=False)
    (row,) = asked(shop, reading_history, "seats", "bore-1").rows
    assert (row.value, row.verdict, row.corrected) == ("61.951", "inside", True)
    log.add("retract", {"of": wrong - 1, "parts": ["hub"], "reason": "as well"})
    log.write(shop / "runs", sealed=False)
    (row,) = asked(shop, reading_history, "seats", "bore-1").rows
    assert (row.value, row.verdict, row.corrected) == ("61.950", "inside", False)


@pytest.mark.parametrize(
    ("number", "low", "high", "doubt", "verdict"),
    [
        ("5", "5", "6", "", "inside"),
        ("4.999", "5", "6", "", "outside"),
        ("5.5", "5", "6", "0.5", "inside"),
        ("5.4", "5", "6", "0.5", "in doubt"),
        ("6.6", "5", "6", "0.5", "outside"),
        ("7", "", "6", "", "outside"),
        ("7", "5", "", "", "inside"),
        ("7", "", "", "", ""),
    ],
)
def test_a_corrected_value_is_judged_by_its_limits(number, low, high, doubt, verdict):
    assert judged(number, low, high, doubt) == verdict


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
    answer, skipped = run_history(shop, Question(procedure="seats", reading="bore-1"))
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
            tool_history(history, "bore gauge 2", latest=5000),
            deviations(history),
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


def test_a_parts_life_is_found_by_tag_and_by_its_numbers(shop):
    first = Log("2026-03-02-seats-aaaa", parts=("hub", "arm"))
    first.read("bore-1", {"hub": "61.960"})
    first.close(arm="waits for a bush")
    first.write(shop / "runs")
    second = Log("2026-04-02-seats-bbbb", begins="2026-04-02T08:00:00", parts=("hub",))
    second.read("bore-1", {"hub": "61.990"})
    second.add("answer", {"code": "scrap", "parts": ["hub"], "reason": "worn"})
    second.write(shop / "runs", sealed=False)
    for name in ("hub", "cast hub"):
        life = asked(shop, part_life, name)
        assert [(run.run[:10], run.status, run.reason) for run in life.runs] == [
            ("2026-03-02", "done", ""),
            ("2026-04-02", "scrap", "worn"),
        ]
        assert [(row.value, row.verdict) for row in life.values] == [("61.990", "outside")]
    arm = asked(shop, part_life, "arm")
    assert (arm.runs[0].status, arm.runs[0].reason) == ("not done", "waits for a bush")
    with pytest.raises(BenchrunError, match="no run knows a part 'leg'"):
        asked(shop, part_life, "leg")


def test_times_leave_out_breaks_restarts_and_count_dwells_as_proven(shop):
    log = Log("2026-03-02-seats-aaaa")
    do = {"step": "wipe", "parts": ["hub"]}
    for minutes in (1, 2, 3):
        log.add("do", do, after_ms=minutes * 60_000)
    log.add("beat", {}, after_ms=30_000)
    log.add("do", do, after_ms=30_000)
    log.add("do", do, after_ms=5 * 3_600_000)
    log.add("seal", {"why": "suspend", "who": "station", "sshsig": ""}, after_ms=1000)
    log.add("do", do, after_ms=60_000)
    log.boot = "another"
    log.add("do", do, after_ms=60_000)
    log.add("in", {"step": "soak", "parts": ["hub"], "each": {"hub": {"least": 600_000}}})
    log.add("out", {"step": "soak", "parts": ["hub"], "each": {"hub": {"proven": 720_000}}})
    log.write(shop / "runs")
    times = {one.step.step: one for one in asked(shop, step_times, "seats")}
    wipe = times["wipe"]
    assert (wipe.times, wipe.least, wipe.median, wipe.most) == (4, 60_000, 60_000, 180_000)
    assert (times["soak"].times, times["soak"].median) == (1, 720_000)


def test_the_middle_half_of_times_is_told(shop):
    log = Log("2026-03-02-seats-aaaa")
    for minutes in (9, 1, 8, 2, 7, 3, 6, 4, 5):
        log.add("do", {"step": "wipe", "parts": ["hub"]}, after_ms=minutes * 60_000)
    log.write(shop / "runs")
    (one,) = asked(shop, step_times, "seats")
    told = (one.least, one.quarter, one.median, one.three_quarters, one.most)
    assert told == tuple(minutes * 60_000 for minutes in (1, 3, 5, 7, 9))


def test_an_instruments_readings_begin_with_its_calibration(shop):
    for month in (1, 2, 3):
        log = Log(f"2026-0{month}-02-seats-aaaa", begins=f"2026-0{month}-02T08:00:00")
        log.read("bore-1", {"hub": "61.960"}, tool="bore gauge 1")
        log.read("bore-1", {"hub": "61.990"}, tool="bore gauge 2")
        log.write(shop / "runs")
    since = asked(shop, tool_history, "bore gauge 1", dt.date(2026, 2, 1))
    assert (since.total, since.verdicts) == (2, {"inside": 2})
    assert asked(shop, tool_history, "bore gauge 1").total == 3
    assert asked(shop, tool_history, "no such gauge").total == 0
    assert asked(shop, tool_history, "").total == 0


def test_the_day_of_calibration_comes_from_the_shops_register(shop):
    (shop / "instruments.yaml").write_text(
        "instruments:\n"
        "  - {id: bg-1, name: bore gauge 1, range: 0 to 90 mm, calibrated: 2026-02-01}\n"
    )
    for month in (1, 2, 3):
        log = Log(f"2026-0{month}-02-seats-aaaa", begins=f"2026-0{month}-02T08:00:00")
        log.read("bore-1", {"hub": "61.960"}, tool="bore gauge 1")
        log.write(shop / "runs")
    text, _ = run_history(shop, Question(tool="bore gauge 1"))
    assert text.startswith("bore gauge 1 since 2026-02-01: 2 readings")
    text, _ = run_history(shop, Question(tool="bore gauge 1", since=dt.date(2020, 1, 1)))
    assert "3 readings" in text


def test_deviations_are_counted_by_step(shop):
    log = Log("2026-03-02-seats-aaaa", parts=("a", "b"))
    ask = {"id": "1.0", "step": "bore-1", "ask": "outside"}
    log.add("do", {"step": "bore-1", "parts": ["a"], "each": {"a": {"asks": [ask]}}})
    each = {"a": {"settles": "1.0"}}
    log.add("answer", {"code": "go on", "parts": ["a"], "each": each, "reason": "sleeved later"})
    log.add("answer", {"code": "scrap", "parts": ["b"], "each": {"b": {"settles": "1.0"}}})
    log.add("skip", {"step": "wipe", "parts": ["a", "b"], "reason": "clean already"})
    log.add("skip", {"step": "wipe", "parts": ["a"], "reason": "clean again"})
    late = {"a": {"verdict": "late", "proven": 1000}}
    log.add("out", {"step": "soak", "parts": ["a"], "each": late})
    log.write(shop / "runs")
    found = {(d.step.step, d.what): d for d in asked(shop, deviations, "seats")}
    assert set(found) == {
        ("bore-1", "question settled: go on"),
        ("wipe", "left out"),
        ("soak", "late"),
    }
    wipe = found["wipe", "left out"]
    assert (wipe.times, wipe.runs, wipe.reason) == (2, 1, "clean again")
    assert asked(shop, deviations, "another") == ()


def test_words_of_steps_come_from_the_copy_of_the_procedure(benchrun, root, shop):
    from benchrun.rehearse.play import rehearse

    rehearse(
        root / "procedures/hub-bearing-removal.yaml",
        root / "samples/answers/hub-bearing-removal.yaml",
        shop / "runs" / "2026-03-02-hub-bearing-removal-aaaa",
    )
    by_name = asked(shop, reading_history, "hub-bearing-removal", "bore_a")
    assert by_name.step.step == "bore-a"
    assert by_name.step.text.startswith("Measure the seat")
    assert asked(shop, tool_history, "bore gauge").total > 0
    answer, skipped = run_history(shop, Question(part="hub L outer"))
    assert not skipped
    assert "done" in answer


@pytest.mark.parametrize(
    "question",
    [
        Question(),
        Question(procedure="seats", reading="bore-2"),
        Question(procedure="seats", reading="bore-2", part="hub 1"),
        Question(part="hub 1"),
        Question(tool="bore gauge 1", since=dt.date(2020, 1, 2)),
        Question(procedure="seats", times=True),
        Question(deviating=True),
        Question(procedure="seats", deviating=True),
    ],
)
def test_every_question_has_an_answer_in_words_and_as_data(shop, question):
    many(shop / "runs", 20)
    text, _ = run_history(shop, question)
    assert text
    data, _ = run_history(shop, question, as_json=True)
    assert json.loads(data)


def test_an_incomplete_question_says_what_is_missing(shop):
    many(shop / "runs", 1)
    with pytest.raises(BenchrunError, match="say of which procedure"):
        run_history(shop, Question(reading="bore-1"))
    with pytest.raises(BenchrunError, match="no run holds 'x' of 'seats'"):
        run_history(shop, Question(procedure="seats", reading="x"))
    with pytest.raises(BenchrunError, match="no run of 'x' is known"):
        run_history(shop, Question(procedure="x", times=True))


def test_hostile_names_are_only_names(shop):
    name = "'; DROP TABLE runs; --"
    log = Log("2026-03-02-seats-aaaa", procedure=name, parts=(name, '"', "\x1b[31m"))
    log.read(name, {name: "61.960", "\x1b[31m": "61.961"}, place=name, tool=name)
    log.write(shop / "runs")
    answer, _ = run_history(shop, Question(part=name))
    assert "1 run" in answer
    assert asked(shop, tool_history, name).total == 2
    told, _ = run_history(shop, Question(tool=name))
    assert "\x1b" not in told


def test_progress_is_told_while_it_builds(shop):
    many(shop / "runs", 450, lines=2)
    seen = []
    with History(shop) as history:
        history.refresh(lambda done, total: seen.append((done, total)))
    assert seen == [(200, 450), (400, 450), (450, 450)]
    assert len(STEPS) == 20
