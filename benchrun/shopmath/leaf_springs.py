"""Leaf springs: rate, stress, camber under load and the nip of full-length leaves."""

from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.press import modulus_unit
from benchrun.shopmath.refusals import between, positive

_KINDS: Final = ("semi-elliptic", "quarter-elliptic")
# Share of the seat's length that does not bend.
_CLAMPS: Final = {"band": Decimal(1), "U-bolts": Decimal(2) / 3}
_MOST_LEAVES: Final = 40


@lean_dataclass(frozen=True, slots=True)
class LeafSpring:
    """A leaf spring whose leaves end like a diamond.

    Semi-elliptic: rate = E b Σt³ (a + c) / (6 a² c²); stress = 6 M t / (b Σt³), M = W a c / (a+c).
    Quarter-elliptic: rate = E b Σt³ / (6 L³), M = W L.

    Attributes:
        front: Seat centre to front eye, flattened, mm; the whole length of a quarter-elliptic.
        width: Width of the leaves, mm.
        rear: Seat centre to rear eye, mm; as the front when not given.
        leaves: Leaves, the master and full-length ones too.
        thickness: Of each leaf, mm; or thicknesses instead.
        thicknesses: Thickness of each leaf, mm.
        full: Full-length leaves besides the master.
        seat: Length of the seat, mm.
        clamp: What holds it there: `band` or `U-bolts`.
        kind: `semi-elliptic` or `quarter-elliptic`.
        e: Young's modulus, GPa.
        load: Load at the seat (at the eye of a quarter-elliptic), N.
        camber: Camber at the seat, mm.
        camber_load: Load on it while the camber was measured, N; 0 off the vehicle.
        allowed: Allowed bending stress, MPa.
    """

    front: Decimal
    width: Decimal
    rear: Decimal | None = None
    leaves: Decimal | None = None
    thickness: Decimal | None = None
    thicknesses: tuple[Decimal, ...] | None = None
    full: Decimal = Decimal(0)
    seat: Decimal = Decimal(0)
    clamp: str = "band"
    kind: str = "semi-elliptic"
    e: Decimal = Decimal(206)
    load: Decimal | None = None
    camber: Decimal | None = None
    camber_load: Decimal = Decimal(0)
    allowed: Decimal | None = None

    def result(self) -> Result:
        """Work out the spring.

        Returns:
            rate N/mm; with a load deflection, stress and verdict, with full-length leaves
            stress_full, stress_graduated, stress_equalised, nip and clip_force; with a camber
            camber_free, load_to_flatten, camber_loaded and radius.

        Raises:
            BenchrunError: The spring cannot be, or an input is outside physics.
        """
        sizes = self._leaves()
        before, after = self._arms()
        cubes = sum((size**3 for size in sizes), Decimal(0))
        stiff = self.e * 1000 * self.width
        quarter = self.kind == "quarter-elliptic"
        if quarter:
            rate, arm = stiff * cubes / (6 * before**3), before
            how = f"(6 × ({said(before, 'mm')})³)"
        else:
            # Full-length leaves besides the master count half as much again.
            extra = self.full * sizes[0] ** 3 / 2
            rate = stiff * (cubes + extra) * (before + after) / (6 * before**2 * after**2)
            arm = before * after / (before + after)
            ends = f"({said(before, 'mm')})² × ({said(after, 'mm')})²"
            how = f"(6 × {ends}) × {said(before + after, 'mm')}"
        total = cubes if quarter else cubes + extra
        outputs = {"rate": Amount(rate, "N/mm")}
        workings = [
            f"{said(self.e, 'GPa')} × {said(self.width, 'mm')} × {said(total, '')} mm³ ÷ {how} = "
            f"{said(rate, 'N/mm')}"
        ]
        if self.load is not None:
            self._loaded(self.load, rate, arm, sizes, cubes, outputs, workings)
        if self.camber is not None:
            self._cambered(self.camber, rate, before, after, outputs)
        notes = ["real packs are 5 to 15 % stiffer by friction and clamping (from memory)"]
        if self.camber is not None and self.camber > (self.front + (self.rear or self.front)) / 8:
            notes.append("a camber over an eighth of the length bends further than the sum holds")
        return Result(outputs, tuple(workings), tuple(notes))

    def _leaves(self) -> tuple[Decimal, ...]:
        """Thickness of each leaf, mm."""
        positive("width", self.width, "mm")
        between("E", self.e, "GPa", 40, 300, "spring metals have")
        if (self.thickness is None) == (self.thicknesses is None):
            raise BenchrunError("give thickness with leaves, or the list thicknesses")
        if self.thicknesses is not None:
            sizes = self.thicknesses
            if self.leaves is not None and self.leaves != len(sizes):
                raise BenchrunError(
                    f"leaves is {said(self.leaves, '')} and {len(sizes)} thicknesses are listed"
                )
        else:
            leaves = self.leaves or Decimal(0)
            if leaves != int(leaves) or not 1 <= leaves <= _MOST_LEAVES:
                raise BenchrunError(
                    f"leaves is {said(leaves, '')}: a whole number from 1 to {_MOST_LEAVES} is "
                    "meant"
                )
            sizes = (self.thickness or Decimal(0),) * int(leaves)
        if len(sizes) > _MOST_LEAVES:
            raise BenchrunError(f"{len(sizes)} leaves are too many; {_MOST_LEAVES} are the most")
        for size in sizes:
            positive("thickness", size, "mm")
        if self.full != int(self.full) or not 0 <= self.full < len(sizes):
            raise BenchrunError(
                f"full is {said(self.full, '')}: full-length leaves besides the master, fewer than "
                f"the {len(sizes)} leaves"
            )
        if self.full and (len(set(sizes)) > 1 or self.kind == "quarter-elliptic"):
            raise BenchrunError(
                "full-length leaves are reckoned for a semi-elliptic spring with leaves of one "
                "thickness"
            )
        return sizes

    def _arms(self) -> tuple[Decimal, Decimal]:
        """Bending length before and behind the seat, mm."""
        rear = self.front if self.rear is None else self.rear
        if self.seat < 0:
            raise BenchrunError(f"seat is {said(self.seat, 'mm')}: less than nothing")
        dead = self.seat * _CLAMPS[self.clamp] / 2
        if self.kind == "quarter-elliptic":
            dead *= 2
        before, after = self.front - dead, rear - dead
        positive("front", before, "mm")
        positive("rear", after, "mm")
        if self.full and before != after:
            raise BenchrunError("full-length leaves are reckoned for a seat in the middle")
        return before, after

    def _loaded(
        self, load: Decimal, rate: Decimal, arm: Decimal, sizes: tuple[Decimal, ...],
        cubes: Decimal, outputs: dict[str, Amount], workings: list[str],
    ) -> None:  # fmt: skip
        positive("load", load, "N")
        outputs["deflection"] = Amount(load / rate, "mm")
        stress = 6 * load * arm * max(sizes) / (self.width * cubes)
        if self.full:
            size, number = sizes[0], Decimal(len(sizes))
            graduated = number - self.full
            share = 3 * self.full + 2 * graduated
            each, half = load / 2, arm * 2
            square = self.width * size**2
            nip = 2 * each * half**3 / (self.e * 1000 * number * self.width * size**3)
            stress = 18 * each * half / (share * square)
            outputs |= {
                "stress_full": Amount(stress, "MPa"),
                "stress_graduated": Amount(12 * each * half / (share * square), "MPa"),
                "stress_equalised": Amount(6 * each * half / (number * square), "MPa"),
                "nip": Amount(nip, "mm"),
                "clip_force": Amount(2 * self.full * graduated * each / (number * share), "N"),
            }
        outputs["stress"] = Amount(stress, "MPa")
        workings.append(f"{said(load, 'N')} ÷ {said(rate, 'N/mm')} = {said(load / rate, 'mm')}")
        verdict = "no allowed stress given"
        if self.allowed is not None:
            positive("allowed", self.allowed, "MPa")
            over = stress > self.allowed
            verdict = "over the allowed stress" if over else "within the allowed stress"
        outputs["verdict"] = Amount(verdict)

    def _cambered(
        self, camber: Decimal, rate: Decimal, before: Decimal, after: Decimal,
        outputs: dict[str, Amount],
    ) -> None:  # fmt: skip
        if self.camber_load < 0:
            raise BenchrunError(f"camber_load is {said(self.camber_load, 'N')}: less than nothing")
        free = camber + self.camber_load / rate
        positive("camber, free,", free, "mm")
        outputs["camber_free"] = Amount(free, "mm")
        outputs["load_to_flatten"] = Amount(rate * free, "N")
        if self.load is not None:
            outputs["camber_loaded"] = Amount(free - self.load / rate, "mm")
        if self.kind == "semi-elliptic" and before == after:
            outputs["radius"] = Amount(self.front**2 / (2 * free) + free / 2, "mm")


