"""Bolts tightened by stretch or by angle: stiffness of bolt and joint, preload, turn from snug."""

from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.bolts import proof_strength
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.press import modulus_unit
from benchrun.shopmath.refusals import between, positive
from benchrun.shopmath.tables import table_rows
from benchrun.shopmath.threads import Thread, thread_of
from benchrun.shopmath.trig import PI_DECIMAL

_JOINTS: Final = ("steel", "aluminium", "grey iron", "general", "rigid")
_TAN_30: Final = 1 / Decimal(3).sqrt()


def bolt_stiffness(
    thread: Thread, shank: Decimal, threaded: Decimal, diameter: Decimal, modulus: Decimal
) -> Decimal:
    """Stiffness of a bolt in kN/mm: shank and thread within the grip, one after the other.

    k = Ad At E / (Ad lt + At ld). Head and engaged thread are not counted.

    Args:
        thread: Its thread.
        shank: Plain length within the grip, mm.
        threaded: Threaded length within the grip, mm.
        diameter: Diameter of the plain length, mm.
        modulus: Young's modulus, GPa.
    """
    area = PI_DECIMAL / 4 * diameter**2
    return modulus / (shank / area + threaded / thread.stress_area)


def member_stiffness(joint: str, diameter: Decimal, grip: Decimal, modulus: Decimal) -> Decimal:
    """Stiffness in kN/mm of a joint of one metal: E d A exp(B d / l), Wileman's fit.

    Args:
        joint: `steel`, `aluminium`, `grey iron` or `general`.
        diameter: Of the bolt, mm.
        grip: Thickness clamped, mm.
        modulus: Young's modulus of the joint, GPa.
    """
    row = next(row for row in table_rows("joint_stiffness") if row["joint"] == joint)
    return modulus * diameter * Decimal(row["A"]) * (Decimal(row["B"]) * diameter / grip).exp()


def frusta_stiffness(layers: tuple[tuple[Decimal, ...], ...], hole: Decimal) -> Decimal:
    """Stiffness in kN/mm of clamped layers, each a cone of 30° round the bolt, in series.

    Args:
        layers: Small diameter of the cone in mm, thickness in mm and E in GPa of each.
        hole: Diameter of the bolt, mm.

    Raises:
        BenchrunError: A row is no layer.
    """
    total = Decimal(0)
    for row in layers:
        if len(row) != 3:
            raise BenchrunError("a layer is three numbers: washer face mm, thickness mm, E in GPa")
        face, thick, modulus = row
        if face <= hole or thick <= 0 or modulus <= 0:
            raise BenchrunError(
                f"a layer of face {said(face, 'mm')}, thickness {said(thick, 'mm')} is none: the "
                f"face is wider than the bolt's {said(hole, 'mm')}"
            )
        cone = 2 * _TAN_30 * thick
        ratio = (cone + face - hole) * (face + hole) / ((cone + face + hole) * (face - hole))
        total += ratio.ln() / (_TAN_30 * PI_DECIMAL * modulus * hole)
    return 1 / total


