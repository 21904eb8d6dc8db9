"""Statistics of readings: summary, control limits and capability, in exact arithmetic."""

from collections.abc import Sequence
from decimal import Context, Decimal
from fractions import Fraction
from itertools import pairwise
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.quantity.units import decimal_of
from benchrun.shopmath.accepting import unit_of_difference
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.tables import table_rows

_ROOT: Final = Context(prec=34)
# The handbook's three-figure constants for ranges of two, so that its worked figures come out.
_D2_OF_TWO: Final = Decimal("1.128")
_D4_OF_TWO: Final = Decimal("3.267")


def mean_of(values: Sequence[Decimal]) -> Decimal:
    """Arithmetic mean, exact before one rounding to 34 digits."""
    return decimal_of(_total(values) / len(values))


def _total(values: Sequence[Decimal]) -> Fraction:
    return sum((Fraction(value) for value in values), Fraction(0))


def deviation_of(values: Sequence[Decimal]) -> Decimal:
    """Standard deviation of a sample, divisor n − 1, exact before the square root.

    Raises:
        BenchrunError: Fewer than two values.
    """
    if len(values) < 2:
        raise BenchrunError("a spread needs two values or more")
    mean = _total(values) / len(values)
    squares = sum(((Fraction(value) - mean) ** 2 for value in values), Fraction(0))
    return _ROOT.sqrt(decimal_of(squares / (len(values) - 1)))


def summary(values: Sequence[Decimal], unit: str = "") -> Result:
    """n, mean, standard deviation, least, most, spread and the uncertainty of the mean.

    s = √(Σ(x − mean)²/(n − 1)); u = s/√n (JCGM 100, 4.2, type A).

    Args:
        values: Two or more.
        unit: Their unit.

    Returns:
        n, mean, s, least, most, spread, u.

    Raises:
        BenchrunError: Fewer than two values.
    """
    deviation, mean = deviation_of(values), mean_of(values)
    step = unit_of_difference(unit)
    number = Decimal(len(values))
    return Result(
        {
            "n": Amount(number, ""),
            "mean": Amount(mean, unit),
            "s": Amount(deviation, step),
            "least": Amount(min(values), unit),
            "most": Amount(max(values), unit),
            "spread": Amount(max(values) - min(values), step),
            "u": Amount(_ROOT.divide(deviation, _ROOT.sqrt(number)), step),
        },
        (f"{len(values)} values: mean {said(mean, unit)}, s {said(deviation, step)}",),
        () if len(values) >= 10 else ("fewer than ten values say little about the spread",),
    )


def control(values: Sequence[Decimal], unit: str = "") -> Result:
    """Individuals and moving range: centre, limits and which points lie outside.

    limits = mean ± 3 MR/1.128 with MR the mean of |x − the one before|; ranges up to 3.267 MR.

    Args:
        values: Two or more in the order of the run.
        unit: Their unit.

    Returns:
        centre, lower, upper, mr_centre, mr_upper, outside (how many) and points (which, from 1).

    Raises:
        BenchrunError: Fewer than two values.
    """
    if len(values) < 2:
        raise BenchrunError("control limits need two values or more, better twenty")
    step = unit_of_difference(unit)
    ranges = [abs(later - earlier) for earlier, later in pairwise(values)]
    centre, mean_range = mean_of(values), mean_of(ranges)
    reach = 3 * mean_range / _D2_OF_TWO
    lower, upper = centre - reach, centre + reach
    outside = [number for number, x in enumerate(values, 1) if not lower <= x <= upper]
    wide = [number for number, r in enumerate(ranges, 2) if r > _D4_OF_TWO * mean_range]
    notes = [] if len(values) >= 20 else ["limits from fewer than twenty values are a first guess"]
    if wide:
        notes.append("range too wide at " + ", ".join(map(str, wide)))
    return Result(
        {
            "centre": Amount(centre, unit),
            "lower": Amount(lower, unit),
            "upper": Amount(upper, unit),
            "mr_centre": Amount(mean_range, step),
            "mr_upper": Amount(_D4_OF_TWO * mean_range, step),
            "outside": Amount(Decimal(len(outside)), ""),
            "points": Amount(", ".join(map(str, outside)) or "none"),
        },
        (
            f"{said(centre, unit)} ± 3 × {said(mean_range, step)} ÷ {_D2_OF_TWO} = "
            f"{said(lower, unit)} to {said(upper, unit)}",
        ),
        tuple(notes),
    )


