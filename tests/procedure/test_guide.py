"""The guide: its example grows from part to part, and at every point it is sound."""

import re
from pathlib import Path

import pytest
from procedure_pages import problems

from benchrun.procedure.formula import parse_formula
from benchrun.procedure.header_shapes import file_key
from benchrun.procedure.load import examine
from benchrun.procedure.phrases import consequence
from benchrun.procedure.shapes import FORMS, ProcedureShape
from benchrun.procedure.verbs import shipped_verbs
from benchrun.quantity import UNITS
from benchrun.rehearse.play import rehearse
from benchrun.rehearse.script import ACTIONS
from benchrun.rehearse.script import HEAD_KEYS as SCRIPT_KEYS
from benchrun.rehearse.sketch import sketch

PAGES = Path(__file__).parents[2] / "procedures"
GUIDE = (PAGES / "README.md").read_text(encoding="utf-8")
TABLES = (PAGES / "TABLES.md").read_text(encoding="utf-8")
TEXT = "\n".join((GUIDE, (PAGES / "EXAMPLES.md").read_text(encoding="utf-8"), TABLES))
MOST_LINES = 540
BLOCKS = re.findall(r"```yaml (\w+)\n(.*?)```", TEXT, re.DOTALL)
PIECES = [(kind, piece) for kind, piece in BLOCKS if kind in {"whole", "header", "steps"}]
EXAMPLES = {piece.split()[1]: piece for kind, piece in BLOCKS if kind == "example"}
ANSWERS = {piece.split()[1]: piece for kind, piece in BLOCKS if kind == "answers"}


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
    assert len(PIECES) + len(EXAMPLES) + len(ANSWERS) == TEXT.count("```yaml")


@pytest.mark.parametrize("count", range(1, len(PIECES) + 1))
def test_the_example_is_sound_after_each_piece(tmp_path: Path, count: int) -> None:
    found = [one.at("guide") for one in problems(tmp_path, grown(count)) if not one.advice]
    assert found == []


def test_the_whole_example_needs_no_advice(tmp_path: Path) -> None:
    assert [one.at("guide") for one in problems(tmp_path, grown(len(PIECES)))] == []


@pytest.fixture
def shelf(tmp_path: Path) -> Path:
    """A folder with the whole examples, as their readers would keep them."""
    for name, text in EXAMPLES.items():
        (tmp_path / f"{name}.yaml").write_text(text, "utf-8")
    return tmp_path


def test_the_guide_stays_short_and_its_links_lead_somewhere() -> None:
    assert len(GUIDE.splitlines()) <= MOST_LINES
    for name in ("README.md", "EXAMPLES.md", "TABLES.md"):
        text = (PAGES / name).read_text(encoding="utf-8")
        for page, anchor in re.findall(r"\]\(([\w./-]+)(?:#([\w-]+))?\)", text):
            there = (PAGES / page).read_text(encoding="utf-8")
            assert not anchor or re.search(rf"^#+ {anchor}$", there, re.MULTILINE | re.IGNORECASE)


@pytest.mark.parametrize(
    "used",
    ["kinds:", "{by: bath,", "{by: kind,", "figures:", "high: wear_limit", "- load:", "all film"],
)
def test_the_growing_example_uses_each_word_of_the_language_that_is_asked_most(used: str) -> None:
    assert used in grown(len(PIECES))


def test_whole_examples_stand_beside_the_guide() -> None:
    assert EXAMPLES.keys() >= {"bush-sizes", "stove-enamel", "lever-overhaul", "crack-check"}


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_whole_example_is_sound_and_can_be_gone_through(shelf: Path, name: str) -> None:
    file = shelf / f"{name}.yaml"
    assert [one.at(name) for one in examine(file).problems] == []
    answers = shelf / "sketched.yaml"
    answers.write_text(sketch(file), "utf-8")
    assert "closed after" in rehearse(file, answers, shelf / "run")


@pytest.mark.parametrize("name", ANSWERS)
def test_a_script_of_the_guide_plays(shelf: Path, name: str) -> None:
    answers = shelf / "answers.yaml"
    answers.write_text(ANSWERS[name], "utf-8")
    assert "closed after" in rehearse(shelf / f"{name}.yaml", answers, shelf / "run")


def test_the_grown_example_can_be_gone_through(tmp_path: Path) -> None:
    file, answers = tmp_path / "bracket-coat.yaml", tmp_path / "sketched.yaml"
    file.write_text(grown(len(PIECES)), "utf-8")
    answers.write_text(sketch(file), "utf-8")
    assert "closed after" in rehearse(file, answers, tmp_path / "run")


def test_the_guide_names_every_key_of_a_script() -> None:
    part = GUIDE[GUIDE.index("## 12. Rehearsing") :]
    for key in (*SCRIPT_KEYS, *ACTIONS):
        assert re.search(rf"[`{{ ,\n]{key}[`:]", part), key


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


def test_the_guide_lists_all_verbs_each_with_its_one_meaning() -> None:
    body = TABLES[TABLES.index("## Verbs") : TABLES.index("## Units")]
    rows = re.findall(r"^\| (?!verb )([a-z]+) \| (.+) \|$", body, re.MULTILINE)
    assert rows == [(verb.word, verb.meaning) for verb in shipped_verbs().values()]
    meanings = [meaning for _, meaning in rows]
    assert len(set(meanings)) == len(meanings) == 174


def test_the_guide_lists_all_units_that_the_program_knows() -> None:
    body = TABLES[TABLES.index("## Units") :]
    rows = re.findall(r"^\| (?!what |---).*\|$", body, re.MULTILINE)
    assert rows == unit_rows()


def test_the_formulas_of_the_guide_are_formulas() -> None:
    table = TABLES[TABLES.index("## Formulas") :]
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