LEAF_SPRING: Final = Calc(
    "leaf_spring",
    "rate, stress, camber and nip of a leaf spring",
    (
        Input("front", "seat centre to front eye, flattened", "mm", needed=True),
        Input("width", "width of the leaves", "mm", needed=True),
        Input("rear", "seat centre to rear eye; as front when not given", "mm"),
        Input("leaves", "leaves, master and full-length ones too"),
        Input("thickness", "of each leaf; or thicknesses", "mm"),
        Input("thicknesses", "of each leaf: 8 8 7 7 6, instead", "mm", "numbers"),
        Input("full", "full-length leaves besides the master", default="0"),
        Input("seat", "length of the seat", "mm", default="0"),
        Input("clamp", "held by a band (all dead) or U-bolts (two thirds)", kind="text",
              default="band", choices=tuple(_CLAMPS)),
        Input("kind", "of spring", kind="text", default="semi-elliptic", choices=_KINDS),
        Input("E", "Young's modulus", "GPa", default="206", bare=modulus_unit),
        Input("load", "at the seat; of a quarter-elliptic at the eye", "N"),
        Input("camber", "at the seat", "mm"),
        Input("camber_load", "on it when that was measured; 0 off the vehicle", "N", default="0"),
        Input("allowed", "allowed bending stress", "MPa"),
    ),
    (
        Output("rate", "N/mm", "load for each mm"),
        Output("deflection", "mm", "under the load"),
        Output("stress", "MPa", "highest bending stress"),
        Output("stress_full", "MPa", "in the full-length leaves, no nip"),
        Output("stress_graduated", "MPa", "in the others, no nip"),
        Output("stress_equalised", "MPa", "in all, with the nip"),
        Output("nip", "mm", "gap at the seat that makes all alike"),
        Output("clip_force", "N", "at the seat, closing the nip"),
        Output("camber_free", "mm", "without load"),
        Output("camber_loaded", "mm", "under the load; minus is bent back"),
        Output("load_to_flatten", "N", "at the seat"),
        Output("radius", "mm", "of the free spring, seat in the middle"),
        Output("verdict", "", "within or over the allowed stress"),
    ),
    LeafSpring,
    {
        "front": "550", "width": "65", "leaves": "7", "thickness": "9", "full": "2", "seat": "80",
        "load": "6000", "camber": "90", "allowed": "400",
    },
    cautions=(
        "A clamped pack flies apart: G-clamp it beside the centre bolt before that is undone, and "
        "let it down slowly. Cracked leaves are scrap; reset leaves need their heat treatment.",
        "Rebound, overload and shackles are not counted; tapered parabolic leaves are another sum.",
    ),
    sources=(
        "uniform strength leaves: Mechanical Engineer's Data Handbook, p. 46; full-length leaves "
        "and nip: Bhandari, Design of Machine Elements, 10.24 and 10.25",
        "two thirds of the seat between U-bolts: from memory",
    ),
    convention="lengths are from the seat's centre to each eye (half the spring), the load is at "
    "the seat; the master counts as a graduated leaf",
)  # fmt: skip
