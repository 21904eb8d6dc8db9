"""Mistakes that people make in procedures, one each: told once, at its place, with what would do.

The § in a page stands where the message must point; nothing else may be said to be wrong.
"""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from procedure_pages import problems

MARK = "§"
FRAME = """\
procedure: bench-trial
title: Try the bench
revision: 1
scope: Invented, for tests only.
changes: {1: First issue.}
sources: {practice: "common practice, no source"}
hazards:
  - {warning: Acid burns., id: acid, then: Burnt skin., avoid: Gloves.}
needs:
  instruments:
    - {instrument: caliper, range: 0 to 150 mm, resolution: 0.01 mm, uncertainty: 0.02 mm}
    - {instrument: dip rod, range: 0 to 60 degC, uncertainty: 1 degC}
  supplies: [{supply: primer, amount: 2 l}, rags]
vessels: {tub: {title: tub, holds: 4}}
batch: {part: arm, at most: 4}
stages:
  - stage: Only
    cautions: [acid]
    steps:
"""
TEXT = (Path(__file__).parent / "mistakes.txt").read_text("utf-8")
BLOCKS = dict(re.findall(r"^## (.+)\n((?:(?!## ).*\n?)*)", TEXT, re.MULTILINE))
PIECES = {name: block.strip() for name, block in BLOCKS.items() if name.startswith("@")}


def step_mistakes() -> Iterator[tuple[str, str, str, str]]:
    """Name, page, words of the cause and words of the cure of each block."""
    for name, block in BLOCKS.items():
        if name not in PIECES:
            cause, cure, steps = block.split("\n", 2)
            for piece, text in PIECES.items():
                steps = re.sub(rf"^{piece}$", text, steps, flags=re.MULTILINE)
            yield name, whole(steps), cause.partition(": ")[2], cure.partition(": ")[2]


def whole(steps: str) -> str:
    """A page of these steps in the frame."""
    return FRAME + "".join(f"      {line}\n" for line in steps.strip("\n").split("\n"))


def head(old: str, new: str) -> str:
    """The frame with another line in its head."""
    assert old in FRAME
    frame = FRAME.replace("    cautions: [acid]\n", "")
    return frame.replace(old, new) + "      - {do: Wipe the arm., id: wipe}\n"


HEADS = [
    (
        "a key with an underscore",
        head("scope:", "§applies_to: Arms.\nscope:"),
        "'applies_to' is not known",
        "write 'applies to'",
    ),
    ("a key with a capital", head("scope:", "§Scope:"), "'Scope' is not known", "write 'scope'"),
    ("no scope", head("scope: Invented, for tests only.\n", ""), "'scope' is missing", "scope"),
    ("a revision in words", head("revision: 1", "revision: §first"), "whole number", "'first'"),
    ("an unknown status", head("scope:", "status: §open\nscope:"), "one of", "'draft'"),
    ("no date", head("scope:", "dated: §spring\nscope:"), "'spring' is no date", "year-month-day"),
    ("a vessel in capitals", head("{tub: {", "{§Tub: {"), "'Tub' is no id", "small letters"),
    (
        "a vessel without a title",
        head("{title: tub, holds: 4}", "§{holds: 4}"),
        "'title' is missing",
        "title",
    ),
    ("a vessel that holds nothing", head("holds: 4", "holds: §0"), "from 1", "0"),
    (
        "hazards as a map",
        head(
            "  - {warning: Acid burns., id: acid, then: Burnt skin., avoid: Gloves.}",
            "  §warning: Acid burns.",
        ),
        "a list is needed",
        "hyphen",
    ),
    (
        "a hazard twice",
        head(
            "avoid: Gloves.}",
            "avoid: Gloves.}\n  - {warning: Acid., id: §acid, then: Burnt skin., avoid: Gloves.}",
        ),
        "is there twice",
        "'acid'",
    ),
    (
        "a batch that is a text",
        head("{part: arm, at most: 4}", "§arm"),
        "a map is needed",
        "key: value",
    ),
    (
        "a batch without a part",
        head("{part: arm, at most: 4}", "§{at most: 4}"),
        "'part' is missing",
        "part",
    ),
    (
        "a batch exchanged",
        head("at most: 4", "at least: 5, at most: §4"),
        "less than at least",
        "exchange",
    ),
    (
        "an instrument's key misspelt",
        head("{instrument: caliper, range:", "{instrument: caliper, §rang:"),
        "'rang' is not known",
        "'range'",
    ),
]
ADVICE = [one for one in step_mistakes() if one[0].startswith("advice on ")]
MISTAKES = [*(one for one in step_mistakes() if one not in ADVICE), *HEADS]


def said(tmp_path: Path, text: str, *, advice: bool = False) -> tuple[list[str], tuple[int, int]]:
    """What is wrong with a page, or could be better; place first, and the place of its mark."""
    before, _, after = text.partition(MARK)
    line = before.count("\n") + 1
    column = len(before) - (before.rfind("\n") + 1) + 1
    found = problems(tmp_path, before + after)
    errors = [one for one in found if advice or not one.advice]
    return [f"{one.line}:{one.column}: {one.text}" for one in errors], (line, column)


@pytest.mark.parametrize(
    ("text", "cause", "cure"),
    [pytest.param(text, cause, cure, id=name) for name, text, cause, cure in MISTAKES],
)
def test_a_mistake_is_told_once_at_its_place_with_its_cure(
    tmp_path: Path, text: str, cause: str, cure: str
) -> None:
    errors, (line, column) = said(tmp_path, text)
    assert len(errors) == 1, errors
    assert errors[0].startswith(f"{line}:{column}: ") or MARK not in text, errors
    assert cause in errors[0]
    assert cure in errors[0]


@pytest.mark.parametrize(
    ("text", "cause", "cure"),
    [pytest.param(text, cause, cure, id=name) for name, text, cause, cure in ADVICE],
)
def test_what_could_be_better_is_told_once_at_its_place(
    tmp_path: Path, text: str, cause: str, cure: str
) -> None:
    text = text.replace("vessels: {tub: {title: tub, holds: 4}}\n", "")  # no dwell uses it here
    found, (line, column) = said(tmp_path, text, advice=True)
    assert len(found) == 1, found
    assert found[0].startswith(f"{line}:{column}: "), found
    assert cause in found[0]
    assert cure in found[0]


def test_there_are_so_many_mistakes_and_each_has_a_name_of_its_own() -> None:
    names = [name for name, *_ in MISTAKES]
    assert len(names) == len(set(names)) >= 120


@pytest.mark.parametrize("steps", PIECES.values(), ids=PIECES)
def test_a_frame_without_a_mistake_is_sound(tmp_path: Path, steps: str) -> None:
    soak = "\n- dwell: Keep it wet.\n  id: soak\n  in: tub\n"
    assert problems(tmp_path, whole(steps + soak)) == []
