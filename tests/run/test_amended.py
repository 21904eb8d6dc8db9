"""What of a log was put right or taken back, kept up entry by entry."""

from trial import Trial

from benchrun.run.corrections import Amended

STEPS = """
- {reading: Measure the bore., id: bore, unit: mm, low: 20 mm, outside: [go on]}
- {do: Wrap the arm., id: wrap}
"""


def told(trial):
    amended = Amended()
    amended.read(trial.entries)
    return amended


def test_a_value_stands_as_entered_until_it_is_corrected(tmp_path):
    trial = Trial(tmp_path, STEPS)
    trial.do("bore", "A", "25.43 mm")
    n = trial.entries[-1].n
    assert told(trial).stands((n, "A", "")).number == "25.43"
    trial.correct("bore", "A", "25.34 mm")
    amended = told(trial)
    (change,) = amended.changes((n, "A", ""))
    assert (change.was.number, change.now.number) == ("25.43", "25.34")
    assert change.by == trial.entries[-1]
    assert amended.stands((n, "A", "")).number == "25.34"
    assert amended.stands((n, "B", "")) is None


def test_a_correction_taken_back_gives_the_value_before_it_and_stays_told(tmp_path):
    trial = Trial(tmp_path, STEPS)
    trial.do("bore", "A", "25.43 mm")
    n = trial.entries[-1].n
    trial.correct("bore", "A", "25.34 mm")
    trial.take_back("A")
    amended = told(trial)
    (change,) = amended.changes((n, "A", ""))
    assert change.taken_back == trial.entries[-1]
    assert amended.stands((n, "A", "")).number == "25.43"


def test_reading_on_is_the_same_as_reading_at_once(tmp_path):
    trial, step_by_step = Trial(tmp_path, STEPS), Amended()
    trial.do("bore", "A", "25.43 mm")
    step_by_step.read(trial.entries)
    trial.correct("bore", "A", "25.34 mm")
    step_by_step.read(trial.entries)
    trial.do("wrap", "A")
    trial.take_back("A")
    step_by_step.read(trial.entries)
    assert step_by_step == told(trial)
    assert step_by_step.taken_back(trial.entries[-2].n) == trial.entries[-1]
