"""The facts of a shop's runs, each told from its log again only when that changed."""

from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path

from benchrun.account.facts import PartFacts, RunFacts
from benchrun.account.gather import gather
from benchrun.errors import BenchrunError
from benchrun.kept_runs import FileStamp, file_stamp
from benchrun.record.folder import RunFolder
from benchrun.shop.folder import Shop
from benchrun.text import slug


def facts_of_runs(
    shop: Shop, runs: Iterable[str]
) -> tuple[tuple[RunFacts, ...], tuple[tuple[str, str], ...]]:
    """The facts of runs in the order given, and those that cannot be told with why not.

    Args:
        shop: The shop.
        runs: The ids of the runs.
    """
    found, lost = [], []
    for run in dict.fromkeys(runs):
        path = shop.runs / run
        try:
            found.append(_facts(path, file_stamp(RunFolder(path).log)))
        except (BenchrunError, OSError) as error:
            lost.append((run, str(error).partition("\n")[0]))
    return tuple(found), tuple(lost)


@lru_cache(maxsize=512)
def _facts(path: Path, _log: FileStamp) -> RunFacts:
    return gather(path)


def part_in(run: RunFacts, part: str) -> PartFacts | None:
    """A part of a run by the id of its row in the parts book; None where it was not in it."""
    return next((one for one in run.parts if slug(one.part) == part), None)
