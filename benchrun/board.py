"""The open runs of this bench, read from the logs without touching them.

The rules and the keeping are imported by what needs them: a board with nothing open comes up
without them, which is two fifths sooner.
"""

import json
import time
from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Final

from benchrun.errors import BenchrunError
from benchrun.kept_runs import KEPT_RUNS, FileStamp, file_stamp
from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.plain_file import open_regular
from benchrun.record.glimpse import first_end, glimpse
from benchrun.shop.folder import Listed, Shop
from benchrun.text import count, listed, slug

if TYPE_CHECKING:
    from benchrun.record.anchor import Anchor
    from benchrun.record.folder import RunFolder
    from benchrun.run.act_clocks import ActClock
    from benchrun.run.clocks import LoadClock
    from benchrun.run.commands import Do, PutIn
    from benchrun.run.offers import Offer
    from benchrun.run.state import Run
    from benchrun.shop.parts import Part
    from benchrun.shop_use.vessels import VesselUse

NOT_READ: Final = "its log is being read"
"""Where a run stands whose log was not read yet, in words."""

GONE: Final = "gone: the shop's register knows it, its folder or its log is not there"
"""Words for a run that is missing."""

_TELL_EVERY_S: Final = 0.25
_TAIL_BYTES: Final = 256 * 1024
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
class LeftAway:
    """Parts that were away when their run was closed.

    Attributes:
        run: The run's id.
        title: Its procedure's title.
        place: Where they are.
        parts: Their tags.
    """

    run: str
    title: str
    place: str
    parts: tuple[str, ...]


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
    away = [left for path in shut for left in _left_away(path)]
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


def uses_beside(shop: Shop, run: str) -> "tuple[VesselUse, ...]":
    """The uses of vessels by the other open runs of a shop, as their logs stand now.

    Args:
        shop: The shop.
        run: The id of the run that asks; it is left out.
    """
    from benchrun.record.folder import RunFolder
    from benchrun.shop_use.vessels import vessel_uses_of

    uses: list[VesselUse] = []
    for folder in map(RunFolder, KEPT_RUNS.paths(shop.runs)[0]):
        try:
            if folder.run != run:
                uses += vessel_uses_of(folder.run, KEPT_RUNS.run(folder))
        except (BenchrunError, ValueError, OSError):
            continue  # the board tells of a log that cannot be read
    return tuple(uses)


def parts_in_work(shop: Shop) -> dict[str, str]:
    """The parts of the open runs that are not finished there, in plain letters, with the run."""
    from benchrun.record.folder import RunFolder
    from benchrun.run.state import Status

    found: dict[str, str] = {}
    for folder in map(RunFolder, KEPT_RUNS.paths(shop.runs)[0]):
        try:
            run = KEPT_RUNS.run(folder)
        except (BenchrunError, ValueError, OSError):
            continue  # the board tells of a log that cannot be read
        for marker in run.each():
            if marker.status not in (Status.SCRAP, Status.DONE):
                found[slug(marker.part)] = folder.run
    return found


def vessel_wanted(run: "Run", command: "PutIn | Do") -> str:
    """The vessel that an act would take parts into, by its id in the procedure; empty for none.

    Args:
        run: The run as it stands.
        command: What is to be put in, or the act that makes a load.
    """
    from benchrun.run.vessels import makes_load, vessel_for, vessels_open

    step = run.route.steps.get(command.step)
    if step is None or any(part not in run.markers for part in command.parts):
        return ""
    if makes_load(run, step, command.parts):
        wanted = command.vessel or next(iter(vessels_open(run, step, command.parts)), "")
    else:
        wanted = "" if step.load else vessel_for(run, step, command.parts)
    return wanted if wanted in run.route.vessels else ""


def in_the_way(shop: Shop, own: str, run: "Run", command: "PutIn | Do") -> str:
    """Why a load had better wait because of what other runs have in its vessel; empty for no.

    Args:
        shop: The shop.
        own: The id of the run that the load belongs to.
        run: That run as it stands.
        command: What is to be put in, or the act that makes a load.
    """
    from benchrun.shop.vessels import read_vessels
    from benchrun.shop_use.vessels import crowded, vessel_uses_of

    wanted = vessel_wanted(run, command)
    if not wanted:
        return ""
    beside = uses_beside(shop, own)
    room = sum(run.markers[part].size for part in command.parts)
    vessel, uses = run.route.vessels[wanted], (*vessel_uses_of(own, run), *beside)
    return crowded(read_vessels(shop), vessel, uses, own, room)


def is_sent(clock: "LoadClock") -> bool:
    """Whether a clock is of parts sent away as planned, not of a vessel."""
    from benchrun.procedure.route import Dwell

    return isinstance(clock.step.detail, Dwell) and bool(clock.step.detail.place)


def still_away(left: Iterable[LeftAway], parts: "Iterable[Part]") -> tuple[LeftAway, ...]:
    """Those that closed runs left away, without the parts that parts.yaml knows to be back.

    A part is back when its row, whose id is its tag in plain letters, names the run and says
    nothing of its being away now.

    Args:
        left: What closed runs left away.
        parts: The rows of parts.yaml.
    """
    back = {(run, part.id) for part in parts if part.gone is None for run in part.runs}
    away = []
    for one in left:
        tags = tuple(tag for tag in one.parts if (one.run, slug(tag)) not in back)
        if tags:
            away.append(LeftAway(one.run, one.title, one.place, tags))
    return tuple(away)


