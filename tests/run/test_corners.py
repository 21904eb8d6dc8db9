"""Forks, corrections, windows and free order: the corners of the rules."""

from trial import Trial

from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.offers import Deed
from benchrun.run.state import Status

MEASURE = """
- {reading: Measure the bore., id: bore, unit: mm, high: 20 mm, outside: [scrap, go on]}
- if: bore > 10 mm
  id: wide
  steps: [{do: Sleeve it., id: sleeve}]
- repeat: Lay the coats.
  at least: 1
  at most: 3
  until: bore < 15 mm
  steps: [{do: Coat., id: coat}]
- {do: Pack., id: pack}
"""


def test_going_back_to_a_fork_decides_it_again(tmp_path):
    trial = Trial(tmp_path, MEASURE, "A")
    trial.do("bore", "A", "8 mm")
    assert trial.at("A") == "coat 1"
    trial.correct("bore", "A", "12 mm")
    assert trial.codes("A") == ["rework", "go on"]
    trial.answer("A", "rework")
    assert trial.at("A") == "sleeve"
    trial.do("sleeve", "A")
    trial.do("coat", "A")
    assert trial.at("A") == "pack"
    trial.correct("bore", "A", "16 mm")
    trial.answer("A", "rework")
    assert trial.at("A") == "coat 2"


def test_an_unknown_guard_that_a_correction_makes_known_is_settled_by_one_answer(tmp_path):
    trial = Trial(tmp_path, MEASURE, "A")
    trial.skip("bore", "A")
    assert [q.ask.value for q in trial.questions("A")] == ["guard unknown"]
    trial.answer("A", "no")
    assert trial.at("A") == "coat 1"


def test_one_answer_settles_a_question_and_what_a_correction_made_of_it(tmp_path):
    trial = Trial(tmp_path, MEASURE, "A")
    trial.do("bore", "A", "25 mm")
    trial.correct("bore", "A", "14 mm")
    assert [q.ask.value for q in trial.questions("A")] == ["outside", "changed"]
    assert trial.at("A") == "bore"
    trial.answer("A", "go on", which=1)
    assert trial.questions("A") == ()
    assert trial.at("A") == "sleeve"


def test_a_batch_value_rests_on_every_parts_own_reading(tmp_path):
    steps = """
    - {reading: Weigh them., id: weight, unit: kg, together: yes}
    - {reading: Measure the bore., id: bore, unit: mm}
    - {work out: The least., id: lowest, formula: least(bore), unit: mm, together: yes}
    - {work out: The lightest., id: light, formula: least(weight), unit: kg, together: yes}
    - {do: Pack., id: pack}
    """
    trial = Trial(tmp_path, steps)
    trial.do("weight", "A B", "2 kg")
    trial.do("bore", "A", "15 mm")
    trial.do("bore", "B", "17 mm")
    trial.do("lowest", "A B")
    trial.do("light", "A B")
    for part in "AB":
        lightest = trial.m(part).values["light", ""]
        assert [one.part for one in lightest.inputs] == ["A", "B"]
    assert trial.correct("bore", "B", "12 mm").parts == ("A", "B")
    assert (trial.value("A", "lowest"), trial.value("B", "lowest")) == ("12", "12")


def test_a_finding_corrected_while_it_is_asked_about_goes_on_without_a_reason(tmp_path):
    steps = """
    - {inspect: Look., id: look, findings: {sound: go on, dull: [scrap]}}
    - {do: Pack., id: pack}
    """
    trial = Trial(tmp_path, steps, "A")
    trial.do("look", "A", "dull")
    trial.correct("look", "A", "sound")
    assert [q.ask.value for q in trial.questions("A")] == ["finding", "changed"]
    trial.good(trial.answer_of("A", "go on", which=1, reason=""))
    assert (trial.at("A"), trial.questions("A")) == ("pack", ())


def test_what_was_taken_as_in_time_in_doubt_is_asked_again_once_it_is_late(tmp_path):
    steps = """
    - {do: Prime., id: prime}
    - {do: Coat., id: coat, window: {after: prime, most: 60 min, late: [set aside]}}
    """
    trial = Trial(tmp_path, steps, "A")
    trial.do("prime", "A")
    trial.minute = 50
    trial.good(c.KeepBeat())
    trial.restart(off=30, sync=False)
    trial.late("coat", "A")
    trial.answer("A", "go on")
    assert trial.offered(Deed.DO, "coat").ready
    trial.minute += 30
    assert trial.offered(Deed.LATE, "coat").ready
    trial.late("coat", "A")
    trial.answer("A", "go on")
    trial.minute += 500
    trial.do("coat", "A")


