"""The traps that a run's rules have met: each test fails when the guard against it is taken out."""

import pytest
from trial import Trial

from benchrun.moment import Timeline
from benchrun.procedure.load import ProcedureError
from benchrun.run import commands as c
from benchrun.run.offers import Deed, offers
from benchrun.run.state import Status

TOGETHER = """
- {do: Clean., id: clean}
- inspect: Look for cracks.
  id: look
  findings: {sound: go on, cracked: [rework from clean at most 2 times]}
- {do: Rinse all., id: rinse, together: yes}
- {do: Dry all., id: dry, together: yes}
"""
READ = """
- {reading: Measure the bore., id: bore, unit: mm, low: 10 mm, high: 20 mm,
   outside: [send away to grinder, scrap], in doubt: [set aside]}
- {do: Mark., id: mark}
- {do: Pack., id: pack}
"""
WINDOW = """
- {do: Prime., id: prime}
- do: Coat.
  id: coat
  window:
    after: prime
    least: 10 min
    most: 60 min
    late: [{first: [{do: Abrade., id: scuff}], at most: 2}, set aside]
- {do: Pack., id: pack}
"""


def test_a_reworked_part_does_what_the_others_did_without_waiting_for_them(tmp_path):
    trial = Trial(tmp_path, TOGETHER)
    trial.do("clean", "A B")
    trial.do("look", "A B", "sound")
    trial.do("rinse", "A B")
    trial.put("A", "clean")
    trial.do("clean", "A")
    trial.do("look", "A", "sound")
    trial.do("rinse", "A")
    trial.do("dry", "A B")


def test_the_others_wait_for_a_reworked_part(tmp_path):
    trial = Trial(tmp_path, TOGETHER)
    trial.do("clean", "A B")
    trial.do("look", "A", "cracked")
    trial.do("look", "B", "sound")
    trial.answer("A", "rework clean")
    assert "A" in trial.refused(trial.do_of("rinse", "B"))


@pytest.mark.parametrize("to", ["aside", "scrap"])
def test_parts_set_aside_or_scrapped_are_not_waited_for(tmp_path, to):
    trial = Trial(tmp_path, TOGETHER)
    trial.put("A", to)
    trial.do("clean", "B")
    trial.do("look", "B", "sound")
    assert trial.do("rinse", "B").without == ()


def test_a_part_in_an_earlier_pass_is_behind_though_it_stands_at_a_later_step(tmp_path):
    trial = Trial(
        tmp_path,
        """
        - repeat: Coat and rub.
          at least: 3
          steps:
            - {do: Coat., id: coat, together: yes}
            - {do: Rub., id: rub}
        """,
    )
    trial.do("coat", "A B")
    trial.do("rub", "A")
    assert (trial.at("A"), trial.at("B")) == ("coat 2", "rub 1")
    assert "B" in trial.refused(trial.do_of("coat", "A"))
    trial.do("rub", "B")
    trial.do("coat", "A B")


def test_a_repeat_whose_steps_may_all_be_passed_over_is_no_procedure(tmp_path):
    steps = """
    - {inspect: Look., id: look, findings: {rusty: go on, clean: go on}}
    - repeat: Brush.
      at least: 2
      steps: [{if: look is "rusty", steps: [{do: Brush., id: brush}]}]
    """
    with pytest.raises(ProcedureError, match="never ends"):
        Trial(tmp_path, steps)


def test_where_nothing_that_is_written_is_left_a_deviation_leads_on(tmp_path):
    trial = Trial(tmp_path, TOGETHER, "A")
    for _ in range(2):
        trial.do("clean", "A")
        trial.do("look", "A", "cracked")
        assert trial.codes("A") == ["rework clean"]
        trial.answer("A", "rework clean")
    trial.do("clean", "A")
    trial.do("look", "A", "cracked")
    assert trial.codes("A") == []
    assert trial.offered(Deed.ANSWER).ready
    told = trial.refused(trial.answer_of("A", "aside"))
    assert "Anything else is a deviation" in told
    assert "needs a reason" in trial.refused(trial.answer_of("A", "go on", reason=""))
    trial.answer("A", "go on")
    assert trial.at("A") != "look"


SOAK_AND_READ = """
- {reading: Measure the bore., id: bore, unit: mm, high: 20 mm, outside: [send away to grinder]}
- {dwell: Etch., id: etch, in: tub, least: 10 min}
- {do: Pack., id: pack}
"""


def test_a_soaking_part_is_not_sent_away_so_that_no_occupancy_is_shared(tmp_path):
    trial = Trial(tmp_path, SOAK_AND_READ, "A")
    trial.do("bore", "A", "15 mm")
    trial.put_in("etch", "A")
    trial.correct("bore", "A", "25 mm")
    assert "Take it out" in trial.refused(trial.answer_of("A", "send away grinder"))
    trial.minute = 12
    trial.lift("A")
    trial.answer("A", "send away grinder")
    assert (trial.m("A").status, trial.m("A").place, trial.m("A").soak) == (
        Status.AWAY,
        "grinder",
        None,
    )
    assert "no vessel" in trial.refused(c.Lift(("A",), trial.seen))
    trial.good(c.GetBack(("A",), trial.seen))
    assert (trial.m("A").status, trial.at("A")) == (Status.PLAY, "pack")


