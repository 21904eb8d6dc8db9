"""Another procedure carried out: the run is named, its results and values count here."""

import json
from dataclasses import replace

import pytest
from trial import Trial

from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.offers import Deed

STEPS = """
- do: Wipe the arm.
  id: wipe
- carry out: crack-check
  revision: 2
  id: crack-check
  values: {depth: mm, found: finding}
- work out: Work out what is left.
  id: left
  unit: mm
  formula: 5 mm - crack_check.depth
- if: crack_check.found is "small"
  steps: [{do: Grind it out., id: grind}]
- do: Hang it up.
  id: hang
"""


def there(result="done", depth="1.5", found="small"):
    values = {"depth": e.Given("", depth, "mm"), "found": e.Given(word=found)}
    return e.CarriedPart(result, values)


def run_there(**parts):
    return e.Carried("2026-01-05-crack-check-abcd", "crack-check", 2, "ab" * 32, parts)


OTHER = """
revision: 2
stages:
  - steps:
      - {reading: Measure the crack., id: depth, unit: mm}
      - {inspect: Look at it., id: found, findings: {none: go on}}
"""


@pytest.fixture
def trial(tmp_path):
    (tmp_path / "crack-check.yaml").write_text(OTHER, "utf-8")
    trial = Trial(tmp_path, STEPS, "A B")
    trial.do("wipe", "A B")
    return trial


def name(trial, carried, parts="A B", reason=""):
    return c.Do("crack-check", tuple(parts.split()), trial.seen, reason=reason, carried=carried)


def test_the_values_of_the_run_stand_in_formulas_and_conditions(trial):
    trial.good(name(trial, run_there(A=there(), B=there(depth="2", found="none"))))
    trial.do("left", "A B")
    assert (trial.value("A", "left"), trial.value("B", "left")) == ("3.5", "3")
    assert (trial.at("A"), trial.at("B")) == ("grind", "hang")


def test_the_log_keeps_the_run_its_head_and_each_result(trial):
    done = trial.good(name(trial, run_there(A=there(), B=there("scrap"))))
    line = json.loads(json.dumps(e.data_of(done)))
    assert line["carried"]["run"] == "2026-01-05-crack-check-abcd"
    assert line["carried"]["head"] == "ab" * 32
    assert line["carried"]["parts"]["B"]["result"] == "scrap"
    assert e.read_data("do", line) == done


def test_what_was_scrapped_there_is_scrapped_here(trial):
    trial.good(name(trial, run_there(A=there(), B=there("scrap"))))
    assert trial.m("B").status.value == "scrap"
    assert trial.at("A") == "left"
    trial.put("B", "play", "looked at again")
    assert trial.offered(Deed.DO, "crack-check").parts == ("B",)


def test_without_a_run_a_reason_is_needed(trial):
    assert "Which run carried out crack-check, revision 2?" in trial.refused(name(trial, None))
    trial.good(name(trial, None, reason="done by the neighbour"))
    assert trial.at("A") == "left"


def test_a_run_of_another_revision_is_refused(trial):
    other = replace(run_there(A=there(), B=there()), revision=1)
    assert "this step needs crack-check, revision 2" in trial.refused(name(trial, other))


def test_a_part_that_is_not_in_the_run_or_not_done_there_is_refused(trial):
    assert "B: not in 2026" in trial.refused(name(trial, run_there(A=there())))
    told = trial.refused(name(trial, run_there(A=there(), B=there("set aside"))))
    assert "B: not done in" in told


def test_going_back_before_it_forgets_what_it_found(trial):
    trial.good(name(trial, run_there(A=there(), B=there())))
    trial.put("A", "wipe")
    assert trial.value("A", "crack_check.depth") is None
