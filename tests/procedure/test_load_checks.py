"""What loading refuses: each slip is found, with its place and what would do."""

from pathlib import Path

import pytest
from procedure_pages import HEAD, errors, page, problems

from benchrun.errors import BenchrunError
from benchrun.procedure.load import ProcedureError, load, load_bytes

BORE = "- reading: Measure the bore.\n  id: bore\n  unit: mm\n"


@pytest.mark.parametrize(
    ("steps", "said"),
    [
        ("- do: Go.\n  drawin: x", "key 'drawin' is not known here; did you mean 'drawing'?"),
        ("- do: Go.\n  dwell: Wait.", "key 'dwell' begins another step"),
        (
            "- do: Go.\n  window: {after: go, most: 1 h, so to say}",
            "put the whole text in quotation",
        ),
        ("- go: Go.", "a step begins with one of do, dwell, reading"),
        ("- Go.", "a step begins with one of do"),
        ("- do: [Go.]", "a text is needed here, found a list"),
        ("- do: {Note: wet}", "needs quotation marks"),
        ("- do:", "nothing is written here"),
        ("- do: Go.\n  together: perhaps", "yes, no or pair is needed here, found 'perhaps'"),
        ("- do: Go.\n  id: Go There", "'Go There' is no id"),
        ("- do: Go.\n  id: ../escape", "'../escape' is no id"),
        ("- do: Go.\n  cautions: [acid]", "'acid' is no hazard of this procedure"),
        ("- do: Go.\n  cautions: [{then: Ouch.}]", "a caution has one of danger, warning"),
        (
            "- do: Go.\n  cautions: [{danger: A., warning: B.}]",
            "found danger and warning",
        ),
        ("- reading: Measure.", "key 'unit' is missing"),
        ("- reading: Measure.\n  unit: furlong", "'furlong' is no unit that benchrun knows"),
        ("- reading: Measure.\n  unit: mm\n  low: 5", "5 has no unit: write 5 mm"),
        ("- reading: Measure.\n  unit: mm\n  low: 5 kN", "5 kN is a force, and the unit mm"),
        ("- reading: Measure.\n  unit: mm\n  low: 6 mm\n  high: 5 mm", "high 5 mm is less than"),
        ("- reading: Measure.\n  unit: mm\n  outside: scrap", "'outside' says nothing without"),
        ("- reading: Measure.\n  unit: mm\n  in doubt: scrap", "'in doubt' says nothing"),
        ("- reading: Measure.\n  unit: mm\n  fit: P7", "'P7' is no size with its class"),
        ("- reading: Measure.\n  unit: mm\n  fit: 62 P99", "limits:"),
        ("- reading: Measure.\n  unit: kN\n  fit: 62 P7", "is a length, and the unit kN"),
        ("- reading: Measure.\n  unit: mm\n  fit: 62 P7\n  low: 3 mm", "gives both limits"),
        ("- reading: Measure.\n  unit: mm\n  places: [a, a]", "a place is there twice"),
        ("- reading: Measure.\n  unit: mm\n  times: 0", "a number from 1"),
        ("- reading: Measure.\n  unit: mm\n  instrument: rule", "not among the instruments"),
        ("- reading: Measure.\n  unit: mm\n  resolution: fine", "'fine' is not a reading"),
        ("- reading: Measure.\n  id: mean\n  unit: mm", "'mean' is a word of formulas"),
        ("- reading: Measure.\n  id: b\n  unit: mm\n  low: b - 1 mm", "before step 'b' writes it"),
        ("- dwell: Wait.\n  in: tub", "'tub' is no vessel of this procedure"),
        ("- dwell: Wait.\n  least: 3 h\n  most: 2 h", "most 2 h is shorter than least 3 h"),
        ("- dwell: Wait.\n  least: 3 h\n  aim: 2 h", "aim 2 h is shorter than least 3 h"),
        ("- dwell: Wait.\n  late: go on", "'late' says nothing without 'most'"),
        ("- dwell: Wait.\n  early: go on", "'early' says nothing without 'least'"),
        ("- dwell: Wait.\n  meanwhile: [{dwell: Wait more.}]", "only plain steps"),
        (
            "- dwell: Wait.\n  least: {by: bath, table: {1 C: 1 s}}",
            "no single reading taken before",
        ),
        ("- inspect: Look.\n  findings: {}", "at least one finding"),
        ("- inspect: Look.\n  findings: {ok: []}", "has no consequence"),
        ("- inspect: Look.\n  findings: {ok: fine}", "'fine' is no consequence: write go on"),
        ("- inspect: Look.\n  findings: {bad: rework from look}", "could go on for ever"),
        ("- inspect: Look.\n  findings: {bad: rework from x once}", "there is no step 'x'"),
        ("- inspect: Look.\n  findings: {bad: scrap twice}", "cannot be counted"),
        ("- inspect: Look.\n  findings: {bad: rework from look 0 times}", "can never be taken"),
        ("- hold: Show.", "key 'signs' is missing"),
        ("- hold: Show.\n  signs: Seen.\n  same person after: 12 h", "another person: yes"),
        (
            "- hold: Show.\n  signs: Seen.\n  another person: yes\n  same person after: 90 min",
            "whole hours",
        ),
        ("- work out: Do it.\n  unit: mm\n  formula: x + 1 mm", "'x' is no reading"),
        ("- if: 3 mm\n  steps: [{do: Go.}]", "a condition is needed here"),
        ("- if: 3 mm > 2 mm\n  steps: []", "no steps here"),
        ("- repeat: Coats\n  at most: 3\n  steps: [{do: Go.}]", "'at most' needs 'until'"),
        (
            "- repeat: Coats\n  at least: 3\n  at most: 2\n  until: 1 > 2\n  steps: [{do: Go.}]",
            "at most 2 is less than 3",
        ),
        (
            "- repeat: Coats\n  at least: 2\n  steps: [{if: 1 > 2, steps: [{do: Go.}]}]",
            "needs a step that no `if` passes over",
        ),
        ("- one of: Choose.\n  id: way\n  ways: {one: [{do: Go.}]}", "two or more ways"),
        ("- any order: All\n  steps: [{if: 1 > 2, steps: [{do: Go.}]}]", "only plain steps"),
        ("- carry out: bench-trial\n  revision: 1", "would carry out itself"),
        ("- carry out: elsewhere\n  revision: 1", "put elsewhere.yaml beside this one"),
        ("- do: Go.\n  drawing: ../secret.png", "no file in the procedure's own folder"),
        ("- do: Go.\n  drawing: /etc/passwd", "no file in the procedure's own folder"),
        ("- do: Go.\n  drawing: gone.png", "drawing 'gone.png' is not there"),
        ("- do: Go.\n  window: {after: later, most: 2 h}", "there is no step 'later'"),
        ("- do: Go.\n  id: go\n  window: {after: go, most: 2 h}", "nor in one repeat with it"),
        ("- do: Go.\n  id: go\n  window: {after: go}", "needs least, most, or both"),
        ("- do: Go.\n- do: Go.", "id 'go' is there twice"),
    ],
)
def test_a_slip_is_refused_in_plain_words(tmp_path: Path, steps: str, said: str) -> None:
    found = errors(tmp_path, steps)
    assert any(said in one for one in found), found


