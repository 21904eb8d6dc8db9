"""A batch picked from the parts that are ready: by number, by a scanned tag, all or some."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchrun.dialogue.batch_choice import BatchChoice
from benchrun.dialogue.conversation import converse
from benchrun.dialogue.new_run import NewRun
from benchrun.dialogue.prompts import NOTHING, Form, Option, Stays, Taken
from benchrun.dialogue.run_prompts import PartsChoice
from benchrun.procedure.load import load
from benchrun.record.clock import VirtualClock
from benchrun.shop.parts import read_parts
from benchrun.signing_keys import enrol, new_shop

JOB = """\
procedure: wash-arms
title: Wash arms
revision: 1
status: draft
scope: Arms. Invented.
batch: {part: arm, at most: 3, identity: cast number}
vessels: {tub: {title: etch tub, holds: 6}}
stages:
  - stage: All
    steps:
      - {dwell: Leave it in the tub., id: soak, in: tub, least: 10 min, most: 20 min, late: [go on]}
"""
PARTS = """\
parts:
  - {id: arm-1, name: arm, side: left, numbers: [cast 7], route: arm, job: trailer}
  - {id: arm-2, name: arm, route: arm, job: trailer, size: 2}
  - {id: arm-3, name: arm, route: arm, job: trailer}
  - {id: arm-4, name: arm, numbers: [cast 9], route: arm, job: trailer}
  - {id: frame, name: frame, size: 5, job: trailer}
jobs:
  - {id: trailer, name: hose trailer}
