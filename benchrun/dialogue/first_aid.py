"""First aid on one page: what the procedures in hand say first, then the shop's others."""

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from benchrun.dialogue.page_prompt import PagePrompt, PageRow, Tone
from benchrun.procedure.first_aid import first_aid_in
from benchrun.shop.folder import Shop

ENDS: Final = (
    "Written by the procedures' authors. Local emergency services, the data sheets and trained "
    "first-aiders go before it."
)
NOTHING: Final = "No first aid is written in it."


ASKED: Final = "!"
"""The sign that is typed for it, line by line, at any question but a passphrase."""


def first_aid_page(shop: Shop, in_hand: Sequence[tuple[str, Path]]) -> PagePrompt:
    """The page of first aid.

    Args:
        shop: The shop, whose procedures follow those in hand.
        in_hand: The title and the file of each procedure that is being worked to, the nearest
            first.
    """
    rows = list(first_aid_rows(shop, in_hand, others=True))
    return PagePrompt("First aid", lambda: rows)


def first_aid_rows(
    shop: Shop, in_hand: Sequence[tuple[str, Path]], *, others: bool
) -> Iterator[PageRow]:
    """The rows of the page; a line that several procedures have stands once.

    Args:
        shop: The shop.
        in_hand: As above.
        others: Whether the shop's other procedures follow.
    """
    told: set[str] = set()
    below = False
    for title, path in dict.fromkeys(in_hand):
        lines = first_aid_in(path)
        new = [line for line in lines if line not in told]
        if new or not lines:
            yield from _under(title, new or [NOTHING], below=below)
            below = True
        told.update(lines)
    more = [line for one in shop.procedures() for line in first_aid_in(one.path)] if others else []
    rest = sorted({line for line in more if line not in told}, key=str.casefold)
    if rest:
        head = "from the shop's other procedures" if in_hand else "from the shop's procedures"
        yield from _under(head, rest, below=below)
    yield PageRow()
    yield PageRow(ENDS, tone=Tone.QUIET)


def _under(head: str, lines: Sequence[str], *, below: bool) -> Iterator[PageRow]:
    if below:
        yield PageRow()
    yield PageRow(head, tone=Tone.QUIET, heads=True)
    yield from (PageRow(line, tone=Tone.STRONG, indent=2) for line in lines)
