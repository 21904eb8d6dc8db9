"""Times that a table decides: dwell by bath temperature, and the bake after plating."""

import re
from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.quantity import read
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input, split
from benchrun.shopmath.refusals import between
from benchrun.shopmath.tables import table_rows as rows_of

Row = tuple[Decimal, Decimal, Decimal]
_ROW: Final = re.compile(r"(.+?)\s*:\s*(.+?)\s*(?:-|–|\bto\b|\.\.)\s*(.+)")


def rows_from(text: str) -> tuple[Row, ...]:
    """Read a typed table: `15 C: 20-40 min; 20 C: 15-30`, or bare `15 20 40; 20 15 30`.

    Returns:
        Rows of temperature in °C, least and most in minutes.

    Raises:
        BenchrunError: A row is not of that form.
    """
    parts = (part.strip() for part in re.split(r"[;\n]", text))
    rows_read = []
    for temperature, least, most in map(_row_texts, filter(None, parts)):
        times = read(least, "min").to("min"), read(most, "min").to("min")
        rows_read.append((read(temperature, "degC").to("degC"), *times))
    return tuple(rows_read)


def _row_texts(part: str) -> tuple[str, str, str]:
    """Temperature, least and most of a typed row; a unit after the most alone is of both."""
    match = _ROW.fullmatch(part)
    if match is None:
        numbers = split(part.replace(":", " "))
        if len(numbers) != 3:
            raise BenchrunError(f"{part[:40]!r} is not a row such as 20 C: 15-30 min")
        return numbers[0], numbers[1], numbers[2]
    least, most = match[2], match[3]
    unit = re.search(r"[a-z]+\s*$", most)
    if unit and not re.search(r"[a-z]", least):
        least += f" {unit[0]}"
    return match[1], least, most


def interpolated(rows: Sequence[Row], temperature: Decimal) -> tuple[Decimal, Decimal]:
    """Least and most time at a temperature, in a straight line between the table's rows.

    Args:
        rows: Temperature, least and most time of each row; temperatures must differ.
        temperature: In the rows' unit.

    Raises:
        BenchrunError: The temperature is outside the rows, or the table is none.
    """
    ordered = sorted(rows)
    temperatures = [row[0] for row in ordered]
    if not ordered or len(set(temperatures)) < len(ordered):
        raise BenchrunError("the table needs rows, each with its own temperature")
    for row in ordered:
        if not 0 <= row[1] <= row[2]:
            raise BenchrunError(
                f"the row at {said(row[0], 'degC')} has least {said(row[1], 'min')} and most "
                f"{said(row[2], 'min')}"
            )
    if not temperatures[0] <= temperature <= temperatures[-1]:
        raise BenchrunError(
            f"temperature {said(temperature, 'degC')} is outside the table, "
            f"{said(temperatures[0], 'degC')} to {said(temperatures[-1], 'degC')}: bring the bath "
            "inside it"
        )
    for low, high in pairwise(ordered):
        if low[0] <= temperature <= high[0]:
            share = (temperature - low[0]) / (high[0] - low[0])
            return low[1] + share * (high[1] - low[1]), low[2] + share * (high[2] - low[2])
    return ordered[0][1], ordered[0][2]


def bath_dwell(table: str | Sequence[Row], temperature: Decimal) -> Result:
    """How long at this bath temperature: in a straight line between a table's rows.

    Args:
        table: `15 C: 20-40 min; 20 C: 15-30; 25 C: 10-20`, or rows of °C, least and most minutes.
        temperature: Bath temperature, °C.

    Returns:
        least and most in min.

    Raises:
        BenchrunError: The temperature is outside the table: nothing is guessed there.
    """
    rows = rows_from(table) if isinstance(table, str) else tuple(table)
    least, most = interpolated(rows, temperature)
    return Result(
        {"least": Amount(least, "min"), "most": Amount(most, "min")},
        (f"at {said(temperature, 'degC')}: {said(least, 'min')} to {said(most, 'min')}",),
    )


