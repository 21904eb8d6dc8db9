"""A vehicle under braking: the loads of its axles and which locks first, the heat of a stop."""

from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.brakes import BRAKE_CAUTION
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.refusals import between, positive

GRAVITY: Final = Decimal("9.80665")  # m/s²


def _share(name: str, value: Decimal) -> None:
    between(name, value, "", 0, 1, "a share lies between")


@lean_dataclass(frozen=True, slots=True)
class BrakeBalance:
    """Loads of two axles under braking, and which locks first.

    transfer = m z g h / wheelbase; adhesion used = brake force / axle load.

    Attributes:
        mass: Mass of the vehicle as loaded, kg.
        front_share: Share of the mass on the front axle, standing.
        wheelbase: mm.
        cg_height: Height of the centre of gravity, mm.
        deceleration: In g.
        front_brake_share: Share of the brake force at the front.
    """

    mass: Decimal
    front_share: Decimal
    wheelbase: Decimal
    cg_height: Decimal
    deceleration: Decimal
    front_brake_share: Decimal

    def result(self) -> Result:
        """Work out loads and adhesion.

        Returns:
            transfer, front_load and rear_load N, ideal_front_share, adhesion_front,
            adhesion_rear, both_lock_at (in g), locks_first.

        Raises:
            BenchrunError: A share is outside 0 to 1, or the rear axle lifts.
        """
        positive("mass", self.mass, "kg")
        positive("wheelbase", self.wheelbase, "mm")
        positive("cg_height", self.cg_height, "mm")
        between("deceleration", self.deceleration, "", "0.01", 2, "in g, cars reach")
        for name, value in (
            ("front_share", self.front_share),
            ("front_brake_share", self.front_brake_share),
        ):
            _share(name, value)
        weight = self.mass * GRAVITY
        lever = self.cg_height / self.wheelbase
        transfer = weight * self.deceleration * lever
        front = weight * self.front_share + transfer
        rear = weight - front
        if rear <= 0:
            raise BenchrunError(
                f"the rear axle would carry {said(rear, 'N')}: it lifts before this deceleration"
            )
        if front <= 0:
            raise BenchrunError("nothing stands on the front axle")
        force = weight * self.deceleration
        used_front = self.front_brake_share * force / front
        used_rear = (1 - self.front_brake_share) * force / rear
        together = (self.front_brake_share - self.front_share) / lever
        first = "front" if used_front > used_rear else "rear"
        if abs(used_front - used_rear) < Decimal("1e-9"):
            first = "both together"
        outputs = {
            "transfer": Amount(transfer, "N"),
            "front_load": Amount(front, "N"),
            "rear_load": Amount(rear, "N"),
            "ideal_front_share": Amount(front / weight, ""),
            "adhesion_front": Amount(used_front, ""),
            "adhesion_rear": Amount(used_rear, ""),
            "both_lock_at": Amount(together, ""),
            "locks_first": Amount(first),
        }
        workings = (
            f"{said(self.mass, 'kg')} × {said(self.deceleration, '')} g × "
            f"{said(self.cg_height, 'mm')} ÷ {said(self.wheelbase, 'mm')} = {said(transfer, 'N')} "
            "from the rear to the front",
            f"front {said(used_front, '')}, rear {said(used_rear, '')} of the adhesion: {first} "
            "locks first",
        )
        cautions = ("a rear axle that locks first spins the vehicle",) if first == "rear" else ()
        return Result(outputs, workings, (), cautions)


