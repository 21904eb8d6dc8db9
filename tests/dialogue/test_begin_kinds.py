"""Which kind each part is: asked once where all are alike, in ranges, or told by the parts book."""

from pathlib import Path

import pytest
from scripted_face import ScriptedFace

from benchrun.dialogue.batch_kinds import numbered_parts
from benchrun.dialogue.conversation import converse
from benchrun.dialogue.new_run import NewRun
from benchrun.errors import BenchrunError
from benchrun.procedure.load import load
from benchrun.record.clock import VirtualClock
from benchrun.shop.people import read_people
from benchrun.signing_keys import enrol, new_shop

PROCEDURE = """\
procedure: levers
title: Levers
revision: 1
status: checked
scope: Invented.
batch: {part: lever, at most: 6}
kinds:
  left: {title: left lever}
  right: {title: right lever}
stages:
  - stage: All
    steps:
      - {do: Wipe it., id: wipe}
"""
BOOK = """\
parts:
  - {id: a-1, name: lever, side: right}
  - {id: a-2, name: lever, side: right, kind: left}
"""


@pytest.fixture
def shop(tmp_path: Path):
    clock = VirtualClock("2026-11-25T14:02:00.000Z", up_ms=3_600_000, name="bench")
    made = new_shop(tmp_path / "shop", "Ropewalk shop", clock.now())
    enrol(made, "Ada Brook", clock.now(), passphrase="1234")
    (made.path / "parts.yaml").write_text(BOOK)
    (tmp_path / "levers.yaml").write_text(PROCEDURE)
    return made, clock, load(tmp_path / "levers.yaml")


def asked(shop, *answers: str) -> tuple[NewRun, ScriptedFace]:
    made, clock, procedure = shop
    new = NewRun(made, procedure, clock.now, read_people(made)[0])
    face = ScriptedFace(None, ["", *answers])
    converse(new.ask(), face)
    assert face.left == []
    return new, face


def kinds(new: NewRun) -> list[str]:
    return [spec.kind for spec in new.parts]


def test_one_key_says_that_all_are_of_one_kind(shop) -> None:
    new, face = asked(shop, "3", "2")
    assert kinds(new) == ["right"] * 3
    assert [option.words for option in face.asked[-1].options] == [
        "left lever",
        "right lever",
        "several kinds",
    ]


def test_ranges_say_which_are_of_the_first_kind_and_the_rest_is_of_the_last(shop) -> None:
    new, _ = asked(shop, "5", "3", "1-2+4")
    assert kinds(new) == ["left", "left", "right", "left", "right"]


def test_a_number_that_is_no_part_is_asked_again(shop) -> None:
    new, face = asked(shop, "3", "3", "1-9", "0")
    assert kinds(new) == ["right"] * 3
    assert "no number or range of these: 1, 2, 3" in face.said[-1]


def test_the_parts_book_tells_by_kind_and_else_by_side(shop) -> None:
    new, _ = asked(shop, "a-1, a-2, b", "2", "1")
    assert kinds(new) == ["right", "left", "left"]


def test_going_back_from_the_question_begins_nothing(shop) -> None:
    new, _ = asked(shop, "2", "-")
    assert new.parts == ()


@pytest.mark.parametrize("typed", ["x", "2-1", "4", "1-", "0-2"])
def test_what_names_no_part_is_refused(typed: str) -> None:
    with pytest.raises(BenchrunError):
        numbered_parts(typed, {1: "a", 2: "b", 3: "c"})


def test_a_part_keeps_its_number_when_others_are_told_already() -> None:
    assert numbered_parts("2-4", {2: "b", 4: "d"}) == ("b", "d")
    with pytest.raises(BenchrunError, match="of these: 2, 4"):
        numbered_parts("1", {2: "b", 4: "d"})