@pytest.mark.parametrize(
    ("steps", "said"),
    [
        (BORE + "- reading: Measure.\n  id: more\n  as: bore\n  unit: mm", "already written by"),
        (
            BORE + "  places: [a, b]\n- if: bore > 3 mm\n  steps: [{do: Go.}]",
            "several values: draw them together",
        ),
        (
            BORE + "- work out: Add.\n  id: add\n  unit: kN\n  formula: bore + 3 kN",
            "a force cannot be added to a length",
        ),
        (
            BORE + "- work out: Add.\n  id: add\n  unit: kN\n  formula: bore * 2",
            "bore * 2 is a length, and the unit kN is for a force",
        ),
        (
            BORE + "- work out: Add.\n  together: yes\n  id: add\n  unit: mm\n  formula: bore",
            "must draw bore of all parts together",
        ),
        (
            "- inspect: Look.\n  id: look\n  findings: {fine: go on}\n"
            "- if: look is 'fin'\n  steps: [{do: Go.}]",
            "'fin' is no finding of 'look'; did you mean 'fine'?",
        ),
        (
            "- if: bore > 3 mm\n  steps: [{do: Go.}]\n" + BORE,
            "'bore' is read here before step 'bore' writes it",
        ),
        (
            "- inspect: Look.\n  id: look\n  findings: {bad: [rework from later once]}\n"
            "- do: Go.\n  id: later",
            "goes forward",
        ),
        (
            "- do: Go.\n  id: go\n  window: {after: later, most: 1 h}\n- do: Go on.\n  id: later",
            "is neither before this one nor in one repeat with it",
        ),
        (
            "- do: Go.\n  id: go\n- do: Come.\n  window: {after: go, least: 2 h, most: 1 h}",
            "is shorter than least",
        ),
        (
            "- do: Go.\n  id: go\n"
            "- do: Come.\n  window: {after: go, most: 1 h, late: rework from go}",
            "could go on for ever",
        ),
        (
            "- do: Go.\n  id: go\n"
            "- do: Come.\n  window: {after: go, most: 1 h, late: [{first: [{do: Scuff.}]}]}",
            "key 'at most' is missing",
        ),
        (
            "- do: Go.\n  id: go\n- do: Come.\n  window: {after: go, least: 1 h, late: go on}",
            "'late' says nothing without 'most'",
        ),
    ],
)
def test_steps_that_do_not_fit_each_other_are_refused(
    tmp_path: Path, steps: str, said: str
) -> None:
    found = errors(tmp_path, steps)
    assert any(said in one for one in found), found


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (HEAD.replace("revision: 1", "revision: first"), "a whole number is needed"),
        (HEAD + "status: open\n", "one of 'draft', 'checked', 'approved', 'withdrawn'"),
        (HEAD + "dated: spring\n", "'spring' is no date"),
        (HEAD + "vessels: {Tub One: {title: tub}}\n", "'Tub One' is no id"),
        (HEAD + "hazards: {warning: Hot.}\n", "a list is needed here"),
        (HEAD + "batch: {part: arm}\n", "key 'batch' is there twice, first on line 5"),
        (HEAD.replace("batch: {part: arm}", "batch: arm"), "a map is needed here"),
        (HEAD.replace("{part: arm}", "{part: arm, at least: 3, at most: 2}"), "at most is less"),
        (
            HEAD + "hazards: [{warning: Hot., id: hot}, {warning: Wet., id: hot}]\n",
            "hazard 'hot' is there twice",
        ),
    ],
)
def test_a_slip_in_the_header_is_refused(tmp_path: Path, text: str, said: str) -> None:
    whole = text + "stages: [{stage: Only, steps: [{do: Go.}]}]\n"
    found = [one.text for one in problems(tmp_path, whole) if not one.advice]
    assert any(said in one for one in found), found


