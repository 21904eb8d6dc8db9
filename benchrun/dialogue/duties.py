"""The books of a shop read for what needs attention, and the page of every row whole."""

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Final

from benchrun.board import LeftAway, OpenRun, still_away
from benchrun.dialogue.page_prompt import PagePrompt, PageRow, Tone
from benchrun.dialogue.turns import Flow, show_page
from benchrun.moment import Moment
from benchrun.part_names import part_names

if TYPE_CHECKING:
    from benchrun.shop.duties import Duty
    from benchrun.shop.folder import Shop

TITLE: Final = "Needs attention"


def read_duties(shop: "Shop", left: Iterable[LeftAway], now: Moment) -> "tuple[Duty, ...]":
    """Read the shop's books for what there is to see to, parts that closed runs left away first.

    Args:
        shop: The shop.
        left: What closed runs left away.
        now: The moment; days are those of UTC.

    Raises:
        BenchrunError: The shop's settings cannot be read.
    """
    from benchrun.shop.amounts import day_of
    from benchrun.shop.books import read_books
    from benchrun.shop.duties import Duty, Sort, duties

    books = read_books(shop)
    gone = [
        Duty(Sort.AWAY, f"{part_names(one.parts)}: away at {one.place}, left so by {one.title}")
        for one in still_away(left, books.parts.rows)
    ]
    return (*gone, *duties(books, day_of(now)))


def duties_page(runs: Sequence[OpenRun], duties: "Sequence[Duty]") -> Flow:
    """Show everything that needs attention, every row whole."""
    rows = list(_rows(runs, duties)) or [PageRow("Nothing needs attention.")]
    return (yield from show_page(PagePrompt(TITLE, lambda: rows)))


def _rows(runs: Sequence[OpenRun], duties: "Sequence[Duty]") -> Iterator[PageRow]:
    here = [duty for duty in duties if not duty.away]
    away = [
        PageRow(f"{part_names(parts)} at {place}, {run.title}", indent=2)
        for run in runs
        for place, parts in run.away
    ]
    away += [_row(duty) for duty in duties if duty.away]
    for head, tone, listed in (
        ("now", Tone.CALLS, [_row(duty) for duty in here if duty.late]),
        ("soon", Tone.QUIET, [_row(duty) for duty in here if not duty.late]),
        ("away", Tone.QUIET, away),
    ):
        if listed:
            yield PageRow(head, tone=tone, heads=True)
            yield from listed
            yield PageRow()


def _row(duty: "Duty") -> PageRow:
    return PageRow(duty.told, tone=Tone.STRONG if duty.late else Tone.TEXT, indent=2)
