"""The open runs of this bench, read one after the other, and the procedures to begin."""

import time
from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Final

from benchrun.board.left_away import LeftAway, left_by
from benchrun.board.offer_words import stands
from benchrun.errors import BenchrunError
from benchrun.kept_runs import KEPT_RUNS, FileStamp, file_stamp
from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.record.glimpse import first_end, glimpse
from benchrun.shop.folder import Listed, Shop
from benchrun.text import count, listed

if TYPE_CHECKING:
    from benchrun.record.anchor import Anchor
    from benchrun.record.folder import RunFolder
    from benchrun.run.act_clocks import ActClock
    from benchrun.run.clocks import LoadClock
    from benchrun.run.state import Run
    from benchrun.shop_use.vessels import VesselUse

NOT_READ: Final = "its log is being read"
"""Where a run stands whose log was not read yet, in words."""

GONE: Final = "gone: the shop's register knows it, its folder or its log is not there"
"""Words for a run that is missing."""

_TELL_EVERY_S: Final = 0.25
_NO_PRESS: Final = (1 << 30, 0)


@lean_dataclass(frozen=True, slots=True)
class OpenRun:
    """A run that is not closed.

    Attributes:
        path: Its folder.
        title: The procedure's title.
        words: Where it stands, in words.
        run: The run itself; None until its log is read, and where it cannot be.
        clocks: What soaks in it or is away as planned.
        away: Parts away without a plan: place and tags.
        since_ms: Wall time of what was last done in it, milliseconds since 1970.
        fault: Why it cannot be taken up, or empty.
    """

    path: Path
    title: str
    words: str
    run: "Run | None" = None
    clocks: "tuple[LoadClock, ...]" = ()
    away: tuple[tuple[str, tuple[str, ...]], ...] = ()
    since_ms: int = 0
    fault: str = ""

    @property
    def id(self) -> str:
        """The run's id."""
        return self.path.name

    @property
    def folder(self) -> "RunFolder":
        """Its folder."""
        from benchrun.record.folder import RunFolder

        return RunFolder(self.path)

    @property
    def sent(self) -> "tuple[LoadClock, ...]":
        """Those of its clocks that are of parts sent away as planned."""
        return tuple(clock for clock in self.clocks if is_sent(clock))

    @property
    def uses(self) -> "tuple[VesselUse, ...]":
        """Its uses of vessels."""
        from benchrun.shop_use.vessels import vessel_uses_of

        return vessel_uses_of(self.id, self.run) if self.run is not None else ()


@lean_dataclass(frozen=True, slots=True)
class Board:
    """The open runs, and the procedures that can be begun.

    Attributes:
        open_runs: The runs that are not closed: where a clock presses first, then newest first.
        begin: The procedures.
        left_away: Parts that closed runs left away.
        looked: Whether the logs of the runs were read; until then their titles alone are known.
    """

    open_runs: tuple[OpenRun, ...]
    begin: tuple[Listed, ...]
    left_away: tuple[LeftAway, ...] = ()
    looked: bool = True

    def clocks_at(self, now: Moment) -> "tuple[tuple[OpenRun, Run, ActClock], ...]":
        """Every clock of the open runs at a moment with its run, the most urgent first."""
        read = {one.id: (one, one.run) for one in self.open_runs if one.run is not None}
        if not read:
            return ()
        from benchrun.run.urgency import ordered_clocks

        ordered = ordered_clocks([(name, run) for name, (_, run) in read.items()], now)
        return tuple((*read[one.run_id], one.clock) for one in ordered)

    @property
    def uses(self) -> "tuple[VesselUse, ...]":
        """The uses of vessels by every open run."""
        return tuple(use for open_run in self.open_runs for use in open_run.uses)


def glance(shop: Shop) -> Board:
    """The board as far as it can be told at once: procedures, and open runs by their titles."""
    try:
        begun, _ = KEPT_RUNS.paths(shop.runs)
        runs = tuple(sorted(map(_glimpsed, begun), key=_newest))
    except (BenchrunError, OSError):
        return Board((), shop.procedures(), looked=False)  # looking tells what is wrong
    return Board(runs, shop.procedures(), looked=not _any_in(shop.runs))


def _glimpsed(path: Path) -> OpenRun:
    seen = glimpse(path)
    return OpenRun(path, seen.title, NOT_READ, since_ms=seen.since_ms)


def _newest(run: OpenRun) -> int:
    return -run.since_ms


