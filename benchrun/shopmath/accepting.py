"""The one verdict on a measured value at its limits, with the uncertainty of the instrument."""

from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.quantity import in_words
from benchrun.shopmath.amount import Amount, rounded_to, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input

INSIDE, OUTSIDE, DOUBT = "inside", "outside", "in doubt"


def verdict_of(
    value: Decimal, low: Decimal | None, high: Decimal | None, uncertainty: Decimal = Decimal(0)
) -> str:
    """Inside, outside or in doubt, by the decision rule of ISO 14253-1; empty without a limit.

    Inside is proven from low + U to high − U, outside is proven below low − U and above high + U;
    between is in doubt. A limit is met by a value equal to it. Between limits that are closer
    together than twice U nothing is ever inside: the instrument cannot decide there.

    Args:
        value: Measured value, in one unit with everything else.
        low: Lower limit, or None.
        high: Upper limit, or None.
        uncertainty: Expanded uncertainty U of the instrument, 0 when it is not to be counted.
    """
    if low is None and high is None:
        return ""
    least, most = value - uncertainty, value + uncertainty
    if (low is not None and most < low) or (high is not None and least > high):
        return OUTSIDE
    proven = (low is None or least >= low) and (high is None or most <= high)
    return INSIDE if proven else DOUBT


def undecidable(low: Decimal | None, high: Decimal | None, uncertainty: Decimal) -> bool:
    """Whether two limits are closer together than twice U, so that no value is proven inside."""
    return low is not None and high is not None and high - low < 2 * uncertainty


def sure_limits(
    low: Decimal | None, high: Decimal | None, uncertainty: Decimal
) -> tuple[Decimal | None, Decimal | None] | None:
    """The limits between which a value is proven inside, low + U and high − U, as in `verdict_of`.

    None where the limits are closer together than twice U: nothing is proven inside there.
    """
    if undecidable(low, high, uncertainty):
        return None
    least = None if low is None else low + uncertainty
    return least, None if high is None else high - uncertainty


def verdict_words(
    value: Decimal, low: Decimal | None, high: Decimal | None, uncertainty: Decimal, unit: str
) -> str:
    """A verdict measured: `inside, 0.011 mm under the upper limit 61.979 mm`; empty without one.

    Args:
        value: As in `verdict_of`, and so are the next three.
        low: Lower limit.
        high: Upper limit.
        uncertainty: Expanded uncertainty.
        unit: The unit of all of them.
    """
    verdict = verdict_of(value, low, high, uncertainty)
    if not verdict:
        return ""
    if verdict == DOUBT:
        doubt = in_words(uncertainty, unit_of_difference(unit))
        decide = f"for this instrument (±{doubt}) to decide"
        if low is not None and high is not None and undecidable(low, high, uncertainty):
            both = f"{in_words(low, unit)} and {in_words(high, unit)}"
            return f"the limits {both} are too close together {decide}"
    # The limit that is broken, or else the nearer one.
    gaps = [(value - high, "upper", high)] if high is not None else []
    gaps += [(low - value, "lower", low)] if low is not None else []
    gap, side, limit = max(gaps)
    named = f"the {side} limit {in_words(limit, unit)}"
    if verdict == DOUBT:
        return f"too close to {named} {decide}"
    if gap == 0:
        return f"{verdict}, at {named}"
    way = "over" if (side == "upper") is (gap > 0) else "under"
    distance = f"{in_words(abs(gap), unit_of_difference(unit))} {way} {named}"
    return distance if verdict == OUTSIDE else f"{verdict}, {distance}"


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
        verdict; accept_low, accept_high (inside is proven between; none where the limits are closer
        together than twice U), reject_below, reject_above (outside is proven beyond).

    Raises:
        BenchrunError: No limit is given, they run backwards, or U is less than nothing.
    """
    step = unit_of_difference(unit)
    _refuse_senseless(low, high, u, unit)
    verdict = verdict_of(value, low, high, u)
    sure = sure_limits(low, high, u)
    least, most = sure or (None, None)
    outputs = {"verdict": Amount(verdict)}
    if low is not None:
        outputs |= {} if least is None else {"accept_low": Amount(least, unit)}
        outputs["reject_below"] = Amount(low - u, unit)
    if high is not None:
        outputs |= {} if most is None else {"accept_high": Amount(most, unit)}
        outputs["reject_above"] = Amount(high + u, unit)
    notes = []
    if sure is None:
        notes.append(
            "the limits are closer together than twice U: no value can be accepted; take a better "
            "instrument"
        )
    elif verdict == DOUBT:
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


def _refuse_senseless(low: Decimal | None, high: Decimal | None, u: Decimal, unit: str) -> None:
    if low is None and high is None:
        raise BenchrunError("give low, high or both: without a limit nothing is judged")
    if u < 0:
        raise BenchrunError("U is less than nothing")
    if low is not None and high is not None and low > high:
        raise BenchrunError(f"low {said(low, unit)} is above high {said(high, unit)}")


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
        "decision rule of ISO 14253-1 with a guard of the whole U at each limit, the rule of its "
        "1998 edition, as two pages say it",
        "the 2017 edition asks for 95 % of conformity as its default: a guard of about 0.83 U "
        "(1.65 standard uncertainties, from memory), so that this rule is the stricter",
        "rule of ten and its fall-back of four: from memory (the latter ANSI/NCSL Z540.3)",
    ),
)
