"""Bolts: stress area, preload and torque."""

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.quantity import convert, plain
from benchrun.quantity.units import PI, decimal_of
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.refusals import between, positive
from benchrun.shopmath.tables import table_rows

_PI: Final = decimal_of(PI)
_METRIC: Final = re.compile(
    r"M ?([0-9]{1,2}(?:[.,][0-9]{1,2})?)(?: ?[x×*-] ?([0-9][.,]?[0-9]{0,2}))?",
    re.ASCII | re.IGNORECASE,
)
_INCH: Final = re.compile(
    r"(?:#([0-9]{1,2})|(?:([0-9]) ?[ -])?([0-9]{1,2})/([0-9]{1,2})|([0-9](?:\.[0-9]{1,4})?))"
    r" ?\"? ?- ?([0-9]{1,2})"
    r"(?: ?UN[CFEJRS]{0,2})?",
    re.ASCII | re.IGNORECASE,
)
_SCATTER: Final = Decimal("0.3")


@dataclass(frozen=True, slots=True)
class Thread:
    """A thread: diameter and pitch in mm, and whether it is an inch thread."""

    diameter: Decimal
    pitch: Decimal
    inch: bool

    @property
    def stress_area(self) -> Decimal:
        """Tensile stress area in mm²: π/4 (d − 0.9382 P)² metric, (d − 0.9743 P)² inch."""
        less = Decimal("0.9743") if self.inch else Decimal("0.9382")
        return _PI / 4 * (self.diameter - less * self.pitch) ** 2

    @property
    def pitch_diameter(self) -> Decimal:
        """Pitch diameter in mm, d − 0.6495 P (ISO 724; the same for inch threads)."""
        return self.diameter - Decimal("0.649519") * self.pitch


def thread_of(text: str) -> Thread:
    """Read a thread: `M10x1.5`, `M10` (coarse), `1/2-13`, `3/8-24`, `1 1/8-12`, `#10-24`.

    Raises:
        BenchrunError: It is none of these forms, or no such thread can be cut.
    """
    typed = " ".join(text.split())
    metric, inch = _METRIC.fullmatch(typed), _INCH.fullmatch(typed)
    if metric:
        size = Decimal(metric[1].replace(",", "."))
        pitch = Decimal(metric[2].replace(",", ".")) if metric[2] else _coarse(size)
        thread = Thread(size, pitch, inch=False)
    elif inch:
        thread = _inch_thread(inch, typed)
    else:
        raise BenchrunError(f"{typed[:30]!r} is not a thread such as M10x1.5, 1/2-13 or 3/8-24")
    if (
        thread.pitch <= 0
        or thread.pitch * 4 > thread.diameter
        or thread.pitch * 60 < thread.diameter
    ):
        raise BenchrunError(f"{typed[:30]!r}: no thread of that diameter has that pitch")
    return thread


def _coarse(size: Decimal) -> Decimal:
    for row in table_rows("coarse_pitches"):
        if Decimal(row["size_mm"]) == size:
            return Decimal(row["pitch_mm"])
    raise BenchrunError(f"the coarse pitch of M{plain(size)} is not in the table; give the pitch")


def _inch_thread(match: re.Match[str], typed: str) -> Thread:
    number, whole, top, bottom, decimal, per_inch = match.groups()
    if int(per_inch) == 0 or (bottom and int(bottom) == 0):
        raise BenchrunError(f"{typed[:30]!r} has a zero where none can be")
    if number:
        inches = Decimal("0.060") + Decimal("0.013") * int(number)
    elif bottom:
        inches = decimal_of(int(whole or 0) + Fraction(int(top), int(bottom)))
    else:
        inches = Decimal(decimal)
    return Thread(inches * Decimal("25.4"), Decimal("25.4") / int(per_inch), inch=True)


def proof_strength(thread: Thread, class_: str | None, grade: str | None) -> tuple[Decimal, str]:
    """Proof strength in MPa of a bolt's class or grade, and its source.

    Raises:
        BenchrunError: Neither or both are given, or the table has none for this thread.
    """
    if (class_ is None) == (grade is None):
        raise BenchrunError("give the class (metric, 8.8) or the grade (inch, 5), one of them")
    if class_ is not None:
        if thread.inch:
            raise BenchrunError(f"class {class_[:10]} is for metric bolts; inch bolts have a grade")
        return _from_rows("bolt_classes", "class", class_, thread.diameter, "mm")
    if not thread.inch:
        raise BenchrunError(f"grade {str(grade)[:10]} is for inch bolts; metric bolts have a class")
    strength, source = _from_rows(
        "bolt_grades", "grade", str(grade), thread.diameter / Decimal("25.4"), "in"
    )
    return convert(strength, "psi", "MPa"), source


