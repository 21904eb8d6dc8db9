"""Answers to a window that closed: what stays query open, and what they answer for later."""

from pathlib import Path

from trial import Trial

from benchrun.run import commands as c
from benchrun.run.state import Ask, Status

COATS = """
- {do: Brush on one coat., id: coat}
- {do: Wipe the pot., id: wipe}
- do: Brush on the next coat.
  id: next
  window:
    after: coat
    most: 60 min
    late: [{first: [{do: Scuff the coat., id: scuff}], at most: 1}, send away to grinder]
"""
BY_CARD = """
- {reading: Read the card., id: card, unit: min}
- {do: Brush on one coat., id: coat}
- do: Brush on the next coat.
  id: next
  window: {after: coat, most: card, late: [go on, set aside]}
- {do: Hang it up., id: hang}
"""


def test_a_part_sent_away_from_a_fork_has_its_question_still_when_it_is_back(
    tmp_path: Path,
) -> None:
    trial = Trial(tmp_path, COATS, parts="A")
    trial.do("coat", "A")
    trial.minute = 50
    trial.good(c.KeepBeat())
    trial.restart(off=20)
    trial.do("wipe", "A")  # it comes to the fork before the next coat, where it may be late
    (asked,) = trial.questions("A")
    assert (asked.ask, asked.today, trial.at("A")) == (Ask.WINDOW, "perhaps late", "fork")
    trial.answer("A", "send away grinder")
    assert trial.m("A").status is Status.AWAY
    trial.minute = 200
    trial.good(c.GetBack(("A",), trial.seen))
    assert (trial.questions("A"), trial.at("A")) == ((asked,), "fork")
    trial.answer("A", "first")
    assert (trial.questions("A"), trial.at("A")) == ((), "scuff")


def test_an_answer_to_what_is_certainly_late_answers_perhaps_late(tmp_path: Path) -> None:
    trial = Trial(tmp_path, BY_CARD, parts="A")
    trial.do("card", "A", "60 min")
    trial.do("coat", "A")
    trial.minute = 65
    trial.good(c.KeepBeat())
    trial.restart(off=20)  # 65 min are proven, 85 min possible
    trial.late("next", "A")
    assert trial.questions("A")[0].today == "late"
    trial.answer("A", "go on")
    trial.do("next", "A")
    trial.correct("card", "A", "80 min")
    assert trial.questions("A") == ()


def test_an_answer_to_what_is_perhaps_late_answers_not_for_certainly_late(tmp_path: Path) -> None:
    trial = Trial(tmp_path, BY_CARD, parts="A")
    trial.do("card", "A", "80 min")
    trial.do("coat", "A")
    trial.minute = 65
    trial.good(c.KeepBeat())
    trial.restart(off=20)
    trial.late("next", "A")
    assert trial.questions("A")[0].today == "perhaps late"
    trial.answer("A", "go on")
    trial.do("next", "A")
    trial.correct("card", "A", "60 min")
    assert [asked.today for asked in trial.questions("A")] == ["late"]
