"""FORMAT.md names every kind of entry and every field of the code, with an example that is read."""

import dataclasses
import json
import re
from pathlib import Path

import pytest

import benchrun.record
from benchrun.procedure.load import load_bytes
from benchrun.record.clock import VirtualClock
from benchrun.record.line import read_log_line
from benchrun.run import entries as e
from benchrun.run import outcomes, state
from benchrun.run.entries import PartSpec
from benchrun.session import Condition, begin
from benchrun.signing_keys import enrol, new_shop

PAGE = Path(benchrun.record.__file__).with_name("FORMAT.md").read_text("utf-8")
KINDS_PAGE = PAGE.partition("\n## Kinds of entry and their fields\n")[2].partition("\n## ")[0]
PIECES = {
    "outcome": outcomes.Outcome,
    "part": outcomes.PartSpec,
    "carried": outcomes.Carried,
    "carried part": outcomes.CarriedPart,
    "figure": outcomes.FigureSpec,
    "condition": Condition,
    "tool count": state.ToolCount,
    "value": outcomes.Given,
    "instrument": outcomes.Tool,
    "use": outcomes.Use,
    "question": state.Question,
    "choice": state.Answer,
    "origin": state.Origin,
    "input": state.SumInput,
    "revision": outcomes.Revision,
    "relimit": outcomes.Relimit,
    "ruling": outcomes.Ruling,
    "window": outcomes.WindowTimes,
    "remark": outcomes.Remark,
    "file": outcomes.AsideFile,
}
PROCEDURE = b"""\
procedure: wipe-it
title: Wipe it (invented)
revision: 1
status: draft
scope: One part.
batch: {part: bracket, at most: 3}
stages:
  - stage: All
    steps:
      - {do: Wipe the part., id: wipe}
"""


def section(heading):
    """The text of a section of the page up to the next heading."""
    assert f"\n{heading}\n" in KINDS_PAGE, f"FORMAT.md has no section {heading!r}"
    return re.split(r"\n#{3,4} ", KINDS_PAGE.partition(f"\n{heading}\n")[2])[0]


def fields_told(heading):
    """The fields that the table of a section has, with when each is there."""
    rows = [row for row in section(heading).splitlines() if row.startswith("| `")]
    cells = [[cell.strip() for cell in row.strip("|").split(" | ")] for row in rows]
    assert all(len(row) == 4 and all(row) for row in cells), heading
    return {row[0].strip("`"): row[2] for row in cells}


def needed(cls):
    missing = dataclasses.MISSING
    return {
        field.name: field.default is missing and field.default_factory is missing
        for field in dataclasses.fields(cls)
    }


def hold_together(heading, fields):
    """The page and the code have the same fields, and say alike which are always there."""
    told = fields_told(heading)
    assert sorted(told) == sorted(fields), (
        f"FORMAT.md, {heading}: lacks {sorted(fields.keys() - told.keys())}, and knows "
        f"{sorted(told.keys() - fields.keys())} that the code does not"
    )
    # "always, but in …" is said of what only older logs lack.
    always = {name for name, when in told.items() if when == "always"}
    assert always == {name for name, must in fields.items() if must}, heading


def test_the_page_names_every_kind_and_no_other():
    told = re.findall(r"\n### `([a-z]+)`\n", KINDS_PAGE)
    assert told == list(dict.fromkeys(told))
    assert set(told) == set(e.KINDS)


@pytest.mark.parametrize("kind", [kind for kind in e.KINDS if kind != "open"])
def test_the_page_names_every_field_of_a_kind(kind):
    hold_together(f"### `{kind}`", needed(e.KINDS[kind]))


@pytest.mark.parametrize("name", PIECES)
def test_the_page_names_every_field_of_a_piece(name):
    hold_together(f"#### {name}", needed(PIECES[name]))


def nested(cls):
    """All dataclasses that a line of a kind may hold."""
    for field in dataclasses.fields(cls):
        found = re.findall(r"\b[A-Z]\w+", str(field.type))
        for name in found:
            inner = getattr(outcomes, name, None) or getattr(state, name, None)
            inner = inner or getattr(e, name, None)
            if isinstance(inner, type) and dataclasses.is_dataclass(inner):
                yield inner
                yield from nested(inner)


def test_every_piece_that_an_entry_may_hold_is_on_the_page():
    held = {piece for cls in e.KINDS.values() for piece in nested(cls)} | {outcomes.Outcome}
    assert {cls.__name__ for cls in held} <= {cls.__name__ for cls in PIECES.values()}


def test_the_page_names_what_the_first_line_of_a_run_says_of_itself(tmp_path):
    clock = VirtualClock("2026-03-10T08:00:00.000Z")
    shop = new_shop(tmp_path / "shop", "Shed", clock.now())
    ada = enrol(shop, "Ada Brook", clock.now(), passphrase="one")
    procedure = load_bytes(PROCEDURE, "wipe.yaml")
    run = begin(shop, procedure, [PartSpec("a")], ada, clock)
    run.leave()
    first = json.loads(run.folder.log.read_bytes().splitlines()[0])["data"]
    told = fields_told("### `open`")
    assert {name for name, when in told.items() if when == "always"} == set(first)
    of_entry = set(needed(e.Opened)) - {"about"}
    assert set(told) - set(first) == {
        "approval",
        "drawings",
        "rehearsal",
        "works_alone",
        "not_kept",
    } | of_entry - {"parts"}


@pytest.mark.parametrize("kind", e.KINDS)
def test_the_example_of_a_kind_is_a_line_that_the_code_reads(kind):
    (example,) = re.findall(r"```json\n(.*?)```", section(f"### `{kind}`"), re.DOTALL)
    line = read_log_line(example.encode())
    assert line.kind == kind
    data = e.read_data(kind, line.data)
    assert e.data_of(data) == line.data
    assert set(line.data) <= set(fields_told(f"### `{kind}`"))
