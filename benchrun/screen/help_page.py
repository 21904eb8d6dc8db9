"""The keys, on one page."""

from collections.abc import Sequence

from benchrun.screen.page_api import Pane, PaneHost
from benchrun.screen.reader_page import ReadPane
from benchrun.screen.text_line import Paper, Role, TextLine

KEYS = (
    ("Enter", "do what is first, for all parts that are ready; accept what is typed"),
    ("+ and -", "walk the other work; in a reading they are signs"),
    ("digits", "choose what is numbered; in a reading they are typed"),
    (".", "the parts: who is where; choose some to go on with; in a reading the point"),
    ("*", "write down: note, photo, lesson, deviation, correct, undo, hand over, sign, leave"),
    ("/", "look up: parts, procedure, log, sums, clocks, supplies, other work, why, instrument"),
    ("0", "why this step, with its cautions in full"),
    ("- or Esc", "back, wherever a page lies on top of the work"),
)
LETTERS = (
    ("w  F2", "the same as *"),
    ("l  F3", "the same as /"),
    ("s  F4", "the same as ."),
    ("n  p  arrows", "the same as + and -"),
    ("y", "the same as 0"),
    ("h", "this page; ? or F1: the keys of the page in front, in three lines"),
    ("Esc", "back; from the work itself to the board"),
    ("F8  !", "first aid, from every page; where something is being typed F8 alone"),
    ("F10", "leave the program; open runs go on"),
)


def help_pane(host: PaneHost) -> Pane:
    """The keys, on one page."""
    own = tuple((_cap(key), what) for key, what in host.own_keys.items())
    return ReadPane(host, "Keys", lambda paper: help_rows(paper, own))


def _cap(key: str) -> str:
    """A key as it is printed on the cap."""
    return "+".join(part.capitalize() for part in key.split("+"))


def help_rows(paper: Paper, own: Sequence[tuple[str, str]] = ()) -> list[TextLine]:
    """Every key and what it means; own keys, where there are some, last."""
    rows: list[TextLine] = []
    for table in (KEYS, LETTERS, *([own] if own else [])):
        for key, words in table:
            rows += paper.paragraph(words, first=f"   {key:<14}", lead=Role.STRONG)
        rows.append(paper.line())
    said = (
        "During an alarm, Enter goes to the act that it calls for, and there does it; 0 "
        "silences it for a while. What is being typed keeps every key. Enter is deaf for half a "
        "second after what it would do has changed, so that a double tap does nothing twice."
    )
    return [*rows, *paper.paragraph(said, first="   ", role=Role.QUIET)]
