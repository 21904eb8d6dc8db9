"""Every act of a run through the dialogue alone: what is asked, in which order, what is kept."""

import pytest
from scripted_face import WORD, numbers

from benchrun.dialogue import lookups, notes
from benchrun.dialogue.acts import act
from benchrun.dialogue.deviation import deviation
from benchrun.dialogue.prompts import Confirm
from benchrun.dialogue.run_prompts import PartsChoice, ReadingPrompt, SignaturePrompt
from benchrun.run.offers import Deed
from benchrun.run.state import Status

MINUTE = 60_000


def to_soak(run) -> None:
    """Both parts to the dwell."""
    run.drive(act(run.work))
    for _ in run.session.run.parts:
        run.drive(act(run.work), "9.5")
    run.drive(act(run.work), "1")


def soak(run) -> None:
    """Through the dwell, and out in time."""
    to_soak(run)
    run.drive(act(run.work))
    run.clock.wait(11 * MINUTE)
    run.drive(act(run.work))  # the tending that is due
    run.drive(act(run.work))
    assert run.kinds()[-1] == "out"


def drilled(run) -> None:
    """Through the step that cannot be undone."""
    soak(run)
    run.drive(act(run.work))
    run.drive(act(run.work))
    assert run.kinds()[-2:] == ["begin", "do"]


def test_a_whole_run_is_done_to_its_signed_close(run):
    soak(run)
    face = run.drive(act(run.work))
    assert face.said[-1].endswith("begun, do it now, a, b.")
    face = run.drive(act(run.work))
    assert face.said[-1].endswith("done, a, b.")
    face = run.drive(act(run.work), "2", WORD)
    assert numbers(face.asked[0]) == {1: "Ada Brook", 2: "Bea Mill"}
    assert face.asked[1].says == "Bea Mill: I looked at it."
    face = run.drive(act(run.work), WORD)
    assert run.session.run.ended
    assert face.asked[0].closes
    assert [*run.kinds()][-4:] == ["do", "sign", "close", "sign"]
    assert face.said[-1].startswith("Recorded, entry ")


def test_a_reading_asks_with_its_limits_for_one_part_after_the_other(run):
    run.drive(act(run.work))
    face = run.drive(act(run.work), "", "9.5")
    first, again = face.asked
    assert isinstance(first, ReadingPrompt)
    assert (first.parts, str(first.low), str(first.high)) == (("a",), "9", "10")
    assert again == first
    assert face.said[0] == "Type the reading, then Enter."
    assert run.drive(act(run.work), "9.6").asked[0].parts == ("b",)


def test_a_wrong_passphrase_is_asked_again_and_back_leaves_nothing_behind(run):
    drilled(run)
    before = run.session.run.n
    face = run.drive(act(run.work), "2", "wrong", "-")
    assert [one.person and one.person.name for one in face.asked] == [
        None,
        "Bea Mill",
        "Bea Mill",
    ]
    assert "does not open the key of Bea Mill" in face.said[0]
    assert run.session.run.n == before


def test_one_s_own_work_is_not_signed_though_there_is_a_reason(run):
    drilled(run)
    before = run.session.run.n
    face = run.drive(act(run.work), "1", "-")
    assert "Let another person sign" in face.said[0]
    assert [one.person for one in face.asked] == [None, None]
    assert run.session.run.n == before


@pytest.mark.parametrize(
    ("number", "answers", "kind"),
    [
        ("1", ["2"], "skip"),
        ("2", ["1", "bent"], "put"),
        ("3", ["1 2", "4"], "put"),
        ("6", ["2", "1"], "ask"),
        ("8", ["called away"], "stop"),
        ("9", ["late one"], "add"),
    ],
)
def test_a_deviation_asks_for_parts_and_a_reason(run, number, answers, kind):
    run.drive(notes.write_down(run.work), "4", number, *answers)
    assert run.kinds()[-1] == kind


def test_a_part_is_set_aside_returned_and_sent_back(alone):
    run = alone
    run.drive(act(run.work))
    run.drive(deviation(run.work), "2", "1")
    assert run.session.run.markers["a"].status is Status.ASIDE
    run.drive(deviation(run.work), "4", "1")
    assert run.session.run.markers["a"].status is Status.PLAY
    face = run.drive(deviation(run.work), "5", "1", "1")
    assert numbers(face.asked[1]) == {1: "step 1: Wipe the part clean."}
    assert [one.data.to for one in run.session.entries if one.kind == "put"] == [
        "aside",
        "play",
        "wipe",
    ]


