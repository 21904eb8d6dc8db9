"""The questions that history answers over many runs: as the logs say, in words and as data."""

import datetime as dt
import json
from decimal import Decimal

import pytest
from synthetic import Log, asked, many

from benchrun.errors import BenchrunError
from benchrun.history.command import IndexQuestion, run_history
from benchrun.history.questions import (
    deviations_by_step,
    part_life,
    reading_history,
    recall_list,
    step_times,
)
from benchrun.shopmath.spread import control


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
    ("number", "verdict"),
    [("61.949", "inside"), ("61.948", "outside"), ("61.979", "inside"), ("61.980", "outside")],
)
def test_a_corrected_value_is_judged_by_its_limits(shop, number, verdict):
    log = Log("2026-03-02-seats-aaaa")
    n = log.read("bore-1", {"hub": "61.960"})
    revised = {"hub": {"revised": [{"n": n, "part": "hub", "number": number}]}}
    log.add("correct", {"of": n, "part": "hub", "parts": ["hub"], "each": revised})
    log.write(shop / "runs", sealed=False)
    (row,) = asked(shop, reading_history, "seats", "bore-1").rows
    assert (row.value, row.verdict, row.corrected) == (number, verdict, True)


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
    log.add("do", do, after_ms=0)
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
    since = asked(shop, recall_list, "bore gauge 1", dt.date(2026, 2, 1))
    assert (since.total, since.verdicts) == (2, {"inside": 2})
    assert asked(shop, recall_list, "bore gauge 1").total == 3
    assert asked(shop, recall_list, "no such gauge").total == 0
    assert asked(shop, recall_list, "").total == 0


def test_the_day_of_calibration_comes_from_the_shops_register(shop):
    (shop / "instruments.yaml").write_text(
        "instruments:\n"
        "  - {id: bg-1, name: bore gauge 1, range: 0 to 90 mm, calibrated: 2026-02-01}\n"
    )
    for month in (1, 2, 3):
        log = Log(f"2026-0{month}-02-seats-aaaa", begins=f"2026-0{month}-02T08:00:00")
        log.read("bore-1", {"hub": "61.960"}, tool="bore gauge 1")
        log.write(shop / "runs")
    text, _ = run_history(shop, IndexQuestion(tool="bore gauge 1"))
    assert text.startswith("Recall list: bore gauge 1 since 2026-02-01\n2 readings of 2 parts")
    text, _ = run_history(shop, IndexQuestion(tool="bore gauge 1", since=dt.date(2020, 1, 1)))
    assert "3 readings" in text


def test_the_time_of_a_mistap_is_no_time_of_its_step(shop):
    log = Log("2026-03-02-seats-aaaa")
    log.read("bore-1", {"hub": "61.960"})
    log.read("bore-2", {"hub": "61.960"})
    wrong = log.read("bore-2", {"hub": "61.970"})
    log.write(shop / "runs", sealed=False)
    assert {one.step.step: one.times for one in asked(shop, step_times, "seats")} == {
        "bore-1": 1,
        "bore-2": 2,
    }
    log.add("retract", {"of": wrong, "parts": ["hub"], "reason": "the wrong bore"})
    log.write(shop / "runs", sealed=False)
    assert {one.step.step: one.times for one in asked(shop, step_times, "seats")} == {
        "bore-1": 1,
        "bore-2": 1,
    }
    (remark,) = asked(shop, deviations_by_step, "seats")
    assert (remark.what, remark.reason) == ("undone as a slip", "the wrong bore")


