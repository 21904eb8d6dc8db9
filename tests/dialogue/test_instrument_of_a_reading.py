"""Which instrument a reading names: one that fits is taken, of several it is asked once."""

import pytest
from scripted_face import ScriptedRun

from benchrun.dialogue.acts import act
from benchrun.dialogue.prompts import Choose
from benchrun.dialogue.run_prompts import ReadingPrompt

JOB = """\
procedure: seat-look
title: Seats
revision: 1
status: draft
scope: Some seats. Invented.
batch: {part: seat, at most: 12}
needs: {instruments: [{instrument: bore gauge, measures: seats}]}
stages:
  - stage: All
    steps:
      - reading: Measure the seat.
        id: seat
        unit: mm
        low: 61.949 mm
        high: 61.979 mm
        outside: [set aside]
        instrument: bore gauge
        source: memory, an invented part
"""
FIT = "  - {id: %s, name: bore gauge, range: %s, uncertainty: 0.002 mm, calibrated: 2026-01-09}\n"


@pytest.fixture
def seats(tmp_path):
    def made(*gauges):
        path = tmp_path / "seats.yaml"
        path.write_text(JOB)
        run = ScriptedRun(tmp_path, path, ["a", "b"])
        rows = "".join(FIT % gauge for gauge in gauges)
        text = f"instruments:\n{rows}" if rows else "instruments: []\n"
        (run.shop.path / "instruments.yaml").write_text(text)
        return run

    return made


def tools(run):
    return [entry.data.tool for entry in run.session.entries if entry.kind == "do"]


def test_the_only_one_that_fits_is_taken_and_told(seats):
    run = seats(("gauge-1", "50 to 160 mm"))
    face = run.drive(act(run.work), "61.96")
    (prompt,) = face.asked
    assert isinstance(prompt, ReadingPrompt)
    assert prompt.tool.name == "gauge-1"
    (tool,) = tools(run)
    assert (tool.name, tool.calibrated, tool.uncertainty) == ("gauge-1", "2026-01-09", "0.002")


def test_one_whose_range_does_not_reach_is_no_rival(seats):
    run = seats(("small", "18 to 60 mm"), ("gauge-1", "50 to 160 mm"))
    face = run.drive(act(run.work), "61.96")
    assert not [one for one in face.asked if isinstance(one, Choose)]
    assert [tool.name for tool in tools(run)] == ["gauge-1"]


def test_of_several_it_is_asked_once_and_kept_for_the_step(seats):
    run = seats(("gauge-1", "50 to 160 mm"), ("gauge-2", "50 to 100 mm"))
    face = run.drive(act(run.work), "61.96", "2")
    asked = [one for one in face.asked if isinstance(one, Choose)]
    assert [option.words for option in asked[0].options] == ["gauge-1", "gauge-2"]
    face = run.drive(act(run.work), "61.97")
    assert not [one for one in face.asked if isinstance(one, Choose)]
    assert [tool.name for tool in tools(run)] == ["gauge-2", "gauge-2"]


def test_nothing_is_recorded_while_nobody_says_which_it_was(seats):
    run = seats(("gauge-1", "50 to 160 mm"), ("gauge-2", "50 to 100 mm"))
    run.drive(act(run.work), "61.96", "-")
    assert tools(run) == []


def test_where_the_book_has_none_the_log_says_that_none_is_known(seats):
    run = seats()
    run.drive(act(run.work), "61.96")
    (tool,) = tools(run)
    assert (tool.name, tool.calibrated) == ("bore gauge", "")


def test_a_shop_that_lists_no_instrument_is_not_told_so_at_each_reading(tmp_path):
    calibrated = JOB.replace("measures: seats", "measures: seats, calibrated: yes")
    path = tmp_path / "seats.yaml"
    path.write_text(calibrated)
    bare = ScriptedRun(tmp_path / "bare", path, ["a"])
    (prompt,) = bare.drive(act(bare.work), "61.96").asked
    assert prompt.bookless
    assert not prompt.lacks_calibration
