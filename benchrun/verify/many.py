"""Verifying many runs: the shop's trust read once, and the work spread over the machine's cores."""

import multiprocessing
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.verify.run import RecordVerdict, shop_of, verify
from benchrun.verify.trust import Trust, trust_of

FEW: Final = 24
"""So many runs are checked before other processes would be up."""
_AT_ONCE: Final = 8  # runs handed to a process at a time

Outcome = RecordVerdict | BenchrunError
"""A verdict, or why it could not be told."""


class Trusts:
    """The trust of shops, each read once."""

    def __init__(self) -> None:
        self._read: dict[Path | None, Trust] = {}

    def of(self, folder: Path, shop: Path | None) -> Trust:
        """The trust of the shop that a run belongs to.

        Args:
            folder: The run's folder.
            shop: The shop; None to look above the run for one.

        Raises:
            BenchrunError: Its signers cannot be read.
        """
        path = shop_of(folder, shop)
        if path not in self._read:
            self._read[path] = trust_of(path)
        return self._read[path]

    def verdict(
        self,
        folder: Path,
        shop: Path | None,
        progress: Callable[[int, int], None] | None = None,
    ) -> Outcome:
        """The verdict on a run, or why it could not be told."""
        try:
            return verify(folder, trust=self.of(folder, shop), progress=progress)
        except BenchrunError as error:
            return BenchrunError(error.message, exit_code=error.exit_code)


def verify_many(
    folders: Sequence[Path],
    *,
    shop: Path | None = None,
    progress: Callable[[str, int, int], None] | None = None,
) -> Iterator[tuple[Path, Outcome]]:
    """Verify runs, one that cannot be told no hindrance for the others.

    Args:
        folders: The runs' folders.
        shop: The shop whose signers and register are trusted; None to look above each run for one.
        progress: Called now and then with a run's name, the bytes read of it and its bytes in all,
            where the runs are checked in this process.

    Yields:
        Each folder in their order, with what came of it as soon as it is known.
    """
    workers = min(_cores(), len(folders) // _AT_ONCE)
    if len(folders) < FEW or workers < 2:
        trusts = Trusts()
        for folder in folders:
            name = folder.name
            tell = (lambda at, all_, n=name: progress(n, at, all_)) if progress else None
            yield folder, trusts.verdict(folder, shop, tell)
        return
    # A copy of this process knows all modules already; elsewhere copying it is not safe.
    context = multiprocessing.get_context("fork" if sys.platform == "linux" else "spawn")
    with ProcessPoolExecutor(workers, mp_context=context) as pool:
        jobs = [(folder, shop) for folder in folders]
        for folder, outcome in pool.map(_verdict, jobs, chunksize=_AT_ONCE):
            yield folder, outcome


_TRUSTS: Final = Trusts()


def _verdict(job: tuple[Path, Path | None]) -> tuple[Path, Outcome]:
    folder, shop = job
    return folder, _TRUSTS.verdict(folder, shop)


def _cores() -> int:
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