def _from_rows(
    name: str, column: str, wanted: str, size: Decimal, unit: str
) -> tuple[Decimal, str]:
    rows = [row for row in table_rows(name) if row[column] == wanted.strip()]
    if not rows:
        known = ", ".join(dict.fromkeys(row[column] for row in table_rows(name)))
        raise BenchrunError(f"{column} {wanted[:10]!r} is not in the table: {known}")
    for row in rows:
        if Decimal(row[f"over_{unit}"]) < size <= Decimal(row[f"incl_{unit}"]):
            return Decimal(row["proof_MPa" if unit == "mm" else "proof_psi"]), row["source"]
    raise BenchrunError(f"{column} {wanted} is not defined at {said(size, unit)} diameter")


def nut_factor(k: Decimal | None, condition: str | None) -> tuple[Decimal | None, tuple[str, ...]]:
    """The nut factor as given or by the condition of thread and face, and its source.

    Raises:
        BenchrunError: Both are given, or the table has no such condition.
    """
    if condition is None:
        return k, ()
    if k is not None:
        raise BenchrunError("give K or condition, not both")
    for row in table_rows("nut_factors"):
        if row["condition"] == condition.strip().casefold():
            return Decimal(row["K"]), (f"K {row['K']} for {row['condition']}: {row['source']}",)
    known = ", ".join(row["condition"] for row in table_rows("nut_factors"))
    raise BenchrunError(f"condition {condition[:20]!r} is not in the table: {known}")


def torque_arm(
    thread: Thread, k: Decimal | None, mu_thread: Decimal | None, mu_head: Decimal | None,
    head_diameter: Decimal | None,
) -> tuple[Decimal, str]:  # fmt: skip
    """Torque per preload in mm (N m per kN), and how it was found.

    Short form K d; long form P/2π + μ_thread d2/(2 cos 30°) + μ_head Dm/2.

    Raises:
        BenchrunError: Half of the long form is missing, or friction is outside physics.
    """
    if mu_thread is None and mu_head is None:
        factor = Decimal("0.2") if k is None else k
        between("K", factor, "", "0.05", "0.5", "nut factors lie between")
        return factor * thread.diameter, f"K {said(factor, '')} × {said(thread.diameter, 'mm')}"
    if k is not None:
        raise BenchrunError("give K or the frictions, not both")
    if mu_thread is None or mu_head is None:
        raise BenchrunError("the long form needs both mu_thread and mu_head")
    for name, friction in (("mu_thread", mu_thread), ("mu_head", mu_head)):
        between(name, friction, "", 0, 1, "a coefficient of friction is not less or more")
    mean = Decimal("1.3") * thread.diameter if head_diameter is None else head_diameter
    if mean <= thread.diameter:
        raise BenchrunError(
            f"head_diameter {said(mean, 'mm')} is the mean diameter under the head: larger than "
            f"the thread's {said(thread.diameter, 'mm')}"
        )
    parts = (
        thread.pitch / (2 * _PI),
        mu_thread * thread.pitch_diameter / Decimal(3).sqrt(),
        mu_head * mean / 2,
    )
    shown = " + ".join(said(part, "mm") for part in parts)
    return sum(parts, Decimal(0)), f"({shown}) of pitch, thread and head"


def bolt(
    thread: str,
    class_: str | None = None,
    grade: str | None = None,
    fraction: Decimal | None = None,
    torque: Decimal | None = None,
    k: Decimal | None = None,
    condition: str | None = None,
    mu_thread: Decimal | None = None,
    mu_head: Decimal | None = None,
    head_diameter: Decimal | None = None,
) -> Result:
    """Preload and torque of a bolt: from a fraction of its proof load, or from a torque.

    preload = fraction × proof strength × stress area; torque = preload × (K d, or the long form).

    Args:
        thread: `M10x1.5`, `1/2-13`, `3/8-24`.
        class_: 8.8, 10.9, 12.9 and lower, by ISO 898-1.
        grade: 2, 5 or 8, by SAE J429.
        fraction: Share of the proof load, 0 to 1; 0.75 when no torque is given either.
        torque: Torque in N m, to see the preload that it gives.
        k: Nut factor; 0.2 (dry steel) when neither condition nor friction is given.
        condition: `dry`, `oiled`, `anti-seize`, `waxed`, `zinc plated`: the table's nut factor.
        mu_thread: Friction in the thread, for the long form.
        mu_head: Friction under head or nut, for the long form.
        head_diameter: Mean diameter under the head, mm; 1.3 d when not given.

    Returns:
        stress_area mm², proof_load kN, preload kN, torque N m, of_proof %, stress MPa, and
        preload_low and preload_high, ±30 %.

    Raises:
        BenchrunError: Thread, class or grade do not fit, or an input is outside physics.
    """
    cut = thread_of(thread)
    strength, source = proof_strength(cut, class_, grade)
    factor, by = nut_factor(k, condition)
    arm, how = torque_arm(cut, factor, mu_thread, mu_head, head_diameter)
    proof = strength * cut.stress_area / 1000
    if torque is not None:
        if fraction is not None:
            raise BenchrunError("give fraction or torque, not both")
        positive("torque", torque, "N m")
        preload = torque / arm
        sum_ = f"{said(torque, 'N m')} ÷ {how} = {said(preload, 'kN')}"
    else:
        share = Decimal("0.75") if fraction is None else fraction
        if not 0 < share <= 1:
            raise BenchrunError(
                f"fraction is {said(share, '')}: over 0 and up to 1 of the proof load is meant"
            )
        preload = share * proof
        sum_ = f"{said(preload, 'kN')} × {how} = {said(preload * arm, 'N m')}"
    return _tight(cut, proof, preload, arm, sum_, (source, *by))


