"""A step that is for a role is done by it, or by another for a reason that stays a deviation."""

from dataclasses import replace

from trial import Trial

from benchrun.account.deviations import deviations_in
from benchrun.moment import Moment
from benchrun.procedure.load import load_bytes
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Hand, Want
from benchrun.run.course import Course
from benchrun.run.decide import decide
from benchrun.run.fold import fold
from benchrun.run.state import Run

PAGE = b"""\
procedure: weld-it
title: Weld it
revision: 1
scope: Invented.
batch: {part: bracket}
stages:
  - stage: All
    steps:
      - {do: Weld the bracket., id: weld, who: welder}
"""
AT = Moment(1_000_000, 5_000, "boot", True)
ANN, WIM = Hand("ann", "Ann"), Hand("wim", "Wim", frozenset({"welder"}))


def test_another_role_needs_a_reason_and_the_record_keeps_it():
    procedure = load_bytes(PAGE, "weld.yaml")
    run = Run(Course(procedure.route))
    opened = decide(run, c.Open((e.PartSpec("a"),)), AT, ANN)
    run = fold(run, e.Entry(0, AT, "ann", opened))
    weld = c.Do("weld", ("a",), 0)
    refused = decide(run, weld, AT, ANN)
    assert (refused.want, refused.text[:29]) == (Want.REASON, "This step is for a welder. Ha")
    assert not decide(run, weld, AT, WIM).reason
    done = decide(run, c.Do("weld", ("a",), 0, reason="the welder watches"), AT, ANN)
    (told,) = deviations_in(e.Entry(1, AT, "ann", done), procedure.route.steps.get, lambda _: None)
    assert told.reason == "the welder watches"


def test_a_critical_start_that_is_too_early_as_well_tells_both_before_one_reason_is_taken(tmp_path):
    steps = """\
        - {do: Oil the bush., id: oil}
        - do: Press the bush in.
          id: press
          critical: yes
          who: welder
          window: {after: oil, least: 2 min}
        """
    trial = Trial(tmp_path, steps, "A")
    trial.do("oil", "A")
    begin = c.Begin("press", ("A",), trial.seen)
    refused = trial.give(begin)
    assert refused.want is Want.REASON
    assert refused.text.startswith(
        "This step is for a welder. Hand over, or give a reason. Too ear"
    )
    trial.minute += 3
    assert trial.refused(begin) == "This step is for a welder. Hand over, or give a reason."
    kept = trial.good(replace(begin, reason="the welder watches"))
    assert (kept.reason, kept.flags) == ("the welder watches", ())
