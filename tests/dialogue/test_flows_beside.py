"""What is asked beside the acts: sums, supplies, instruments, a new run, who works, leaving."""

import pytest
from scripted_face import ScriptedRun, numbers

from benchrun.alarms.calls import CallingRun
from benchrun.dialogue import lookups
from benchrun.dialogue.acts import act
from benchrun.dialogue.leaving import leave
from benchrun.dialogue.new_run import NewRun
from benchrun.dialogue.page_prompt import PagePrompt
from benchrun.dialogue.prompts import Check, Choose, Form, Text
from benchrun.procedure.load import load

MINUTE = 60_000
PROCEDURE = """\
procedure: oil-and-measure
title: Oil and measure
revision: 1
scope: Invented.
batch: {part: lever, at most: 4, identity: the cast number}
needs:
  before start: [The bench is clear.]
  supplies: [oil]
  instruments:
    - {instrument: bore gauge, measures: bore, range: 50 to 160 mm, resolution: 0.001 mm}
vessels: {tub: {title: tub, holds: 2}}
stages:
  - stage: All
    steps:
      - do: Oil the bore.
        id: oil
        uses: {supply: oil, amount: 5 ml}
      - reading: Measure the bore.
        id: bore
        unit: mm
        instrument: bore gauge
      - dwell: Soak the part.
        id: soak
        in: tub
        least: 10 min
        most: 20 min
"""
SUPPLIES = """\
supplies:
  - {id: can-1, name: oil, amount: 0.5 l}
  - {id: can-2, name: oil, amount: 1 l}
"""
INSTRUMENTS = """\
instruments:
  - {id: gauge-1, name: bore gauge, range: 50 to 160 mm, resolution: 0.001 mm, until: 2027-11-01}
  - {id: gauge-2, name: bore gauge, range: 50 to 160 mm, resolution: 0.001 mm, until: 2027-11-01}
"""


@pytest.fixture
def oiled(tmp_path):
    """A run at its first step, in a shop with two cans and two gauges."""
    path = tmp_path / "oil.yaml"
    path.write_text(PROCEDURE)
    run = ScriptedRun(tmp_path, path, ["lever"])
    (run.shop.path / "supplies.yaml").write_text(SUPPLIES)
    (run.shop.path / "instruments.yaml").write_text(INSTRUMENTS)
    return run


def test_a_sum_asks_again_for_what_it_lacks_and_its_answer_is_kept_as_a_note(oiled):
    # The first sum on the first page: limits of a fit class.
    face = oiled.drive(lookups.sums(oiled.work), "1", "", "60\nH7", "", "1")
    assert [type(one) for one in face.asked] == [Choose, Form, Form, PagePrompt, Choose]
    assert face.said, "it is told what it lacks"
    assert face.asked[2].blanks[0].label == "size"
    # ISO 286-1:2010 table 1: IT7 over 50 up to 80 mm is 30 micrometres.
    assert "0.03" in oiled.last("note").text


def test_another_container_is_taken_in_hand_and_named_by_the_entry(oiled):
    face = oiled.drive(lookups.look_up(oiled.work), "6", "4", "2")
    assert numbers(face.asked[1])[4] == "Another container: oil"
    assert numbers(face.asked[2]) == {1: "can-1, 500 ml left", 2: "can-2, 1 l left"}
    oiled.drive(act(oiled.work))
    assert [use.name for use in oiled.last("do").uses] == ["can-2"]


def test_another_instrument_is_taken_in_hand_and_named_by_the_entry(oiled):
    oiled.drive(act(oiled.work))
    face = oiled.drive(act(oiled.work), "*", "2", "60.001")
    assert numbers(face.asked[1]) == {1: "gauge-1", 2: "gauge-2"}
    assert oiled.last("do").tool.name == "gauge-2"


def test_where_a_run_stands_tells_its_clocks_and_its_last_entries(oiled):
    face = oiled.drive(lookups.look_up(oiled.work), "5", "")
    words = [row.text for row in face.asked[-1].rows()]
    assert "No clock is running." in words


def new_run(oiled, tmp_path):
    return NewRun(oiled.shop, load(tmp_path / "oil.yaml"), oiled.clock.now, None)


def test_a_new_run_asks_what_must_be_true_the_batch_its_numbers_and_who_begins(oiled, tmp_path):
    new = new_run(oiled, tmp_path)
    face = oiled.drive(new.ask(), "", "2", "", "5", "left, right", "C 1\nC 2")
    kinds = [type(one) for one in face.asked]
    assert kinds == [PagePrompt, Choose, Check, Text, Text, Form]
    assert face.said == ["5 parts: this procedure takes 1 to 4"]
    assert [(part.part, part.identity) for part in new.parts] == [("left", "C 1"), ("right", "C 2")]
    assert new.person is not None
    assert new.person.name == "Bea Mill"
    last = [row.text for row in face.asked[0].rows()][-1]
    assert last == "The bench is clear."
    (checked,) = new.readied.conditions
    assert (checked.says, checked.who) == ("The bench is clear.", "bea-mill")
    assert checked.utc.startswith("2026-11-25T14:0")


def test_a_condition_that_is_not_so_stops_the_begin_and_going_back_asks_the_one_before(
    oiled, tmp_path
):
    page = (
        (tmp_path / "oil.yaml")
        .read_text()
        .replace("[The bench is clear.]", "[The bench is clear., The fan runs.]")
    )
    (tmp_path / "oil.yaml").write_text(page)
    new = new_run(oiled, tmp_path)
    face = oiled.drive(new.ask(), "", "2", "", "0")
    assert face.said == ["Not begun. Not so: The fan runs. Put it right, then begin again."]
    assert not new.readied.conditions
    assert not new.parts
    face = oiled.drive(new.ask(), "", "", "-", "", "", "-")
    asked = [(one.says, one.place) for one in face.asked if isinstance(one, Check)]
    first, second = ("The bench is clear.", "1 of 2"), ("The fan runs.", "2 of 2")
    assert asked == [first, second, first, second]
    assert len(new.readied.conditions) == 2


def test_a_new_run_that_is_left_at_any_question_has_nobody_or_no_parts(oiled, tmp_path):
    for answers in (["-"], ["", "-"], ["", "2", "-"], ["", "2", "", "-"], ["", "2", "", "1", "-"]):
        new = new_run(oiled, tmp_path)
        oiled.drive(new.ask(), *answers)
        assert not new.parts or new.person is None


def test_who_works_is_asked_at_the_first_entry_alone_and_no_entry_is_made_without(oiled):
    oiled.session.hand_over(None)
    before = oiled.session.run.n
    assert oiled.drive(act(oiled.work), "-").asked[0].title == "Who works"
    assert oiled.session.run.n == before
    oiled.drive(act(oiled.work), "2")
    assert oiled.session.entries[-1].by == "bea-mill"
    assert [type(one) for one in oiled.drive(act(oiled.work), "-").asked] != [Choose]


def test_leaving_asks_nothing_without_a_clock_and_names_each_clock_with_one(oiled):
    def leaving():
        session = oiled.session
        run = CallingRun(session.folder.run, "Oil and measure", session.run)
        return leave([run], session.now())

    assert not oiled.drive(leaving()).asked
    oiled.drive(act(oiled.work))
    oiled.drive(act(oiled.work), "60.001", "1")
    oiled.drive(act(oiled.work))
    face = oiled.drive(leaving(), "-")
    assert face.asked[0].title == "Leave while 1 clock runs"
    assert any("lever: take out of the tub" in row.text for row in face.asked[0].rows())
