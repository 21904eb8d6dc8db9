"""Cases that the table of rules leaves to a decision, and the corners of those that it does not."""

from trial import BO, Trial

from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.offers import Deed
from benchrun.run.state import Status

DO_MANY = "".join(f"\n- {{do: Rub it., id: rub-{n}}}" for n in range(12))
SOAK = """
- {reading: Read the bath., id: bath, unit: °C, together: yes}
- dwell: Soak.
  id: soak
  in: tub
  least: {by: bath, table: {10 C: 20 min, 30 C: 10 min}, source: "invented"}
  most: 40 min
  early: [again]
  meanwhile:
    - {reading: Measure the pin., id: pin, unit: mm, high: 5 mm, outside: [scrap, go on]}
- {dwell: Rinse., id: rinse, in: tub, least: 5 min, adds up: yes}
- {do: Pack., id: pack}
"""
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


def test_mistaps_are_taken_back_eight_deep_and_no_deeper(tmp_path):
    trial = Trial(tmp_path, DO_MANY, "A")
    for n in range(10):
        trial.do(f"rub-{n}", "A")
    for n in reversed(range(2, 10)):
        trial.take_back("A")
        assert trial.at("A") == f"rub-{n}"
    assert "cannot be taken back" in trial.refused(c.Retract(trial.m("A").last, trial.seen))


def test_an_answer_taken_back_is_not_counted(tmp_path):
    steps = """
    - {do: Wash., id: wash}
    - {inspect: Look., id: look, findings: {sound: go on, dull: [rework from wash once]}}
    """
    trial = Trial(tmp_path, steps, "A")
    trial.do("wash", "A")
    trial.do("look", "A", "dull")
    before = trial.m("A")
    trial.answer("A", "rework wash")
    trial.take_back("A")
    assert (trial.m("A").counts, trial.questions("A")) == ({}, before.questions)
    trial.answer("A", "rework wash")
    assert trial.at("A") == "wash"


def test_together_never_mixes_passes_whatever_the_reason(tmp_path):
    steps = """
    - repeat: Lay the coats.
      at least: 3
      steps: [{do: Coat., id: coat, together: yes}]
    """
    trial = Trial(tmp_path, steps)
    trial.do("coat", "A", reason="B is not washed")
    assert (trial.at("A"), trial.at("B")) == ("coat 2", "coat 1")
    said = trial.refused(trial.do_of("coat", "A B", reason="in a hurry"))
    assert "different passes" in said


def test_an_overfull_vessel_needs_a_reason(tmp_path):
    trial = Trial(tmp_path, SOAK, "A B C")
    trial.do("bath", "A B C", "30 C")
    said = trial.refused(c.PutIn("soak", ("A", "B", "C"), trial.seen))
    assert "has room for 2 more of 2" in said
    assert trial.put_in("soak", "A B C", "they are small").flags == ("over capacity",)


def test_a_lift_taken_back_runs_on_with_its_old_clock(tmp_path):
    trial = Trial(tmp_path, SOAK, "A")
    trial.do("bath", "A", "30 C")
    trial.minute = 1
    trial.put_in("soak", "A")
    before = trial.m("A")
    trial.minute = 6
    trial.lift("A")
    trial.minute = 8
    trial.take_back("A")
    assert trial.m("A").soak == before.soak
    trial.minute = 12
    assert trial.lift("A").each["A"].proven == 11 * 60_000


def test_a_lift_is_taken_back_into_a_full_vessel_only_with_a_reason(tmp_path):
    trial = Trial(tmp_path, SOAK, "A:2 B:2")
    trial.do("bath", "A B", "30 C")
    trial.put_in("soak", "A")
    trial.minute = 12
    trial.lift("A")
    trial.put_in("soak", "B")
    assert "over capacity" in trial.refused(c.Retract(trial.m("A").last, trial.seen))
    trial.take_back("A", "it never came out")


def test_a_signature_is_never_taken_back(tmp_path):
    hold = "\n- {hold: Check., id: check, signs: It is right.}" + DO_MANY
    trial = Trial(tmp_path, hold, "A")
    trial.do("check", "A")
    trial.good(c.SignOff("ann@shop", "sig"))
    assert trial.at("A") == "rub-0"
    assert "signature" in trial.refused(c.Retract(trial.m("A").last, trial.seen))


def test_a_hold_without_its_signature_moves_nobody(tmp_path):
    hold = "\n- {hold: Check., id: check, signs: It is right.}" + DO_MANY
    trial = Trial(tmp_path, hold, "A")
    trial.do("check", "A")
    trial.good(c.KeepBeat())
    assert trial.at("A") == "check"
    assert "Nothing stands" in trial.refused(c.SignOff("ann@shop", "sig"))


def test_who_did_the_work_may_check_it_later_or_with_a_reason(tmp_path):
    hold = "- {do: Rub., id: rub}\n- hold: Check.\n  id: check\n  signs: It is right."
    later = hold + "\n  another person: yes\n  same person after: 2 h\n"
    trial = Trial(tmp_path, later, "A")
    trial.do("rub", "A")
    assert "2 h later" in trial.refused(trial.do_of("check", "A"))
    assert trial.do("check", "A", reason="alone").flags == ("checked by who did the work",)
    trial.minute = 121
    assert trial.do("check", "A").flags == ()
    trial.hand = BO
    trial.minute = 0
    assert trial.do("check", "A").flags == ()


