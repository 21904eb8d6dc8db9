"""Hardness of steel in other scales, its tensile strength, and whether a bolt's class has it."""

import itertools
from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.quantity import read
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input, is_bare
from benchrun.shopmath.refusals import between, positive
from benchrun.shopmath.tables import table_rows
from benchrun.shopmath.trig import PI_DECIMAL

SCALES: Final = ("HV", "HB", "HRC", "HRB")
_TABLES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "DIN 50150": "hardness_din50150",
        "ASTM E140": "hardness_e140",
        "Brinell chart": "hardness_brinell",
    }
)
_REFUSED: Final[Mapping[str, str]] = MappingProxyType(
    {
        "austenitic": "it hardens by working and has another curve",
        "cold-worked": "its strength is not in its hardness alone",
        "case-hardened": "the skin is hard and the core is not",
        "cast iron": "graphite takes no part in the strength",
        "non-ferrous": "each metal has a curve of its own",
    }
)
_STEEL: Final = "steel"


def hardness_of(text: str) -> tuple[Decimal, str]:
    """A hardness with its scale: `38 HRC`, `320 HV`, `250 HB`, `95 HRB`.

    Raises:
        BenchrunError: The scale is missing or unknown, or the scale does not reach so far.
    """
    if is_bare(text):
        raise BenchrunError(
            f"{text.strip()[:20]!r} has no scale: type it like 38 HRC, 320 HV, 250 HB or 95 HRB"
        )
    for scale in SCALES:
        try:
            measure = read(text, scale)
        except BenchrunError:
            continue
        value = measure.value
        positive(scale, value, scale)
        if scale == "HRC" and not 20 <= value <= 70:
            raise BenchrunError(f"{said(value, scale)}: the scale is used from 20 to 70")
        if scale == "HRB" and not 20 <= value <= 100:
            raise BenchrunError(f"{said(value, scale)}: the scale is used up to 100")
        return value, scale
    raise BenchrunError(
        f"{text.strip()[:20]!r} is no hardness such as 38 HRC, 320 HV, 250 HB or 95 HRB"
    )


def brinell(dent: Decimal, ball: Decimal, load: Decimal) -> Decimal:
    """Brinell hardness of a dent: 2 F / (π D (D − √(D² − d²))), F in kgf.

    Args:
        dent: Diameter of the dent, mm.
        ball: Diameter of the ball, mm.
        load: Load, kgf.

    Raises:
        BenchrunError: The dent is none of that ball, or too small or large for the method.
    """
    positive("ball", ball, "mm")
    positive("load", load, "kgf")
    if not ball * Decimal("0.24") <= dent <= ball * Decimal("0.6"):
        raise BenchrunError(
            f"a dent of {said(dent, 'mm')} is outside 0.24 to 0.6 of the ball's {said(ball, 'mm')}:"
            " take another load"
        )
    return 2 * load / (PI_DECIMAL * ball * (ball - (ball**2 - dent**2).sqrt()))


def converted(value: Decimal, scale: str, table: str) -> dict[str, Decimal]:
    """The other columns of a table at a hardness, by straight lines between its rows.

    Args:
        value: The hardness.
        scale: HV, HB, HRC or HRB.
        table: `DIN 50150`, `ASTM E140` or `Brinell chart`.

    Returns:
        Column (`HV`, `HB`, `HRB`, `HRC`, `MPa`) to its value, where both rows next to it have one.

    Raises:
        BenchrunError: The table does not reach so far.
    """
    rows = [row for row in table_rows(_TABLES[table]) if row[scale]]
    if not rows:
        raise BenchrunError(f"{table} has no {scale} column: take another table")
    first, last = Decimal(rows[0][scale]), Decimal(rows[-1][scale])
    if not first <= value <= last:
        raise BenchrunError(
            f"{said(value, scale)} is outside {table}, {first} to {last} {scale}: nothing is told "
            "beyond its rows"
        )
    columns = {}
    for column in (*SCALES, "MPa"):
        cells = [(Decimal(row[scale]), Decimal(row[column])) for row in rows if row[column]]
        for (low, start), (high, end) in itertools.pairwise(cells):
            if low <= value <= high:
                columns[column] = start + (value - low) / (high - low) * (end - start)
    return columns