@lean_dataclass(frozen=True, slots=True)
class BoltStretch:
    """Stretch of a bolt and its turn from snug, or the preload that a stretch or turn gives.

    angle = 360 (F − snug) (1/kb + 1/km) / P; stretch = F / kb.

    Attributes:
        thread: `M10x1.5`, `1/2-13 UNC`, `3/8 BSF`.
        shank: Plain length within the grip, mm.
        threaded: Threaded length within the grip, mm.
        shank_diameter: Of the plain length, mm; the thread's when not given.
        e: Young's modulus of the bolt, GPa.
        preload: Preload wanted, kN; or stretch or angle instead.
        stretch: Stretch measured, mm.
        angle: Turn from snug, degrees.
        snug: Preload at snug, kN; it or snug_torque is needed with an angle.
        snug_torque: Torque at snug, N m, with the nut factor.
        k: Nut factor of the snug torque.
        joint: Metal clamped; `rigid` for none that gives.
        joint_e: Young's modulus of the joint, GPa; the metal's when not given.
        layers: Layers of the joint instead: face mm, thickness mm, E GPa of each.
        class_: Class of a metric bolt, for the share of its proof load.
        grade: Grade of a unified bolt.
        proof: Proof strength, MPa.
    """

    thread: str
    shank: Decimal
    threaded: Decimal
    shank_diameter: Decimal | None = None
    e: Decimal = Decimal(205)
    preload: Decimal | None = None
    stretch: Decimal | None = None
    angle: Decimal | None = None
    snug: Decimal | None = None
    snug_torque: Decimal | None = None
    k: Decimal = Decimal("0.2")
    joint: str = "steel"
    joint_e: Decimal | None = None
    layers: tuple[tuple[Decimal, ...], ...] | None = None
    class_: str | None = None
    grade: str | None = None
    proof: Decimal | None = None

    def result(self) -> Result:
        """Work out preload, stretch and turn.

        Returns:
            bolt_stiffness, and unless the joint is rigid joint_stiffness kN/mm and bolt_share,
            the share of an outside load that comes on the bolt; preload kN, stretch and
            squeeze mm, angle from snug and angle_rigid degrees, stress MPa, of_proof % and
            verdict where class, grade or proof is given.

        Raises:
            BenchrunError: The preload is over the proof load, or an input is outside physics.
        """
        cut = thread_of(self.thread, unified=self.grade is not None)
        bolt, soft = self._bolt(cut), self._joint(cut)
        give = 1 / bolt + soft
        snugged = self._snug(cut)
        force = self._force(cut, bolt, give, snugged)
        snug = snugged or Decimal(0)
        turn = 360 / cut.pitch
        outputs = {
            "preload": Amount(force, "kN"),
            "stretch": Amount(force / bolt, "mm"),
            "angle": Amount((force - snug) * give * turn, "deg"),
            "angle_rigid": Amount((force - snug) / bolt * turn, "deg"),
            "squeeze": Amount(force * soft, "mm"),
            "stress": Amount(force * 1000 / cut.stress_area, "MPa"),
            "bolt_stiffness": Amount(bolt, "kN/mm"),
        }
        if soft:
            outputs["joint_stiffness"] = Amount(1 / soft, "kN/mm")
            outputs["bolt_share"] = Amount(bolt / (bolt + 1 / soft), "")
        sources, notes = self._proof(cut, force, outputs)
        workings = (
            f"{said(force, 'kN')} ÷ {said(bolt, 'kN/mm')} = {said(force / bolt, 'mm')} stretch; "
            f"joint gives {said(force * soft, 'mm')}",
            f"360° × ({said(force, 'kN')} − {said(snug, 'kN')}) × "
            f"({said(1 / bolt, '')} + {said(soft, '')}) mm/kN ÷ {said(cut.pitch, 'mm')} = "
            f"{said(outputs['angle'].number, 'deg')}",
        )
        return Result(outputs, workings, notes, (), sources)

    def _bolt(self, cut: Thread) -> Decimal:
        for name, length in (("shank", self.shank), ("threaded", self.threaded)):
            if length < 0:
                raise BenchrunError(f"{name} is {said(length, 'mm')}: less than nothing")
        positive("grip, shank and threaded together,", self.shank + self.threaded, "mm")
        between("E", self.e, "GPa", 40, 300, "bolt metals have")
        diameter = cut.diameter if self.shank_diameter is None else self.shank_diameter
        if not cut.diameter / 3 < diameter <= cut.diameter * Decimal("1.5"):
            raise BenchrunError(
                f"shank_diameter {said(diameter, 'mm')} does not go with a thread of "
                f"{said(cut.diameter, 'mm')}"
            )
        return bolt_stiffness(cut, self.shank, self.threaded, diameter, self.e)

    def _joint(self, cut: Thread) -> Decimal:
        """How much the joint gives, in mm a kN."""
        if self.layers is not None:
            return 1 / frusta_stiffness(self.layers, cut.diameter)
        if self.joint == "rigid":
            return Decimal(0)
        row = next(row for row in table_rows("joint_stiffness") if row["joint"] == self.joint)
        modulus = self.joint_e
        if modulus is None:
            if not row["E_GPa"]:
                raise BenchrunError("a general joint needs joint_E")
            modulus = Decimal(row["E_GPa"])
        between("joint_E", modulus, "GPa", 1, 450, "joints have")
        grip = self.shank + self.threaded
        return 1 / member_stiffness(self.joint, cut.diameter, grip, modulus)

    def _snug(self, cut: Thread) -> Decimal | None:
        """Preload at snug in kN, None where it is not told."""
        if self.snug_torque is None:
            if self.snug is not None and self.snug < 0:
                raise BenchrunError(f"snug is {said(self.snug, 'kN')}: less than nothing")
            return self.snug
        if self.snug is not None:
            raise BenchrunError("give snug or snug_torque, not both")
        positive("snug_torque", self.snug_torque, "N m")
        between("K", self.k, "", "0.05", "0.5", "nut factors lie between")
        return self.snug_torque / (self.k * cut.diameter)

    def _force(self, cut: Thread, bolt: Decimal, give: Decimal, snug: Decimal | None) -> Decimal:
        wanted = (self.preload, self.stretch, self.angle)
        if sum(value is not None for value in wanted) != 1:
            raise BenchrunError("give preload, stretch or angle, one of them")
        if self.angle is not None:
            if snug is None:
                raise BenchrunError(
                    "an angle counts from snug: give snug_torque, or snug as a preload, 0 kN from "
                    "first contact"
                )
            between("angle", self.angle, "deg", 0, 720, "turns from snug lie between")
            return snug + self.angle / 360 * cut.pitch / give
        force = self.preload or Decimal(0)
        if self.stretch is not None:
            force = self.stretch * bolt
        positive("stretch" if self.stretch is not None else "preload", force, "kN")
        if snug is not None and force < snug:
            raise BenchrunError(f"snug {said(snug, 'kN')} is above the preload")
        return force

    def _proof(
        self, cut: Thread, force: Decimal, outputs: dict[str, Amount]
    ) -> tuple[tuple[str, ...], tuple[str, ...]]:
        notes = (
            f"thread {cut.name}; head and engaged thread are not counted: they add about "
            "0.5 d and 0.9 d to the length that stretches (VDI 2230, from memory)",
            "a maker's angle is for his own joint; gaskets, paint, plating and burrs settle",
        )
        if self.class_ is None and self.grade is None and self.proof is None:
            return (), (*notes, "without class, grade or proof nothing says that the bolt bears it")
        strength, source = proof_strength(cut, self.class_, self.grade, self.proof)
        load = strength * cut.stress_area / 1000
        if force > load:
            raise BenchrunError(
                f"{said(force, 'kN')} is over the proof load of {said(load, 'kN')}: the bolt "
                "stretches for good, and tightening over yield goes by its maker's method alone"
            )
        outputs["of_proof"] = Amount(force / load * 100, "%")
        outputs["verdict"] = Amount("within the proof load")
        return (source,), notes