def _left_away(path: Path) -> tuple[LeftAway, ...]:
    from benchrun.record.folder import RunFolder

    return KEPT_RUNS.of_closed(RunFolder(path), _left_in)


def _left_in(folder: "RunFolder") -> tuple[LeftAway, ...]:
    """The parts that a closed run left away."""
    from benchrun.load_run import look_at_kept
    from benchrun.procedure.route import Dwell
    from benchrun.run.state import Status

    try:
        if not _closed_with_reasons(folder.log):
            return ()
        run = look_at_kept(folder).run
    except (BenchrunError, ValueError, OSError):
        return ()  # a closed log that cannot be read is for verify to tell
    places: dict[str, list[str]] = {}
    for marker in run.each():
        place = marker.place if marker.status is Status.AWAY else ""
        if marker.soak is not None:
            detail = run.route.steps[marker.soak.step].detail
            place = detail.place if isinstance(detail, Dwell) else ""
        if place:
            places.setdefault(place, []).append(marker.part)
    title = _title(run, folder)
    return tuple(LeftAway(folder.run, title, at, tuple(tags)) for at, tags in places.items())


def _closed_with_reasons(log: Path) -> bool:
    """Whether the close of a log names parts that were not done, by its last lines alone."""
    with open_regular(log) as file:
        size = file.seek(0, 2)
        file.seek(max(0, size - _TAIL_BYTES))
        lines = file.read().splitlines()
    for line in reversed(lines[1:] if size > _TAIL_BYTES else lines):
        entry = json.loads(line)
        if isinstance(entry, dict) and entry.get("kind") == "close":
            return bool(entry.get("data", {}).get("reasons"))
    return True  # the close lies further back: only reading it all can tell


def _title(run: "Run", folder: "RunFolder") -> str:
    about = run.about.get("procedure")
    return str(about.get("title", folder.run)) if isinstance(about, dict) else folder.run


def _away(run: "Run") -> tuple[tuple[str, tuple[str, ...]], ...]:
    from benchrun.run.state import Status

    places: dict[str, list[str]] = {}
    for marker in run.each():
        if marker.status is Status.AWAY and marker.place:
            places.setdefault(marker.place, []).append(marker.part)
    return tuple((place, tuple(parts)) for place, parts in places.items())


def stands(run: "Run", now: Moment) -> str:
    """Say where a run stands, by its first offer."""
    return stands_in_both(run, now)[0]


def stands_in_both(run: "Run", now: Moment) -> tuple[str, str]:
    """Where a run stands, by its first offer: in full, and with more than two parts counted."""
    from benchrun.run.offers import offers

    if run.stopped:
        return (f"stopped: {run.stopped}",) * 2
    first = next(iter(offers(run, now)), None)
    if first is None:
        return ("nothing to do",) * 2
    return offer_words(run, first), offer_words(run, first, few=True)


def offer_words(run: "Run", offer: "Offer", *, few: bool = False) -> str:
    """Say an offer in one line, such as `arm L, R: step 14, Rinse in running water.`.

    Args:
        run: The run.
        offer: What is on offer.
        few: Whether more than two parts are counted, for want of room.
    """
    from benchrun.run.clocks import window_words
    from benchrun.run.offers import Deed

    most = 2 if few else 3 if len(offer.parts) == len(run.parts) else len(offer.parts)
    parts = len(offer.parts)
    who = count(parts, "part") if parts > most else part_names(offer.parts)
    step = f"step {offer.step.number}" if offer.step else ""
    match offer.deed:
        case Deed.CLOSE:
            return "all done: close the run" if offer.ready else f"close: {offer.why}"
        case Deed.RESUME:
            return f"stopped: {offer.why}"
        case Deed.ANSWER:
            says = offer.question.says if offer.question else ""
            return f"{who}: {says}"
        case Deed.LATE:
            state = offer.window
            late = window_words(state) if state else "late"
            return f"{who}: {step} is {late}"
        case Deed.LIFT:
            return f"{who}: {step}, take out" + ("" if offer.ready else f" ({offer.why})")
        case Deed.WITNESS:
            waits = f" ({offer.why})" if offer.why else ""
            return f"{who}: {step}, a witness is waited for{waits}"
        case Deed.TEND:
            tend = offer.clock.tend if offer.clock else "tend"
            return f"{who}: " + (f"{tend.removesuffix('.')}, {offer.why}" if offer.why else tend)
        case Deed.GET_BACK:
            return f"{who}: {offer.why}"
    text = offer.step.text if offer.step else ""
    text = f"begin: {text}" if offer.deed is Deed.BEGIN else text
    load = run.route.vessels[offer.vessel].title if offer.takes_vessel else ""
    done = f"done already in this sitting, entry {offer.set_up}: still so" if offer.set_up else ""
    words = [offer.why, f"a load for the {load}" if load else "", done]
    beside = "; ".join(word for word in words if word)
    return f"{who}: {step}, {text}" + (f" ({beside})" if beside else "")