def test_leaving_a_reading_out_forgets_its_value_of_an_earlier_pass(tmp_path):
    trial = Trial(
        tmp_path,
        """
        - repeat: Coat.
          at least: 2
          steps: [{reading: Measure the film., id: film, unit: µm}]
        - {if: last film > 50 µm, steps: [{do: Rub., id: rub}]}
        - {do: Pack., id: pack}
        """,
        "A",
    )
    trial.do("film", "A", "80")
    assert trial.value("A", "film") == "80"
    trial.skip("film", "A")
    assert trial.value("A", "film") is None
    assert trial.codes("A") == ["yes", "no"]


@pytest.mark.parametrize("to", ["scrap", "aside"])
def test_a_part_taken_out_of_play_that_comes_back_has_its_question_still(tmp_path, to):
    trial = Trial(tmp_path, READ, "A")
    trial.do("bore", "A", "25 mm")
    asked = trial.questions("A")
    trial.put("A", to)
    trial.put("A", "play")
    assert trial.questions("A") == asked
    assert "open question" in trial.refused(trial.do_of("bore", "A", "15 mm"))


def test_what_a_person_has_answered_is_not_judged_again(tmp_path):
    trial = Trial(tmp_path, READ.replace("scrap]", "scrap, go on]"), "A")
    trial.do("bore", "A", "25 mm")
    trial.answer("A", "go on")
    trial.correct("bore", "A", "15 mm")
    assert trial.questions("A") == ()
    trial.correct("bore", "A", "26 mm")
    assert trial.questions("A") == ()


def test_a_changed_ruling_that_was_let_stand_is_not_asked_again(tmp_path):
    trial = Trial(tmp_path, READ, "A")
    trial.do("bore", "A", "15 mm")
    trial.correct("bore", "A", "25 mm")
    trial.answer("A", "go on")
    trial.correct("bore", "A", "15 mm")
    trial.correct("bore", "A", "26 mm")
    assert trial.questions("A") == ()


def test_a_question_after_a_correction_is_withdrawn_when_it_swings_back(tmp_path):
    trial = Trial(tmp_path, READ, "A")
    trial.do("bore", "A", "15 mm")
    trial.correct("bore", "A", "25 mm")
    (question,) = trial.questions("A")
    back = trial.correct("bore", "A", "16 mm")
    assert back.each["A"].withdraws == (question.id,)
    assert trial.questions("A") == ()


def test_a_worked_out_value_is_not_corrected_but_follows_its_readings(tmp_path):
    trial = Trial(
        tmp_path,
        """
        - {reading: Measure the bore., id: bore, unit: mm}
        - {work out: Clearance., id: gap, formula: bore - 10 mm, unit: mm}
        - {work out: Half of it., id: half, formula: gap / 2 + bore * 0, unit: mm}
        - {do: Pack., id: pack}
        """,
        "A",
    )
    trial.do("bore", "A", "15 mm")
    trial.do("gap", "A")
    trial.do("half", "A")
    gap = trial.m("A").values["gap", ""]
    assert "Correct one of those" in trial.refused(c.Correct(gap.n, "A", "no", "3 mm"))
    trial.correct("bore", "A", "16 mm")
    assert (trial.value("A", "gap"), trial.value("A", "half")) == ("6", "3")


def test_values_worked_out_at_once_rest_on_each_parts_own_readings(tmp_path):
    trial = Trial(
        tmp_path,
        """
        - {reading: Measure the bore., id: bore, unit: mm}
        - {work out: Clearance., id: gap, formula: bore - 10 mm, unit: mm}
        - {do: Pack., id: pack}
        """,
    )
    trial.do("bore", "A", "15 mm")
    trial.do("bore", "B", "17 mm")
    trial.do("gap", "A B")
    assert trial.correct("bore", "A", "16 mm").parts == ("A",)
    assert (trial.value("A", "gap"), trial.value("B", "gap")) == ("6", "7")


def test_a_part_that_is_in_is_not_put_in_again(tmp_path):
    trial = Trial(tmp_path, SOAK_AND_READ, "A")
    trial.do("bore", "A", "15 mm")
    trial.put_in("etch", "A")
    assert "must come out first" in trial.refused(c.PutIn("etch", ("A",), trial.seen))


def test_doubt_on_the_least_of_a_window_is_waited_for_and_never_called_late(tmp_path):
    trial = Trial(tmp_path, WINDOW, "A")
    trial.do("prime", "A")
    trial.minute = 1
    trial.restart(off=12)
    trial.minute += 2
    offer = trial.offered(Deed.DO, "coat")
    assert not offer.ready
    assert "too early" in offer.why
    assert "no window has closed" in trial.refused(c.FindLate("coat", ("A",), trial.seen))
    assert "Too early" in trial.refused(trial.do_of("coat", "A"))
    assert trial.do("coat", "A", reason="dry to the touch").flags == ("too soon",)


