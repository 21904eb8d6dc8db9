"""The signs that are drawn with, once as they should be and once in ASCII alone."""

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Signs:
    """One set of signs; all are one cell wide.

    Attributes:
        stage_done, step_done, stage_ahead, step_ahead: Marks of the steel rule, behind and ahead.
        here, there: The pointer to the step in hand, and to where other parts stand.
        thin, thick: The line of a scale where time is free, and where it is right.
        edge, limit, end: The zero of a scale, a scribed limit, and its open end.
        pointer: The pointer on a scale.
        bead: A value on the gauge.
        shade: The zone in which an instrument cannot decide.
        hole, chosen: The eyelet of a tag, and the same filled in.
        bars: The bar of a plate, heaviest signal first.
        caret: Where the next character comes.
        dash: A line that is a limit and nothing more.
        dot, coat: Nothing yet, and done, in a table.
        hand: What the hand points at in a list.
    """

    stage_done: str
    step_done: str
    stage_ahead: str
    step_ahead: str
    here: str
    there: str
    thin: str
    thick: str
    edge: str
    limit: str
    end: str
    pointer: str
    bead: str
    shade: str
    hole: str
    chosen: str
    bars: tuple[str, str, str, str]
    caret: str
    dash: str
    dot: str
    coat: str
    hand: str


DRAWN: Final = Signs(
    "┃", "╹", "│", "╵", "▼", "▽", "─", "━", "├", "┃", "─", "▼", "●", "░", "∘", "●",
    ("█", "▌", "│", "┆"), "▏", "╌", "·", "●", "▸",
)  # fmt: skip
ASCII: Final = Signs(
    "#", "=", "|", "'", "V", "v", "-", "=", "|", "|", "-", "V", "O", ":", "o", "*",
    ("#", "#", "|", ":"), "_", "=", ".", "o", ">",
)  # fmt: skip
