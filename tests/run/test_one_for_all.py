"""One reading for all parts that are ready: of a bath, the air, an oven."""

from trial import Trial

from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Refusal
from benchrun.run.offers import offers

COMMON = """
- reading: Read the bath.
  id: bath
  unit: °C
  one for all: yes
  low: 15 °C
  outside: [set aside]
- dwell: Soak.
  id: soak
  in: tub
  least: 5 min
  early: again
  window: {after: bath, most: 30 min, late: [rework from bath at most 3 times, set aside]}
"""


def bath_of(trial, part):
    return trial.m(part).values["bath", ""]


def test_one_reading_for_all_is_that_of_each_part_that_was_ready_and_waits_for_nobody(tmp_path):
    trial = Trial(tmp_path, "- {do: Wipe., id: wipe}\n" + COMMON.strip(), "A B C")
    trial.give(c.Do("wipe", ("A", "B"), trial.seen))
    offer = next(one for one in offers(trial.run, trial.now) if one.step.id == "bath")
    assert (offer.parts, offer.ready) == (("A", "B"), True)
    trial.give(c.Do("bath", offer.parts, trial.seen, typed="21"))
    assert [bath_of(trial, part).number for part in "AB"] == [21, 21]
    assert ("bath", "") not in trial.m("C").values


def test_a_correction_of_a_reading_for_all_is_that_of_each_part_that_shared_it(tmp_path):
    trial = Trial(tmp_path, COMMON, "A B")
    entry = trial.seen + 1
    trial.give(c.Do("bath", ("A", "B"), trial.seen, typed="21"))
    trial.give(c.Correct(entry, "A", "misread", "12"))
    assert [bath_of(trial, part).number for part in "AB"] == [12, 12]
    assert all(trial.m(part).questions for part in "AB")


def test_a_load_that_comes_later_than_the_reading_holds_is_read_once_more_together(tmp_path):
    trial = Trial(tmp_path, COMMON, "A B C D")
    trial.give(c.Do("bath", ("A", "B", "C", "D"), trial.seen, typed="21"))
    trial.give(c.PutIn("soak", ("A", "B"), trial.seen))
    trial.minute += 20
    trial.give(c.Lift(("A", "B"), trial.seen))
    trial.minute += 15
    late = next(one for one in offers(trial.run, trial.now) if one.parts == ("C", "D"))
    trial.give(c.FindLate("soak", late.parts, trial.seen))
    ask = next(one for one in offers(trial.run, trial.now) if one.question)
    trial.give(c.Settle(ask.parts, trial.seen, ask.questions, "rework bath"))
    trial.give(c.Do("bath", ("C", "D"), trial.seen, typed="19"))
    assert [bath_of(trial, part).number for part in "ABCD"] == [21, 21, 19, 19]
    assert isinstance(trial.give(c.PutIn("soak", ("C", "D"), trial.seen)), e.WentIn)


def test_parts_at_different_places_of_a_reading_for_all_never_share_one_entry(tmp_path):
    steps = COMMON.replace("unit: °C", "unit: °C\n  places: [left, right]")
    trial = Trial(tmp_path, steps, "A B")
    trial.give(c.Do("bath", ("A",), trial.seen, typed="21"))
    refused = trial.give(c.Do("bath", ("A", "B"), trial.seen, typed="22"))
    assert isinstance(refused, Refusal)
    assert "different passes or places" in refused.text
