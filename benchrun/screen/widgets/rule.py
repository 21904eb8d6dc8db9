"""The steel rule: every step a mark, every stage a long one; heavy behind, light ahead."""

from collections.abc import Collection, Mapping, Sequence
from typing import Final

from rich.cells import cell_len

from benchrun.lean_dataclass import lean_dataclass
from benchrun.screen.text_line import Paper, Role, TextLine

APART: Final = 6
"""Steps are so many columns apart where nothing else is asked for."""
_APART: Final = 2
"""Columns between two titles."""
_LEAST: Final = 6
"""A title that is cut shorter tells nothing."""


@lean_dataclass(frozen=True, slots=True)
class Graduation:
    """One step on the rule: the stage it begins, or empty."""

    stage: str = ""


@lean_dataclass(frozen=True, slots=True)
class Title:
    """A stage's title on the rule: the column where it begins, and its text."""

    at: int
    text: str

    @property
    def end(self) -> int:
        """The column behind it."""
        return self.at + cell_len(self.text)


def steel_rule(
    paper: Paper,
    marks: Sequence[Graduation],
    here: int,
    others: Collection[int] = (),
    words: str = "",
    apart: int = APART,
) -> list[TextLine]:
    """Draw the rule: pointers above, marks, and the titles of the stages below.

    Args:
        paper: What it is drawn on; the rule takes the whole width, less a margin of one.
        marks: The steps in their order.
        here: The index of the step in hand.
        others: The indices at which other parts stand.
        words: Where the hand is, in words, at the right end of the pointer's row.
        apart: So many columns at most from one mark to the next.
    """
    signs, width = paper.signs, paper.width - 2
    if not marks or width < 8:
        return []
    places = _places(len(marks), width, apart)
    pointers, scale = [" "] * width, [" "] * width
    for index, mark in enumerate(marks):
        at, behind = places[index], index < here
        sign = signs.step_done if behind else signs.step_ahead
        if mark.stage:
            sign = signs.stage_done if behind or index == here else signs.stage_ahead
        if not _is_stage(scale[at], paper):
            scale[at] = sign
    for index in others:
        if 0 <= index < len(marks):
            pointers[places[index]] = signs.there
    at = places[min(max(here, 0), len(marks) - 1)]
    pointers[at] = signs.here
    return [
        _pointer_row(paper, "".join(pointers), at, words),
        paper.line(" ", "".join(scale)),
        _titles(paper, marks, places, here),
    ]


def _is_stage(sign: str, paper: Paper) -> bool:
    return sign in (paper.signs.stage_done, paper.signs.stage_ahead)


def _places(count: int, width: int, most: int) -> list[int]:
    """The column of each mark: whole columns apart where they fit, else shared."""
    apart = (width - 1) // max(1, count - 1) if count > 1 else width
    if apart >= 1:
        return [index * min(apart, most) for index in range(count)]
    return [index * (width - 1) // (count - 1) for index in range(count)]


def _pointer_row(paper: Paper, pointers: str, at: int, words: str) -> TextLine:
    """The pointers, with the words where they hide none of them."""
    left = paper.line(" ", pointers[:at], (pointers[at], Role.ACCENT), pointers[at + 1 :].rstrip())
    text = paper.fitted(words, paper.width // 2)
    if left.width + 3 + len(text) < paper.width:
        return paper.between(left, paper.line((text, Role.QUIET), " "))
    before = paper.width - 2 - len(text)
    start = at - len(text) - 2
    if start > 0 and not pointers[start - 1 : at].strip():  # close before the hand, still right
        return paper.line(
            " ",
            pointers[:start],
            (text, Role.QUIET),
            "  ",
            (pointers[at], Role.ACCENT),
            pointers[at + 1 :].rstrip(),
        )
    return left.cut(before + len(text) + 1)


def _titles(
    paper: Paper, marks: Sequence[Graduation], places: Sequence[int], here: int
) -> TextLine:
    """The titles of the stages: the one in hand and its neighbours, the others where they fit."""
    stages = [
        Title(at, paper.clean(m.stage)) for at, m in zip(places, marks, strict=True) if m.stage
    ]
    if not stages:
        return paper.line()
    own = max(0, sum(1 for mark in marks[: here + 1] if mark.stage) - 1)
    width = paper.width - 2
    named = _neighbours(paper, stages, own, width)
    for away in range(2, len(stages)):
        for k in (own - away, own + away):
            if 0 <= k < len(stages) and _is_free(stages[k], named.values(), width):
                named[k] = stages[k]
    row = paper.line(" ")
    for k, title in sorted(named.items()):
        role = Role.STRONG if k == own else Role.QUIET
        row = row.padded(title.at + 1) + paper.line((title.text, role))
    return row


def _is_free(title: Title, taken: Collection[Title], width: int) -> bool:
    """Whether a title has room at its own mark. Cut or moved away from it, it would say nothing."""
    return title.end <= width and all(
        title.end + _APART <= one.at or one.end + _APART <= title.at for one in taken
    )


def _cut(
    paper: Paper, texts: Mapping[int, str], own: int, spare: int, width: int
) -> dict[int, str]:
    """The neighbours cut beside the title in hand; on a very short rule that one alone."""
    hand = texts[own]
    room = (spare - cell_len(hand)) // max(1, len(texts) - 1)
    if len(texts) == 1 or room < _LEAST:
        return {own: paper.fitted(hand, width)}
    return {k: hand if k == own else paper.fitted(text, room) for k, text in texts.items()}


def _neighbours(paper: Paper, stages: Sequence[Title], own: int, width: int) -> dict[int, Title]:
    """The title in hand with those beside it, moved from their marks no further than they must.

    They are cut only where the three are together wider than the rule.
    """
    around = [k for k in (own - 1, own, own + 1) if 0 <= k < len(stages)]
    spare = width - _APART * (len(around) - 1)
    texts = {k: stages[k].text for k in around}
    if sum(cell_len(text) for text in texts.values()) > spare:
        texts = _cut(paper, texts, own, spare, width)
    before = cell_len(texts[own - 1]) + _APART if own - 1 in texts else 0
    after = cell_len(texts[own + 1]) + _APART if own + 1 in texts else 0
    most = width - after - cell_len(texts[own])
    named = {own: Title(max(before, min(stages[own].at, most)), texts[own])}
    if before:
        at = min(stages[own - 1].at, named[own].at - before)
        named[own - 1] = Title(at, texts[own - 1])
    if after:
        at = min(max(stages[own + 1].at, named[own].end + _APART), width - after + _APART)
        named[own + 1] = Title(at, texts[own + 1])
    return named
