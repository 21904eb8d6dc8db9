"""Taking back, holds, dwells, loads and vessels: the corners of the rules."""

from trial import BO, Trial

from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.offers import Deed

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


def test_mistaps_are_taken_back_eight_deep_and_no_deeper(tmp_path):
    trial = Trial(tmp_path, DO_MANY, "A")
    for n in range(10):
        trial.do(f"rub-{n}", "A")
    for n in reversed(range(2, 10)):
        trial.take_back("A")
        assert trial.at("A") == f"rub-{n}"
    assert "cannot be undone" in trial.refused(c.Retract(trial.m("A").last, trial.seen))


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
    assert "holds nothing to sign" in trial.refused(c.SignOff("ann@shop", "sig"))


def test_who_did_the_work_may_check_it_after_the_hours_and_no_reason_shortens_them(tmp_path):
    hold = "- {do: Rub., id: rub}\n- hold: Check.\n  id: check\n  signs: It is right."
    later = hold + "\n  another person: yes\n  same person after: 2 h\n"
    trial = Trial(tmp_path, later, "A")
    trial.do("rub", "A")
    assert "wait 2 h more" in trial.refused(trial.do_of("check", "A"))
    assert "wait 2 h more" in trial.refused(trial.do_of("check", "A", reason="called away"))
    trial.minute = 121
    assert trial.do("check", "A").flags == ("checked by who did the work, 2 h later",)
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
    most = '{by: bath, table: {10 C: 25 min, 30 C: 15 min}, source: "invented"}'
    steps = SOAK.replace(", together: yes", "").replace("most: 40 min", f"most: {most}")
    trial = Trial(tmp_path, steps, "A B")
    trial.do("bath", "A", "10 C")
    trial.do("bath", "B", "30 C")
    offers = [o.parts for o in trial.offers() if o.deed is Deed.PUT_IN]
    assert offers == [("A",), ("B",)]
    assert "cannot be one load" in trial.refused(c.PutIn("soak", ("A", "B"), trial.seen))


def test_a_part_whose_earliest_is_after_its_latest_waits_behind_the_one_that_is_ready(tmp_path):
    steps = SOAK.replace(", together: yes", "").replace("most: 40 min", "most: 15 min")
    trial = Trial(tmp_path, steps, "A B")
    trial.do("bath", "A", "10 C")
    trial.do("bath", "B", "30 C")
    offers = [(o.parts, o.ready) for o in trial.offers() if o.deed is Deed.PUT_IN]
    assert offers == [(("B",), True), (("A",), False)]
    assert "is after the latest" in trial.refused(c.PutIn("soak", ("A",), trial.seen))


def test_a_start_told_late_widens_what_is_possible_and_proves_no_more(tmp_path):
    trial = Trial(tmp_path, SOAK, "A")
    trial.do("bath", "A", "30 C")
    trial.put_in("soak", "A", "hands full", ago=5)
    trial.minute = 8
    out = trial.lift("A").each["A"]
    assert (out.proven, out.possible, out.verdict) == (480_000, 780_000, "perhaps early")


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
