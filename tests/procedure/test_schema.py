"""The schema for editors: it takes what check takes, marks one wrong key, and refuses much more."""

import io
import re
from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML
from test_guide import PIECES, grown
from test_mistakes import MARK, MISTAKES, whole
from test_mistakes import PIECES as STEPS

from benchrun.procedure.schema import procedure_schema

jsonschema = pytest.importorskip("jsonschema", reason="the extra `test` installs it")
ROOT = Path(__file__).parents[2]
SHIPPED = sorted(
    [
        *(ROOT / "procedures").glob("*.yaml"),
        *(ROOT / "tests" / "rehearse" / "procedures").glob("*.yaml"),
        *(ROOT / "tests" / "procedure" / "pages").glob("*.yaml"),
    ]
)
SCHEMA = procedure_schema()
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)


def as_editor_reads(text: str) -> Any:
    """A page as an editor reads it: numbers and true are no texts to it."""
    return _plain(YAML(typ="safe", pure=True).load(io.StringIO(text)))


def _plain(part: Any) -> Any:
    if isinstance(part, dict):
        return {_key(key): _plain(value) for key, value in part.items()}
    if isinstance(part, list):
        return [_plain(item) for item in part]
    return part if part is None or isinstance(part, str | int | float) else str(part)


def _key(key: Any) -> str:
    return {True: "true", False: "false"}.get(key, str(key)) if isinstance(key, bool) else str(key)


def marks(text: str) -> list[str]:
    """Where the schema marks a page, and why."""
    found = VALIDATOR.iter_errors(as_editor_reads(text))
    return [f"{'/'.join(map(str, one.absolute_path))}: {one.message}" for one in found]


@pytest.mark.parametrize("page", SHIPPED, ids=lambda path: path.stem)
def test_a_sound_procedure_is_taken(page: Path) -> None:
    assert marks(page.read_text("utf-8")) == []


def test_the_whole_example_of_the_guide_is_taken() -> None:
    assert marks(grown(len(PIECES))) == []


@pytest.mark.parametrize("steps", STEPS.values(), ids=STEPS)
def test_every_piece_of_the_table_of_mistakes_is_taken(steps: str) -> None:
    assert marks(whole(steps)) == []


@pytest.mark.parametrize(
    ("steps", "at"),
    [
        ("- do: Wipe.\n  id: a\n  drawin: x", "drawin"),
        ("- dwell: Wait.\n  id: a\n  colour: red", "colour"),
        ("- if: bore > 3 mm\n  steps: [{do: Wipe., id: a, whi: x}]", "whi"),
        ("- do: Wipe.\n  id: a\n  window: {after: a, most: 1 h, lat: set aside}", "lat"),
        ("- inspect: Look.\n  id: a\n  findings: {ok: [go on, throw away]}", "throw away"),
        ("- reading: Read.\n  unit: mm\n  low: {by: a, tabl: x, table: {x: 1 mm}}", "tabl"),
    ],
)  # fmt: skip
def test_one_wrong_key_or_value_is_one_mark(steps: str, at: str) -> None:
    found = marks(whole(steps))
    assert len(found) == 1
    assert at in found[0]


def test_it_refuses_what_a_schema_can_of_the_mistakes() -> None:
    refused, passed = [], []
    for name, text, _, _ in MISTAKES:
        try:
            found = marks(text.replace(MARK, ""))
        except Exception:
            found = ["no YAML"]
        (refused if found else passed).append(name)
    assert len(refused) >= 58, passed


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("title: Try the bench", "title: 1984"),
        ("title: Try the bench", "title: true"),
        ("revision: 1", 'revision: "1"'),
        ("at most: 4", 'at most: "4"'),
        ("holds: 4", "holds: '4'"),
    ],
)
def test_what_check_reads_as_text_an_editor_need_not_mark(old: str, new: str) -> None:
    text = whole(STEPS["@wipe"])
    assert old in text
    assert marks(text.replace(old, new)) == []


def test_no_step_is_marked_for_what_another_kind_of_step_lacks() -> None:
    found = marks(whole("- wipe: The arm.\n  id: a"))
    assert len(found) == 1
    assert re.search(r"stages/0/steps/0: 'do' is a required property", found[0])


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("title: Try the bench", "titel: Try the bench"),
        ("batch: {part: arm, at most: 4}\n", ""),
        ("revision: 1", "status: open\nrevision: 1"),
    ],
)
def test_a_mistake_in_the_header_is_marked(old: str, new: str) -> None:
    assert marks(whole(STEPS["@wipe"]).replace(old, new))


def test_every_key_is_explained() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    for name, shape in [("", SCHEMA), *SCHEMA["$defs"].items()]:
        assert shape["description"], name
        for key, rule in shape.get("properties", {}).items():
            assert rule.get("description"), f"{name}.{key}"
