"""The guide: its example grows from part to part, and at every point it is sound."""

import re
from pathlib import Path

import pytest
from procedure_pages import problems

from benchrun.procedure.formula import parse_formula
from benchrun.procedure.header_shapes import file_key
from benchrun.procedure.phrases import consequence
from benchrun.procedure.shapes import FORMS, ProcedureShape
from benchrun.quantity import UNITS

GUIDE = Path(__file__).parents[2] / "procedures" / "README.md"
TEXT = GUIDE.read_text(encoding="utf-8")
PIECES = re.findall(r"```yaml (whole|header|steps)\n(.*?)```", TEXT, re.DOTALL)


def grown(count: int) -> str:
    """The example as it stands after so many pieces of the guide."""
    head, stages = "", ""
    for kind, piece in PIECES[:count]:
        if kind == "whole":
            before, stages = piece.split("stages:\n")
            head += before
        elif kind == "header":
            head += piece
        else:
            stages += "".join(f"      {line}\n" for line in piece.splitlines())
    return f"{head}stages:\n{stages}"


def test_the_guide_begins_with_a_whole_procedure_and_goes_on_in_pieces() -> None:
    assert [kind for kind, _ in PIECES][:3] == ["whole", "header", "steps"]
    assert len(PIECES) >= 8
    assert len(PIECES) == TEXT.count("```yaml")


@pytest.mark.parametrize("count", range(1, len(PIECES) + 1))
def test_the_example_is_sound_after_each_piece(tmp_path: Path, count: int) -> None:
    found = [one.at("guide") for one in problems(tmp_path, grown(count)) if not one.advice]
    assert found == []


def test_the_whole_example_needs_no_advice(tmp_path: Path) -> None:
    assert [one.at("guide") for one in problems(tmp_path, grown(len(PIECES)))] == []


def test_the_guide_names_every_key_of_header_and_steps() -> None:
    for shape in (ProcedureShape, *FORMS.values()):
        for key in map(file_key, shape.model_fields):
            assert re.search(rf"[`{{ ,]{key}[`:]", TEXT), key


def test_every_consequence_of_the_guide_is_one() -> None:
    table = TEXT[TEXT.index("A **consequence**") :]
    phrases = re.findall(r"^\| `([^`]+)` \|", table, re.MULTILINE)[:7]
    assert len(phrases) == 7
    for phrase in phrases:
        assert consequence(phrase.replace("STEP", "photo").replace("PLACE", "the plater"))


def unit_rows() -> list[str]:
    """The guide's rows of units, as the code has them."""
    kinds = {unit.dimension: None for unit in UNITS if unit.name}
    return [
        f"| {kind} | {' '.join(f'`{unit.name}`' for unit in UNITS if unit.dimension == kind)} |"
        for kind in kinds
    ]


def test_the_guide_lists_all_units_that_the_program_knows() -> None:
    body = TEXT[TEXT.index("### Units") :]
    rows = re.findall(r"^\| (?!what |---).*\|$", body, re.MULTILINE)
    assert rows == unit_rows()


def test_the_formulas_of_the_guide_are_formulas() -> None:
    table = TEXT[TEXT.index("### Formulas") :]
    dimensions = {
        "bath": "temperature",
        "air": "temperature",
        "rh": "percentage",
        "bore": "length",
        "bore_mean": "length",
        "cracks": "finding",
        "drying": "finding",
    }
    formulas = [text for text in re.findall(r"`([^`]*)`", table) if len(text) > 8]
    tried = [text for text in formulas if any(name in text for name in [*dimensions, "limits"])]
    assert len(tried) >= 9
    for text in tried:
        assert parse_formula(text).dimension(dimensions, {"bore"})
