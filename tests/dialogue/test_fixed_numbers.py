"""A number of an answer or a reason stays its own, whatever else is on offer."""

from scripted_face import numbers

from benchrun.dialogue import notes
from benchrun.dialogue.acts import act
from benchrun.dialogue.delivery import AT_HAND, FOR_STOPS
from benchrun.dialogue.deviation import deviation

WIPE = "Back to step 1: Wipe the part clean."


def answers(run, *typed: str) -> dict[int, str]:
    """The answers of the question in hand, with their numbers."""
    return numbers(run.drive(act(run.work), *typed).asked[0])


def test_an_answer_that_is_used_up_leaves_its_number_empty(alone):
    run = alone
    run.drive(act(run.work))
    run.drive(act(run.work), "9.5")
    run.drive(act(run.work), "2")
    assert answers(run, "1") == {1: WIPE, 2: "Set aside", 3: "Scrap"}
    run.drive(act(run.work))
    run.drive(act(run.work), "9.5")
    run.drive(act(run.work), "2")
    assert answers(run, "-") == {2: "Set aside", 3: "Scrap"}
    run.drive(act(run.work), "1", "3")  # the number of what is used up is not taken
    assert run.session.run.markers["a"].status.value == "scrap"


def test_an_answer_that_a_correction_adds_takes_no_number_of_the_others(alone):
    run = alone
    run.drive(act(run.work))
    run.drive(act(run.work), "12")
    before = answers(run, "-")
    assert before == {1: "Measure again", 2: "Set aside", 3: "Scrap"}
    run.drive(act(run.work), "1")
    run.drive(act(run.work), "9.5")
    run.drive(act(run.work), "1")
    run.drive(notes.write_down(run.work), "5", "2", "12", "1")
    after = answers(run, "-")
    assert {number: after[number] for number in (2, 3)} == {2: "Set aside", 3: "Scrap"}
    assert after[4] == "Let it stand"
    assert 1 not in after


def test_the_reason_given_last_stands_behind_those_at_hand(alone):
    run = alone
    face = run.drive(deviation(run.work), "1", "the owner wanted it so")
    assert numbers(face.asked[1]) == dict(enumerate(AT_HAND, 1))
    face = run.drive(deviation(run.work), "8", "6")
    own = {**dict(enumerate(FOR_STOPS, 1)), 6: "the owner wanted it so"}
    assert numbers(face.asked[1]) == own
    assert run.last("stop").reason == "the owner wanted it so"