def test_a_procedure_without_stages_is_refused(tmp_path: Path) -> None:
    assert "key 'stages' is missing" in [one.text for one in problems(tmp_path, HEAD)]


def test_every_slip_is_said_in_one_pass_at_its_line_and_column(tmp_path: Path) -> None:
    text = page(
        """\
- do: Go.
  drawin: x
- reading: Measure.
  id: ring
  unit: mm
  low: 61.9
- reading: Measure the bore.
  id: bore
  unit: furlong
- work out: Add them.
  id: add
  unit: mm
  formula: ring + 3 kN
- work out: Use what is wrong above.
  id: more
  unit: mm
  formula: "bore + ring + rong"
"""
    )
    found = [(one.line, one.column, one.text) for one in problems(tmp_path, text) if not one.advice]
    assert found == [
        (10, 9, "key 'drawin' is not known here; did you mean 'drawing'?"),
        (14, 14, "61.9 has no unit: write 61.9 mm"),
        (17, 15, "'furlong' is no unit that benchrun knows: write mm, degC, N m, min …"),
        (21, 23, "a force cannot be added to a length"),
    ]


def test_a_place_inside_quotation_marks_is_the_letter_itself(tmp_path: Path) -> None:
    text = page('- work out: Add.\n  id: add\n  unit: mm\n  formula: "3 mm + rong"')
    found = [one for one in problems(tmp_path, text) if not one.advice]
    line = text.split("\n")[found[0].line - 1]
    assert line[found[0].column - 1 :].startswith("rong")