@lean_dataclass(frozen=True, slots=True)
class Hardness:
    """A hardness in other scales, the tensile strength, and the verdict of a bolt's class.

    Attributes:
        hardness: `38 HRC`, `320 HV`; or a dent.
        dent: Diameter of a Brinell dent, mm.
        ball: Diameter of the ball, mm.
        load: Load on the ball, kgf.
        table: Which table converts.
        material: What it is made of; only unalloyed and low-alloy steel converts.
        class_: Class of a metric bolt to judge by.
        size: Its diameter, mm.
    """

    hardness: str | None = None
    dent: Decimal | None = None
    ball: Decimal = Decimal(10)
    load: Decimal = Decimal(3000)
    table: str = "DIN 50150"
    material: str = _STEEL
    class_: str | None = None
    size: Decimal | None = None

    def result(self) -> Result:
        """Convert and judge.

        Returns:
            HV, HB, HRC, HRB where the table has them, tensile MPa and tensile_tsi, verdict.

        Raises:
            BenchrunError: The material does not convert, or the table does not reach so far.
        """
        if self.material in _REFUSED:
            raise BenchrunError(f"{self.material} does not convert: {_REFUSED[self.material]}")
        if (self.hardness is None) == (self.dent is None):
            raise BenchrunError("give a hardness with its scale, or a dent")
        if self.hardness is not None:
            value, scale = hardness_of(self.hardness)
            shown = said(value, scale)
        else:
            value, scale = brinell(self.dent or Decimal(0), self.ball, self.load), "HB"
            shown = (
                f"dent {said(self.dent or Decimal(0), 'mm')}, ball {said(self.ball, 'mm')}, "
                f"{said(self.load, 'kgf')}: {said(value, 'HB')}"
            )
        hardnesses = {**converted(value, scale, self.table), scale: value}
        outputs: dict[str, Amount] = {
            name: Amount(hardnesses[name], name) for name in SCALES if name in hardnesses
        }
        if "MPa" in hardnesses:
            strength = Amount(hardnesses["MPa"], "MPa")
            outputs["tensile"] = strength
            outputs["tensile_tsi"] = Amount(strength.to("tsi"), "tsi")
        verdict, sources, cautions = self._judged(hardnesses, scale)
        outputs["verdict"] = Amount(verdict)
        workings = (
            f"{shown} by {self.table}: "
            + ", ".join(amount.words for name, amount in outputs.items() if name != "verdict"),
        )
        notes = (
            f"converted by {self.table}; tables differ, the tensile strength is the least certain "
            "column, ±5 to 10 % (from memory)",
            "portable testers read low on thin or curved parts; take plating and decarburised "
            "skin off",
        )
        rows = dict.fromkeys(row["source"] for row in table_rows(_TABLES[self.table]))
        return Result(outputs, workings, notes, cautions, (*rows, *sources))

    def _judged(
        self, hardnesses: Mapping[str, Decimal], scale: str
    ) -> tuple[str, tuple[str, ...], tuple[str, ...]]:
        """The verdict of the bolt's class, its source, and its caution."""
        if self.class_ is None:
            return "no class given", (), ()
        row = self._class_row(self.class_)
        judged = scale if row.get(f"{scale}_max") else "HV"
        if judged not in hardnesses:
            raise BenchrunError(f"class {self.class_} has no limits in {scale}")
        value = hardnesses[judged]
        low, high = Decimal(row[f"{judged}_min"]), Decimal(row[f"{judged}_max"])
        limits = f"{self.class_}: {low} to {said(high, judged)}"
        if value > high:
            caution = (
                "Over the class's hardness a bolt is rejected: from about 390 HV or 39 HRC it "
                "threatens to break by hydrogen (from memory, ISO 4042)."
            )
            return f"too hard for {limits}", (row["source"],), (caution,)
        if value < low:
            return f"too soft for {limits}", (row["source"],), ()
        return f"fits {limits}", (row["source"],), ()

    def _class_row(self, class_: str) -> Mapping[str, str]:
        rows = [row for row in table_rows("bolt_hardness") if row["class"] == class_.strip()]
        if not rows:
            known = ", ".join(dict.fromkeys(row["class"] for row in table_rows("bolt_hardness")))
            raise BenchrunError(f"class {class_[:10]!r} is not in the table: {known}")
        if self.size is None:
            if len(rows) > 1:
                raise BenchrunError(f"give the size: class {class_} differs up to and over 16 mm")
            return rows[0]
        between("size", self.size, "mm", 1, 39, "the classes are for bolts of")
        for row in rows:
            if Decimal(row["over_mm"]) < self.size <= Decimal(row["incl_mm"]):
                return row
        raise BenchrunError(f"class {class_} is not defined at {said(self.size, 'mm')}")


HARDNESS: Final = Calc(
    "hardness",
    "hardness of steel in other scales, tensile strength, and a bolt's class",
    (
        Input("hardness", "with its scale: 38 HRC, 320 HV, 250 HB, 95 HRB", kind="text"),
        Input("dent", "diameter of a Brinell dent, instead", "mm"),
        Input("ball", "its ball", "mm", default="10"),
        Input("load", "on the ball", "kgf", default="3000"),
        Input("table", "which table converts", kind="text", default="DIN 50150",
              choices=tuple(_TABLES)),
        Input("material", "unalloyed or low-alloy steel, or another", kind="text", default=_STEEL,
              choices=(_STEEL, *_REFUSED)),
        Input("class", "of a metric bolt to judge by: 8.8, 10.9, 12.9", kind="text"),
        Input("size", "its diameter", "mm"),
    ),
    (
        Output("HV", "HV", "Vickers"),
        Output("HB", "HB", "Brinell"),
        Output("HRC", "HRC", "Rockwell C, 20 and more"),
        Output("HRB", "HRB", "Rockwell B, up to 100"),
        Output("tensile", "MPa", "tensile strength, an estimate"),
        Output("tensile_tsi", "tsi", "the same in long tons a square inch", fixed=True),
        Output("verdict", "", "fits, too hard or too soft for the class"),
    ),
    Hardness,
    {"hardness": "38 HRC", "class": "10.9", "size": "12"},
    cautions=(
        "A hardness proves no material: springs, case-hardened and unknown parts are judged by "
        "their maker's figures.",
    ),
    sources=(
        "straight lines between the rows of the named table; Brinell by its definition, F in kgf",
    ),
    convention="each scale stays its own: a conversion is told with its table, never made "
    "silently",
)  # fmt: skip
