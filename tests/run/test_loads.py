"""A load has its vessel from its first step to its last; its steps are done for the whole of it."""

import pytest
from trial import Trial

from benchrun.run import commands as c
from benchrun.run.offers import Deed

BAKE = """
- do: Wipe the arm.
  id: wipe
- load: Bake
  id: bake
  in: [tub, oven]
  steps:
    - do: Heat the vessel.
      id: heat
    - dwell: Bake the load.
      id: soak
      least: 10 min
      most: 30 min
      undone: left out
      before out:
        - reading: Measure the load.
          id: core
          unit: degC
          low: 180 degC
          outside: [again, set aside]
      meanwhile:
        - do: Write the label.
          id: label
    - work out: Work out what is left to 200 °C.
      id: left
      unit: K
      formula: 200 degC - core
    - inspect: Look at the arm.
      id: look
      findings: {sound: go on, burnt: scrap}
- do: Hang the arm up.
  id: hang
"""


@pytest.fixture
def bake(tmp_path):
    trial = Trial(tmp_path, BAKE, "A B C D E")
    trial.do("wipe", "A B C D E")
    return trial


def heat_offers(trial):
    return [o for o in trial.offers() if o.step is not None and o.step.id == "heat"]


def test_loads_are_offered_as_many_as_fit_into_each_empty_vessel(bake):
    offers = heat_offers(bake)
    assert [(o.vessel, o.parts) for o in offers] == [("tub", ("A", "B")), ("oven", ("C", "D", "E"))]
    assert all(o.ready and o.takes_vessel for o in offers)


def test_whoever_makes_a_load_chooses_its_parts_and_its_vessel(bake):
    bake.good(c.Do("heat", ("A", "C"), bake.seen, vessel="oven"))
    assert bake.m("A").load == bake.m("C").load
    assert bake.m("A").load.vessel == "oven"
    assert bake.m("B").load is None
    # The oven has no limit, but the load has it whole.
    assert [(o.vessel, o.parts) for o in heat_offers(bake) if o.ready] == [("tub", ("B", "D"))]


def test_with_all_vessels_taken_the_rest_waits_and_a_reason_lets_it_in(bake):
    bake.do("heat", "A B")
    bake.do("heat", "C D")
    (waits,) = [o for o in heat_offers(bake) if not o.ready]
    assert (waits.parts, waits.why) == (("E",), "no room in the etching tub or the oven yet")
    told = bake.refused(bake.do_of("heat", "E"))
    assert "no room for this load" in told
    assert "the etching tub has A and B" in told
    done = bake.do("heat", "E", reason="it is small")
    assert done.flags == ("in a vessel that is not empty",)


def test_a_step_of_a_load_waits_for_the_whole_load_and_for_nobody_else(bake):
    bake.do("heat", "A B")
    bake.do("heat", "C D")
    assert "by the whole load, and B" in bake.refused(c.PutIn("soak", ("A",), bake.seen))
    bake.put_in("soak", "A B")
    assert bake.m("A").soak.load == bake.m("B").soak.load
    assert bake.entries[-1].data.vessel == "tub"


def test_parts_of_two_loads_are_no_load(bake):
    bake.do("heat", "A")
    bake.do("heat", "C")
    assert "of different loads" in bake.refused(c.PutIn("soak", ("A", "C"), bake.seen))


def test_what_must_be_done_first_holds_back_the_taking_out(bake):
    bake.do("heat", "A B")
    bake.put_in("soak", "A B")
    bake.minute = 12
    lift = bake.offered(Deed.LIFT)
    assert (lift.ready, lift.why) == (False, "step 4 comes first")
    assert "Step 4 comes first" in bake.refused(c.Lift(("A", "B"), bake.seen))
    bake.do("core", "A B", "150 degC")
    assert not bake.offered(Deed.LIFT).ready
    for part in "AB":
        bake.answer(part, "again")
    bake.do("core", "A B", "190 degC")
    assert bake.offered(Deed.LIFT).ready
    assert bake.lift("A B").flags == ()


def test_out_before_that_needs_a_reason_which_the_log_keeps(bake):
    bake.do("heat", "A B")
    bake.put_in("soak", "A B")
    bake.minute = 12
    out = bake.lift("A B", reason="the power failed")
    assert out.flags == ("ended before step 4 was done",)
    assert bake.at("A") == "core"


def test_what_is_left_undone_meanwhile_is_left_out_where_the_author_says_so(bake):
    bake.do("heat", "A B")
    bake.put_in("soak", "A B")
    bake.do("core", "A B", "190 degC")
    bake.minute = 12
    out = bake.lift("A B")
    assert out.each["A"].undone == ("label",)
    assert bake.at("A") == "left"


