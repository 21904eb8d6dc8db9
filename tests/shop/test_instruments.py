"""Instruments: what they may be used for, and what a reading keeps of them."""

import datetime as dt
from decimal import Decimal

import pytest

from benchrun.errors import BenchrunError
from benchrun.procedure.load import load_bytes
from benchrun.procedure.route import Instrument as Need
from benchrun.procedure.route import Reading
from benchrun.run.entries import Did, PartSpec, Tool
from benchrun.session import begin
from benchrun.shop.books import read_books
from benchrun.shop.instruments import below_a_tenth, misgivings, read_instruments
from benchrun.shop_use.instruments import instruments_for, limits_for, need_of, tool_for

FILE = """\
instruments:
  - id: mike
    name: outside micrometer
    also: [micrometer 50 to 75]
    range: 50 to 75 mm
    resolution: 0.001 mm
    uncertainty: 3 um
    calibrated: 2025-06-01
    until: 2026-06-01
    by: an invented laboratory, certificate 12
  - {id: rule, name: steel rule, range: 0 to 300 mm, resolution: 0.5 mm}
  - {id: wrench, name: torque wrench, range: 20 to 200 N m, uncertainty: 4 %, until: 2026-02-01}
  - {id: probe, name: surface thermometer, range: -20 degC to 120 degC, resolution: 0.1 degC,
     uncertainty: 0.5 degC}
  - {id: hygro, name: hygrometer, range: 10 to 95 %, uncertainty: 3 %}
  - {id: old, name: old micrometer, range: 50 to 75 mm, out of use: dropped}
"""
DAY = dt.date(2026, 3, 10)


@pytest.fixture
def tools(shop, write):
    write("instruments.yaml", FILE)
    sheet = read_instruments(shop)
    assert sheet.faults == ()
    return sheet


def test_a_fit_instrument_has_no_misgivings(tools):
    mike = tools.named("mike")
    assert (
        misgivings(mike, DAY, "mm", value=Decimal("61.99"), low=Decimal(61), high=Decimal(63)) == ()
    )


@pytest.mark.parametrize(
    ("name", "unit", "given", "says"),
    [
        ("wrench", "N m", {}, "is past its calibration date, 2026-02-01"),
        ("rule", "mm", {"calibrated": True}, "has no calibration date"),
        ("mike", "mm", {"value": "49.9"}, "measures 50 to 75 mm; 49.9 mm is outside that"),
        ("mike", "in", {"value": "3"}, "3 in is outside that"),
        (
            "rule",
            "mm",
            {"resolution": "0.1"},
            "shows steps of 0.5 mm; the procedure asks for 0.1 mm",
        ),
        ("rule", "mm", {"low": "10", "high": "11"}, "less than 4 times its steps, 0.5 mm"),
        ("mike", "mm", {"low": "61.990", "high": "62.001"}, "less than 4 times its uncertainty"),
        ("old", "mm", {}, "is out of use: dropped"),
        ("wrench", "ft lb", {"low": "99", "high": "101"}, "less than 4 times its uncertainty"),
    ],
)
def test_each_misgiving_is_told_in_words(tools, name, unit, given, says):
    numbers = {k: Decimal(v) if isinstance(v, str) else v for k, v in given.items()}
    found = misgivings(tools.named(name), DAY, unit, **numbers)
    assert any(says in one for one in found), found


def test_at_the_edges_there_is_no_misgiving(tools):
    mike = tools.named("mike")
    assert misgivings(mike, dt.date(2026, 6, 1), "mm") == ()
    assert misgivings(mike, dt.date(2026, 6, 2), "mm") != ()
    assert misgivings(mike, DAY, "mm", value=Decimal(75)) == ()
    four = {"low": Decimal("61.990"), "high": Decimal("62.002")}  # 12 um is 4 times 3 um
    assert misgivings(mike, DAY, "mm", **four) == ()
    assert below_a_tenth(mike, "mm", four["low"], four["high"])
    assert misgivings(mike, DAY, "mm", **four, least_ratio=5) != ()
    assert not below_a_tenth(mike, "mm", Decimal("61.990"), Decimal("62.020"))