def test_doubt_on_the_most_of_a_window_may_be_let_stand(tmp_path):
    trial = Trial(tmp_path, WINDOW, "A")
    trial.do("prime", "A")
    trial.minute = 50
    trial.good(c.KeepBeat())
    trial.restart(off=30, sync=False)
    trial.minute += 5
    assert trial.offered(Deed.LATE, "coat").ready
    trial.late("coat", "A")
    assert trial.codes("A") == ["first", "aside"]
    trial.answer("A", "go on")
    trial.do("coat", "A")


def test_a_detour_restarts_the_most_of_a_window_and_not_its_least(tmp_path):
    trial = Trial(tmp_path, WINDOW, "A")
    trial.do("prime", "A")
    trial.minute = 70
    trial.late("coat", "A")
    trial.answer("A", "first")
    assert trial.at("A") == "scuff"
    trial.do("scuff", "A")
    trial.minute = 75
    state = trial.offered(Deed.DO, "coat").window
    assert state is not None
    assert (state.since.proven_ms, state.since_most.proven_ms) == (75 * 60_000, 5 * 60_000)
    trial.do("coat", "A")


def test_a_window_dies_with_its_target_out_of_reach(tmp_path):
    trial = Trial(
        tmp_path,
        """
        - {inspect: Look., id: look, findings: {bare: go on, coated: go on}}
        - {do: Prime., id: prime}
        - if: look is "bare"
          steps: [{do: Coat., id: coat, window: {after: prime, most: 1 h}}]
        - {do: Pack., id: pack}
        """,
        "A B",
    )
    trial.do("look", "A", "bare")
    trial.do("look", "B", "coated")
    trial.do("prime", "A B")
    assert (set(trial.m("A").windows), set(trial.m("B").windows)) == ({"coat"}, set())


def test_a_window_dies_when_the_part_goes_back_before_its_source(tmp_path):
    trial = Trial(tmp_path, WINDOW, "A")
    trial.do("prime", "A")
    assert "coat" in trial.m("A").windows
    trial.put("A", "prime")
    assert "coat" not in trial.m("A").windows


def test_entries_name_the_parts_in_batch_order_however_they_were_chosen(tmp_path):
    trial = Trial(tmp_path, TOGETHER, "C A B")
    assert trial.do("clean", "B A C").parts == ("C", "A", "B")
    assert trial.offers()[0].parts == ("C", "A", "B")


def test_an_unset_wall_clock_is_never_believed(tmp_path):
    trial = Trial(tmp_path, SOAK_AND_READ, "A")
    trial.sync, trial.wrong = False, -600
    trial.do("bore", "A", "15 mm")
    trial.put_in("etch", "A")
    trial.minute = 2
    trial.restart(off=3, sync=False)
    trial.wrong = 9000
    trial.good(c.KeepBeat())
    trial.minute += 1
    out = trial.lift("A").each["A"]
    assert (out.proven, out.possible) == (60_000, None)
    assert out.verdict == "perhaps early"
    assert isinstance(trial.run.timeline, Timeline)


def test_a_double_tap_counts_once(tmp_path):
    trial = Trial(tmp_path, TOGETHER, "A")
    twice = trial.do_of("clean", "A")
    trial.good(twice)
    trial.put("A", "clean")
    assert "moved on meanwhile" in trial.refused(twice)


def test_late_parts_and_parts_in_time_are_offered_apart(tmp_path):
    trial = Trial(tmp_path, WINDOW)
    trial.do("prime", "A")
    trial.minute = 50
    trial.do("prime", "B")
    trial.minute = 65
    assert trial.offered(Deed.LATE, "coat").parts == ("A",)
    assert trial.offered(Deed.DO, "coat").parts == ("B",)
    assert "late" in trial.refused(trial.do_of("coat", "A B"))


def test_late_parts_are_asked_first_where_a_step_is_done_together(tmp_path):
    trial = Trial(tmp_path, WINDOW.replace("id: coat\n", "id: coat\n  together: yes\n"))
    trial.do("prime", "A")
    trial.minute = 50
    trial.do("prime", "B")
    trial.minute = 65
    assert trial.offered(Deed.LATE, "coat").ready
    assert not trial.offered(Deed.DO, "coat").ready
    trial.late("coat", "A")
    trial.answer("A", "go on")
    trial.do("coat", "A B")


def test_a_part_whose_earliest_is_after_its_latest_waits_for_a_person_and_is_told_why(tmp_path):
    steps = """
    - {reading: Measure the bath., id: bath, unit: C}
    - dwell: Etch.
      id: etch
      in: tub
      least: {by: bath, table: {10 C: 20 min, 30 C: 10 min}, source: "invented"}
      most: 15 min
    """
    trial = Trial(tmp_path, steps)
    trial.do("bath", "A", "12 C")
    trial.do("bath", "B", "28 C")
    found = {offer.parts: offer for offer in offers(trial.run, trial.now)}
    assert found[("B",)].ready
    assert not found[("A",)].ready
    assert found[("A",)].why == "its earliest, 19 min, is after its latest, 15 min"
    refused = trial.refused(c.PutIn("etch", ("A",), trial.seen))
    assert refused.startswith("A: the earliest, 19 min, is after the latest, 15 min. Correct")