def _tight(
    cut: Thread,
    proof: Decimal,
    preload: Decimal,
    arm: Decimal,
    sum_: str,
    sources: tuple[str, ...],
) -> Result:
    low, high = preload * (1 - _SCATTER), preload * (1 + _SCATTER)
    cautions = []
    if preload > proof:
        cautions.append(
            f"{said(preload / proof * 100, '%')} of proof load: the bolt stretches for good; do "
            "not use this torque"
        )
    elif high > proof:
        cautions.append("at the high end of the scatter this bolt passes its proof load")
    return Result(
        {
            "stress_area": Amount(cut.stress_area, "mm²"),
            "proof_load": Amount(proof, "kN"),
            "preload": Amount(preload, "kN"),
            "torque": Amount(preload * arm, "N m"),
            "of_proof": Amount(preload / proof * 100, "%"),
            "stress": Amount(preload * 1000 / cut.stress_area, "MPa"),
            "preload_low": Amount(low, "kN"),
            "preload_high": Amount(high, "kN"),
        },
        workings=(sum_,),
        notes=(
            f"torque scatters: the preload may be ±30 %, {said(low, 'kN')} to {said(high, 'kN')}",
        ),
        cautions=tuple(cautions),
        sources=sources,
    )


def _share_unit(value: Decimal) -> str:
    """The unit of a fraction typed without one: 2 and more can only be per cent."""
    return "%" if value >= 2 else ""


BOLT: Final = Calc(
    "bolt",
    "preload and torque of a bolt from its proof load, or the preload that a torque gives",
    (
        Input("thread", "M10x1.5, 1/2-13, 3/8-24", kind="text", needed=True),
        Input("class", "metric: 8.8, 10.9, 12.9", kind="text"),
        Input("grade", "inch: 2, 5, 8", kind="text"),
        Input(
            "fraction", "share of proof load, 0.75 when left out", kind="share", bare=_share_unit
        ),
        Input("torque", "torque instead of a fraction", "N m"),
        Input("K", "nut factor, 0.2 when left out"),
        Input("condition", "of thread and face instead of K: dry, oiled, zinc plated", kind="text"),
        Input("mu_thread", "friction in the thread, long form"),
        Input("mu_head", "friction under the head, long form"),
        Input("head_diameter", "mean diameter under the head, long form", "mm"),
    ),
    (
        Output("stress_area", "mm²", "tensile stress area"),
        Output("proof_load", "kN", "load that it must bear without stretching for good"),
        Output("preload", "kN", "clamp load"),
        Output("torque", "N m", "at the nut"),
        Output("of_proof", "%", "preload as a share of the proof load"),
        Output("stress", "MPa", "in the thread"),
        Output("preload_low", "kN", "less 30 %"),
        Output("preload_high", "kN", "plus 30 %"),
    ),
    bolt,
    {"thread": "M10x1.5", "class": "8.8", "fraction": "0.75", "K": "0.2"},
    cautions=(
        "A torque in the maker's manual goes before this sum; a figure for dry threads overloads "
        "an oiled bolt. Stretched, bent or pitted bolts are scrap.",
    ),
    sources=(
        "stress area: ISO 898-1 and ASME B1.1 formulas",
        "short form T = K F d, scatter ±30 %: common bolting pages; long form as in VDI 2230; mean "
        "head diameter 1.3 d: common practice, no source",
    ),
)
