"""The plain face tells which container a step takes from, and takes another in hand."""

import io
import math

import pytest

from benchrun.load_run import read_kept
from benchrun.plain.start import open_plain
from benchrun.plain.talk import Talk
from benchrun.record.clock import SystemClock
from benchrun.record.folder import run_folders
from benchrun.run.entries import Did
from benchrun.shop.supplies import read_supplies
from benchrun.signing_keys import enrol, new_shop

PROCEDURE = """\
procedure: prime
title: Prime
revision: 1
scope: Invented for the tests of tins.
batch: {part: lever, at most: 3}
needs: {supplies: [primer, rags]}
stages:
  - stage: All
    steps:
      - do: Brush on one coat.
        id: coat
        uses:
          - {supply: primer, amount: 20 ml}
          - {supply: rags, amount: 1}
      - reading: Read the strength of the primer.
        id: strength
        unit: "%"
        strength of: primer
      - do: Brush on the second coat.
        id: second
        uses: {supply: primer, amount: 10 ml}
"""
SUPPLIES = """\
supplies:
  - {id: good, name: primer, amount: 0.5 l, lot: P 17, opened: 2020-01-01}
  - {id: stale, name: primer, amount: 0.5 l, best before: 2021-05-01}
  - {id: gelled, name: primer, amount: 0.5 l, out of use: gelled}
  - {id: rag-bag, name: rags, amount: 20}
"""

ANOTHER = ("/", "6", "4")
"""Look up, supplies, another container of the first supply that the step uses."""


@pytest.fixture
def shop(tmp_path):
    made = new_shop(tmp_path / "shop", "Shop", SystemClock().now())
    enrol(made, "Somebody", SystemClock().now(), passphrase="12")
    (tmp_path / "prime.yaml").write_text(PROCEDURE)
    (made.path / "supplies.yaml").write_text(SUPPLIES)
    return made


def talk_through(shop, lines):
    out = io.StringIO()
    talk = Talk(io.StringIO("\n".join(lines) + "\n"), out, listens_s=math.inf)
    assert open_plain(shop.path, procedure=shop.path.parent / "prime.yaml", talk=talk) == 0
    return out.getvalue()


def used(shop):
    _, entries = read_kept(next(iter(run_folders(shop.runs))))
    return [
        (use.supply, use.name, use.misgivings)
        for entry in entries
        if isinstance(entry.data, Did)
        for use in entry.data.uses
    ]


def test_the_container_in_hand_is_told_before_the_step_and_taken_by_it(shop):
    said = talk_through(shop, ["a", "1", "", "-"])
    assert used(shop) == [("primer", "good", ()), ("rags", "rag-bag", ())]
    assert said.index("Uses 20 ml of primer from good") < said.index("Recorded, entry 2")


def test_another_container_is_told_with_what_is_wrong_with_it_and_stays_in_hand(shop):
    said = talk_through(shop, ["a", "1", *ANOTHER, "2", "", "", "62", "", "-"])
    wrong = ("was good until 2021-05-01",)
    assert [one for one in used(shop) if one[0] == "primer"] == [("primer", "stale", wrong)] * 2
    assert "2 stale, 500 ml left (was good until 2021-05-01)" in said
    assert "gelled" not in said
    told = "Uses 20 ml of primer from stale; it was good until 2021-05-01"
    assert said.index(told) < said.index("Recorded, entry 2")
    assert read_supplies(shop).named("stale").left.to("ml") == 470


def test_a_number_that_no_container_has_takes_none_and_is_asked_again(shop):
    said = talk_through(shop, ["a", "1", *ANOTHER, "3", "good", "", "", "-"])
    assert said.count("Type one of these numbers: 1, 2.") == 2
    assert used(shop)[0] == ("primer", "good", ())


def test_input_that_ends_at_the_question_records_nothing(shop):
    talk_through(shop, ["a", "1", *ANOTHER])
    assert used(shop) == []


def test_a_strength_that_was_read_is_looked_up_with_what_was_used(shop):
    said = talk_through(shop, ["a", "1", "", "", "62", "/", "6", "2", "-"])
    assert said.index("entry 3: strength of the primer: 62 %") < said.index(
        "entry 2: 20 ml of primer from good"
    )
    strength = read_supplies(shop).named("good").strength
    assert strength is not None
    assert strength.amount.words == "62 %"
