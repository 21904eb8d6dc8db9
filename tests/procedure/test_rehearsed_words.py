"""Every word of the language, carried out in a rehearsal and seen in its log."""

import json
from pathlib import Path
from typing import Any

import pytest

from benchrun.cli import main
from benchrun.procedure.load import load
from benchrun.procedure.route import Procedure

HERE = Path(__file__).parent
PAGE = HERE / "pages" / "every-word.yaml"


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("rehearsed") / "run"
    answers = HERE / "answers" / "every-word.yaml"
    assert main(["rehearse", str(PAGE), "--answers", str(answers), "--out", str(out)]) == 0
    return out


@pytest.fixture(scope="module")
def entries(run: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in (run / "log.jsonl").read_text().splitlines()]


@pytest.fixture(scope="module")
def whole() -> Procedure:
    return load(PAGE)


def of(entries: list[dict[str, Any]], step: str) -> list[dict[str, Any]]:
    return [one for one in entries if one["data"].get("step") == step]


def test_the_run_closes_and_verifies(run: Path, entries: list[dict[str, Any]]) -> None:
    assert "close" in {one["kind"] for one in entries}
    assert main(["verify", str(run)]) == 0


def test_every_step_that_can_be_reached_is_in_the_log(
    entries: list[dict[str, Any]], whole: Procedure
) -> None:
    done = {one["data"].get("step") for one in entries}
    assert set(whole.route.steps) - done == {"scuff"}  # only for coats that are late


def test_each_part_takes_its_own_branch(entries: list[dict[str, Any]]) -> None:
    assert [one["data"]["parts"] for one in of(entries, "mark-wide")] == [["arm L"]]
    assert [one["data"]["parts"] for one in of(entries, "mark-narrow")] == [["arm R"]]
    assert [one["data"]["parts"] for one in of(entries, "blow")] == [["arm L"]]


def test_a_grid_is_read_place_by_place(entries: list[dict[str, Any]]) -> None:
    assert len(of(entries, "seat-bore")) == 8  # two parts, four places each


def test_a_coat_is_brushed_twice_on_each_part(entries: list[dict[str, Any]]) -> None:
    assert sum(len(one["data"]["parts"]) for one in of(entries, "coat")) == 4


def test_a_dwell_is_tended_and_a_hold_is_signed(entries: list[dict[str, Any]]) -> None:
    kinds = {one["kind"] for one in of(entries, "etch")}
    assert {"in", "tend"} <= kinds
    shown = of(entries, "shown")[0]
    assert "I looked at every face and found it covered." in shown["data"]["says"]
    assert entries[shown["n"] + 1]["kind"] == "sign"
