"""How long a dwell took and how long it is since a step, in sums: proven, possible, in doubt."""

import pytest
from trial import Trial

from benchrun.run import commands as c

STEPS = """
- do: Mix the paint.
  id: mix
- dwell: Bake the arm.
  id: bake
- work out: Work out how long it was baked.
  id: baked
  unit: min
  formula: time_of(bake)
  low: 30 min
  high: 60 min
  outside: [set aside, scrap]
- work out: Work out the age of the paint.
  id: age
  unit: h
  formula: time_since(mix)
- dwell: Let it dry half as long.
  id: dry
  least: baked / 2
- do: Hang the arm up.
  id: hang
"""


@pytest.fixture
def baked(tmp_path):
    trial = Trial(tmp_path, STEPS, "A")
    trial.do("mix", "A")
    trial.minute = 5
    trial.put_in("bake", "A")
    return trial


def test_a_sum_reads_how_long_a_dwell_took_and_limits_judge_it(baked):
    baked.minute = 45
    baked.lift("A")
    done = baked.do("baked", "A")
    assert done.each["A"].verdict == "inside"
    assert baked.value("A", "baked") == "40"
    assert {(one.name, one.number) for one in done.inputs} == {("time of bake", "2400")}


def test_other_quantities_go_by_the_value_that_the_sum_gives(baked):
    baked.minute = 45
    baked.lift("A")
    baked.do("baked", "A")
    baked.do("age", "A")
    assert baked.value("A", "age") == "0.75"
    assert baked.put_in("dry", "A").each["A"].least == 20 * 60_000


def test_a_time_told_late_is_in_doubt_only_where_the_limit_lies_between(baked):
    baked.minute = 70
    baked.lift("A", reason="forgot to tell", ago=10)
    done = baked.do("baked", "A")
    value = done.each["A"].value
    assert (value.number, value.doubt) == ("60", "5")
    assert done.each["A"].verdict == "in doubt"


def test_where_nobody_knows_how_long_it_took_the_sum_says_so(baked):
    baked.sync = False
    baked.restart(off=30, sync=False)
    baked.lift("A", reason="the power was off")
    baked.answer("A", "go on") if baked.questions("A") else None
    told = baked.refused(baked.do_of("baked", "A"))
    assert "time of bake" in told
    assert "cannot be worked out" in told


def test_going_back_forgets_the_time(baked):
    baked.minute = 45
    baked.lift("A")
    baked.put("A", "bake")
    assert "time of bake" not in {name for name, _ in baked.m("A").values}


def test_a_length_of_time_cannot_be_corrected(baked):
    baked.minute = 45
    out = baked.run.n
    baked.lift("A")
    place = next(place for name, place in baked.m("A").values if name == "time of bake")
    told = baked.refused(c.Correct(out, "A", "no", "20 min", "", place))
    assert "reading or a finding" in told
