"""Growth of plain sizes and threads by plating."""

from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.refusals import between, positive
from benchrun.shopmath.threads import thread_of
from benchrun.shopmath.trig import sine

_REFUSED: Final[Mapping[str, str]] = MappingProxyType(
    {
        "hot-dip": "it is thick and uneven: threads are tapped oversize by the galvanizer's table",
        "paint": "it is uneven and wears off in the thread",
        "powder": "it fills a thread: mask it",
    }
)
_PLATE: Final = "electroplate"
_SIDES: Final = ("external", "internal")
_STATES: Final = ("before", "after")


@lean_dataclass(frozen=True, slots=True)
class PlatingGrowth:
    """Change of a size by an even plate of so much on each side.

    Plain and crest 2 t; pitch diameter 2 t / sin(half the angle).

    Attributes:
        least: Least thickness on each side, µm.
        most: Greatest thickness on each side, µm; half as much again when not given.
        thread: Thread, for its angle and pitch; none for a plain size.
        angle: Angle between the flanks, degrees, of a thread without a name.
        side: `external` or `internal`.
        size: Plain or major diameter, mm.
        pitch_size: Pitch diameter, mm.
        state: Whether these are `before` or `after` plating.
        coating: What it is coated with.
    """

    least: Decimal
    most: Decimal | None = None
    thread: str | None = None
    angle: Decimal | None = None
    side: str = "external"
    size: Decimal | None = None
    pitch_size: Decimal | None = None
    state: str = "before"
    coating: str = _PLATE

    def result(self) -> Result:
        """Work out the growth.

        Returns:
            growth_least and growth_most µm on the diameter; for threads factor,
            pitch_growth_least and pitch_growth_most µm; size_least and size_most,
            pitch_size_least and pitch_size_most mm on the other side of the plating.

        Raises:
            BenchrunError: The coating is none of an even plate, or too thick for the thread.
        """
        if self.coating in _REFUSED:
            raise BenchrunError(f"{self.coating} is no even plate: {_REFUSED[self.coating]}")
        between("least", self.least, "µm", "0.1", 500, "plates lie between")
        most = self.least * 3 / 2 if self.most is None else self.most
        if most < self.least:
            raise BenchrunError(f"least {said(self.least, 'µm')} is above most {said(most, 'µm')}")
        angle = self._angle(most)
        sign = 1 if self.side == "external" else -1
        notes = []
        if self.most is None:
            notes.append(f"no greatest thickness was given: half as much again, {said(most, 'µm')}")
        outputs: dict[str, Amount] = {}
        factors = [("", Decimal(2), self.size)]
        workings = [f"2 × {said(self.least, 'µm')} = {said(2 * self.least, 'µm')} on the diameter"]
        if angle is not None:
            factor = 2 / sine(angle / 2)
            outputs["factor"] = Amount(factor, "")
            factors.append(("pitch_", factor, self.pitch_size))
            workings.append(
                f"2 ÷ sin({said(angle, 'deg')} ÷ 2) × {said(self.least, 'µm')} = "
                f"{said(factor * self.least, 'µm')} on the pitch diameter"
            )
            notes.append(
                "a bolt's go size is reckoned with the most, its no-go size with the least; a nut "
                "the other way"
            )
        elif self.pitch_size is not None:
            raise BenchrunError("a pitch_size needs a thread or an angle")
        for name, factor, size in factors:
            growth = [sign * factor * thick for thick in (self.least, most)]
            outputs[f"{name}growth_least"] = Amount(growth[0], "µm")
            outputs[f"{name}growth_most"] = Amount(growth[1], "µm")
            if size is not None:
                self._sizes(f"{name}size", size, growth, outputs)
        where = "" if angle is None else " on the pitch diameter"
        low, high = (said(factors[-1][1] * thick, "µm") for thick in (self.least, most))
        outputs["verdict"] = Amount(f"tighter by {low} to {high}{where}")
        return Result(outputs, tuple(workings), tuple(notes))

    def _angle(self, most: Decimal) -> Decimal | None:
        if self.thread is None:
            if self.angle is not None:
                between("angle", self.angle, "deg", 20, 90, "threads have flanks at")
            return self.angle
        if self.angle is not None:
            raise BenchrunError("give the thread or its angle, not both")
        cut = thread_of(self.thread)
        if most / 1000 > cut.pitch / 20:
            raise BenchrunError(
                f"{said(most, 'µm')} is over a twentieth of {cut.name}'s pitch: it fills the "
                "thread; plate thinner or cut it undersize"
            )
        return cut.form.angle

    def _sizes(
        self, name: str, size: Decimal, growth: list[Decimal], outputs: dict[str, Amount]
    ) -> None:
        positive(name, size, "mm")
        way = 1 if self.state == "before" else -1
        ends = sorted(size + way * change / 1000 for change in growth)
        positive(name, ends[0], "mm")
        outputs[f"{name}_least"] = Amount(ends[0], "mm")
        outputs[f"{name}_most"] = Amount(ends[1], "mm")


PLATING_GROWTH: Final = Calc(
    "plating_growth",
    "growth of a diameter or a thread by plating",
    (
        Input("least", "least thickness on each side", "µm", needed=True),
        Input("most", "greatest on each side; half as much again when not given", "µm"),
        Input("thread", "M10x1.5, 3/8 BSF; none for a plain size", kind="text"),
        Input("angle", "between the flanks, of a thread without a name", "deg"),
        Input("side", "external or internal", kind="text", default="external", choices=_SIDES),
        Input("size", "plain or major diameter", "mm"),
        Input("pitch_size", "pitch diameter", "mm"),
        Input("state", "are these before or after plating", kind="text", default="before",
              choices=_STATES),
        Input("coating", "coated with", kind="text", default=_PLATE, choices=(_PLATE, *_REFUSED)),
    ),
    (
        Output("growth_least", "µm", "on the diameter, least; minus is a bore closing"),
        Output("growth_most", "µm", "on the diameter, most"),
        Output("factor", "", "thicknesses on the pitch diameter"),
        Output("pitch_growth_least", "µm", "on the pitch diameter, least"),
        Output("pitch_growth_most", "µm", "on the pitch diameter, most"),
        Output("size_least", "mm", "least size on the other side of the plating"),
        Output("size_most", "mm", "greatest size there"),
        Output("pitch_size_least", "mm", "least pitch diameter there"),
        Output("pitch_size_most", "mm", "greatest pitch diameter there"),
        Output("verdict", "", "what it does to the fit"),
    ),
    PlatingGrowth,
    {
        "least": "8", "most": "12", "thread": "M10x1.5", "size": "9.9", "pitch_size": "8.95",
    },
    cautions=(
        "Edges and thread ends build up more: check with a gauge after plating. Strong steel is "
        "baked against hydrogen, see relief_bake.",
    ),
    sources=(
        "2 t / sin(half the angle): a gauge maker's article; half as much again where no limit is "
        "given: ASME B1.1-2003, 7.4.2, as a gauge maker's page copies it",
    ),
    convention="thickness is on EACH side, growth is on the diameter; an even, thin electroplate",
)  # fmt: skip
