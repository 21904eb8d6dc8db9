"""Judging a measured value at its limits with the uncertainty of the instrument."""

from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.shopmath.calc import Amount, Calc, Input, Output, Result, rounded_to, said

INSIDE, OUTSIDE, DOUBT = "inside", "outside", "in doubt"


def verdict_of(
    value: Decimal, low: Decimal | None, high: Decimal | None, uncertainty: Decimal = Decimal(0)
) -> str:
    """Judge a value by the decision rule of ISO 14253-1, all in one unit.

    Inside is proven from low + U to high − U, outside below low − U and above high + U; between
    is in doubt. A limit that is met exactly counts as met.

    Args:
        value: Measured value.
        low: Lower limit, or None.
        high: Upper limit, or None.
        uncertainty: Expanded uncertainty U of the instrument, 0 when it is not to be counted.

    Raises:
        BenchrunError: U leaves no zone in which a value could be accepted, or limits run backwards.
    """
    if low is None and high is None:
        raise BenchrunError("give low, high or both: without a limit nothing is judged")
    if uncertainty < 0:
        raise BenchrunError("U is less than nothing")
    if low is not None and high is not None:
        if low > high:
            raise BenchrunError("low is above high")
        if high - low < 2 * uncertainty:
            raise BenchrunError(
                "no value could be accepted: the limits are nearer together than twice U; take a "
                "better instrument"
            )
    above = low is None or value >= low + uncertainty
    below = high is None or value <= high - uncertainty
    if above and below:
        return INSIDE
    under = low is not None and value < low - uncertainty
    over = high is not None and value > high + uncertainty
    return OUTSIDE if under or over else DOUBT


def accept(
    value: Decimal,
    low: Decimal | None = None,
    high: Decimal | None = None,
    u: Decimal = Decimal(0),
    resolution: Decimal | None = None,
    unit: str = "",
) -> Result:
    """Judge a measured value: inside, outside or in doubt, by ISO 14253-1.

    Args:
        value: Measured value.
        low: Lower limit.
        high: Upper limit.
        u: Expanded uncertainty of the instrument.
        resolution: Its smallest step, for the advice on the instrument.
        unit: The unit of all of them.

    Returns:
        verdict; accept_low, accept_high (inside is proven between), reject_below, reject_above
        (outside is proven beyond).

    Raises:
        BenchrunError: No zone is left, or the limits run backwards.
    """
    step = unit_of_difference(unit)
    try:
        verdict = verdict_of(value, low, high, u)
    except BenchrunError as refused:
        shown = f"limits {_said(low, unit)} to {_said(high, unit)}, U {said(u, step)}"
        raise BenchrunError(f"{refused.message} ({shown})") from None
    outputs = {"verdict": Amount(verdict)}
    if low is not None:
        outputs["accept_low"] = Amount(low + u, unit)
        outputs["reject_below"] = Amount(low - u, unit)
    if high is not None:
        outputs["accept_high"] = Amount(high - u, unit)
        outputs["reject_above"] = Amount(high + u, unit)
    notes = []
    if verdict == DOUBT:
        notes.append("in doubt: measure again, better, or have someone decide with a reason")
    if low is not None and high is not None:
        notes += instrument_advice(high - low, u, resolution, step)
    return Result(
        outputs,
        (
            f"{said(value, unit)} against {_said(low, unit)} to {_said(high, unit)} with U "
            f"{said(u, step)}: {verdict}",
        ),
        tuple(notes),
    )


def _said(limit: Decimal | None, unit: str) -> str:
    return "no limit" if limit is None else said(limit, unit)


def unit_of_difference(unit: str) -> str:
    """The unit of a difference of two values: kelvins for temperatures, else the same."""
    return {"degC": "delta degC", "degF": "delta degF"}.get(unit, unit)


def instrument_advice(
    tolerance: Decimal, uncertainty: Decimal, resolution: Decimal | None, unit: str
) -> list[str]:
    """Rule of ten: is the instrument fine enough for a tolerance? One line a remark.

    Args:
        tolerance: Distance of the limits.
        uncertainty: Expanded uncertainty of the instrument, 0 when unknown.
        resolution: Its smallest step, None when unknown.
        unit: The unit of these.
    """
    remarks = []
    for name, size in (("U", uncertainty), ("resolution", resolution)):
        if not size or size < 0:
            continue
        ratio = tolerance / size
        times = said(rounded_to(ratio, 1), "")
        shown = f"the tolerance {said(tolerance, unit)} is {times} times {name}"
        if ratio >= 10:
            remarks.append(f"{shown}: fine, a tenth or better")
        elif ratio >= 4:
            remarks.append(f"{shown}: a tenth is wanted, a quarter is the least")
        else:
            remarks.append(f"{shown}: too coarse, take an instrument of a tenth")
    return remarks


ACCEPT: Final = Calc(
    "accept",
    "inside, outside or in doubt, with the instrument's uncertainty",
    (
        Input("value", "measured value", kind="same", needed=True),
        Input("low", "lower limit", kind="same"),
        Input("high", "upper limit", kind="same"),
        Input("U", "expanded uncertainty of the instrument", "difference", "same", default="0"),
        Input("resolution", "its smallest step", "difference", "same"),
    ),
    (
        Output("verdict", "", "inside, outside or in doubt"),
        Output("accept_low", "", "inside is proven from here"),
        Output("accept_high", "", "inside is proven up to here"),
        Output("reject_below", "", "outside is proven below"),
        Output("reject_above", "", "outside is proven above"),
    ),
    accept,
    {"value": "50.004 mm", "low": "50.002", "high": "50.018", "U": "0.003"},
    sources=(
        "decision rule of ISO 14253-1, as two pages on it say; 2017 edition",
        "rule of ten and its fall-back of four: from memory (the latter ANSI/NCSL Z540.3)",
    ),
)
