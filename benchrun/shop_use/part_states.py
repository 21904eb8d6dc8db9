"""The parts book follows a run: how each part stands; and which parts had better not be begun."""

from collections.abc import Iterable, Mapping
from typing import Final

from benchrun.run.state import Marker, Run, Status
from benchrun.shop.folder import Shop
from benchrun.shop.parts import PARTS, Part
from benchrun.shop.row_editor import change_row
from benchrun.text import slug

SCRAPPED: Final = "scrapped"
"""Begins how a scrapped part stands."""

_WORDS: Final = {
    Status.PLAY: "in work",
    Status.AWAY: "away",
    Status.ASIDE: "set aside",
    Status.SCRAP: SCRAPPED,
    Status.DONE: "done",
}


def book_states(run: Run) -> dict[str, str]:
    """How each part of a run stands, with the entry that made it so."""
    return {marker.part: _state(run, marker) for marker in run.each()}


def _state(run: Run, marker: Marker) -> str:
    words = _WORDS[marker.status]
    if marker.status is Status.PLAY:
        return "closed before it was done" if run.ended else words
    where = f" at {marker.place}" if marker.status is Status.AWAY and marker.place else ""
    return f"{words}{where}, entry {marker.last}"


def enter_states(shop: Shop, run_id: str, states: Mapping[str, str]) -> None:
    """Write down in parts.yaml how the parts of a run stand; doing it again is harmless.

    A part is that of the row whose id is its tag in plain letters. A part that is scrapped gets
    that decision; one that is taken back into work from there loses it again.

    Args:
        shop: The shop.
        run_id: The run's id.
        states: How each part stands, as `book_states` tells it.

    Raises:
        BenchrunError: The file does not take it, or the disk refused.
    """
    known = PARTS.read(shop.path)
    for tag, state in states.items():
        row = known.find(slug(tag))
        stands = f"{state}: {run_id}"
        if row is None or row.stands == stands:
            continue
        values = {"stands": stands}
        if state.startswith(SCRAPPED):
            values["decision"] = "scrap"
        elif row.stands.startswith(SCRAPPED) and row.stands.endswith(f": {run_id}"):
            values["decision"] = ""
        change_row(shop.path, PARTS, row.id, values)


def unfit_parts(
    rows: Iterable[Part], tags: Iterable[str], busy: Mapping[str, str]
) -> dict[str, str]:
    """The parts that had better not be begun, each with why.

    Args:
        rows: The parts book.
        tags: The tags of the batch.
        busy: For tags in plain letters that are in an open run: which run that is.
    """
    known = {row.id: row for row in rows}
    found = {}
    for tag in tags:
        row = known.get(slug(tag))
        why = _unfit(row) if row is not None else ""
        if not why and slug(tag) in busy:
            why = f"in work in the open run {busy[slug(tag)]}"
        if why:
            found[tag] = why
    return found


def _unfit(row: Part) -> str:
    if row.decision == "scrap" or row.stands.startswith(SCRAPPED):
        by = row.stands.removeprefix(f"{SCRAPPED}, ") if row.stands.startswith(SCRAPPED) else ""
        return f"{SCRAPPED} ({by})" if by else SCRAPPED
    if row.decision == "replace":
        return "to be replaced"
    if row.gone is not None:
        return row.whereabouts
    return ""
