"""The machine-readable reports say what the log says, no more and no less."""

import csv
import io
import json
import re
from dataclasses import fields
from decimal import Decimal
from pathlib import Path

import pytest
from worked_runs import WORD, Worked

import benchrun.report
from benchrun.account.facts import PartFacts, RunFacts
from benchrun.account.gather import gather
from benchrun.csv_text import guarded
from benchrun.errors import BenchrunError
from benchrun.report.command import report_content, run_report
from benchrun.report.front import Issue, result_words
from benchrun.report.rows import CSV_COLUMNS
from benchrun.run import commands as c
from benchrun.session import Kept, closing_statement
from benchrun.verify import verify

ROOT = Path(__file__).resolve().parents[2]
SCHEMA = (Path(benchrun.report.__file__).parent / "SCHEMA.md").read_text("utf-8")


def log_of(folder):
    return [json.loads(line) for line in (folder / "log.jsonl").read_bytes().splitlines()]


def csv_of(folder, to):
    run_report([folder], to)
    return list(csv.DictReader(io.StringIO(to.read_bytes().decode("utf-8"), newline="")))


def test_every_number_of_the_log_is_a_row_of_the_csv(folder, tmp_path):
    rows = csv_of(folder, tmp_path / "out.csv")
    in_log = {
        (line["n"], part, line["data"].get("place", "")): outcome["value"]
        for line in log_of(folder)
        if line["kind"] == "do"
        for part, outcome in line["data"].get("each", {}).items()
        if "number" in outcome.get("value", {})
    }
    in_rows = {(int(r["n"]), r["part"], r["place"]): r for r in rows}
    assert in_rows.keys() == in_log.keys()
    for key, given in in_log.items():
        assert in_rows[key]["first"] == given["number"]
        assert in_rows[key]["unit"] == given["unit"]


def test_the_csv_carries_corrections_as_the_log_does(folder, tmp_path):
    rows = csv_of(folder, tmp_path / "out.csv")
    revised = {
        (revision["n"], revision["part"], revision.get("place", "")): (
            line["n"],
            revision["number"],
        )
        for line in log_of(folder)
        if line["kind"] == "correct"
        for outcome in line["data"]["each"].values()
        for revision in outcome["revised"]
    }
    assert len(revised) == 2
    for row in rows:
        key = (int(row["n"]), row["part"], row["place"])
        if key in revised:
            assert (int(row["corrected_by"]), row["value"]) == revised[key]
            assert row["first"] != row["value"]
        else:
            assert (row["corrected_by"], row["value"]) == ("", row["first"])
    assert {r["verdict"] for r in rows} == {"inside", "outside", "in doubt"}


def test_a_correction_judges_the_value_again(tmp_path):
    work = Worked(tmp_path, ["hub"])
    work.do("wipe")
    work.soak()
    first = work.read("hub", "62.5")
    work.answer("go on", "hub", reason="to be read again")
    work.send(c.Correct(first, "hub", "read on the wrong scale", typed="61.95", place="A"))
    reading = gather(work.folder).readings[0]
    assert (reading.first, reading.first_verdict) == ("62.5", "outside")
    assert (reading.value, reading.verdict, reading.typed) == ("61.95", "inside", "61.95")


