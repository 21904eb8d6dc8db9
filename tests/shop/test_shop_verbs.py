"""The verbs of a shop: their file is checked, and the advice on procedures takes them."""

import pytest

from benchrun.cli import main
from benchrun.record.clock import VirtualClock
from benchrun.shop.books import read_books
from benchrun.shop.words import WORDS
from benchrun.signing_keys import new_shop

PROCEDURE = """\
procedure: sleeve
title: A sleeve
revision: 1
status: draft
scope: Invented.
changes: {1: First.}
batch: {part: sleeve}
stages:
  - stage: All
    steps:
      - {do: Burnish the sleeve with the roller., id: burnish}
"""
OWN = "words:\n  - {id: burnish, meaning: rub a face bright with a hard smooth tool}\n"


@pytest.fixture
def shop(tmp_path):
    return new_shop(tmp_path / "shop", "Shed", VirtualClock("2026-03-10T08:00:00.000Z").now())


def checked(shop, file, capsys):
    code = main(["--shop", str(shop.path), "check", str(file), "--advice", "count"])
    return code, capsys.readouterr().out


def test_a_verb_of_the_shop_is_taken_by_check(shop, tmp_path, capsys):
    file = tmp_path / "sleeve.yaml"
    file.write_text(PROCEDURE)
    code, said = checked(shop, file, capsys)
    assert code == 1
    assert "'Burnish' is not in the list of verbs" in said
    assert "words.yaml" in said
    (shop.path / "words.yaml").write_text(OWN)
    assert checked(shop, file, capsys)[0] == 0


def test_a_new_shop_has_the_file_with_what_belongs_into_it(shop):
    text = (shop.path / "words.yaml").read_text()
    assert "burnish" in text
    assert WORDS.read(shop.path).rows == ()


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("- {id: burnish}", "has no meaning: write it"),
        ("- {id: wipe, meaning: clean}", "wipe is in the list already, as “clean with a cloth”"),
        ("- {id: hard-turn, meaning: turn hard steel}", "hard-turn is no single word"),
        ("- {id: burnish, meaning: a}\n  - {id: burnish, meaning: b}", "burnish"),
        ("- {id: burnish, meening: a}", "'meening' is no key here"),
    ],
)
def test_a_row_that_is_wrong_is_told_with_its_place(shop, rows, said):
    (shop.path / "words.yaml").write_text(f"words:\n  {rows}\n")
    faults = [one.words for one in read_books(shop).faults]
    assert any(said in one and one.startswith("words.yaml:") for one in faults), faults
