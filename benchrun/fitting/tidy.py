"""Keeps the books of supplies small: old lines of runs that are closed are summed up."""

from benchrun.record.folder import RunFolder
from benchrun.shop.folder import Shop
from benchrun.shop.summing import sum_up


def sum_up_old_uses(shop: Shop) -> int:
    """Sum up old lines of the supplies' books where their file has grown large.

    Returns:
        How many lines went into sums.

    Raises:
        BenchrunError: The disk refused.
    """

    def is_open(run: str) -> bool:
        folder = RunFolder(shop.runs / run)
        return folder.log.is_file() and not folder.seal.is_file()

    return sum_up(shop.path, is_open)