def test_a_window_whose_source_was_told_late_counts_from_when_it_may_have_ended(tmp_path):
    steps = """
    - {dwell: Dry., id: dry, in: oven}
    - {do: Coat., id: coat, window: {after: dry, least: 5 min, most: 60 min}}
    """
    trial = Trial(tmp_path, steps, "A")
    trial.put_in("dry", "A")
    trial.minute = 100
    trial.lift("A", "forgot", ago=20)
    trial.minute = 141
    state = trial.offered(Deed.LATE, "coat").window
    assert state is not None
    assert (state.since.proven_ms, state.since.possible_ms) == (41 * 60_000, 61 * 60_000)


def test_a_detour_of_guarded_steps_is_walked_and_makes_good_what_it_can(tmp_path):
    steps = """
    - {inspect: Look., id: look, findings: {glossy: go on, dull: go on}}
    - {do: Prime., id: prime}
    - do: Coat.
      id: coat
      window:
        after: prime
        most: 10 min
        late:
          - first:
              - {do: Wipe., id: wipe}
              - {if: look is "glossy", steps: [{do: Rub., id: rub}]}
            at most: 1
    """
    trial = Trial(tmp_path, steps)
    trial.do("look", "A", "glossy")
    trial.do("look", "B", "dull")
    trial.do("prime", "A B")
    trial.minute = 20
    trial.late("coat", "A B")
    for part in "AB":
        trial.answer(part, "first")
        trial.do("wipe", part)
    assert (trial.at("A"), trial.at("B")) == ("rub", "coat")
    trial.do("rub", "A")
    trial.do("coat", "A B")


def test_steps_in_any_order_are_done_in_any_order_and_none_twice(tmp_path):
    steps = """
    - any order: Ready the arm.
      steps:
        - {do: Oil it., id: oil}
        - {do: Mark it., id: mark}
        - {reading: Weigh it., id: weight, unit: kg}
    - {do: Pack., id: pack}
    """
    trial = Trial(tmp_path, steps, "A")
    assert {o.step.id for o in trial.offers() if o.ready and o.step} == {"oil", "mark", "weight"}
    trial.do("weight", "A", "2 kg")
    trial.do("mark", "A")
    assert "is at step 1" in trial.refused(trial.do_of("mark", "A"))
    assert "is at step 1" in trial.refused(trial.do_of("pack", "A"))
    trial.do("oil", "A")
    assert trial.at("A") == "pack"


def test_a_correction_that_has_not_seen_the_last_entry_is_refused(tmp_path):
    trial = Trial(tmp_path, MEASURE, "A")
    trial.do("bore", "A", "14 mm")
    stale = c.Correct(1, "A", "misread", "13 mm", seen=trial.seen)
    trial.do("sleeve", "A")
    assert "moved on meanwhile" in trial.refused(stale)


def test_a_correction_by_another_instrument_changes_the_doubt(tmp_path):
    trial = Trial(tmp_path, MEASURE, "A")
    trial.do("bore", "A", "19.9 mm")
    tool = e.Tool("worn gauge", "0.2")
    trial.good(c.Correct(1, "A", "it was the worn gauge", "19.9 mm", tool=tool))
    assert [q.today for q in trial.questions("A")] == ["in doubt"]


def test_away_parts_keep_their_step_and_measure_again_when_back(tmp_path):
    steps = MEASURE.replace("[scrap, go on]", "[send away to grinder]")
    trial = Trial(tmp_path, steps, "A")
    trial.do("bore", "A", "25 mm")
    trial.answer("A", "send away grinder")
    assert trial.m("A").status is Status.AWAY
    trial.good(c.GetBack(("A",), trial.seen))
    assert (trial.at("A"), trial.value("A", "bore")) == ("bore", None)
    trial.do("bore", "A", "14 mm")
    assert trial.at("A") == "sleeve"


def test_a_rework_to_a_later_step_of_the_repeat_goes_to_the_pass_before(tmp_path):
    steps = """
    - repeat: Lay the coats.
      at least: 3
      steps:
        - {do: Coat., id: coat}
        - {do: Dry., id: dry}
        - inspect: Look.
          id: look
          findings: {even: go on, runs: [rework from dry at most 2 times]}
    - {do: Pack., id: pack}
    """
    trial = Trial(tmp_path, steps, "A")
    for _ in range(2):
        trial.do("coat", "A")
        trial.do("dry", "A")
        trial.do("look", "A", "even")
    assert trial.at("A") == "coat 3"
    trial.correct("look", "A", "runs")
    trial.answer("A", "rework dry")
    assert trial.at("A") == "dry 2"