def look(shop: Shop, now: Moment, each: Callable[[Board], None] | None = None) -> Board:
    """Look at the shop: its open runs, the most urgent first, and the procedures.

    A run whose files have not changed since it was read is not read again. Of those that must be
    read, the one whose load must come out first is read first.

    Args:
        shop: The shop.
        now: The moment.
        each: Takes the board as far as it is known, now and then while runs are being read.
    """
    from benchrun.approvals import listed_edition

    begun, shut = KEPT_RUNS.paths(shop.runs)
    procedures, told_s = shop.procedures(), -_TELL_EVERY_S
    waiting = _unread(begun)
    read = [_open_run(path, now) for path in begun if path not in waiting]
    for path in sorted(waiting, key=_end_of):
        read.append(_open_run(path, now))
        del waiting[path]
        if each is not None and waiting and time.monotonic() - told_s >= _TELL_EVERY_S:
            told_s = time.monotonic()
            rest = sorted(waiting.values(), key=_newest)
            each(Board((*_ordered(read, now), *rest), procedures, looked=False))
    procedures = tuple(replace(one, edition=listed_edition(shop, one)) for one in procedures)
    read += _missing(shop, {path.name for path in (*begun, *shut)})
    away = [left for path in shut for left in left_by(path)]
    return Board(_ordered(read, now), procedures, tuple(away))


def _unread(paths: Iterable[Path]) -> dict[Path, OpenRun]:
    """The open runs that were not read since they changed, each as a glimpse tells it."""
    from benchrun.record.folder import RunFolder

    return {path: _glimpsed(path) for path in paths if not KEPT_RUNS.has_run(RunFolder(path))}


def _end_of(path: Path) -> tuple[bool, int]:
    end = first_end(path)
    return (end is None, end or 0)


def _ordered(runs: Iterable[OpenRun], now: Moment) -> tuple[OpenRun, ...]:
    return tuple(sorted(runs, key=lambda run: (_press(run, now), _newest(run))))


def _press(one: OpenRun, now: Moment) -> tuple[int, int]:
    """How urgent the clocks of a run are; all without one that presses are alike."""
    if one.run is None:
        return _NO_PRESS
    from benchrun.run.urgency import Rank, most_urgent

    rank = most_urgent(one.run, now)
    return rank if rank[0] < Rank.USUAL else _NO_PRESS


def _missing(shop: Shop, there: set[str]) -> list[OpenRun]:
    """Runs that the register knows and that have no folder; those that were closed are counted."""
    from benchrun.record.anchor import read_anchor
    from benchrun.record.register_log import REGISTER_NAME

    path = shop.path / REGISTER_NAME
    anchor = read_anchor(shop.path)
    if not path.is_file() and anchor is None:
        return []
    try:
        known, set_back = _register_says(shop, file_stamp(path), anchor)
    except BenchrunError as error:
        fault = f"the shop's register cannot be read: {error.message}"
        return [OpenRun(path, "The shop's register", fault, fault=fault)]
    gone = {run: kind for run, kind in known.items() if run not in there}
    rows = [
        OpenRun(shop.runs / run, run, GONE, fault=f"{run}: {GONE}")
        for run, kind in gone.items()
        if kind != "closed"
    ]
    shut = [run for run, kind in gone.items() if kind == "closed"]
    if shut:
        title = count(len(shut), "closed run")
        fault = f"{listed(shut)}: {GONE}"
        rows.append(OpenRun(shop.runs, title, GONE, fault=fault))
    if set_back:
        rows.append(OpenRun(path, "The shop's register", "set back", fault=set_back))
    return rows


@lru_cache(maxsize=4)
def _register_says(
    shop: Shop, _register: FileStamp, _anchor: "Anchor | None"
) -> tuple[dict[str, str], str]:
    """The last word of the register on each run, and whether this machine saw more of it."""
    from benchrun.record.register import Register

    register = Register(shop.path).read()
    kinds = {said.state.run: said.kind for said in register.mentions}
    return kinds, register.set_back()


def _any_in(runs: Path) -> bool:
    return runs.is_dir() and next(runs.iterdir(), None) is not None


def _open_run(path: Path, now: Moment) -> OpenRun:
    from benchrun.record.folder import RunFolder
    from benchrun.run.clocks import loads

    seen = glimpse(path)
    since = seen.since_ms
    try:
        run = KEPT_RUNS.run(RunFolder(path))
    except (BenchrunError, ValueError) as error:
        return OpenRun(path, seen.title, "cannot be read", since_ms=since, fault=str(error))
    return OpenRun(path, seen.title, stands(run, now), run, loads(run, now), _away(run), since)


def is_sent(clock: "LoadClock") -> bool:
    """Whether a clock is of parts sent away as planned, not of a vessel."""
    from benchrun.procedure.route import Dwell

    return isinstance(clock.step.detail, Dwell) and bool(clock.step.detail.place)


def _away(run: "Run") -> tuple[tuple[str, tuple[str, ...]], ...]:
    from benchrun.run.state import Status

    places: dict[str, list[str]] = {}
    for marker in run.each():
        if marker.status is Status.AWAY and marker.place:
            places.setdefault(marker.place, []).append(marker.part)
    return tuple((place, tuple(parts)) for place, parts in places.items())