def capability(
    low: Decimal,
    high: Decimal,
    values: Sequence[Decimal] | None = None,
    subgroups: Sequence[Sequence[Decimal]] | None = None,
    unit: str = "",
) -> Result:
    """Cp and Cpk of readings between two limits.

    Cp = (high − low)/6σ; Cpk = least of (high − mean)/3σ and (mean − low)/3σ. σ is the sample's
    standard deviation for values, the mean range over d2 for subgroups.

    Args:
        low: Lower limit.
        high: Upper limit.
        values: Single readings, two or more.
        subgroups: Rows of 2 to 10 readings made close together, instead.
        unit: The unit of all.

    Returns:
        Cp, Cpk, mean, sigma.

    Raises:
        BenchrunError: The limits run backwards, or all readings are the same.
    """
    if low >= high:
        raise BenchrunError(f"low {said(low, unit)} is not below high {said(high, unit)}")
    if (values is None) == (subgroups is None):
        raise BenchrunError("give values or subgroups, one of them")
    if subgroups is not None:
        flat = [value for row in subgroups for value in row]
        sigma, note = _within(subgroups), "σ from the mean range of the subgroups"
    else:
        flat = list(values or ())
        sigma, note = deviation_of(flat), "σ from the standard deviation of all values"
    if sigma == 0:
        raise BenchrunError("all readings are the same: the instrument is too coarse to judge by")
    mean = mean_of(flat)
    cp = (high - low) / (6 * sigma)
    cpk = min(high - mean, mean - low) / (3 * sigma)
    notes = [note]
    if len(flat) < 25:
        notes.append("fewer than 25 readings: a first guess")
    return Result(
        {
            "Cp": Amount(cp, ""),
            "Cpk": Amount(cpk, ""),
            "mean": Amount(mean, unit),
            "sigma": Amount(sigma, unit_of_difference(unit)),
        },
        (
            f"({said(high, unit)} − {said(low, unit)}) ÷ (6 × "
            f"{said(sigma, unit_of_difference(unit))}): Cp {said(cp, '')}, Cpk {said(cpk, '')}",
        ),
        tuple(notes),
    )


def _within(subgroups: Sequence[Sequence[Decimal]]) -> Decimal:
    sizes = {len(row) for row in subgroups}
    if len(sizes) != 1:
        raise BenchrunError("subgroups must have the same number of readings")
    size = sizes.pop()
    row = next((row for row in table_rows("chart_constants") if row["n"] == str(size)), None)
    if row is None:
        raise BenchrunError(f"subgroups of {size} are not in the table: 2 to 10 are")
    ranges = [max(readings) - min(readings) for readings in subgroups]
    return mean_of(ranges) / Decimal(row["d2"])


SUMMARY: Final = Calc(
    "summary",
    "mean, standard deviation and uncertainty of the mean of readings",
    (Input("values", "two readings or more", kind="same numbers", needed=True),),
    (
        Output("n", "", "how many"),
        Output("mean", "", "arithmetic mean"),
        Output("s", "", "standard deviation, divisor n - 1"),
        Output("least", "", "smallest reading"),
        Output("most", "", "largest reading"),
        Output("spread", "", "largest less smallest"),
        Output("u", "", "standard uncertainty of the mean"),
    ),
    summary,
    {"values": "25.43 25.44 25.42 25.43 mm"},
    sources=("JCGM 100:2008, 4.2, from memory",),
)
CONTROL: Final = Calc(
    "control",
    "control limits of single readings in the order of the run",
    (Input("values", "readings in run order", kind="same numbers", needed=True),),
    (
        Output("centre", "", "mean"),
        Output("lower", "", "lower control limit"),
        Output("upper", "", "upper control limit"),
        Output("mr_centre", "", "mean moving range"),
        Output("mr_upper", "", "upper limit of the moving range"),
        Output("outside", "", "how many points lie outside"),
        Output("points", "", "which, counted from 1"),
    ),
    control,
    {"values": "49.6 47.6 49.9 51.3 47.8 51.2 52.6 52.4 53.6 52.1"},
    sources=("NIST/SEMATECH e-Handbook 6.3.2.2, individuals and moving range",),
)
CAPABILITY: Final = Calc(
    "capability",
    "Cp and Cpk of readings between two limits",
    (
        Input("values", "single readings", kind="same numbers"),
        Input("subgroups", "rows of 2 to 10 readings, ; between", kind="same grid"),
        Input("low", "lower limit", kind="same", needed=True),
        Input("high", "upper limit", kind="same", needed=True),
    ),
    (
        Output("Cp", "", "width of the limits over six sigma"),
        Output("Cpk", "", "distance to the nearer limit over three sigma"),
        Output("mean", "", "mean of all readings"),
        Output("sigma", "", "as the notes say"),
    ),
    capability,
    {"values": "74.03 74.00 74.02 73.99 74.01", "low": "73.95", "high": "74.05"},
    sources=("Cp and Cpk: as in textbooks on quality control; d2 computed with scipy 1.17.1",),
)