def test_the_json_holds_the_log_byte_for_byte(folder, tmp_path):
    run_report([folder], tmp_path / "out.json", [verify(folder).as_data()])
    run = json.loads((tmp_path / "out.json").read_text("utf-8"))["runs"][0]
    again = b"".join(
        json.dumps(line, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode() + b"\n"
        for line in run["log"]
    )
    assert again == (folder / "log.jsonl").read_bytes()
    assert run["verdict"]["whole"] is True
    assert run["verdict"]["head"] == run["head"]


def test_the_schema_names_every_key_and_no_other():
    body = SCHEMA[SCHEMA.index("## Everything as JSON") :]
    keys = {
        key.strip()
        for row in re.findall(r"^\| ([a-z0-9_, ]+) \|", body, re.MULTILINE)
        for key in row.split(",")
    } - {"key"}
    assert keys == {one.name for one in fields(RunFacts)} | {"log"}


@pytest.mark.parametrize(
    "key", ["parts", "acts", "findings", "dwells", "sums", "questions", "signatures"]
)
def test_the_schema_names_the_keys_of_rows(key, folder, tmp_path):
    run_report([folder], tmp_path / "out.json")
    run = json.loads((tmp_path / "out.json").read_text("utf-8"))["runs"][0]
    row = re.search(rf"^\| {key} \| (.*) \|$", SCHEMA, re.MULTILINE)[1]
    assert set(re.findall(r"`([a-z_]+)`", row)) >= set(run[key][0])


def test_the_schema_names_the_columns_of_the_readings(folder, tmp_path):
    body = SCHEMA[SCHEMA.index("### `readings`") : SCHEMA.index("### `clocks`")]
    named = [
        key.strip()
        for row in re.findall(r"^\| ([a-z0-9_, ]+) \|", body, re.MULTILINE)
        for key in row.split(",")
    ]
    columns = CSV_COLUMNS["readings"]
    assert ["run", "procedure", "revision", *named[1:]] == list(columns)
    assert tuple(csv_of(folder, tmp_path / "out.csv")[0]) == columns


@pytest.mark.parametrize("table", ["clocks", "supplies", "deviations", "parts"])
def test_each_table_answers_one_question_with_the_columns_that_the_schema_names(
    table, folder, tmp_path
):
    body = SCHEMA.partition(f"### `{table}`")[2].partition("###")[0]
    named = re.findall(r"`([a-z_]+)`", body)
    columns = CSV_COLUMNS[table]
    assert [name for name in columns if name in named] == list(columns[3:])
    run_report([folder], tmp_path / "out.csv", issue=Issue(table=table))
    text = (tmp_path / "out.csv").read_bytes().decode("utf-8")
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert text.splitlines()[0] == ",".join(columns)
    facts = gather(folder)
    many = {
        "clocks": sum(len(dwell.parts) for dwell in facts.dwells),
        "supplies": len(facts.supplies),
        "deviations": sum(
            map(len, (facts.deviations, facts.doubts, facts.corrections, facts.questions))
        ),
        "parts": len(facts.parts),
    }
    assert len(rows) == many[table]


def test_a_column_in_one_unit_may_be_summed(folder, tmp_path):
    facts = gather(folder)
    rows = csv_of(folder, tmp_path / "out.csv")
    assert {row["in_unit"] for row in rows} == {"mm"}
    assert [row["value_in"] for row in rows] == [reading.value for reading in facts.readings]
    run_report([folder], tmp_path / "clocks.csv", issue=Issue(table="clocks"))
    with (tmp_path / "clocks.csv").open(encoding="utf-8", newline="") as file:
        proven = [Decimal(row["proven_s"]) * 1000 for row in csv.DictReader(file)]
    assert proven == [dwell.proven for dwell in facts.dwells for _ in dwell.parts]


# The names, texts and times of all tables; the other columns are numbers, or truth values.
TEXTS = frozenset(
    (
        *("run", "procedure", "utc", "by", "part", "identity", "kind", "step", "name", "place"),
        *("source", "unit", "verdict", "first_verdict", "instrument", "calibrated", "until"),
        *("misgivings", "limits_from", "correction", "in_unit", "where", "began", "ended"),
        *("parts", "supply", "about", "sort", "what", "reason", "status", "last"),
    )
)
TRUTHS = frozenset(("characteristic", "named", "taken_back", "back", "closed", "rehearsal"))
# What pandas takes for nothing and for a truth value without an option (3.0, read_csv).
NOTHING = frozenset({"", "NA", "N/A", "n/a", "#N/A", "NULL", "null", "NaN", "nan", "None", "<NA>"})


def guessed(field):
    """What a reader that guesses makes of a field, as pandas does."""
    if field in NOTHING:
        return None
    if field in ("true", "false"):
        return field == "true"
    try:
        return float(field)
    except ValueError:
        return field


@pytest.mark.parametrize("table", sorted(CSV_COLUMNS))
def test_a_reader_that_guesses_reads_every_table_right(table, folder, tmp_path):
    awkward = ["NA", "007", "1e5", "null", "inf"]
    work = Worked(tmp_path, [(tag, 1, tag) for tag in awkward])
    work.do("wipe", reason="n/a")
    for tag in awkward:
        work.soak(tag)
        work.read(tag, "61.990")
    run_report([folder, work.folder], tmp_path / "out.csv", issue=Issue(table=table))
    with (tmp_path / "out.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert table == "supplies" or rows
    for name in CSV_COLUMNS[table]:
        found = {type(guessed(row[name])) for row in rows} - {type(None)}
        wanted = str if name in TEXTS else bool if name in TRUTHS else float
        assert found <= {wanted}, name
    if table == "parts":
        assert [row["part"] for row in rows][3:] == [f"'{tag}" for tag in awkward]


def test_a_row_names_the_kind_of_its_part(tmp_path):
    from benchrun.rehearse.play import rehearse

    place = ROOT / "tests" / "rehearse"
    run = tmp_path / "2026-03-02-sides-aaaa"
    rehearse(place / "procedures" / "two-sides.yaml", place / "cases" / "kinds.yaml", run)
    kinds = {part.part: (part.kind, part.pair) for part in gather(run).parts}
    rows = csv_of(run, tmp_path / "out.csv")
    assert {row["part"]: (row["kind"], row["pair"]) for row in rows} == kinds
    assert len({row["kind"] for row in rows}) > 1
    assert "" not in {row["kind"] for row in rows}


def test_a_question_in_the_table_of_deviations_says_when_and_at_which_step(folder, tmp_path):
    run_report([folder], tmp_path / "out.csv", issue=Issue(table="deviations"))
    with (tmp_path / "out.csv").open(encoding="utf-8", newline="") as file:
        asked = [row for row in csv.DictReader(file) if row["sort"] == "question"]
    lines = {line["n"]: line["at"]["utc"] for line in log_of(folder)}
    assert asked
    assert [row["utc"] for row in asked] == [lines[int(row["n"])] for row in asked]
    assert {row["step"] for row in asked} == {"soak", "bore", "bore-mean", "cracks"}


def test_a_table_is_asked_for_of_csv_alone(folder, tmp_path):
    with pytest.raises(BenchrunError, match=r"ends in \.csv"):
        run_report([folder], tmp_path / "out.html", issue=Issue(table="parts"))


@pytest.mark.parametrize(
    "text", ["=1+1", "@x", "+cmd|' /C calc'!A0", "-2+3", "\tx", "=HYPERLINK(1)", "\uff1d1"]
)
def test_a_text_is_no_formula_in_a_spreadsheet(text):
    assert guarded(text) == f"'{text}"


@pytest.mark.parametrize("text", ["+0.02", "-0,002", "-7", "61.965", "hub L", "2 thou"])
def test_a_number_with_its_sign_stays_as_typed(text):
    assert guarded(text) == text


@pytest.mark.parametrize(
    "text", ["NA", "null", "#N/A", "007", "1e5", "-inf", "nan", "1234567890123456"]
)
def test_a_tag_that_a_reader_would_change_gets_an_apostrophe(text):
    assert guarded(text) == f"'{text}"


@pytest.mark.parametrize("text", ["0", "12", "0.50", "none", "12a", "A-7"])
def test_a_tag_that_no_reader_changes_stays(text):
    assert guarded(text) == text


def test_dwells_questions_and_moves_are_told(folder):
    facts = gather(folder)
    assert [(d.parts, d.verdict, d.proven) for d in facts.dwells] == [
        (("hub L", "hub R"), "in time", 12 * 60_000),
        (("hub S",), "early", 5 * 60_000),
    ]
    assert {(d.where, d.least, d.most) for d in facts.dwells} == {("hot tub", 600_000, 1_200_000)}
    assert {one.part: one.status for one in facts.parts} == {
        "hub L": "done",
        "hub R": "done",
        "hub S": "scrap",
    }
    reasons = {one.reason for one in facts.deviations}
    assert {"the tub was wanted", "to be sleeved", "wrong part looked at"} <= reasons
    assert all(question.answer for question in facts.questions)
    assert [f.taken_back for f in facts.findings if f.part == "hub S"] == [True, False]
    assert any("restarted" in doubt.what for doubt in facts.doubts)
    assert [one.text for one in facts.lessons] == ["Warm the gauge first."]


def test_a_question_carries_its_answer_and_who_gave_it_why(folder):
    asked = {(q.part, q.number): q for q in gather(folder).questions}
    outside = asked["hub R", 3]
    assert outside.says.startswith("61.990 mm: 0.011 mm over")
    assert (outside.answer, outside.reason) == ("Go on as it is", "to be sleeved")
    assert (outside.by, outside.settled) == ("ann-ode", outside.n + 1)
    assert asked["hub S", 5].answer == "Scrap"


def test_coats_are_counted_for_each_part(folder):
    facts = gather(folder)
    assert [(r.title, r.text, r.parts, len(r.rounds)) for r in facts.repeats] == [
        ("Coats", "Brush one thin coat on.", ("hub L", "hub R"), 2)
    ]


def test_tending_is_counted_for_the_load_that_was_tended(tmp_path):
    work = Worked(tmp_path, ["a", "b"])
    work.do("wipe")
    work.send(c.PutIn("soak", ("a",), work.seen))
    work.send(c.PutIn("soak", ("b",), work.seen))
    for _ in range(3):
        work.send(c.Tend(("b",), work.seen))
    assert {d.parts: d.tended for d in gather(work.folder).dwells} == {("a",): 0, ("b",): 3}
    work.send(c.Retract(work.seen, work.seen, "that was the other tub"))
    facts = gather(work.folder)
    of = {d.parts: [(one.by, one.utc[11:16]) for one in d.tendings] for d in facts.dwells}
    assert of["a",] == []
    first, second = (when for _, when in of["b",])
    named = facts.name_of(of["b",][0][0])
    page = report_content([work.folder], ".md").decode()
    assert f"2 times: {named} {first}, {second}" in page


def test_sums_show_the_numbers_that_went_in(folder):
    sums = {s.parts: s for s in gather(folder).sums}
    assert sums["hub R",].filled == "mean(61.990, 61.970 mm)"
    assert sums["hub R",].result == "61.980 mm"
    left = sums["hub L",]
    assert left.filled == "mean(61.956, 61.978 mm)"
    assert (left.was, left.result) == ("61.969 mm", "61.967 mm")


def test_a_load_lifted_in_pieces_has_a_row_a_piece(tmp_path):
    work = Worked(tmp_path, ["a", "b", "c"])
    work.do("wipe")
    work.send(c.PutIn("soak", work.parts, work.seen))
    work.clock.wait(11 * 60_000)
    work.send(c.Lift(("b",), work.seen))
    told = [(d.parts, d.n_out is None, d.verdict) for d in gather(work.folder).dwells]
    assert told == [(("b",), False, "in time"), (("a", "c"), True, "")]
    last = work.send(c.Lift(("a", "c"), work.seen))
    work.send(c.Retract(last, work.seen, "not yet"))
    told = [(d.parts, d.n_out is None, d.verdict) for d in gather(work.folder).dwells]
    assert told == [(("b",), False, "in time"), (("a", "c"), True, "")]


def test_a_damaged_log_is_refused_in_one_line(tmp_path):
    work = Worked(tmp_path, ["a"])
    log = work.folder / "log.jsonl"
    log.write_bytes(log.read_bytes().replace(b'"open"', b'"opem"', 1))
    with pytest.raises(BenchrunError) as refused:
        run_report([work.folder], tmp_path / "out.html")
    assert "\n" not in refused.value.message
    assert not (tmp_path / "out.html").exists()


def test_an_unknown_ending_is_refused(folder, tmp_path):
    with pytest.raises(BenchrunError, match=r"\.html, \.csv, \.json, \.txt, \.md"):
        run_report([folder], tmp_path / "out.docx")


def test_a_folder_that_cannot_be_written_is_told(folder, tmp_path):
    with pytest.raises(BenchrunError, match="cannot be written"):
        run_report([folder], tmp_path / "nowhere" / "out.csv")


def test_a_part_left_set_aside_says_why_it_was_set_aside_and_then_why_the_run_was_closed(tmp_path):
    work = Worked(tmp_path, ["hub L", "hub R"])
    work.send(c.Put(("hub L", "hub R"), work.seen, "aside", "cracked at the seat"))
    work.send(c.Put(("hub R",), work.seen, "play", "looked at again"))
    reasons = {"hub L": "goes to the welder", "hub R": "no time left"}
    work.tick()
    reply = work.session.sign(c.Close(reasons, closing_statement(work.session.hand)), WORD)
    assert isinstance(reply.result(), Kept)
    left, right = gather(work.folder).parts
    assert left.reason == "cracked at the seat; at the close: goes to the welder"
    assert right.reason == "no time left"


def test_the_outcome_of_one_part_writes_its_tag_as_it_is_stamped():
    assert result_words([PartFacts("a", status="done")]) == "Part a is done."
    both = [PartFacts("a", status="done"), PartFacts("b", status="done")]
    assert result_words(both) == "Both parts are done."