def test_a_procedure_with_errors_is_not_loaded(tmp_path: Path) -> None:
    file = tmp_path / "trial.yaml"
    file.write_text(page("- do: Go.\n  drawin: x\n- go: on"))
    with pytest.raises(ProcedureError) as caught:
        load(file)
    assert caught.value.message == (
        f"{file}:10:9: key 'drawin' is not known here; did you mean 'drawing'? "
        f"(1 more: `benchrun check {file}` says all)"
    )
    assert [one.line for one in caught.value.problems] == [10, 11]
    assert caught.value.exit_code == 2


def test_bytes_of_a_run_load_without_what_lay_beside_the_file() -> None:
    text = page("- do: Go.\n  drawing: gone.png\n- carry out: elsewhere\n  revision: 1")
    assert list(load_bytes(text.encode(), "copy").route.steps) == ["go", "elsewhere"]


def _write(folder: Path, name: str, revision: int, *others: str) -> Path:
    items = "\n".join(f"- carry out: {one}\n  revision: 1" for one in others) or "- do: Go."
    text = page(items).replace("procedure: bench-trial", f"procedure: {name}")
    file = folder / f"{name}.yaml"
    file.write_text(text.replace("revision: 1\nscope", f"revision: {revision}\nscope"))
    return file


def test_procedures_that_lead_back_to_themselves_are_refused(tmp_path: Path) -> None:
    file = _write(tmp_path, "one", 1, "two")
    _write(tmp_path, "two", 1, "three")
    _write(tmp_path, "three", 1, "one")
    with pytest.raises(BenchrunError, match="leads back to this one"):
        load(file)


def test_another_procedure_must_be_at_the_revision_that_is_named(tmp_path: Path) -> None:
    file = _write(tmp_path, "one", 1, "two")
    _write(tmp_path, "two", 2)
    with pytest.raises(BenchrunError, match="at revision 2, not 1"):
        load(file)


def test_a_figure_that_leads_out_of_the_folder_by_a_link_is_refused(tmp_path: Path) -> None:
    (tmp_path / "outside.png").write_text("x")
    home = tmp_path / "home"
    home.mkdir()
    (home / "link.png").symlink_to(tmp_path / "outside.png")
    file = home / "trial.yaml"
    file.write_text(page("- do: Go.\n  drawing: link.png"))
    with pytest.raises(BenchrunError, match="lies outside"):
        load(file)


def test_an_id_that_stands_twice_is_told_once(
    tmp_path: Path,
) -> None:
    steps = (
        "- do: Wipe it.\n  id: wipe\n- do: Soak it.\n  id: soak\n"
        "- do: Rinse it.\n  id: wipe\n"
        "  window: {after: soak, most: 1 h, late: [rework from soak once, set aside]}"
    )
    assert errors(tmp_path, steps) == ["id 'wipe' is there twice: give this step an id of its own"]


def test_a_hyphen_without_its_blank_is_told(tmp_path: Path) -> None:
    text = page("- do: Wipe it.\n-do: Rinse it.")
    assert "a blank is missing after the hyphen" in problems(tmp_path, text)[0].text