def test_a_late_entry_wants_a_dwell_in_hand_and_a_length_of_time(run):
    assert run.drive(deviation(run.work), "7").said == [
        "Late entry is for a load going in or coming out: + takes that in hand."
    ]
    to_soak(run)
    face = run.drive(deviation(run.work), "7", "soon", "2 min", "1")
    assert face.asked[2].typed == "soon"
    assert run.kinds()[-1] == "in"


def test_a_stopped_run_is_resumed(run):
    run.drive(deviation(run.work), "8", "1")
    run.drive(act(run.work))
    assert run.kinds()[-2:] == ["stop", "resume"]


def test_a_correction_keeps_both_and_the_last_entry_is_undone(run):
    run.drive(act(run.work))
    run.drive(act(run.work), "9.5")
    face = run.drive(notes.write_down(run.work), "5", "1", "9.6", "2")
    assert face.asked[2].title == "The right value"
    assert numbers(face.asked[3])[2] == "read off wrongly"
    assert run.last("correct").given.typed == "9.6"
    run.drive(act(run.work), "9.7")
    run.drive(notes.write_down(run.work), "6", "1")
    assert run.kinds()[-1] == "retract"


def test_notes_lessons_and_photos_are_kept(run, tmp_path):
    run.drive(notes.write_down(run.work), "1", "the rag was oily")
    run.drive(notes.write_down(run.work), "3", "use a clean rag")
    picture = tmp_path / "bore.png"
    picture.write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(100))
    missing = str(tmp_path / "none.png")
    face = run.drive(notes.write_down(run.work), "2", "2", missing, str(picture), "")
    assert face.asked[3].typed == missing
    assert isinstance(face.asked[4], Confirm)
    assert run.kinds()[-3:] == ["note", "lesson", "photo"]


def test_another_person_goes_on_and_the_run_is_left(run):
    run.drive(notes.write_down(run.work), "7", "2")
    run.drive(act(run.work))
    assert run.session.entries[-1].by == "bea-mill"
    assert run.drive(notes.write_down(run.work), "9").opened == ["board"]


def test_chosen_parts_alone_take_up_what_is_in_hand(run):
    face = run.drive(lookups.choose_parts(run.work), "7", "2")
    assert face.said == ["There is no part 7 here."]
    assert isinstance(face.asked[0], PartsChoice)
    assert run.work.parts == ("b",)
    run.drive(act(run.work))
    assert run.last("do").parts == ("b",)


def test_what_is_too_early_is_taken_in_hand_by_walking_to_it_and_asked_about(run):
    to_soak(run)
    run.drive(act(run.work))
    assert run.work.now.offer.deed is Deed.TEND
    assert run.work.walk(1) == ""
    assert run.work.now.offer.deed is Deed.LIFT
    run.drive(act(run.work))
    assert numbers(run.drive(act(run.work), "-").asked[0]) == {1: "Put in again"}


def test_what_the_procedure_does_not_let_follow_is_a_deviation_with_its_reason(run):
    to_soak(run)
    run.drive(act(run.work))
    run.work.walk(1)
    run.drive(act(run.work))
    assert run.work.now.offer.deed is Deed.ANSWER
    face = run.drive(deviation(run.work), "1", "tried on purpose")
    assert numbers(face.asked[0])[1] == "Go on anyway"
    answered = run.last("answer")
    assert (answered.code, answered.reason) == ("go on", "tried on purpose")
    assert run.session.run.markers["a"].questions == ()


def test_the_run_is_closed_with_one_reason_for_all_or_one_for_each(run):
    run.drive(deviation(run.work), "2", "*", "bent")
    face = run.drive(act(run.work), "2", "no spare", "-")
    assert [one.title for one in face.asked] == ["Close the run", "A reason", "A reason"]
    face = run.drive(act(run.work), "1", "no spares", "1", WORD)
    assert isinstance(face.asked[-1], SignaturePrompt)
    assert run.last("close").reasons == {"a": "no spares", "b": "no spares"}
