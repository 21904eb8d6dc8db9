"""The shop's duties on the board: parts away, tins short or spoiled, instruments out of date."""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Final

from benchrun.board import LeftAway, OpenRun, still_away
from benchrun.moment import Moment
from benchrun.part_names import brief, part_names
from benchrun.screen.page import TIGHT, Block, block
from benchrun.screen.text_line import Paper, Role

if TYPE_CHECKING:
    from benchrun.shop.duties import Duty
    from benchrun.shop.folder import Shop

MOST: Final = 3
MOST_LARGE: Final = 8


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


def away_block(paper: Paper, runs: Sequence[OpenRun], duties: "Sequence[Duty]") -> Block:
    """Parts that are away: of the open runs, and by the shop's books."""
    texts = [
        f"{brief(parts, 30)} at {place}, {run.title}" for run in runs for place, parts in run.away
    ]
    texts += [f"{d.words}: overdue" if d.late else d.words for d in duties if _away(d)]
    return _listed_block(paper, "away", texts)


def see_to_block(paper: Paper, duties: "Sequence[Duty]") -> Block:
    """Tins, instruments, vessels and files that something is the matter with, the late first."""
    return _listed_block(
        paper, "needs attention", [duty.words for duty in duties if not _away(duty)]
    )


def _away(duty: "Duty") -> bool:
    return duty.sort.value == "away"


def _listed_block(paper: Paper, title: str, texts: Sequence[str]) -> Block:
    """A heading with its rows; where there is no room, one row with the first of them."""
    if not texts:
        return block([])
    head = paper.line(" ", (title.upper(), Role.QUIET))
    shown = texts[: MOST_LARGE if paper.large else MOST]
    full = [head, *[row for text in shown for row in paper.paragraph(text, first="   ", most=2)]]
    if len(texts) > len(shown):
        words = f"and {len(texts) - len(shown)} more in the shop's books"
        full.append(paper.line("   ", (words, Role.QUIET)))
    lead, more = f" {title.upper():<8} ", f"  and {len(texts) - 1} more "
    if len(texts) == 1:
        return block(
            full, short=paper.paragraph(texts[0], first=lead, lead=Role.QUIET, most=2), rank=TIGHT
        )
    words = paper.fitted(texts[0], paper.width - len(lead) - len(more) - 1)
    short = paper.line((lead, Role.QUIET), words, (more, Role.QUIET))
    return block(full, short=[short], rank=TIGHT)
