"""Pieces of a part that are scrapped or replaced: counted, and named where somebody names them."""

import pytest
from trial import Trial

STEPS = """
- reading: Note which studs are replaced.
  id: studs
  unit: none
  pieces: studs
  high: 3
  outside: scrap
- work out: Work out what is left.
  id: left
  unit: none
  formula: 8 - studs
- do: Go on.
  id: go
"""


@pytest.fixture
def trial(tmp_path):
    return Trial(tmp_path, STEPS, "A")


@pytest.mark.parametrize(
    ("typed", "number"), [("0", "0"), ("2", "2"), ("2, 5", "2"), ("#3", "1"), ("a,b,c", "3")]
)
def test_they_are_given_by_number_or_by_name(trial, typed, number):
    done = trial.do("studs", "A", typed)
    assert (done.each["A"].value.number, done.each["A"].value.typed) == (number, typed)
    trial.do("left", "A")
    assert trial.value("A", "left") == str(8 - int(number))


def test_their_number_is_judged(trial):
    assert trial.do("studs", "A", "1, 2, 3, 4").each["A"].verdict == "outside"


def test_names_are_corrected_like_any_reading(trial):
    trial.do("studs", "A", "2, 5")
    trial.correct("studs", "A", "2, 5, 6")
    assert trial.value("A", "studs") == "3"


@pytest.mark.parametrize("typed", ["2, 2", "2,,5", "some"])
def test_what_names_none_or_one_twice_is_refused(trial, typed):
    assert trial.refused(trial.do_of("studs", "A", typed))