def relief_bake(tensile: Decimal, hours: Decimal = Decimal(0), surface: str = "through") -> Result:
    """Bake after plating or pickling against hydrogen embrittlement, by ASTM B850.

    Args:
        tensile: Tensile strength of the steel, MPa.
        hours: Hours since it left the plating bath.
        surface: `through` (hard or tough all through) or `hardened` (a hard skin, case-hardened).

    Returns:
        temperature and temperature_max in °C, hours of baking, start_within hours (minus is late)
        and late (`yes` or `no`); up to 1,000 MPa hours 0: no bake by this table.

    Raises:
        BenchrunError: The strength is outside the table.
    """
    between("hours", hours, "h", 0, 10000, "time since plating is not less than nothing")
    between("tensile", tensile, "MPa", 200, 1800, "the table and common steels are from")
    left = 4 - hours
    row = next(
        (
            row
            for row in rows_of("relief_bake")
            if Decimal(row["over_MPa"]) < tensile <= Decimal(row["incl_MPa"])
        ),
        None,
    )
    if row is None and surface != "hardened":
        return Result(
            {"hours": Amount(Decimal(0), "h"), "late": Amount("no")},
            notes=("up to 1000 MPa this table asks for no bake; the drawing may",),
        )
    low, high, bake = (130, 160, 8) if row is None or surface == "hardened" else (
        int(row["least_degC"]), int(row["most_degC"]), int(row["hours"])
    )  # fmt: skip
    notes = [
        "below the part's tempering temperature, or it goes soft; before any passivation",
        "baking does not guarantee that the part is free of embrittlement: the standard says so",
    ]
    if surface == "hardened":
        notes.append("130 to 160 °C for a hard skin is from memory: ask the plater")
    if left < 0:
        notes.insert(0, f"late by {said(-left, 'h')}: outside the specification, refuse the load; "
                        "no bake heals a part that has cracked")  # fmt: skip
    outputs = {
        "temperature": Amount(Decimal(low), "degC"),
        "temperature_max": Amount(Decimal(high), "degC"),
        "hours": Amount(Decimal(bake), "h"),
        "start_within": Amount(left, "h"),
        "late": Amount("yes" if left < 0 else "no"),
    }
    working = f"{said(tensile, 'MPa')}: {bake} h at {low} to {high} °C, {said(left, 'h')} to start"
    return Result(outputs, (working,), tuple(notes))


BATH_DWELL: Final = Calc(
    "bath_dwell",
    "how long in a bath at its temperature, by a table",
    (
        Input("table", "15 C: 20-40 min; 20 C: 15-30; 25 C: 10-20", kind="text", needed=True),
        Input("temperature", "bath temperature", "degC", needed=True),
    ),
    (Output("least", "min", "least time"), Output("most", "min", "most time")),
    bath_dwell,
    {"table": "15 C: 20-40 min; 20 C: 15-30 min; 25 C: 10-20 min", "temperature": "22 C"},
    cautions=("Acid burns: shield, gauntlets, apron; the product's sheet goes before the table.",),
    sources=("straight line between the rows of the table given",),
)
RELIEF_BAKE: Final = Calc(
    "relief_bake",
    "the bake that hard steel needs after plating or pickling",
    (
        Input("tensile", "tensile strength", "MPa", needed=True),
        Input("hours", "since it left the bath", "h", default="0"),
        Input("surface", "hard through, or a hardened skin", kind="text", default="through",
              choices=("through", "hardened")),
    ),
    (
        Output("temperature", "degC", "least"),
        Output("temperature_max", "degC", "most"),
        Output("hours", "h", "at temperature"),
        Output("start_within", "h", "left to start; minus is late"),
        Output("late", "", "yes or no"),
    ),
    relief_bake,
    {"tensile": "1250 MPa", "hours": "1 h"},
    cautions=(
        "A part made brittle by hydrogen breaks later, under load, without warning: springs, "
        "high-strength bolts and steering parts are better not plated or pickled at all.",
    ),
    sources=(
        "ASTM B850-98(2009), table of bakes as a plater's chart copies it",
        "start within 4 h of plating: from memory of ASTM B850",
    ),
)  # fmt: skip
