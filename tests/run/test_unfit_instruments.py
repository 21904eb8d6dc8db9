"""An instrument that is not fit for a reading asks for a reason, and the log says why."""

from dataclasses import replace

from benchrun.moment import Moment
from benchrun.procedure.load import load_bytes
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Hand, Refusal, Want
from benchrun.run.course import Course
from benchrun.run.decide import decide
from benchrun.run.fold import fold
from benchrun.run.replay import command_of
from benchrun.run.state import Run

PROCEDURE = b"""\
procedure: one-bore
title: One bore
revision: 1
status: draft
scope: One part.
batch: {part: bracket}
stages:
  - stage: All
    steps:
      - reading: Measure the bore.
        id: bore
        unit: mm
        low: 9 mm
        high: 10 mm
        outside: [set aside]
"""
AT = Moment(1_000_000, 5_000, "boot", True)
ANN = Hand("ann", "Ann")
LATE = e.Tool("bore-1", "0.002", "bore gauge 1", ("is past its calibration date, 2026-03-01",))


CALIBRATED = PROCEDURE.replace(
    b"stages:",
    b"needs: {instruments: [{instrument: bore gauge, calibrated: yes}]}\nstages:",
).replace(b"unit: mm", b"unit: mm\n        instrument: bore gauge")


def begun(page=PROCEDURE, **about):
    run = Run(Course(load_bytes(page, "bore.yaml").route))
    data = decide(run, c.Open((e.PartSpec("a"),), about), AT, ANN)
    return fold(run, e.Entry(0, AT, "ann", data))


def test_a_reading_with_an_instrument_past_its_date_needs_a_reason():
    reply = decide(begun(), c.Do("bore", ("a",), 0, typed="9.5", tool=LATE), AT, ANN)
    assert isinstance(reply, Refusal)
    assert reply.want is Want.REASON
    assert "bore-1 is past its calibration date" in reply.text


def test_with_a_reason_it_is_taken_and_the_entry_says_both():
    command = c.Do("bore", ("a",), 0, typed="9.5", tool=LATE, reason="the other one is away")
    data = decide(begun(), command, AT, ANN)
    assert isinstance(data, e.Did)
    assert data.tool == LATE
    assert data.reason == "the other one is away"
    again = e.read_data("do", e.data_of(data))
    assert decide(begun(), command_of(1, again), AT, ANN) == again == data


def test_a_fit_instrument_needs_none():
    fit = e.Tool("bore-2", "0.002", "bore gauge 2")
    data = decide(begun(), c.Do("bore", ("a",), 0, typed="9.5", tool=fit), AT, ANN)
    assert isinstance(data, e.Did)
    assert not data.reason


def test_a_reading_that_wants_a_calibrated_instrument_says_that_it_had_none():
    lacking = "no calibrated instrument of the shop was named"
    for tool, flags in (
        (None, (lacking,)),
        (e.Tool("bore gauge", "0.002"), (lacking,)),
        (e.Tool("bore-2", "0.002", "bore gauge 2", calibrated="2026-01-02"), ()),
    ):
        command = c.Do("bore", ("a",), 0, typed="9.5", tool=tool)
        assert decide(begun(CALIBRATED), command, AT, ANN).flags == flags
        assert decide(begun(), command, AT, ANN).flags == ()
        older = replace(begun(CALIBRATED), format=3)
        assert decide(older, command, AT, ANN).flags == ()


def test_a_shop_that_lists_no_instrument_is_not_told_so_at_each_reading():
    command = c.Do("bore", ("a",), 0, typed="9.5", tool=e.Tool("bore gauge", "0.002"))
    unkept = begun(CALIBRATED, format=5, not_kept=["instruments", "supplies"])
    assert decide(unkept, command, AT, ANN).flags == ()
    # Where the book lists some, or in a log of the number before, each reading says so.
    for about in ({"not_kept": ["supplies"]}, {"format": 4, "not_kept": ["instruments"]}):
        flags = decide(begun(CALIBRATED, **about), command, AT, ANN).flags
        assert flags == ("no calibrated instrument of the shop was named",)
    # An instrument that is named and not fit asks for its reason as ever.
    late = replace(command, tool=LATE)
    assert decide(unkept, late, AT, ANN).want is Want.REASON