@lean_dataclass(frozen=True, slots=True)
class BrakeHeat:
    """Mean rise of temperature of the rubbed part in one stop.

    E = m (v1² − v2²) / 2; rise = E × axle share × metal share / (n m c).

    Attributes:
        mass: Mass of the vehicle as loaded, kg.
        from_: Speed before, km/h.
        rubbed: Mass of one drum or disc that is rubbed, kg.
        to: Speed after, km/h.
        axle_share: Share of the braking on this axle.
        brakes: Brakes on the axle.
        specific_heat: Of the rubbed part, J/kg/K.
        metal_share: Share of the heat that goes into the metal.
        start: Temperature before, °C.
    """

    mass: Decimal
    from_: Decimal
    rubbed: Decimal
    to: Decimal = Decimal(0)
    axle_share: Decimal = Decimal(1)
    brakes: Decimal = Decimal(2)
    specific_heat: Decimal = Decimal(460)
    metal_share: Decimal = Decimal("0.95")
    start: Decimal = Decimal(20)

    def result(self) -> Result:
        """Work out the energy and the rise.

        Returns:
            energy kJ, rise K, end °C, verdict.

        Raises:
            BenchrunError: The speed does not fall, or an input is outside physics.
        """
        positive("mass", self.mass, "kg")
        positive("rubbed", self.rubbed, "kg")
        if self.rubbed > self.mass / 4:
            raise BenchrunError(
                f"rubbed is {said(self.rubbed, 'kg')}: the mass of ONE drum or disc is meant, not "
                "the vehicle's"
            )
        if self.to < 0 or self.from_ <= self.to:
            raise BenchrunError(
                f"from {said(self.from_, 'km/h')} to {said(self.to, 'km/h')} is no braking"
            )
        between("from", self.from_, "km/h", 0, 400, "vehicles reach")
        _share("axle_share", self.axle_share)
        _share("metal_share", self.metal_share)
        if self.brakes != int(self.brakes) or not 1 <= self.brakes <= 8:
            raise BenchrunError(f"brakes is {said(self.brakes, '')}: a whole number is meant")
        between("specific_heat", self.specific_heat, "J/kg/K", 300, 1000, "brake metals take")
        between("start", self.start, "degC", -40, 500, "a brake before a stop has")
        squares = (self.from_**2 - self.to**2) / Decimal("12.96")  # (m/s)²
        energy = self.mass * squares / 2
        heat = energy * self.axle_share * self.metal_share
        rise = heat / (self.brakes * self.rubbed * self.specific_heat)
        outputs = {
            "energy": Amount(energy / 1000, "kJ"),
            "rise": Amount(rise, "K"),
            "end": Amount(self.start + rise, "degC"),
            "verdict": Amount(
                "over the 230 K of a design rule"
                if rise > 230
                else "within the 230 K of a design rule"
            ),
        }
        workings = (
            f"{said(energy / 1000, 'kJ')} × {said(self.axle_share, '')} × "
            f"{said(self.metal_share, '')} ÷ ({said(self.brakes, '')} × {said(self.rubbed, 'kg')} "
            f"× {said(self.specific_heat, 'J/kg/K')}) = {said(rise, 'K')}",
        )
        return Result(outputs, workings)


BRAKE_BALANCE: Final = Calc(
    "brake_balance",
    "axle loads under braking, and which axle locks first",
    (
        Input("mass", "vehicle as loaded", "kg", needed=True),
        Input("front_share", "of the mass on the front axle, standing", kind="share", needed=True),
        Input("wheelbase", "between the axles", "mm", needed=True),
        Input("cg_height", "height of the centre of gravity", "mm", needed=True),
        Input("deceleration", "in g: 0.6", needed=True),
        Input("front_brake_share", "of the brake force", kind="share", needed=True),
    ),
    (
        Output("transfer", "N", "load that moves to the front"),
        Output("front_load", "N", "of the axle"),
        Output("rear_load", "N", "of the axle"),
        Output("ideal_front_share", "", "of the brake force, both axles alike"),
        Output("adhesion_front", "", "brake force by load"),
        Output("adhesion_rear", "", "brake force by load"),
        Output("both_lock_at", "", "deceleration in g where both lock together"),
        Output("locks_first", "", "front, rear or both together"),
    ),
    BrakeBalance,
    {
        "mass": "1200", "front_share": "0.52", "wheelbase": "2500", "cg_height": "550",
        "deceleration": "0.6", "front_brake_share": "0.65",
    },
    cautions=(BRAKE_CAUTION,),
    sources=("balance of moments about the tyres; standard gravity 9.80665 m/s²",),
    convention="loads and forces are of an axle, both wheels; level road, no air",
)  # fmt: skip
BRAKE_HEAT: Final = Calc(
    "brake_heat",
    "mean rise of temperature of drums or discs in one stop",
    (
        Input("mass", "vehicle as loaded", "kg", needed=True),
        Input("from", "speed before", "km/h", needed=True),
        Input("rubbed", "mass of ONE drum or disc, the rubbed part", "kg", needed=True),
        Input("to", "speed after", "km/h", default="0"),
        Input("axle_share", "of the braking on this axle", kind="share", default="1"),
        Input("brakes", "brakes on the axle", default="2"),
        Input("specific_heat", "of the rubbed part", "J/kg/K", default="460"),
        Input("metal_share", "of the heat into the metal", kind="share", default="0.95"),
        Input("start", "temperature before", "degC", default="20"),
    ),
    (
        Output("energy", "kJ", "of the whole vehicle"),
        Output("rise", "K", "mean, right through the rubbed part"),
        Output("end", "degC", "mean after the stop"),
        Output("verdict", "", "within or over a design rule for one stop"),
    ),
    BrakeHeat,
    {"mass": "1200", "from": "100", "rubbed": "4.5", "axle_share": "0.65"},
    cautions=(
        "This is the mean of the whole mass: the rubbed face is far hotter, and fluid boils long "
        "before. Hot brakes burn; never cool them with water.",
        BRAKE_CAUTION,
    ),
    sources=(
        "energy of motion into heat; iron 448 to 500 J/(kg·K) on pages of brake sums",
        "230 K for one stop from 128 km/h at gross weight: a brake maker's design page",
    ),
    convention="one stop without cooling; the rise is of each brake on the axle",
)  # fmt: skip