def test_a_calibration_that_is_still_to_come_is_told(shop, write):
    write(
        "instruments.yaml",
        "instruments:\n  - {id: a, name: a, range: 0 to 1 mm, calibrated: 2027-01-01}\n",
    )
    assert "still to come" in read_instruments(shop).named("a").state(DAY)


def test_an_end_before_the_calibration_is_a_fault(shop, write):
    write(
        "instruments.yaml",
        "instruments:\n  - {id: a, name: a, range: 0 to 1 mm, calibrated: 2027-01-01,\n"
        "     until: 2026-01-01}\n",
    )
    assert "is before 2027-01-01" in read_instruments(shop).faults[0].words


def test_an_instrument_of_another_kind_cannot_give_a_reading(tools):
    with pytest.raises(BenchrunError, match="torque wrench measures in N m"):
        misgivings(tools.named("wrench"), DAY, "mm")


def test_uncertainty_is_in_the_unit_of_the_reading(tools):
    assert tools.named("mike").uncertainty_at(Decimal(1), "in") * Decimal("25.4") == Decimal(
        "0.003"
    )
    assert tools.named("probe").uncertainty_at(Decimal(20), "degF") == Decimal("0.9")
    assert tools.named("wrench").uncertainty_at(Decimal(100), "N m") == 4
    assert tools.named("hygro").uncertainty_at(Decimal(50), "%") == 3  # points, not a share
    assert tools.named("rule").uncertainty_at(Decimal(50), "mm") is None


def test_the_tool_of_a_reading_says_all_that_the_log_needs(shop, tools, clock):
    reading = Reading("bore", "mm", instrument="micrometer 50 to 75")
    fitted = tool_for(read_books(shop), "mike", reading, clock.now(), typed="61.99")
    assert fitted.misgivings == ()
    assert fitted.question == ""
    assert fitted.tool == Tool(
        "mike",
        "0.003",
        "outside micrometer; range 50 to 75 mm; resolution 0.001 mm; expanded uncertainty "
        "0.003 mm; calibrated 2025-06-01; good until 2026-06-01; by an invented laboratory, "
        "certificate 12",
        calibrated="2025-06-01",
        until="2026-06-01",
        resolution="0.001",
    )


@pytest.mark.parametrize(
    ("name", "reading", "asked", "typed", "doubt"),
    [
        ("rule", Reading("gap", "mm"), "0.2 mm", "50", "0.2"),
        ("rule", Reading("gap", "in"), "254 um", "1", "0.01"),
        ("rule", Reading("gap", "mm"), "2 %", "50", "1"),
        ("mike", Reading("bore", "mm"), "0.2 mm", "60", "0.003"),
        ("rule", Reading("gap", "mm"), "", "50", ""),
    ],
)
def test_a_row_without_an_uncertainty_takes_the_one_that_the_procedure_counts_with(
    shop, tools, clock, name, reading, asked, typed, doubt
):
    need = Need("steel rule", uncertainty=asked)
    fitted = tool_for(read_books(shop), name, reading, clock.now(), typed=typed, need=need)
    assert fitted.tool.uncertainty == doubt
    taken = bool(asked) and name == "rule"
    assert fitted.tool.about.endswith(f"{asked} by the procedure") == taken


def test_a_wrench_past_its_date_asks_and_the_tool_says_so(shop, tools, clock):
    reading = Reading("turning", "N m")
    fitted = tool_for(read_books(shop), "wrench", reading, clock.now(), typed="45 ft lb")
    assert Decimal(fitted.tool.uncertainty) == Decimal(45) * Decimal("1.3558179483314004") * 4 / 100
    assert fitted.question.startswith("wrench is past its calibration date, 2026-02-01. Use it")
    assert fitted.tool.misgivings == ("is past its calibration date, 2026-02-01",)


