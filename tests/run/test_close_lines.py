"""What is put back and what follows is ticked line by line before anybody releases or closes."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from trial import Trial

from benchrun.run import commands as c
from benchrun.run.close_lines import lines_not_done, lines_to_tick
from benchrun.run.commands import Refusal, Want

STEPS = "- {do: Rub., id: rub}\n"
CLOSE = """\
close:
  restore: [Lid on the tub., Lock the cupboard.]
  follow on: [Fit the arms., {procedure: arm-fit, revision: 2}]
  released by: smith
"""
LINES = (("restore", 1), ("restore", 2), ("follow on", 1))
SIGN = c.SignOff("ann@shop", "sig")


@pytest.fixture
def trial(tmp_path):
    made = Trial(tmp_path, STEPS, "A", head=CLOSE)
    made.do("rub", "A")
    return made


def release(trial):
    return c.Do("release", ("A",), trial.seen)


def test_the_release_waits_for_each_line(trial):
    said = trial.refused(release(trial))
    assert said.startswith("Not ticked yet: Lid on the tub and 2 more.")
    for sort, line in LINES[:2]:
        trial.good(c.TickLine(sort, line))
    assert trial.refused(release(trial)).startswith("Not ticked yet: Fit the arms. Tick")
    trial.good(c.TickLine("follow on", 1))
    trial.good(release(trial))


def test_a_close_without_a_release_waits_as_well(trial):
    close = c.Close({"A": "no time"}, "Ann: so it was.")
    assert trial.refused(close).startswith("Not ticked yet")
    for sort, line in LINES:
        trial.good(c.TickLine(sort, line))
    trial.good(close)
    trial.good(SIGN)
    assert trial.run.ended
    assert trial.refused(c.TickLine("restore", 1, done=False, reason="late")).startswith("The run")


def test_a_line_that_is_not_done_needs_a_reason_and_may_be_done_later(trial):
    without = trial.give(c.TickLine("restore", 2, done=False, reason="  "))
    assert isinstance(without, Refusal)
    assert without.want is Want.REASON
    kept = trial.good(c.TickLine("restore", 2, done=False, reason="key is lost"))
    assert (kept.text, kept.done, kept.reason) == ("Lock the cupboard.", False, "key is lost")
    assert [line.text for line in lines_not_done(trial.run)] == ["Lock the cupboard."]
    same = trial.refused(c.TickLine("restore", 2, done=False, reason="key is lost"))
    assert "already" in same
    trial.good(c.TickLine("restore", 2))
    assert lines_not_done(trial.run) == ()


@pytest.mark.parametrize(("sort", "line"), [("restore", 3), ("restore", 0), ("other", 1)])
def test_a_line_that_is_not_there_is_refused_by_its_name(trial, sort, line):
    assert trial.refused(c.TickLine(sort, line)) == f"The close has no line {line} under {sort!r}."


def test_a_log_of_an_older_number_asks_for_no_line(tmp_path):
    trial = Trial(tmp_path, STEPS, "A", head=CLOSE, about={"format": 3})
    trial.do("rub", "A")
    assert lines_to_tick(trial.run) == ()
    assert "number" in trial.refused(c.TickLine("restore", 1))
    trial.good(release(trial))
    trial.good(SIGN)
    trial.good(c.Close({}, "Ann: so it was."))


@settings(max_examples=60, deadline=None)
@given(
    ticks=st.lists(
        st.tuples(st.sampled_from(LINES), st.booleans(), st.sampled_from(("", "no key"))),
        max_size=8,
    )
)
def test_no_order_of_ticks_signs_a_release_with_a_line_untold(tmp_path_factory, ticks):
    trial = Trial(tmp_path_factory.mktemp("ticks"), STEPS, "A", head=CLOSE)
    trial.do("rub", "A")
    told = set()
    for (sort, line), done, reason in ticks:
        if not isinstance(trial.give(c.TickLine(sort, line, done, reason)), Refusal):
            told.add((sort, line))
        released = trial.give(release(trial))
        assert isinstance(released, Refusal) == (told != set(LINES))
