"""Stripping of threads: shear areas, and the length of engagement for the bolt to break first."""

from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.refusals import between, positive
from benchrun.shopmath.threads import METRIC, UNIFIED, Thread, thread_of
from benchrun.shopmath.trig import PI_DECIMAL, tangent

_SIZES: Final = ("limits", "basic")
# FED-STD-H28 takes half the tensile strength for the strength of a thread in shear.
_SHEAR: Final = Decimal("0.5")


@lean_dataclass(frozen=True, slots=True)
class ThreadEngagement:
    """Shear areas of screw and nut, and which of them gives way first.

    As = π n Kn [1/(2n) + (Es − Kn) tan a], An = π n Ds [1/(2n) + (Ds − En) tan a] for each mm,
    a half the angle; length = 2 At / As, times J = As Rm_bolt / (An Rm_nut) where J is over 1.

    Attributes:
        thread: `M10x1.5`, `1/4-20 UNC`, `3/8 BSF`.
        sizes: `limits` of the thread class, or `basic` sizes, which tell too much.
        nut_minor: Greatest minor diameter of the nut, mm.
        bolt_pitch: Least pitch diameter of the bolt, mm.
        bolt_major: Least major diameter of the bolt, mm.
        nut_pitch: Greatest pitch diameter of the nut, mm.
        length: Length of engagement, mm.
        bolt_strength: Tensile strength of the bolt, MPa.
        nut_strength: Tensile strength of the tapped part, MPa.
    """

    thread: str
    sizes: str = "limits"
    nut_minor: Decimal | None = None
    bolt_pitch: Decimal | None = None
    bolt_major: Decimal | None = None
    nut_pitch: Decimal | None = None
    length: Decimal | None = None
    bolt_strength: Decimal | None = None
    nut_strength: Decimal | None = None

    def result(self) -> Result:
        """Work out areas, lengths and the verdict.

        Returns:
            shear_bolt and shear_nut mm² for each mm, ratio, stress_area mm², length_needed mm for
            one metal; with both strengths J and length_needed for them; with a length too:
            strip_load and break_load kN and verdict.

        Raises:
            BenchrunError: Limits are missing or are of another thread.
        """
        cut = thread_of(self.thread)
        minor, pitch, major, nut_pitch = self._diameters(cut)
        slope = tangent(cut.form.angle / 2)
        bolt = PI_DECIMAL / cut.pitch * minor * (cut.pitch / 2 + (pitch - minor) * slope)
        nut = PI_DECIMAL / cut.pitch * major * (cut.pitch / 2 + (major - nut_pitch) * slope)
        needed = 2 * cut.stress_area / bolt
        outputs = {
            "shear_bolt": Amount(bolt, "mm"),
            "shear_nut": Amount(nut, "mm"),
            "ratio": Amount(bolt / nut, ""),
            "stress_area": Amount(cut.stress_area, "mm²"),
        }
        workings = [
            f"2 × {said(cut.stress_area, 'mm²')} ÷ {said(bolt, 'mm')} = {said(needed, 'mm')} of "
            "engagement"
        ]
        estimate = cut.form not in (METRIC, UNIFIED)
        needed = self._strengths(bolt, nut, needed, outputs, workings)
        outputs["length_needed"] = Amount(needed, "mm")
        self._loads(cut, bolt, nut, needed, outputs, estimate=estimate)
        notes = [f"{cut.name}; reckoned with {self.sizes} sizes"]
        if self.sizes == "basic":
            notes.append("basic sizes tell too much: worn and loose threads strip sooner")
        cautions: tuple[str, ...] = ()
        if estimate:
            cautions = (
                f"{cut.form.angle}°: FED-STD-H28 is for 60° threads alone; this is an estimate by "
                "the same shape of sum.",
            )
        return Result(outputs, tuple(workings), tuple(notes), cautions)

    def _diameters(self, cut: Thread) -> tuple[Decimal, Decimal, Decimal, Decimal]:
        limits = (self.nut_minor, self.bolt_pitch, self.bolt_major, self.nut_pitch)
        basic = (cut.bore_diameter, cut.pitch_diameter, cut.diameter, cut.pitch_diameter)
        if self.sizes == "basic":
            if any(limit is not None for limit in limits):
                raise BenchrunError("give the limits or sizes=basic, not both")
            return basic
        given = [limit for limit in limits if limit is not None]
        if len(given) < len(limits):
            raise BenchrunError(
                "give the thread class's limits nut_minor, bolt_pitch, bolt_major and nut_pitch, "
                "or say sizes=basic"
            )
        for limit, size in zip(given, basic, strict=True):
            if abs(limit - size) > cut.pitch * Decimal("0.4"):
                raise BenchrunError(
                    f"a limit of {said(limit, 'mm')} is not near {cut.name}'s {said(size, 'mm')}"
                )
        return given[0], given[1], given[2], given[3]

    def _strengths(
        self, bolt: Decimal, nut: Decimal, needed: Decimal, outputs: dict[str, Amount],
        workings: list[str],
    ) -> Decimal:  # fmt: skip
        if self.bolt_strength is None and self.nut_strength is None:
            return needed
        if self.bolt_strength is None or self.nut_strength is None:
            raise BenchrunError("give both bolt_strength and nut_strength")
        for name, strength in (
            ("bolt_strength", self.bolt_strength), ("nut_strength", self.nut_strength)
        ):  # fmt: skip
            between(name, strength, "MPa", 20, 2500, "metals have")
        factor = bolt * self.bolt_strength / (nut * self.nut_strength)
        outputs["J"] = Amount(factor, "")
        if factor <= 1:
            return needed
        workings.append(
            f"J = {said(bolt, 'mm')} × {said(self.bolt_strength, 'MPa')} ÷ ({said(nut, 'mm')} × "
            f"{said(self.nut_strength, 'MPa')}) = {said(factor, '')}; × {said(needed, 'mm')} = "
            f"{said(needed * factor, 'mm')}"
        )
        return needed * factor

    def _loads(
        self, cut: Thread, bolt: Decimal, nut: Decimal, needed: Decimal,
        outputs: dict[str, Amount], *, estimate: bool,
    ) -> None:  # fmt: skip
        if self.length is None:
            return
        positive("length", self.length, "mm")
        holds = self.length >= needed
        words = "the bolt breaks first" if holds else "the thread strips first"
        outputs["verdict"] = Amount(f"{words} (estimate)" if estimate else words)
        if self.bolt_strength is not None and self.nut_strength is not None:
            strip = min(bolt * self.bolt_strength, nut * self.nut_strength) * _SHEAR * self.length
            outputs["strip_load"] = Amount(strip / 1000, "kN")
            outputs["break_load"] = Amount(cut.stress_area * self.bolt_strength / 1000, "kN")


