"""The strengths of baths that a run read, in the shop's book of supplies.

The log says what was read; the book follows it, by the run's id and the number of the entry, so
that entering it again changes nothing. A correction is a line of its own; what was taken back is
struck.
"""

import datetime as dt
from collections.abc import Callable, Mapping

from benchrun.errors import BenchrunError
from benchrun.procedure.route import Vessel
from benchrun.run.strengths import Strength
from benchrun.shop.amounts import StockAmount
from benchrun.shop.book_file import BookFile
from benchrun.shop.file_writer import shop_lock
from benchrun.shop.folder import Shop
from benchrun.shop.row_editor import add_line
from benchrun.shop.supplies import SUPPLIES, Supply, read_supplies, serving
from benchrun.shop.supply_lines import STRENGTH, STRUCK
from benchrun.shop.vessels import ShopVessel, read_vessels
from benchrun.shop_use.vessels import vessel_of

Days = Callable[[int], dt.date]


def bath_of(
    supplies: BookFile[Supply],
    vessels: BookFile[ShopVessel],
    of: str,
    known: Mapping[str, Vessel],
) -> Supply | None:
    """The supply whose strength a step reads; None where the shop keeps no such.

    A vessel stands for what `filled with` of vessels.yaml names. Of several supplies that serve,
    the one that has a least strength comes first, then one whose strength was measured, then one
    that is open.

    Args:
        supplies: The shop's.
        vessels: The shop's.
        of: What the procedure names: the id of a vessel of its own, or a supply.
        known: The procedure's vessels by id.

    Raises:
        BenchrunError: The vessel is filled with something that supplies.yaml does not hold.
    """
    if of in known:
        row = vessel_of(vessels, known[of])
        return supplies.named(row.filled_with) if row and row.filled_with else None
    baths = [bath for bath in serving(supplies, of) if not bath.out_of_use]
    return min(
        baths,
        key=lambda bath: (bath.weakest is None, bath.strength is None, bath.opened is None),
        default=None,
    )


def enter_strengths(
    shop: Shop, run: str, known: Mapping[str, Vessel], read: Mapping[int, Strength], days: Days
) -> int:
    """Make the shop's book of supplies say which strengths a run read.

    Args:
        shop: The shop.
        run: The run's id.
        known: The vessels of its procedure by id.
        read: What it read by the number of the entry, as its log stands now.
        days: The day of an entry by its number.

    Returns:
        How many lines were added.

    Raises:
        BenchrunError: A bath does not take it, or the disk refused; what could be entered was.
    """
    added, faults = 0, []
    with shop_lock(shop.path):
        supplies, vessels = read_supplies(shop), read_vessels(shop)
        before = {
            entry: tin for tin in supplies.rows for name, entry in tin.strengths if name == run
        }
        for entry in {**dict.fromkeys(before), **dict.fromkeys(read)}:
            try:
                strength = read.get(entry)
                bath = before.get(entry)
                if bath is None and strength is not None:
                    bath = _found(supplies, vessels, strength.of, known)
                line = _lacking(bath, run, entry, strength) if bath else {}
                if bath and line:
                    dated = {"on": days(entry).isoformat(), **line, "run": run, "entry": str(entry)}
                    add_line(shop.path, SUPPLIES, bath.id, "book", dated)
                    added += 1
            except BenchrunError as error:
                faults.append(error)
    if faults:
        raise faults[0]
    return added


def _found(
    supplies: BookFile[Supply], vessels: BookFile[ShopVessel], of: str, known: Mapping[str, Vessel]
) -> Supply | None:
    """The bath; where there is none, a fault in the files may be why."""
    bath = bath_of(supplies, vessels, of, known)
    if bath is None:
        for fault in (*supplies.faults, *vessels.faults):
            raise BenchrunError(fault.words)
    return bath


def _lacking(bath: Supply, run: str, entry: int, strength: Strength | None) -> dict[str, str]:
    """The line that makes a bath's book agree with the log; empty where it does."""
    line = bath.strengths.get((run, entry))
    if strength is None:
        return {STRUCK: line.amount.typed} if line else {}
    now = StockAmount(strength.number, strength.unit)
    if line and line.amount == now:
        return {}
    return {STRENGTH: now.typed}
