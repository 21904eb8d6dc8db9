"""What is open at this bench, read from the logs without touching them."""

from dataclasses import dataclass
from pathlib import Path

from benchrun.errors import BenchrunError
from benchrun.kept import folded, read_kept
from benchrun.moment import Moment
from benchrun.record.folder import RunFolder, run_folders
from benchrun.run.clocks import LoadClock, loads
from benchrun.run.offers import Deed, Offer, offers
from benchrun.run.state import Run, Status
from benchrun.shop.folder import Listed, Shop
from benchrun.text import count, listed, span


@dataclass(frozen=True, slots=True)
class OpenRun:
    """A run that is not closed.

    Attributes:
        title: The procedure's title.
        words: Where it stands, in words.
        clocks: What soaks in it or is away as planned.
        away: Parts away without a plan: place and tags.
        since_ms: Wall time of its last entry, milliseconds since 1970.
        fault: Why it cannot be taken up, or empty.
    """

    folder: RunFolder
    title: str
    words: str
    run: Run | None = None
    clocks: tuple[LoadClock, ...] = ()
    away: tuple[tuple[str, tuple[str, ...]], ...] = ()
    since_ms: int = 0
    fault: str = ""


@dataclass(frozen=True, slots=True)
class Board:
    """What is open, and what can be begun."""

    open_runs: tuple[OpenRun, ...]
    begin: tuple[Listed, ...]

    @property
    def clocks(self) -> tuple[tuple[OpenRun, LoadClock], ...]:
        """Every running clock, the one nearest its upper limit first."""
        pairs = [(one, clock) for one in self.open_runs for clock in one.clocks]
        return tuple(sorted(pairs, key=lambda p: (p[1].to_most is None, p[1].to_most or 0)))


def look(shop: Shop, now: Moment) -> Board:
    """Look at the shop: its open runs, newest first, and the procedures."""
    found = [_open_run(folder, now) for folder in run_folders(shop.runs) if not _closed(folder)]
    found.sort(key=lambda one: -one.since_ms)
    return Board(tuple(found), shop.procedures())


def _closed(folder: RunFolder) -> bool:
    return folder.seal.is_file() or folder.log.stat().st_size == 0


def _open_run(folder: RunFolder, now: Moment) -> OpenRun:
    try:
        run = folded(*read_kept(folder))
    except (BenchrunError, ValueError) as error:
        return OpenRun(folder, folder.run, "cannot be read", fault=str(error))
    about = run.about.get("procedure")
    title = str(about.get("title", folder.run)) if isinstance(about, dict) else folder.run
    return OpenRun(
        folder,
        title,
        stands(run, now),
        run,
        loads(run, now),
        _away(run),
        _last_utc(folder),
    )


def _last_utc(folder: RunFolder) -> int:
    return int(Path(folder.log).stat().st_mtime * 1000)


def _away(run: Run) -> tuple[tuple[str, tuple[str, ...]], ...]:
    places: dict[str, list[str]] = {}
    for marker in run.each():
        if marker.status is Status.AWAY and marker.place:
            places.setdefault(marker.place, []).append(marker.part)
    return tuple((place, tuple(parts)) for place, parts in places.items())


def stands(run: Run, now: Moment) -> str:
    """Say where a run stands, by its first offer."""
    first = next(iter(offers(run, now)), None)
    if run.stopped:
        return f"stopped: {run.stopped}"
    return offer_words(run, first) if first else "nothing to do"


def offer_words(run: Run, offer: Offer) -> str:
    """Say an offer in one line, such as `arm L, arm R: step 14, Rinse in running water.`."""
    whole = len(offer.parts) == len(run.parts)
    who = count(len(offer.parts), "part") if whole and len(offer.parts) > 3 else listed(offer.parts)
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
            late = -(offer.window.to_most or 0) if offer.window else 0
            return f"{who}: {step} is late by {span(late)}"
        case Deed.LIFT:
            return f"{who}: {'lift' if offer.ready else offer.why}, {step}"
        case Deed.TEND:
            return f"{who}: {offer.clock.tend if offer.clock else 'tend'} {offer.why}".strip()
        case Deed.GET_BACK:
            return f"{who}: {offer.why}"
    text = offer.step.text if offer.step else ""
    return f"{who}: {step}, {text}" + (f" ({offer.why})" if offer.why else "")