def test_a_reading_done_meanwhile_and_outside_can_be_measured_again_while_in(tmp_path):
    trial = Trial(tmp_path, SOAK, "A")
    trial.do("bath", "A", "30 C")
    trial.put_in("soak", "A")
    trial.do("pin", "A", "7 mm")
    trial.answer("A", "again")
    assert trial.value("A", "pin") is None
    trial.do("pin", "A", "4 mm")
    trial.minute = 12
    trial.lift("A")
    assert trial.at("A") == "rinse"


def test_a_reading_done_meanwhile_and_outside_never_blocks_lifting(tmp_path):
    trial = Trial(tmp_path, SOAK, "A")
    trial.do("bath", "A", "30 C")
    trial.put_in("soak", "A")
    trial.do("pin", "A", "7 mm")
    trial.minute = 12
    trial.lift("A")
    assert trial.at("A") == "pin"
    trial.answer("A", "go on")
    assert trial.at("A") == "rinse"


def test_a_dwell_that_adds_up_counts_its_broken_off_spells(tmp_path):
    trial = Trial(tmp_path, SOAK, "A")
    trial.do("bath", "A", "30 C")
    trial.skip("soak", "A")
    trial.skip("pin", "A")
    trial.put_in("rinse", "A")
    trial.minute = 3
    trial.lift("A")
    trial.answer("A", "again")
    trial.minute = 10
    trial.put_in("rinse", "A")
    trial.minute = 12
    assert trial.lift("A").each["A"].proven == 5 * 60_000
    assert trial.at("A") == "pack"


def test_an_ended_dwell_that_does_not_add_up_begins_anew(tmp_path):
    trial = Trial(tmp_path, SOAK, "A")
    trial.do("bath", "A", "30 C")
    trial.put_in("soak", "A")
    trial.minute = 9
    trial.lift("A")
    trial.answer("A", "again")
    trial.put_in("soak", "A")
    trial.minute = 11
    assert trial.lift("A").each["A"].verdict == "early"


def test_a_correction_gives_an_open_clock_its_new_limits_at_once(tmp_path):
    trial = Trial(tmp_path, SOAK, "A B")
    trial.do("bath", "A B", "30 C")
    trial.put_in("soak", "A B")
    trial.correct("bath", "A", "10 C")
    soaks = [trial.m(part).soak for part in "AB"]
    assert [soak and soak.least for soak in soaks] == [20 * 60_000] * 2
    assert (trial.value("A", "bath"), trial.value("B", "bath")) == ("10", "10")


def test_a_corrected_reading_off_its_table_leaves_the_clock_and_asks(tmp_path):
    trial = Trial(tmp_path, SOAK, "A")
    trial.do("bath", "A", "30 C")
    trial.put_in("soak", "A")
    trial.correct("bath", "A", "44 C")
    assert "limits stay as they were" in trial.questions("A")[0].says
    soak = trial.m("A").soak
    assert soak is not None
    assert soak.least == 10 * 60_000
    trial.minute = 12
    trial.lift("A")
    assert len(trial.questions("A")) == 1


def test_parts_whose_limits_do_not_agree_are_offered_as_two_loads(tmp_path):
    steps = SOAK.replace(", together: yes", "").replace("most: 40 min", "most: 15 min")
    trial = Trial(tmp_path, steps, "A B")
    trial.do("bath", "A", "10 C")
    trial.do("bath", "B", "30 C")
    offers = [o.parts for o in trial.offers() if o.deed is Deed.PUT_IN]
    assert offers == [("A",), ("B",)]
    assert "cannot be one load" in trial.refused(c.PutIn("soak", ("A", "B"), trial.seen))


def test_a_start_told_late_widens_what_is_possible_and_proves_no_more(tmp_path):
    trial = Trial(tmp_path, SOAK, "A")
    trial.do("bath", "A", "30 C")
    trial.put_in("soak", "A", "hands full", ago=5)
    trial.minute = 8
    out = trial.lift("A").each["A"]
    assert (out.proven, out.possible, out.verdict) == (480_000, 780_000, "perhaps early")


def test_going_back_to_a_fork_decides_it_again(tmp_path):
    trial = Trial(tmp_path, MEASURE, "A")
    trial.do("bore", "A", "8 mm")
    assert trial.at("A") == "coat 1"
    trial.correct("bore", "A", "12 mm")
    assert trial.codes("A") == ["rework", "aside", "go on"]
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
    assert "stands at step 1" in trial.refused(trial.do_of("mark", "A"))
    assert "stands at step 1" in trial.refused(trial.do_of("pack", "A"))
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


def test_a_together_dwell_that_does_not_fit_says_that_it_needs_a_reason(tmp_path):
    steps = "- {dwell: Soak., id: soak, in: tub, least: 5 min, together: yes}"
    trial = Trial(tmp_path, steps, "A B C")
    offer = trial.offered(Deed.PUT_IN, "soak")
    assert (offer.ready, offer.parts) == (False, ("A", "B", "C"))
    assert "need a reason" in offer.why
    trial.put_in("soak", "A B", "two loads")
    trial.minute = 6
    trial.lift("A B")
    trial.put_in("soak", "C")


def test_a_part_too_large_for_its_vessel_is_refused_at_opening(tmp_path):
    trial = Trial(tmp_path, SOAK, "A:3")
    assert trial.run.n == 0
    assert "holds 2" in trial.refused(c.Open((e.PartSpec("A", 3),)))
