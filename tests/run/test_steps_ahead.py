"""The steps that are said to come are those that come, as far as it can be known."""

from trial import Trial

from benchrun.run.steps_ahead import steps_ahead

FORKED = """
- {reading: Measure the bore., id: bore, unit: mm}
- {inspect: Look at the seat., id: look, findings: {sound: go on, pitted: go on}}
- if: bore > 10 mm
  steps: [{do: Ream it., id: ream}]
- {do: Wash., id: wash}
- if: look is "pitted"
  steps: [{do: Fill the pits., id: fill}]
- {do: Mark., id: mark}
"""
ROUNDS = """
- repeat: Coats
  id: coats
  at least: 2
  steps: [{do: Brush a coat., id: brush}, {reading: Measure the film., id: film, unit: µm}]
  until: film > 50 µm
- {do: Pack., id: pack}
"""
TACK = """
- {do: Prime., id: prime}
- {do: Stir., id: stir}
- do: Coat.
  id: coat
  window:
    after: prime
    most: 60 min
    late: [{first: [{do: Abrade., id: scuff}, {do: Wipe., id: wipe}], at most: 1}, set aside]
- {do: Pack., id: pack}
"""


def ahead(trial: Trial, step: str, parts: str = "A") -> str:
    """The steps that come behind one, in a line."""
    coming = steps_ahead(trial.run, parts.split(), trial.run.route.steps[step], trial.now)
    return ", ".join(f"{one.step.id} {one.when}".strip() for one in coming)


def test_a_fork_that_rests_on_what_is_still_to_be_read_may_be_needed(tmp_path):
    trial = Trial(tmp_path, FORKED)
    assert ahead(trial, "bore") == "look, ream if needed, wash, fill if needed, mark"


def test_a_fork_that_is_decided_is_told_as_it_falls(tmp_path):
    trial = Trial(tmp_path, FORKED, parts="A B")
    trial.do("bore", "A", "12 mm")
    trial.do("bore", "B", "8 mm")
    assert ahead(trial, "look", "A") == "ream, wash, fill if needed, mark"
    assert ahead(trial, "look", "B") == "wash, fill if needed, mark"
    trial.do("look", "A B", "sound")
    assert ahead(trial, "ream", "A") == "wash, mark"


def test_where_parts_that_go_on_together_differ_it_may_be_needed(tmp_path):
    trial = Trial(tmp_path, FORKED, parts="A B")
    trial.do("bore", "A", "12 mm")
    trial.do("bore", "B", "8 mm")
    assert ahead(trial, "look", "A B").startswith("ream if needed, wash")


def test_a_repeat_says_what_comes_again_and_what_may(tmp_path):
    trial = Trial(tmp_path, ROUNDS, parts="A")
    assert ahead(trial, "brush") == "film, brush, pack"
    trial.do("brush", "A")
    trial.do("film", "A", "30 µm")
    assert trial.at("A") == "brush 2"
    # The film of the first coat decides nothing about the second.
    assert ahead(trial, "brush") == "film, brush if again, pack"


def test_late_steps_come_where_the_window_is_past_and_no_others(tmp_path):
    trial = Trial(tmp_path, TACK, parts="A")
    assert ahead(trial, "prime") == "stir, coat, pack"
    trial.do("prime", "A")
    assert ahead(trial, "stir") == "coat, pack"
    trial.minute += 61
    assert ahead(trial, "stir") == "scuff, wipe, coat, pack"
    trial.do("stir", "A")
    assert trial.at("A") == "scuff"
    assert ahead(trial, "scuff") == "wipe, coat, pack"
