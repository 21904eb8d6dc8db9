"""Bolts: stress area, preload and torque."""

from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.quantity import convert
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.refusals import between, positive
from benchrun.shopmath.tables import table_rows
from benchrun.shopmath.threads import INCH, Thread, thread_of
from benchrun.shopmath.trig import PI_DECIMAL

_SCATTER: Final = Decimal("0.3")


def proof_strength(
    thread: Thread,
    class_: str | None = None,
    grade: str | None = None,
    proof: Decimal | None = None,
) -> tuple[Decimal, str]:
    """Proof strength in MPa of a bolt by its class, its grade or as given, and its source.

    Raises:
        BenchrunError: None or several are given, or the table has none for this thread.
    """
    if sum(known is not None for known in (class_, grade, proof)) != 1:
        raise BenchrunError(
            "give the class (metric, 8.8), the grade (UNC and UNF, 5) or the proof strength, one "
            "of them"
        )
    if proof is not None:
        between("proof", proof, "MPa", 50, 2000, "bolts have a proof strength")
        return proof, "proof strength: as given"
    if class_ is not None:
        if thread.series != "M":
            raise BenchrunError(
                f"class {class_[:10]} is for metric bolts; inch bolts have a grade, British ones "
                "the proof strength of their standard"
            )
        return _from_rows("bolt_classes", "class", class_, thread.diameter, "mm")
    if not thread.unified:
        raise BenchrunError(
            f"grade {str(grade)[:10]} is SAE's for inch bolts of UNC and UNF; metric bolts have a "
            "class, British ones the proof strength of their standard"
        )
    strength, source = _from_rows("bolt_grades", "grade", str(grade), thread.diameter / INCH, "in")
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
        thread.pitch / (2 * PI_DECIMAL),
        mu_thread * thread.pitch_diameter / Decimal(3).sqrt(),
        mu_head * mean / 2,
    )
    shown = " + ".join(said(part, "mm") for part in parts)
    return sum(parts, Decimal(0)), f"{shown} of pitch, thread and head"


@lean_dataclass(frozen=True, slots=True)
class Bolt:
    """Preload and torque of a bolt: from a fraction of its proof load, or from a torque.

    preload = fraction × proof strength × stress area; torque = preload × (K d, or the long form).

    Attributes:
        thread: `M10x1.5`, `1/2-13 UNC`, `3/8 BSF`; with a grade a bare `3/8-16` is unified.
        class_: 8.8, 10.9, 12.9 and lower, by ISO 898-1.
        grade: 2, 5 or 8, by SAE J429.
        proof: Proof strength in MPa, for bolts without class or grade.
        fraction: Share of the proof load, 0 to 1; 0.75 when no torque is given either.
        torque: Torque in N m, to see the preload that it gives.
        k: Nut factor; 0.2 (dry steel) when neither condition nor friction is given.
        condition: `dry`, `oiled`, `anti-seize`, `waxed`, `zinc plated`: the table's nut factor.
        mu_thread: Friction in the thread, for the long form.
        mu_head: Friction under head or nut, for the long form.
        head_diameter: Mean diameter under the head, mm; 1.3 d when not given.
    """

    thread: str
    class_: str | None = None
    grade: str | None = None
    proof: Decimal | None = None
    fraction: Decimal | None = None
    torque: Decimal | None = None
    k: Decimal | None = None
    condition: str | None = None
    mu_thread: Decimal | None = None
    mu_head: Decimal | None = None
    head_diameter: Decimal | None = None

    def result(self) -> Result:
        """Work out preload and torque.

        Returns:
            stress_area mm², proof_load kN, preload kN, torque N m, of_proof %, stress MPa, and
            preload_low and preload_high, ±30 %.

        Raises:
            BenchrunError: Thread, class or grade do not fit, or an input is outside physics.
        """
        cut = thread_of(self.thread, unified=self.grade is not None)
        strength, source = proof_strength(cut, self.class_, self.grade, self.proof)
        factor, by = nut_factor(self.k, self.condition)
        arm, how = torque_arm(cut, factor, self.mu_thread, self.mu_head, self.head_diameter)
        load = strength * cut.stress_area / 1000
        if self.torque is not None:
            if self.fraction is not None:
                raise BenchrunError("give fraction or torque, not both")
            positive("torque", self.torque, "N m")
            preload = self.torque / arm
            sum_ = f"{said(self.torque, 'N m')} ÷ ({how}) = {said(preload, 'kN')}"
        else:
            share = Decimal("0.75") if self.fraction is None else self.fraction
            if not 0 < share <= 1:
                raise BenchrunError(
                    f"fraction is {said(share, '')}: over 0 and up to 1 of the proof load is meant"
                )
            preload = share * load
            sum_ = f"{said(preload, 'kN')} × ({how}) = {said(preload * arm, 'N m')}"
        return _tight(cut, load, preload, arm, sum_, (source, *by))


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
            f"thread {cut.name}, {cut.form.angle}°",
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
        Input("thread", "M10x1.5, 1/2-13 UNC, 3/8 BSF", kind="text", needed=True),
        Input("class", "metric: 8.8, 10.9, 12.9", kind="text"),
        Input("grade", "UNC and UNF: 2, 5, 8", kind="text"),
        Input("proof", "proof strength, for a bolt without class or grade", "MPa"),
        Input(
            "fraction", "share of proof load, 0.75 when not given", kind="share", bare=_share_unit
        ),
        Input("torque", "torque instead of a fraction", "N m"),
        Input("K", "nut factor, 0.2 when not given"),
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
    Bolt,
    {"thread": "M10x1.5", "class": "8.8", "fraction": "0.75", "K": "0.2"},
    cautions=(
        "A torque in the maker's manual goes before this sum; a figure for dry threads overloads "
        "an oiled bolt. Stretched, bent or pitted bolts are scrap.",
    ),
    sources=(
        "stress area: ISO 898-1 and ASME B1.1 formulas; of British threads on the mean of "
        "effective and core diameter, from memory",
        "short form T = K F d, scatter ±30 %: common bolting pages; long form as in VDI 2230; mean "
        "head diameter 1.3 d: common practice, no source",
    ),
)