def test_text_that_is_no_reading_is_left_to_the_rules(shop, tools, clock):
    reading = Reading("turning", "N m")
    assert (
        tool_for(read_books(shop), "wrench", reading, clock.now(), typed="x").tool.uncertainty == ""
    )


def test_an_unknown_instrument_is_refused_with_those_that_are_known(shop, tools, clock):
    with pytest.raises(BenchrunError, match="no instrument 'mic': known are mike, rule"):
        tool_for(read_books(shop), "mic", Reading("bore", "mm"), clock.now())


def test_the_last_one_used_is_offered_first_then_the_one_that_is_asked_for(tools):
    reading = Reading("bore", "mm", instrument="Outside Micrometer")
    assert [one.id for one in instruments_for(tools.rows, reading)] == ["mike", "rule"]
    assert [one.id for one in instruments_for(tools.rows, reading, "rule")] == ["rule", "mike"]


PROCEDURE = b"""\
procedure: seat
title: Measure a seat
revision: 1
status: draft
use: step by step
scope: One seat.
changes: {1: First.}
sources: {s: "common practice, no source"}
needs:
  instruments:
    - {instrument: outside micrometer, resolution: 0.001 mm, calibrated: yes}
batch: {part: shaft}
stages:
  - stage: Measure
    steps:
      - reading: Measure the shaft.
        id: shaft
        unit: mm
        low: 61.98 mm
        high: 62.02 mm
        outside: [set aside]
        source: s
        instrument: outside micrometer
"""


def test_the_log_keeps_the_instrument_of_the_day_whatever_the_file_says_later(
    shop, tools, person, clock, write
):
    from benchrun.run.commands import Do
    from benchrun.session import Kept

    procedure = load_bytes(PROCEDURE, "seat.yaml")
    session = begin(shop, procedure, [PartSpec("a")], person, clock)
    reading = procedure.route.steps["shaft"].detail
    limits = limits_for(session.run, "a", reading)
    assert limits == (Decimal("61.98"), Decimal("62.02"))
    need = need_of(procedure, reading)
    assert need == Need("outside micrometer", "", "", "0.001 mm", True, "")
    fitted = tool_for(
        read_books(shop),
        "mike",
        reading,
        session.now(),
        typed="62.019",
        limits=limits,
        need=need,
    )
    assert (fitted.misgivings, fitted.hints) == ((), ())
    reply = session.send(
        Do("shaft", ("a",), session.run.n - 1, typed="62.019", tool=fitted.tool)
    ).result()
    assert isinstance(reply, Kept)
    entry = reply.entries[0].data
    assert isinstance(entry, Did)
    assert entry.each["a"].verdict == "in doubt"  # 62.019 + 0.003 is beyond 62.02
    session.leave()
    write("instruments.yaml", "instruments: []\n")
    (kept,) = [line.data for line in session.folder.read().lines if line.kind == "do"]
    assert kept["tool"] == {
        "name": "mike",
        "uncertainty": "0.003",
        "about": fitted.tool.about,
        "calibrated": "2025-06-01",
        "until": "2026-06-01",
        "resolution": "0.001",
    }
    assert "certificate 12" in kept["tool"]["about"]


def test_a_tool_without_a_range_needs_none_invented(shop, write):
    write(
        "instruments.yaml",
        "instruments:\n  - {id: lamp, name: lamp}\n"
        "  - {id: feelers, name: feelers, resolution: 0.05 mm, until: 2026-02-01}\n",
    )
    sheet = read_instruments(shop)
    assert not sheet.faults
    lamp, feelers = sheet.rows
    assert (lamp.range_words, lamp.unit, lamp.about()) == (
        "",
        "",
        "lamp; expanded uncertainty unknown; calibrated never, as far as is known",
    )
    assert feelers.measures("µm")
    assert not feelers.measures("N m")
    told = misgivings(feelers, DAY, "mm", value=Decimal(900))
    assert told == ("is past its calibration date, 2026-02-01",)
