"""Vessels that runs share: who has what in which tub, over all runs of the shop."""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.part_names import part_names
from benchrun.shop.book_file import BookFile
from benchrun.shop.vessels import ShopVessel
from benchrun.text import count

if TYPE_CHECKING:
    from benchrun.procedure.route import Procedure, Vessel
    from benchrun.run.state import Run
    from benchrun.shop.folder import Shop


_TOLD: Final = 2
"""The uses of so many other runs are told one by one."""


@lean_dataclass(frozen=True, slots=True)
class VesselUse:
    """The parts that one run has in one vessel.

    Attributes:
        run: The run's id.
        vessel: The vessel as the run's procedure knows it.
        parts: The parts that are in it.
        room: How much room they take, in parts of size 1.
    """

    run: str
    vessel: "Vessel"
    parts: tuple[str, ...]
    room: int

    @property
    def words(self) -> str:
        """For people: `4 parts of RUN: arm L, arm R, ...`."""
        return f"{count(len(self.parts), 'part')} of {self.run}: {part_names(self.parts)}"


def vessel_uses_of(name: str, run: "Run") -> tuple[VesselUse, ...]:
    """The uses that a run makes of vessels.

    Args:
        name: The run's id.
        run: The run as it stands.
    """
    from benchrun.run.vessels import part_vessel

    inside: dict[str, list[str]] = {}
    for marker in run.each():
        vessel = part_vessel(run, marker)
        if vessel:
            inside.setdefault(vessel, []).append(marker.part)
    return tuple(
        VesselUse(
            name,
            run.route.vessels[vessel],
            tuple(parts),
            sum(run.markers[part].size for part in parts),
        )
        for vessel, parts in inside.items()
    )


def vessel_of(vessels: BookFile[ShopVessel], vessel: "Vessel") -> ShopVessel | None:
    """The shop's vessel that a procedure's vessel stands for, or None where it keeps no such."""
    known = (row for row in vessels.rows if row.called(vessel.id, vessel.title))
    return next(known, None)


def room_in_hand(shop: "Shop", run: "Run", vessel: "Vessel") -> tuple[int, int] | None:
    """How much more of a run's parts a vessel takes now, and how much it holds; None: no limit.

    It holds what the procedure says, or what the vessels book says if that is less. What other
    runs have in it is asked about when parts go in, see `crowded`.
    """
    from benchrun.run.vessels import filled, room_left
    from benchrun.shop.vessels import read_vessels

    row = vessel_of(read_vessels(shop), vessel)
    holds = [size for size in (vessel.capacity, row.holds if row else None) if size is not None]
    if not holds:
        return None
    left = room_left(run, vessel.id)
    free = min(holds) - filled(run, vessel.id)
    return max(0, free if left is None else min(left, free)), min(holds)


def others(
    vessels: BookFile[ShopVessel], vessel: "Vessel", uses: Iterable[VesselUse], but: str = ""
) -> tuple[VesselUse, ...]:
    """The uses of other runs in the very vessel that a procedure means.

    Two procedures mean the same vessel when both stand for the same row of vessels.yaml, or, where
    there is no such row, when they call it by the same title.

    Args:
        vessels: The shop's vessels.
        vessel: The vessel as one procedure knows it.
        uses: What all open runs have in which vessel.
        but: The id of the run that asks; its own load is left out.
    """
    own = vessel_of(vessels, vessel)
    return tuple(use for use in uses if use.run != but and _same(vessels, own, vessel, use.vessel))


def _same(
    vessels: BookFile[ShopVessel], own: ShopVessel | None, vessel: "Vessel", other: "Vessel"
) -> bool:
    theirs = vessel_of(vessels, other)
    if own is None and theirs is None:
        return vessel.title.casefold() == other.title.casefold()
    return own is not None and own == theirs


def crowded(
    vessels: BookFile[ShopVessel],
    vessel: "Vessel",
    uses: Iterable[VesselUse],
    run: str,
    room: int,
) -> str:
    """Why a load had better wait, in words; empty when there is room for it.

    What the vessels book says counts for every procedure, whatever it holds by its own words.

    Args:
        vessels: The shop's vessels.
        vessel: The vessel as the run's procedure knows it.
        uses: What all open runs have in which vessel, this run's too.
        run: The id of the run that has a load.
        room: How much room the load takes.
    """
    row, known = vessel_of(vessels, vessel), tuple(uses)
    there = others(vessels, vessel, known, run)
    name = row.name if row else vessel.title
    if row and row.out_of_use:
        return f"The {name} is out of use: {row.out_of_use}"
    holds = [size for size in (vessel.capacity, row.holds if row else None) if size is not None]
    own = sum(use.room for use in known if use.run == run and use.vessel.id == vessel.id)
    if not there:
        if row is None or row.holds is None or own + room <= row.holds:
            return ""
        inside = f", {own} are in it" if own else ""
        return f"The {name} holds {row.holds} by the vessels book{inside}: this load takes {room}"
    taken = own + sum(use.room for use in there)
    if holds and taken + room <= min(holds):
        return ""
    said = "; ".join(use.words for use in there[:_TOLD])
    if len(there) > _TOLD:
        said += f"; and {count(len(there) - _TOLD, 'more run')}"
    if not holds:
        return f"Another run is using the {name}: {said}"
    return f"The {name} holds {min(holds)}, and another run is using it: {said}"


def too_large(vessels: BookFile[ShopVessel], procedure: "Procedure", size: int) -> str:
    """Why a part does not go into a vessel that a procedure puts it in; empty where it does.

    Args:
        vessels: The shop's vessels.
        procedure: What is to be carried out.
        size: How many places the part takes.
    """
    from benchrun.run.course import Course

    for names in Course(procedure.route).one_of_vessels:
        rooms = {}
        for name in names:
            vessel = procedure.route.vessels[name]
            row = vessel_of(vessels, vessel)
            holds = [room for room in (vessel.capacity, row.holds if row else None) if room]
            rooms[row.name if row else vessel.title] = min(holds, default=None)
        if all(room is not None and room < size for room in rooms.values()):
            held = " and ".join(f"the {name} holds {room}" for name, room in rooms.items())
            return f"takes room for {size}; {held}"
    return ""