"""
ROUTES = "routes:\n  - {id: arm, procedures: [wash-arms]}\n"
OFFERED = tuple(Option(f"arm-{number}", "arm") for number in range(1, 5))
KNOWN = dict.fromkeys(("arm-1", "arm-2", "arm-3", "arm-4", "frame"), "of the book")
PROMPT = BatchChoice("Batch", "", OFFERED, ("arm-1", "arm-2", "arm-3"), 3, KNOWN)


@pytest.mark.parametrize(
    ("typed", "chosen"),
    [
        ("2", ("arm-1", "arm-3")),
        ("4", ("arm-1", "arm-2", "arm-3", "arm-4")),
        ("1-2", ("arm-3",)),
        ("2, 4", ("arm-1", "arm-3", "arm-4")),
        ("arm-4", ("arm-1", "arm-2", "arm-3", "arm-4")),
        ("ARM 4", ("arm-1", "arm-2", "arm-3", "arm-4")),
        ("arm-1", ("arm-1", "arm-2", "arm-3")),  # scanned twice it stays
        ("frame", ("arm-1", "arm-2", "arm-3", "frame")),
        ("lug 9", ("arm-1", "arm-2", "arm-3", "lug 9")),
        ("*", ()),
    ],
)
def test_numbers_turn_over_and_tags_add(typed, chosen):
    meaning = PROMPT.meaning(typed)
    assert isinstance(meaning, Stays)
    assert meaning.prompt.chosen == chosen


def test_enter_takes_what_is_chosen_and_never_more_than_a_batch_takes_or_nothing():
    assert PROMPT.meaning("") == Taken(("arm-1", "arm-2", "arm-3"))
    four = PROMPT.meaning("4").prompt
    assert "at most 3" in four.meaning("").said
    none = PROMPT.meaning("*").prompt
    assert "at least one" in none.meaning("").said
    assert PROMPT.meaning("-") == NOTHING
    assert PROMPT.meaning("0") == Taken("0")
    assert PROMPT.meaning("9").said == "There is no 9 here."


def test_a_digit_alone_picks_unless_a_tag_begins_with_one():
    assert PROMPT.digits_pick
    assert not BatchChoice("", "", (*OFFERED, Option("7-arm")), (), 3).digits_pick
    assert not BatchChoice("", "", OFFERED, (), 3, {"7-arm": "arm"}).digits_pick


@settings(max_examples=60, deadline=None)
@given(st.lists(st.text(max_size=12), max_size=8))
def test_whatever_is_typed_chosen_tags_are_at_hand_and_each_once(answers):
    prompt = PROMPT
    for typed in answers:
        meaning = prompt.meaning(typed)
        if isinstance(meaning, Stays):
            prompt = meaning.prompt
        assert set(prompt.chosen) <= set(prompt.tags)
        assert len(set(prompt.tags)) == len(prompt.tags)
        assert 0 <= prompt.at < len(prompt.tags)


def test_parts_of_a_run_are_chosen_by_their_tags_too():
    prompt = PartsChoice("Which", ("arm 1", "arm 2", "arm-10"), ("arm 1",), states=("", "", ""))
    assert prompt.meaning("ARM-2").value == ("arm 2",)
    assert prompt.meaning("arm-10, 1").value == ("arm 1", "arm-10")
    assert prompt.meaning("arm 1").value == ("arm 1",)
    assert prompt.meaning("1 2").value == ("arm 1", "arm 2")
    assert "arm 9" in prompt.meaning("arm 9").said


class Face:
    """Answers from a list, and keeps what it was asked."""

    def __init__(self, *answers):
        self.answers, self.asked, self.rows, self.said = list(answers), [], [], []

    def ask(self, prompt):
        self.asked.append(prompt)
        if hasattr(prompt, "rows"):
            self.rows += [row.text for row in prompt.rows()]
        return self.answers.pop(0)

    def say(self, words):
        self.said.append(words.text)


@pytest.fixture
def shop(tmp_path):
    clock = VirtualClock("2026-11-25T14:02:00.000Z", up_ms=3_600_000, name="batch")
    made = new_shop(tmp_path / "shop", "Ropewalk shop", clock.now())
    person = enrol(made, "Ada Brook", clock.now(), passphrase="1234")
    (made.path / "parts.yaml").write_text(PARTS)
    (made.path / "routes.yaml").write_text(ROUTES)
    (made.path / "vessels.yaml").write_text("vessels:\n  - {id: tub, name: etch tub, holds: 4}\n")
    file = tmp_path / "wash-arms.yaml"
    file.write_text(JOB)
    return made, clock, load(file), person


def begun(shop, *answers):
    made, clock, procedure, person = shop
    new, face = NewRun(made, procedure, clock.now, person), Face("", *answers)
    known = converse(new.ask(), face)
    return new, face, known


def test_kinds_identities_and_sizes_come_from_the_book_and_only_what_it_lacks_is_asked(shop):
    new, face, known = begun(shop, "2", "4", "", "no number")
    assert known
    assert [(one.part, one.size, one.identity) for one in new.parts] == [
        ("arm-1", 1, "left, cast 7"),
        ("arm-3", 1, "no number"),
        ("arm-4", 1, "cast 9"),
    ]
    assert [blank.label for blank in face.asked[-1].blanks] == ["arm-3"]


def test_a_scanned_tag_that_the_book_does_not_know_is_added_with_the_job_of_the_others(shop):
    new, _, known = begun(shop, "*", "arm-4", "lug 9", "", "1", "cast 12")
    assert known
    assert [one.part for one in new.parts] == ["arm-4", "lug 9"]
    row = read_parts(shop[0]).named("lug-9")
    assert (row.name, row.job) == ("arm", "trailer")


def test_others_are_typed_as_before(shop):
    new, _, known = begun(shop, "0", "arm-1")
    assert known
    assert [one.part for one in new.parts] == ["arm-1"]


def test_a_number_with_a_word_asks_whether_it_counts_parts_or_names_one(shop):
    new, face, known = begun(shop, "0", "2 arms", "1", "cast 12", "")
    assert known
    assert [one.part for one in new.parts] == ["arm 1", "arm 2"]
    form = next(one for one in face.asked if isinstance(one, Form))
    assert [(one.label, one.said) for one in form.blanks] == [("arm 2", "cast number")]
    new, _, known = begun(shop, "0", "1 lug", "2", "1", "", "")
    assert known
    assert [one.part for one in new.parts] == ["1 lug"]


def test_a_part_that_is_larger_than_the_tub_of_the_shop_needs_a_reason(shop):
    new, face, known = begun(shop, "*", "frame", "", "-")
    assert not known
    assert "frame: takes room for 5; the etch tub holds 4" in face.rows
    new, face, known = begun(shop, "*", "frame", "", "", "turned over after half the time", "")
    assert known
    assert new.parts[0].size == 5
    assert "takes room for 5" in new.anyway["frame"]["although"]


def test_going_back_from_the_batch_begins_nothing(shop):
    new, _, known = begun(shop, "-")
    assert (known, new.parts) == (False, ())
