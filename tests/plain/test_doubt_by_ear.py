"""In doubt, word sent, a notice that ran out, and what is typed too early: as they are heard."""

import re
from collections.abc import Sequence

import pytest
from by_ear import MOST_S, SPEAKER, Heard, listen, seconds

from benchrun.plain.face import FIRST, HEARD
from benchrun.plain.spoken_words import spoken
from benchrun.record.clock import VirtualClock
from benchrun.signing_keys import enrol, new_shop

PROCEDURE = """\
procedure: seen-by-others
title: A bore that others see
revision: 1
status: draft
scope: Invented, for tests only.
batch: {part: bracket, at most: 3}
hazards:
  - id: edge
    caution: The edge of the bore is sharp.
    then: A cut hand.
    avoid: Gloves on.
needs:
  instruments:
    - {instrument: bore gauge, measures: bore, uncertainty: 0.02 mm}
  before start: [The bench is clear.]
stages:
  - stage: All
    steps:
      - reading: Measure the bore.
        id: bore
        unit: mm
        low: 9 mm
        high: 10 mm
        cautions: [edge]
        instrument: bore gauge
        in doubt: [go on, set aside]
        outside: [set aside]
      - witness: Call the inspector to see the bore.
        id: seen
        notice: 1 h
      - do: Wipe the part.
        id: wipe
"""


class Ears:
    """Answers what is asked, question by question; a `>` is an Enter."""

    def __init__(self, *script: tuple[str, str, int]) -> None:
        self.script, self.left = list(script), 60

    def __call__(self, prompt: str, heard: Sequence[str]) -> tuple[str, int] | None:
        if self.script and re.search(self.script[0][0], prompt):
            _, answer, ms = self.script.pop(0)
            return answer, ms
        self.left -= 1
        if not (self.script and self.left):
            return None
        enters = prompt in (">", HEARD) or "Enter" in prompt
        return ("" if enters else "1"), 3000


def heard_of(folder, *script: tuple[str, str, int]) -> Heard:
    """What is heard of the procedure with these answers."""
    clock = VirtualClock("2026-11-25T14:02:00.000Z", up_ms=3_600_000, name="bench")
    shop = new_shop(folder / "shop", "Ropewalk shop", clock.now())
    enrol(shop, "Ada Brook", clock.now(), passphrase="1234")
    path = folder / "seen-by-others.yaml"
    path.write_text(PROCEDURE)
    heard = Heard(clock, Ears(*script))
    listen(shop, heard, clock, path)
    return heard


TO_THE_NOTICE = (
    ("The batch", "2", 1000),
    ("in mm", "9.99", 1000),
    ("Which", "2", 1000),
    ("reason", "1", 1000),
    ("in mm", "9.5", 1000),
    (">$", "", 1000),
)


@pytest.fixture
def word_sent(tmp_path) -> Heard:
    """A bore in doubt, gone on with; then word that nobody comes, until the close is asked."""
    return heard_of(
        tmp_path,
        *TO_THE_NOTICE,
        (">$", "1", 1000),
        ("Call the inspector", "2", 1000),
        ("name", "Cora Field", 1000),
        ("for", "", 1000),
        ("Passphrase", "1234", 1000),
    )


def test_what_is_in_doubt_is_said_with_why_and_no_sign_of_it_is_silent(word_sent):
    said = "\n".join(line for turn in word_sent.turns for line in turn)
    assert "Recorded, entry 2: 9.99 mm, in doubt." in said
    assert "too close to the upper limit 10 mm for this instrument (plus or minus 0.02 mm)" in said
    assert "entry 2, bracket 1: in doubt: the instrument cannot decide" in said


def test_word_that_nobody_comes_is_asked_and_said_by_name(word_sent):
    asked = [turn[-1] for turn in word_sent.turns if turn]
    assert any(one.startswith("name: who sent word that nobody comes") for one in asked)
    said = [line for turn in word_sent.turns for line in turn]
    assert "Recorded, entry 7: nobody comes, word from Cora Field." in said


def test_a_notice_that_ran_out_calls_by_itself_and_is_said_so(tmp_path):
    heard = heard_of(
        tmp_path,
        *TO_THE_NOTICE,
        (">$", "", 3_700_000),
        ("Call the inspector", "3", 1000),
        (">$", "", 1000),
    )
    said = [line for turn in heard.turns for line in turn]
    calls = "bracket 1/2: witness, step 2: enter who came, the notice has run out"
    assert any(line.endswith(calls) for line in said)
    assert any(line.endswith(": the notice ran out, nobody came.") for line in said)


def test_what_is_typed_before_its_question_is_told_and_no_caution_is_passed_by_it(tmp_path):
    heard = heard_of(tmp_path, (HEARD, "2", 1000), (HEARD, "2", 1000), ("The batch", "2", 1000))
    at = next(n for n, turn in enumerate(heard.turns) if spoken(FIRST) in turn)
    assert heard.turns[at][-1] == HEARD
    hazard = "CAUTION. The edge of the bore is sharp. A cut hand. Gloves on."
    assert any(hazard in turn for turn in heard.turns[: at + 3])
    assert sum(spoken(FIRST) in turn for turn in heard.turns) == 2


@pytest.mark.skipif(SPEAKER is None, reason="needs the speech synthesiser espeak-ng")
def test_each_turn_of_it_is_spoken_in_twelve_seconds(word_sent):
    slow = [turn for turn in word_sent.turns if seconds(turn) > MOST_S]
    assert not slow