BOLT_STRETCH: Final = Calc(
    "bolt_stretch",
    "stretch of a bolt and its turn from snug, or the preload that they give",
    (
        Input("thread", "M10x1.5, 1/2-13 UNC, 3/8 BSF", kind="text", needed=True),
        Input("shank", "plain length within the grip", "mm", needed=True),
        Input("threaded", "threaded length within the grip", "mm", needed=True),
        Input("shank_diameter", "of a waisted bolt; the thread's when not given", "mm"),
        Input("E", "modulus of the bolt", "GPa", default="205", bare=modulus_unit),
        Input("preload", "wanted; or stretch or angle instead", "kN"),
        Input("stretch", "measured over the ends, instead", "mm"),
        Input("angle", "turn from snug, instead", "deg"),
        Input("snug", "preload at snug; it or snug_torque is needed with an angle", "kN"),
        Input("snug_torque", "torque at snug, instead", "N m"),
        Input("K", "nut factor of the snug torque", default="0.2"),
        Input("joint", "metal clamped", kind="text", default="steel", choices=_JOINTS),
        Input("joint_E", "modulus of the joint, when another", "GPa", bare=modulus_unit),
        Input("layers", "rows of face mm, thickness mm, E in GPa: 18 13 207; 18 6 100",
              kind="grid"),
        Input("class", "metric: 8.8, 10.9, 12.9, for the share of proof", kind="text"),
        Input("grade", "UNC and UNF: 2, 5, 8", kind="text"),
        Input("proof", "proof strength instead", "MPa"),
    ),
    (
        Output("preload", "kN", "clamp load"),
        Output("stretch", "mm", "of the bolt within the grip"),
        Output("angle", "deg", "from snug"),
        Output("angle_rigid", "deg", "the same if the joint did not give: too little"),
        Output("squeeze", "mm", "of the joint"),
        Output("stress", "MPa", "in the thread"),
        Output("bolt_stiffness", "kN/mm", "of the bolt"),
        Output("joint_stiffness", "kN/mm", "of the joint"),
        Output("bolt_share", "", "of an outside load, the rest only unloads the joint"),
        Output("of_proof", "%", "preload as a share of the proof load"),
        Output("verdict", "", "within the proof load; over it the sum refuses"),
    ),
    BoltStretch,
    {"thread": "M10x1.5", "shank": "20", "threaded": "20", "preload": "30 kN", "class": "10.9"},
    cautions=(
        "The maker's own procedure goes first: stretch measured by micrometer over the ends beats "
        "angle, angle beats torque. Bolts tightened over yield are not used twice.",
    ),
    sources=(
        "bolt and joint stiffness: Shigley, Mechanical Engineering Design, ch. 8; joint by "
        "Wileman's fit or by 30° cones",
    ),
    convention="lengths are within the grip alone; the turn counts from the snug preload",
)  # fmt: skip
