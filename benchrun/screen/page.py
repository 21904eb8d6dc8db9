"""Fitting blocks of lines to a page: what matters least gives way first, then empty space."""

from collections.abc import Sequence
from dataclasses import replace

from benchrun.lean_dataclass import lean_dataclass
from benchrun.screen.text_line import BLANK, Role, TextLine

SPARE = 4
"""Blocks of this rank or above are left out before lines are put closer together."""
TIGHT = 3
"""Blocks of this rank or above are shortened before lines are put closer together."""


@lean_dataclass(frozen=True, slots=True)
class Block:
    """Lines that belong together.

    Attributes:
        lines: The block in full.
        short: What stands for it where there is no room; None: it has no short form.
        rank: How readily it gives way, 5 the first; 0: never.
        gap: Empty rows wanted before it.
    """

    lines: tuple[TextLine, ...]
    short: tuple[TextLine, ...] | None = None
    rank: int = 0
    gap: int = 1


@lean_dataclass(frozen=True, slots=True)
class Page:
    """A page: exactly as many rows as were asked for.

    Attributes:
        whole: Whether every block that never gives way stands on it in full.
        tight: Whether empty rows had to be taken out between blocks.
    """

    rows: tuple[TextLine, ...]
    whole: bool = True
    tight: bool = False

    @property
    def yielding(self) -> int:
        """How many rows at the top an alarm may lie over; an empty row below them counts.

        The first row, the title, always is one: no page moves when an alarm comes.
        """
        count = 1 if self.rows else 0
        while count < len(self.rows) and self.rows[count].yields:
            count += 1
        blank = 0 < count < len(self.rows) and self.rows[count] == BLANK
        return count + 1 if blank else count

    @property
    def text(self) -> str:
        """The page as plain text, rows without blanks at their ends."""
        return "\n".join(row.text.rstrip() for row in self.rows) + "\n"


@lean_dataclass(frozen=True, slots=True)
class TwoColumns:
    """Blocks in two columns, for a page with room for both.

    Attributes:
        head: What stands across the page above them.
        left, right: The blocks of each column.
        tail: What stands across the page below them.
        edge: Where the left column ends.
        line: The sign that parts the columns.
    """

    head: tuple[Block, ...]
    left: tuple[Block, ...]
    right: tuple[Block, ...]
    tail: tuple[TextLine, ...]
    edge: int
    line: str

    def fit(self, foot: Sequence[TextLine], height: int) -> Page:
        """Lay both columns out beside each other, the tail and the foot at the bottom."""
        head = _rows([one for one in self.head if one.lines])
        tail = (*self.tail, BLANK) if self.tail else ()
        room = height - len(head) - 1 - len(tail) - len(foot)
        left, right = fit_blocks(self.left, (), room), fit_blocks(self.right, (), room)
        ends = [
            place for place in range(room) if (left.rows[place], right.rows[place]) != (BLANK,) * 2
        ]
        mark = TextLine((("  ", Role.TEXT), (self.line, Role.QUIET)))
        body = [
            own.padded(self.edge) + mark + beside if place <= max(ends, default=-1) else BLANK
            for place, (own, beside) in enumerate(zip(left.rows, right.rows, strict=True))
        ]
        rows = (*head, BLANK, *body, *tail, *foot)
        return Page(rows[:height], left.whole, left.tight)


def block(
    lines: Sequence[TextLine],
    *,
    short: Sequence[TextLine] | None = None,
    rank: int = 0,
    gap: int = 1,
) -> Block:
    """Make a block of any sequence of lines."""
    return Block(tuple(lines), None if short is None else tuple(short), rank, gap)


def fit_blocks(blocks: Sequence[Block], foot: Sequence[TextLine], height: int) -> Page:
    """Lay blocks out from the top and the foot at the bottom.

    Args:
        blocks: What stands on the page, from the top.
        foot: The last rows; they are always there.
        height: How many rows the page has.
    """
    room = height - len(foot)
    # A row is kept free above the foot as long as only spare things have to go for it.
    kept = _left_out([one for one in blocks if one.lines], room - 1, SPARE)
    kept = _shortened(kept, room - 1, TIGHT)
    tight = _over(kept, room) > 0
    kept = _shortened(_closed_up(kept, room), room, 0)
    kept = _closed_up(_left_out(kept, room, 1), room)
    rows = _rows(kept)
    whole = len(rows) <= room
    rows = [*rows, *[BLANK] * (room - len(rows))][: max(0, room)]
    return Page((*rows, *foot)[:height], whole, tight)


def with_message(
    page: Page, said: Sequence[TextLine], foot: int, *, parted: bool = True
) -> Page | None:
    """Lay a message over the empty rows above the foot, so that nothing else on the page moves.

    Args:
        page: The page without the message.
        said: The message.
        foot: How many rows the foot has, the empty one that parts it from the page left out.
        parted: Whether an empty row stays between the message and the foot where there is room.

    Returns:
        None when there are not so many empty rows.
    """
    rows, end = list(page.rows), len(page.rows) - foot
    free = 0
    while free < end and rows[end - 1 - free] == BLANK:
        free += 1
    if len(said) > free:
        return None
    end -= 1 if parted and len(said) < free else 0
    rows[end - len(said) : end] = said
    return Page(tuple(rows), page.whole, page.tight)


def _rows(blocks: Sequence[Block]) -> list[TextLine]:
    rows: list[TextLine] = []
    for one in blocks:
        rows += [BLANK] * (one.gap if rows else 0)
        rows += one.lines
    return rows


def _over(blocks: Sequence[Block], room: int) -> int:
    return len(_rows(blocks)) - room


def _closed_up(blocks: list[Block], room: int) -> list[Block]:
    """Take empty rows out from the bottom up, only as many as needed."""
    blocks = list(blocks)
    while _over(blocks, room) > 0 and any(one.gap for one in blocks[1:]):
        at = max((i for i, one in enumerate(blocks) if i and one.gap), key=lambda i: i)
        blocks[at] = replace(blocks[at], gap=blocks[at].gap - 1)
    return blocks


def _shortened(blocks: list[Block], room: int, least: int) -> list[Block]:
    """Shorten the readiest first; of two alike, the lower one."""
    order = sorted(range(len(blocks)), key=lambda i: (-blocks[i].rank, -i))
    blocks = list(blocks)
    for at in order:
        if _over(blocks, room) <= 0:
            break
        short = blocks[at].short
        if short is not None and blocks[at].rank >= least:
            blocks[at] = replace(blocks[at], lines=short, short=None)
    return [one for one in blocks if one.lines]


def _left_out(blocks: list[Block], room: int, least: int) -> list[Block]:
    blocks = list(blocks)
    while _over(blocks, room) > 0:
        worst = max((one.rank for one in blocks), default=0)
        if worst < least:
            break
        at = max(i for i, one in enumerate(blocks) if one.rank == worst)
        del blocks[at]
    return blocks