THREAD_ENGAGEMENT: Final = Calc(
    "thread_engagement",
    "length of engagement for the bolt to break before its thread strips",
    (
        Input("thread", "M10x1.5, 1/4-20 UNC, 3/8 BSF", kind="text", needed=True),
        Input("sizes", "of the thread class, or basic ones", kind="text", default="limits",
              choices=_SIZES),
        Input("nut_minor", "greatest minor diameter of the nut", "mm"),
        Input("bolt_pitch", "least pitch diameter of the bolt", "mm"),
        Input("bolt_major", "least major diameter of the bolt", "mm"),
        Input("nut_pitch", "greatest pitch diameter of the nut", "mm"),
        Input("length", "length of engagement", "mm"),
        Input("bolt_strength", "tensile strength of the bolt", "MPa"),
        Input("nut_strength", "tensile strength of the tapped part", "MPa"),
    ),
    (
        Output("shear_bolt", "mm", "shear area of the bolt's thread, mm² for each mm"),
        Output("shear_nut", "mm", "of the nut's thread, mm² for each mm"),
        Output("ratio", "", "bolt's by nut's"),
        Output("stress_area", "mm²", "of the bolt in tension"),
        Output("J", "", "over 1 the nut's thread is the weaker"),
        Output("length_needed", "mm", "for the bolt to break first"),
        Output("strip_load", "kN", "at which the thread strips"),
        Output("break_load", "kN", "at which the bolt breaks"),
        Output("verdict", "", "whether the bolt breaks or the thread strips first"),
    ),
    ThreadEngagement,
    {
        "thread": "M12", "nut_minor": "10.441", "bolt_pitch": "10.679", "bolt_major": "11.701",
        "nut_pitch": "11.063", "length": "12", "bolt_strength": "830", "nut_strength": "240",
    },
    cautions=(
        "A brake, steering or lifting thread is never trusted to a sum: the maker's length, an "
        "insert to its own sheet, or a new part.",
    ),
    sources=(
        "FED-STD-H28 and Machinery's Handbook: shear areas, length and J; strength in shear half "
        "of that in tension",
    ),
    convention="diameters, not radii; the length is of full threads, the chamfer not counted",
)  # fmt: skip
