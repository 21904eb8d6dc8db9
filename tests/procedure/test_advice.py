"""Advice: what published demands on good procedures ask, said of what can already be run."""

from pathlib import Path

import pytest
from procedure_pages import HEAD, advice, page, problems

from benchrun.procedure.ghs import code_lines, code_text
from benchrun.procedure.route import Hazard, Signal

CHANGES = "changes: {1: First issue.}\n"
FINE = "- do: Wipe the bore clean.\n  id: wipe"


def test_a_plain_procedure_needs_no_advice(tmp_path: Path) -> None:
    assert advice(tmp_path, FINE, CHANGES) == []


@pytest.mark.parametrize(
    ("steps", "said"),
    [
        ("- do: Wipe " + "very " * 20 + "clean.", "step of 22 words: at most 20"),
        ("- do: The bore is wiped.", "step begins with 'The'"),
        ("- do: Wipe the bore and dry the seat.", "a second action ('dry')"),
        ("- do: Wipe the bore. Dry the seat.", "a second action ('Dry')"),
        ("- do: Wipe the bore, then dry it.", "a second action ('dry')"),
        ("- do: Wipe the bore if it is wet.", "the condition ('if') comes after the command"),
        ("- do: If the bore is wet wipe it.", "no comma parts the condition"),
        (
            "- do: Wipe it.\n  cautions: [{warning: Wear the gloves., then: A., avoid: B.}]",
            "a caution tells somebody to do something",
        ),
        ("- do: Wipe it.\n  cautions: [{warning: Hot., avoid: B.}]", "add `then`"),
        ("- do: Wipe it.\n  cautions: [{warning: Hot., then: Burns.}]", "add `avoid`"),
        (
            "- do: Wipe it.\n  cautions: [{warning: Hot., then: A., avoid: B., codes: H999}]",
            "code 'H999' has no text",
        ),
        ("- dwell: Wait.\n  most: 2 h", "`most` and no `late`"),
        ("- dwell: Wait.\n  least: 2 h", "`least` and no `early`"),
        ("- dwell: Wait.\n  least: 2 h\n  early: again", "figures without a source"),
        ("- do: Heat the hub to 80 °C.", "figures without a source"),
        ("- reading: Measure it.\n  unit: mm\n  low: 3 mm", "limits and no `outside`"),
        ("- reading: Measure it.\n  unit: mm", "nothing judges or reads 'measure_it'"),
        ("- do: Wipe it.\n  source: elsewhere", "begins with no mark of `sources`"),
        (
            "- do: Go.\n  id: go\n- do: Wipe it.\n  window: {after: go, most: 2 h}",
            "the window has `most` and no `late`",
        ),
        (
            FINE + "\n- inspect: Look.\n  findings: {bad: rework from wipe once, ok: go on}",
            "when the count is used up nothing is left",
        ),
        (
            "- reading: Measure.\n  id: bore\n  unit: mm\n"
            "- repeat: Coats\n  at most: 3\n  until: bore < 15 mm\n  steps: [{do: Coat.}]",
            "nothing inside this repeat changes bore: where it is not so, 3 passes are made",
        ),
        (
            "- inspect: Look.\n  id: look\n  findings: {ok: go on, bad: stop the run}",
            "only a stop here",
        ),
        ("- if: 1 > 2\n  steps: [{do: Wipe it.}]", "the condition reads nothing"),
        (
            "- inspect: Look.\n  id: look\n  findings: {ok: go on, bad: go on}\n"
            "- if: look is 'ok'\n  steps: [{reading: Measure., id: bath, unit: degC}]\n"
            "- dwell: Wait.\n  least: {by: bath, table: {1 C: 1 h, 2 C: 2 h}}",
            "'bath' may not be known here",
        ),
        (
            "- if: 1 > 2 and 2 > 3 or 3 > 4\n  steps: [{do: Wipe it.}]",
            "`and` and `or` in one condition",
        ),
        (
            "- inspect: Look.\n  id: look\n  findings: {ok: go on, bad: go on}\n"
            "- if: look is 'ok'\n  steps: [{reading: Measure., id: bore, unit: mm}]\n"
            "- if: bore > 3 mm\n  steps: [{do: Wipe it.}]",
            "'bore' may not be known here",
        ),
    ],
)
def test_what_could_be_better_is_said(tmp_path: Path, steps: str, said: str) -> None:
    found = advice(tmp_path, steps, CHANGES)
    assert any(said in one for one in found), found