def test_deviations_are_counted_by_step(shop):
    log = Log("2026-03-02-seats-aaaa", parts=("a", "b"))
    ask = {"id": "1.0", "step": "bore-1", "ask": "outside", "index": 0, "says": "Outside."}
    ask["answers"] = [{"code": "go on", "act": "go on", "text": "Go on as it is"}]
    log.add("do", {"step": "bore-1", "parts": ["a"], "each": {"a": {"asks": [ask]}}})
    each = {"a": {"settles": "1.0"}}
    log.add("answer", {"code": "go on", "parts": ["a"], "each": each, "reason": "sleeved later"})
    log.add("answer", {"code": "scrap", "parts": ["b"], "each": {"b": {"settles": "1.0"}}})
    log.add("skip", {"step": "wipe", "parts": ["a", "b"], "reason": "clean already"})
    log.add("skip", {"step": "wipe", "parts": ["a"], "reason": "clean again"})
    late = {"a": {"verdict": "late", "proven": 1000}}
    log.add("out", {"step": "soak", "parts": ["a"], "each": late})
    log.write(shop / "runs")
    found = {(d.step.step, d.what): d for d in asked(shop, deviations_by_step, "seats")}
    assert set(found) == {
        ("bore-1", "query answered: Go on as it is"),
        ("wipe", "skipped"),
        ("soak", "taken out late"),
    }
    wipe = found["wipe", "skipped"]
    assert (wipe.times, wipe.runs, wipe.reason) == (2, 1, "clean again")
    assert asked(shop, deviations_by_step, "another") == ()


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
    assert asked(shop, recall_list, "bore-gauge-0").total > 0
    answer, skipped = run_history(shop, IndexQuestion(part="hub L outer"))
    assert not skipped
    assert "done" in answer


@pytest.mark.parametrize(
    "question",
    [
        IndexQuestion(),
        IndexQuestion(procedure="seats", reading="bore-2"),
        IndexQuestion(procedure="seats", reading="bore-2", part="hub 1"),
        IndexQuestion(part="hub 1"),
        IndexQuestion(tool="bore gauge 1", since=dt.date(2020, 1, 2)),
        IndexQuestion(procedure="seats", times=True),
        IndexQuestion(deviating=True),
        IndexQuestion(procedure="seats", deviating=True),
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
        run_history(shop, IndexQuestion(reading="bore-1"))
    with pytest.raises(BenchrunError, match="no run holds 'x' of 'seats'"):
        run_history(shop, IndexQuestion(procedure="seats", reading="x"))
    with pytest.raises(BenchrunError, match="no run of 'x' is known"):
        run_history(shop, IndexQuestion(procedure="x", times=True))


def test_a_wrong_name_is_answered_with_the_near_ones(shop):
    log = Log("2026-03-02-seats-aaaa", parts=("hub left",))
    log.read("bore-1", {"hub left": "61.960"}, tool="bore gauge")
    log.write(shop / "runs")
    for question, near in (
        (
            IndexQuestion(procedure="seat", times=True),
            "no run of 'seat' is known: did you mean 'seats'",
        ),
        (
            IndexQuestion(procedure="zzz", deviating=True),
            "no run of 'zzz' is known: known are seats",
        ),
        (IndexQuestion(procedure="seats", reading="bore-11"), "did you mean 'bore-1'"),
        (IndexQuestion(part="Hub Left "), "did you mean 'hub left'"),
        (IndexQuestion(tool="bore gage"), "no instrument 'bore gage' is known: did you mean"),
    ):
        with pytest.raises(BenchrunError, match=near):
            run_history(shop, question)


def test_an_instrument_of_the_shop_that_measured_nothing_is_answered(shop):
    (shop / "instruments.yaml").write_text(
        "instruments:\n  - {id: dg-1, name: depth gauge, range: 0 to 25 mm, resolution: 0.01 mm}\n"
    )
    assert (
        run_history(shop, IndexQuestion(tool="dg-1"))[0]
        == "dg-1: no readings, nothing to be looked at again"
    )


def test_hostile_names_are_only_names(shop):
    name = "'; DROP TABLE runs; --"
    log = Log("2026-03-02-seats-aaaa", procedure=name, parts=(name, '"', "\x1b[31m"))
    log.read(name, {name: "61.960", "\x1b[31m": "61.961"}, place=name, tool=name)
    log.write(shop / "runs")
    answer, _ = run_history(shop, IndexQuestion(part=name))
    assert "1 run" in answer
    assert asked(shop, recall_list, name).total == 2
    told, _ = run_history(shop, IndexQuestion(tool=name))
    assert "\x1b" not in told
