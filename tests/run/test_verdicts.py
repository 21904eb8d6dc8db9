"""The verdict on a value at its limits: each kind of limit, at it and one step beside it."""

from dataclasses import replace

import pytest
from trial import Trial

from benchrun.run import entries as e
from benchrun.run.decide import decide
from benchrun.run.replay import same_outcome
from benchrun.run.state import Ask

# 62 P7 is 61.949 to 61.979 mm (ISO 286-1); the other kinds are written to come to the same.
LOW, HIGH = "low: 61.949 mm", "high: 61.979 mm"
KINDS = {
    "low": (LOW,),
    "high": (HIGH,),
    "low and high": (LOW, HIGH),
    "fit": ("fit: 62 P7",),
    "low by formula": ("low: ring - 0.051 mm",),
    "high by formula": ("high: ring - 0.021 mm",),
    "both by formula": ("low: ring - 0.051 mm", "high: ring - 0.021 mm"),
}
ONE_LOW, ONE_HIGH = ("low", "low by formula"), ("high", "high by formula")
BOTH = ("low and high", "fit", "both by formula")
IN, OUT, DOUBT = "inside", "outside", "in doubt"

# Expanded uncertainty -> value -> (with a lower limit alone, with an upper one alone, with both).
TABLE = {
    "": {
        "61.948": (OUT, IN, OUT),
        "61.949": (IN, IN, IN),
        "61.950": (IN, IN, IN),
        "61.978": (IN, IN, IN),
        "61.979": (IN, IN, IN),
        "61.980": (IN, OUT, OUT),
    },
    "0.002": {
        "61.946": (OUT, IN, OUT),
        "61.947": (DOUBT, IN, DOUBT),  # value + U is the lower limit
        "61.948": (DOUBT, IN, DOUBT),
        "61.949": (DOUBT, IN, DOUBT),
        "61.950": (DOUBT, IN, DOUBT),
        "61.951": (IN, IN, IN),  # value - U is the lower limit
        "61.952": (IN, IN, IN),
        "61.976": (IN, IN, IN),
        "61.977": (IN, IN, IN),  # value + U is the upper limit
        "61.978": (IN, DOUBT, DOUBT),
        "61.979": (IN, DOUBT, DOUBT),
        "61.980": (IN, DOUBT, DOUBT),
        "61.981": (IN, DOUBT, DOUBT),  # value - U is the upper limit
        "61.982": (IN, OUT, OUT),
    },
    # The limits are twice U apart: one value alone is proven inside.
    "0.015": {
        "61.933": (OUT, IN, OUT),
        "61.934": (DOUBT, IN, DOUBT),
        "61.963": (DOUBT, IN, DOUBT),
        "61.964": (IN, IN, IN),
        "61.965": (IN, DOUBT, DOUBT),
        "61.994": (IN, DOUBT, DOUBT),
        "61.995": (IN, OUT, OUT),
    },
    # The limits are closer together than twice U: nothing is proven inside both.
    "0.0151": {
        "61.933": (OUT, IN, OUT),
        "61.934": (DOUBT, IN, DOUBT),
        "61.964": (DOUBT, DOUBT, DOUBT),
        "61.965": (IN, DOUBT, DOUBT),
        "61.994": (IN, DOUBT, DOUBT),
        "61.9951": (IN, OUT, OUT),
    },
}
CASES = [
    (kind, doubt, value, verdicts[column])
    for column, kinds in enumerate((ONE_LOW, ONE_HIGH, BOTH))
    for kind in kinds
    for doubt, rows in TABLE.items()
    for value, verdicts in rows.items()
]


@pytest.fixture(scope="module")
def benches(tmp_path_factory):
    """A run for each kind of limit, with the ring measured."""
    found = {}
    for kind, limits in KINDS.items():
        steps = """
        - {reading: Measure the ring., id: ring, unit: mm}
        - reading: Measure the bore.
          id: bore
          unit: mm
          outside: [again]
        """
        lines = "".join(f"  {line}\n        " for line in limits)
        trial = Trial(tmp_path_factory.mktemp("verdict"), steps + lines, "A")
        trial.do("ring", "A", "62.000 mm")
        found[kind] = trial
    return found


@pytest.mark.parametrize(("kind", "doubt", "value", "verdict"), CASES)
def test_each_kind_of_limit_rules_alike_at_its_edge(benches, kind, doubt, value, verdict):
    trial = benches[kind]
    before = trial.run, list(trial.entries)
    tool = e.Tool("bore gauge", doubt) if doubt else None
    done = trial.good(replace(trial.do_of("bore", "A", f"{value} mm"), tool=tool))
    assert done.each["A"].verdict == verdict
    assert bool(trial.questions("A")) is (verdict != IN)
    trial.run, trial.entries = before


def test_a_question_about_limits_too_close_says_that_the_instrument_cannot_decide(benches):
    trial = benches["fit"]
    before = trial.run, list(trial.entries)
    tool = e.Tool("bore gauge", "0.02")
    trial.good(replace(trial.do_of("bore", "A", "61.964 mm"), tool=tool))
    assert trial.questions("A")[0].says == (
        "61.964 mm: the limits 61.949 mm and 61.979 mm are too close together for this instrument "
        "(±0.02 mm) to decide."
    )
    trial.run, trial.entries = before


def test_a_question_worded_otherwise_is_the_same_outcome_and_another_answer_is_not(benches):
    trial = benches["fit"]
    decided = decide(trial.run, trial.do_of("bore", "A", "61.9 mm"), trial.now, trial.hand)
    outcome = decided.each["A"]
    asked = outcome.asks[0]
    answers = tuple(replace(one, text="In other words") for one in asked.answers)

    def kept(question):
        return replace(decided, each={"A": replace(outcome, asks=(question,))})

    assert same_outcome(decided, kept(replace(asked, says="It is too small.", answers=answers)))
    assert not same_outcome(decided, kept(replace(asked, answers=answers[1:])))
    assert not same_outcome(decided, kept(replace(asked, ask=Ask.DOUBT)))
