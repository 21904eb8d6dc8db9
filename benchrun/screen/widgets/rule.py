"""The steel rule: every step a mark, every stage a long one; heavy behind, light ahead."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from benchrun.screen.ink import Line, Paper, Role


@dataclass(frozen=True, slots=True)
class Graduation:
    """One step on the rule: the stage it begins, or empty."""

    stage: str = ""


def steel_rule(
    paper: Paper,
    marks: Sequence[Graduation],
    here: int,
    others: Collection[int] = (),
    words: str = "",
) -> list[Line]:
    """Draw the rule: pointers above, marks, and the titles of the stages below.

    Args:
        paper: What it is drawn on; the rule takes the whole width, less a margin of one.
        marks: The steps in their order.
        here: The index of the step in hand.
        others: The indices at which other parts stand.
        words: Where the hand is, in words, at the right end of the pointer's row.
    """
    signs, width = paper.signs, paper.width - 2
    if not marks or width < 8:
        return []
    places = _places(len(marks), width)
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


def _places(count: int, width: int) -> list[int]:
    """The column of each mark: whole columns apart where they fit, else shared."""
    apart = (width - 1) // max(1, count - 1) if count > 1 else width
    if apart >= 1:
        return [index * min(apart, 6) for index in range(count)]
    return [index * (width - 1) // (count - 1) for index in range(count)]


def _pointer_row(paper: Paper, pointers: str, at: int, words: str) -> Line:
    """The pointers, with the words where they hide none of them."""
    left = paper.line(" ", pointers[:at], (pointers[at], Role.ACCENT), pointers[at + 1 :].rstrip())
    text = paper.fitted(words, paper.width // 2)
    if left.width + 2 + len(text) < paper.width:
        return paper.between(left, paper.line((text, Role.QUIET)))
    before = paper.width - 2 - len(text)
    if at > len(text) + 2 and not pointers[: len(text) + 1].strip():
        return paper.line(" ", (text, Role.QUIET), pointers[len(text) : at]) + paper.line(
            (pointers[at], Role.ACCENT), pointers[at + 1 :].rstrip()
        )
    return left.cut(before + len(text) + 1)


def _titles(paper: Paper, marks: Sequence[Graduation], places: Sequence[int], here: int) -> Line:
    starts = [(places[i], i, mark.stage) for i, mark in enumerate(marks) if mark.stage]
    current = max((i for _, i, _ in starts if i <= here), default=-1)
    row = paper.line(" ")
    for (at, index, title), after in zip(starts, [*starts[1:], None], strict=True):
        if row.width - 1 > at:
            continue
        own = index == current
        room = paper.width - 2 - at
        if not own and after is not None:
            room = after[0] - at - 1
        text = paper.clean(title)
        if len(text) > room:
            # A title that is cut says nothing; the one in hand may run on over the next ones.
            text = paper.fitted(title, room) if own else ""
        row = row.padded(at + 1) + paper.line((text, Role.STRONG if own else Role.QUIET))
    return row