@pytest.mark.parametrize(
    "steps",
    [
        "- do: If the bore is wet, wipe it.",
        "- do: Slowly turn the hub.",
        "- do: Never strike the ring.",
        "- do: Read the gauge once more.",
        "- do: Take out every circlip, pin and screw.",
        "- do: Heat the hub to 80 °C.\n  source: from memory",
        "- do: Wipe it.\n  source: common practice, no source",
        (
            "- inspect: Look.\n  id: look\n  findings: {ok: go on, bad: go on}\n"
            "- if: look is 'ok'\n  steps: [{reading: Measure., id: bore, unit: mm}]\n"
            "- if: look is 'ok'\n  steps: [{if: bore > 3 mm, steps: [{do: Wipe it.}]}]"
        ),
    ],
)
def test_what_is_well_said_is_left_alone(tmp_path: Path, steps: str) -> None:
    assert advice(tmp_path, steps, CHANGES) == []


def test_the_header_is_advised_on_too(tmp_path: Path) -> None:
    text = HEAD + "status: approved\nvessels: {tub: {title: tub}}\n"
    text += "stages: [{stage: Only, steps: [{do: Wipe it.}]}]\n"
    found = [one.text for one in problems(tmp_path, text)]
    assert "an approved procedure has a day: add `dated`" in found
    assert "changes say nothing of revision 1: add a line" in found
    assert "no dwell and no load uses the vessel 'tub'" in found


def test_an_instrument_coarser_than_its_reading_is_told(tmp_path: Path) -> None:
    needs = "needs: {instruments: [{instrument: rule, resolution: 0.5 mm}]}\n"
    steps = "- reading: Measure it.\n  unit: mm\n  instrument: rule\n  resolution: "
    assert any("coarser" in one for one in advice(tmp_path, steps + "10 µm", CHANGES + needs))
    assert not any("coarser" in one for one in advice(tmp_path, steps + "1 mm", CHANGES + needs))


def test_a_step_without_an_id_is_told_what_it_is_called(tmp_path: Path) -> None:
    found = [one.text for one in problems(tmp_path, page("- do: Wipe it.", CHANGES))]
    assert found == ["step without an `id` is called 'wipe-it', which changes with its words"]


def test_advice_has_its_place_and_follows_the_errors(tmp_path: Path) -> None:
    found = problems(
        tmp_path, page("- do: The bore.\n  id: it\n- do: Wipe.\n  id: go\n- go: on", CHANGES)
    )
    assert [(one.line, one.column, one.advice) for one in found] == [
        (14, 9, False),
        (10, 13, True),
    ]


def test_codes_of_hazards_have_their_texts() -> None:
    hazard = Hazard(Signal.DANGER, "Acid.", "Burns.", "Gloves.", ("H314", "P301+P330", "X1"))
    assert code_lines(hazard) == (
        "H314 Causes severe skin burns and eye damage.",
        "P301+P330 If swallowed: Rinse mouth.",
        "X1",
    )
    assert code_text("P301+P999") is None


def test_a_figure_that_nobody_uses_is_said(tmp_path: Path) -> None:
    figures = "figures: {wear: {ask: Wear limit., unit: mm, plausible: 1 mm to 2 mm}}\n"
    found = advice(tmp_path, "- do: Wipe it.\n  id: wipe", figures)
    assert "nothing uses the figure 'wear': use it, or delete it" in found


def test_a_hazard_that_no_step_names_is_told_and_one_without_an_id(tmp_path: Path) -> None:
    hazards = (
        "hazards:\n"
        "  - {warning: Acid burns., id: acid, then: Burnt skin., avoid: Gloves.}\n"
        "  - {caution: Swarf cuts., id: swarf, then: A cut finger., avoid: A brush.}\n"
        "  - {caution: The floor is wet., then: A fall., avoid: A dry way.}\n"
    )
    found = advice(tmp_path, FINE + "\n  cautions: [acid]", CHANGES + hazards)
    assert [one.partition(":")[0] for one in found] == [
        "no step is cautioned of the hazard 'swarf'",
        "no step is cautioned of this hazard",
    ]
