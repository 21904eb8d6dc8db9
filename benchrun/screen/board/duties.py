"""The shop's duties on the board: parts away, tins short or spoiled, instruments out of date."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from benchrun.board import OpenRun
from benchrun.part_names import brief
from benchrun.screen.board.blocks import WIDEST
from benchrun.screen.page import TIGHT, Block, block
from benchrun.screen.text_line import Paper, Role

if TYPE_CHECKING:
    from benchrun.shop.duties import Duty

MOST: Final = 3
MOST_LARGE: Final = 8
_LABEL: Final = len("needs attention")


def away_block(paper: Paper, runs: Sequence[OpenRun], duties: "Sequence[Duty]") -> Block:
    """Parts that are away: of the open runs, and by the shop's books."""
    texts = [
        f"{brief(parts, 30)} at {place}, {run.title}" for run in runs for place, parts in run.away
    ]
    texts += [duty.told for duty in duties if duty.away]
    # The key that shows all stands once: beside what needs attention, where anything does.
    return _listed_block(paper, "away", texts, key=all(duty.away for duty in duties))


def see_to_block(paper: Paper, duties: "Sequence[Duty]") -> Block:
    """Tins, instruments, vessels and files that something is the matter with, the late first."""
    texts = [duty.words for duty in duties if not duty.away]
    return _listed_block(paper, "needs attention", texts, key=True)


def _listed_block(paper: Paper, title: str, texts: Sequence[str], *, key: bool) -> Block:
    """A heading with its rows; where there is no room, one row with the first of them."""
    if not texts:
        return block([])
    shown = texts[: MOST_LARGE if paper.large else MOST]
    whole = [paper.paragraph(text, first="   ") for text in shown]
    hidden = len(texts) > len(shown) or any(len(rows) > 2 for rows in whole)
    head = paper.line(" ", (title.upper(), Role.QUIET))
    if hidden and key:
        head += paper.line("   ", ("0", Role.STRONG), (" shows all", Role.QUIET))
    full = [head, *[row for text in shown for row in paper.paragraph(text, first="   ", most=2)]]
    if len(texts) > len(shown):
        full.append(paper.line("   ", (f"and {len(texts) - len(shown)} more", Role.QUIET)))
    lead, rest = f" {title.upper():<{_LABEL}}  ", len(texts) - 1
    if not rest:
        return block(
            full, short=paper.paragraph(texts[0], first=lead, lead=Role.QUIET, most=2), rank=TIGHT
        )
    more = f"  0 shows all {len(texts)} " if key else f"  and {rest} more "
    room = min(paper.width, WIDEST) - len(lead) - len(more) - 1
    words = paper.fitted(texts[0], room)
    short = paper.line((lead, Role.QUIET), words, (more, Role.QUIET))
    return block(full, short=[short], rank=TIGHT)