def test_a_reading_of_a_load_is_one_value_that_a_sum_reads_as_it_stands(bake):
    bake.do("heat", "A B")
    bake.put_in("soak", "A B")
    bake.do("core", "A B", "190 degC")
    bake.minute = 12
    bake.lift("A B")
    done = bake.do("left", "A B")
    assert bake.value("A", "left") == bake.value("B", "left") == "10"
    assert len(done.inputs) == 1
    bake.correct("core", "A", "185 degC")
    assert bake.value("B", "core") == "185"
    assert bake.value("A", "left") == bake.value("B", "left") == "15"


def test_a_load_has_its_vessel_until_its_last_step_is_done(bake):
    bake.do("heat", "A B")
    bake.put_in("soak", "A B")
    bake.do("core", "A B", "190 degC")
    bake.minute = 12
    bake.lift("A B")
    bake.do("left", "A B")
    assert "tub" not in [o.vessel for o in heat_offers(bake) if o.ready]
    bake.do("look", "A", "sound")
    assert bake.m("A").load is None
    assert "tub" not in [o.vessel for o in heat_offers(bake) if o.ready]
    bake.do("look", "B", "sound")
    assert "tub" in [o.vessel for o in heat_offers(bake) if o.ready]


def test_a_part_set_aside_leaves_its_load_and_makes_one_of_its_own_later(bake):
    bake.do("heat", "A B")
    bake.put("A", "aside")
    assert bake.m("A").load is None
    bake.put_in("soak", "B")
    bake.put("A", "play", "")
    soak = bake.put_in("soak", "A")
    assert soak.vessel == "oven"


def test_taking_back_the_last_step_needs_a_reason_where_the_vessel_was_filled_since(tmp_path):
    steps = """
    - load: Wash
      in: tub
      steps: [{dwell: Wash the arm., id: wash}]
    - do: Dry the arm.
      id: dry
    """
    trial = Trial(tmp_path, steps, "A B")
    trial.put_in("wash", "A")
    trial.lift("A")
    trial.put_in("wash", "B")
    told = trial.refused(c.Retract(trial.m("A").last, trial.seen))
    assert "was filled since" in told
    trial.take_back("A", "it is in still")
    assert trial.m("A").load.vessel == "tub"


def test_a_part_need_fit_only_one_of_the_vessels_of_its_load(tmp_path):
    steps = """
    - load: Bake
      in: [tub, oven]
      steps: [{dwell: Bake the arm., id: soak}]
    """
    trial = Trial(tmp_path, steps, "A:9 B")
    assert [(o.vessel, o.parts) for o in trial.offers()] == [("tub", ("B",)), ("oven", ("A",))]


WAITS = """
- reading: Measure the bath.
  id: bath
  unit: degC
  one for all: yes
- dwell: Dip the arm.
  id: dip
  in: tub
  least: 5 min
  window:
    after: bath
    most: 30 min
    waiting for room: ROOM
    late: [rework from bath at most once, set aside]
"""


def waiting(tmp_path, room):
    """Four arms at a tub for two, that read the bath at once; two are in for 45 min."""
    trial = Trial(tmp_path, WAITS.replace("ROOM", room), "A B C D")
    trial.do("bath", "A B C D", "20 degC")
    trial.minute = 10
    trial.put_in("dip", "A B")
    trial.minute = 55
    return trial


def test_time_spent_waiting_for_room_does_not_count_where_the_window_says_so(tmp_path):
    trial = waiting(tmp_path, "does not count")
    trial.lift("A B")
    offer = trial.offered(Deed.PUT_IN)
    assert offer.parts == ("C", "D")
    assert offer.window.since_most.possible_ms == 10 * 60_000
    trial.minute = 76
    assert trial.offered(Deed.LATE).parts == ("C", "D")


def test_while_there_is_no_room_nobody_is_asked_what_is_late(tmp_path):
    trial = waiting(tmp_path, "counts")
    assert [o.why for o in trial.offers() if "C" in o.parts] == ["no room in the etching tub yet"]
    trial.lift("A B")
    assert trial.offered(Deed.LATE).parts == ("C", "D")


def test_a_rework_for_nothing_but_waiting_for_room_is_not_counted(tmp_path):
    trial = waiting(tmp_path, "counts")
    trial.lift("A B")
    trial.late("dip", "C D")
    trial.answer("C", "rework bath")
    assert dict(trial.m("C").counts) == {}
    trial.do("bath", "C", "20 degC")
    trial.minute += 31
    trial.late("dip", "C")
    trial.answer("C", "rework bath")
    assert dict(trial.m("C").counts) == {"dip>rework bath": 1}
