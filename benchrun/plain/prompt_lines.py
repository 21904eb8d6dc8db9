"""The lines that a question is read out as, in as few words as say it all."""

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from benchrun import quantity
from benchrun.dialogue.batch_choice import BatchChoice
from benchrun.dialogue.page_prompt import PageRow
from benchrun.dialogue.prompts import Choose, Form, Text
from benchrun.dialogue.run_prompts import (
    ANOTHER_INSTRUMENT,
    SAME,
    WANTS_CALIBRATED,
    PartsChoice,
    ReadingPrompt,
    SignaturePrompt,
)
from benchrun.dialogue.turns import Prompt
from benchrun.part_names import part_names
from benchrun.text import heard_s
from benchrun.wording import misgivings_words

_SENTENCE: Final = re.compile(r"(?<=[.;:,]) ")


def option_lines(prompt: Choose) -> list[str]:
    """The numbered lines of a choice; what stands beside two of them running is said once."""
    last, lines = "", list[str]()
    for number, option in prompt.shown:
        heard = option.heard or option.beside
        beside = f" ({'same' if heard == last else heard})" if heard else ""
        lines.append(f"  {number} {option.words}{beside}")
        last = heard
    return [*lines, *([f"  9 {prompt.more}"] if prompt.more else [])]


def part_lines(prompt: PartsChoice) -> list[str]:
    """The batch by its numbers; parts in a row that stand at the same are one line."""
    rows: list[tuple[str, list[str]]] = []
    for part, state in zip(prompt.batch, prompt.states, strict=True):
        if rows and rows[-1][0] == state:
            rows[-1][1].append(part)
        else:
            rows.append((state, [part]))
    return [
        f"  {_numbers(prompt.number(parts[0]), len(parts))} {part_names(parts)}: {state}"
        for state, parts in rows
    ]


def batch_lines(prompt: BatchChoice, room: float) -> list[str]:
    """The parts that are offered for a batch, each with what it is; their tags where that is long.

    Args:
        prompt: The choice.
        room: For how many seconds one listens to them.
    """
    full = [
        f"  {number} {', '.join(filter(None, (option.words, option.beside)))}"
        for number, option in enumerate(prompt.offered, 1)
    ]
    if heard_s(full) <= room:
        return full
    return [f"  {_numbers(1, len(prompt.offered))} {part_names(prompt.tags)}"]


def _numbers(first: int, many: int) -> str:
    return f"{first}–{first + many - 1}" if many > 1 else f"{first}"


def row_text(row: PageRow) -> str:
    """A row in one line: its label, then its words."""
    label = row.label.strip()
    if label:
        label += " " if label.endswith(".") else ": "
    return " " * row.indent + label + row.text


def row_sentences(row: PageRow) -> Sequence[str]:
    """The lines of a row; a table has one for each of its rows."""
    return row.table.lines if row.table is not None else [row_text(row)]


def headed_lines(rows: Iterable[PageRow]) -> Iterator[str]:
    """Rows in lines, each head in one with the row below it."""
    head = ""
    for row in rows:
        if row.heads:
            head = f"{row.text[:1].upper()}{row.text[1:]}: "
        elif row.text:
            yield head + row_text(row).strip()
            head = ""


def reading_lines(prompt: ReadingPrompt) -> Iterator[str]:
    """The lines that are said before a reading is typed."""
    within = _within(prompt)
    if within:
        yield f"Limits: {within}."
    if prompt.rivals:
        yield f"With {' or '.join(prompt.rivals)}: asked once, after the value."
    elif prompt.tool is not None:
        name = misgivings_words(prompt.tool.name, prompt.misgivings)
        more = f"; {ANOTHER_INSTRUMENT} takes another" if prompt.others else ""
        yield f"With {name}{more}."
    elif prompt.others:
        yield f"{ANOTHER_INSTRUMENT} takes an instrument of the shop in hand."
    if prompt.lacks_calibration:
        yield WANTS_CALIBRATED
    if prompt.last:
        yield f"{SAME} gives the last value again."
    if len(prompt.waiting) > len(prompt.parts):
        yield f"{SAME} behind the figures: the same for all {len(prompt.waiting)} that wait."


def _within(prompt: ReadingPrompt) -> str:
    low, high, unit = prompt.low, prompt.high, prompt.detail.unit
    if low is not None and high is not None:
        return f"{quantity.plain(low)} to {quantity.in_words(high, unit)}"
    if low is not None:
        return f"{quantity.in_words(low, unit)} at least"
    return "" if high is None else f"{quantity.in_words(high, unit)} at most"


def portions(lines: Sequence[str], first: float, room: float) -> list[list[str]]:
    """Lines in portions that are each said at once; one that is too long by itself stands alone.

    Args:
        lines: The lines.
        first: For how many seconds one listens to the first portion.
        room: For how many to each other one.
    """
    found: list[list[str]] = []
    left = first
    for line in lines:
        takes = heard_s([line])
        if not found or takes > left:
            left = room if found else left
            found.append([])
        found[-1].append(line)
        left -= takes
    return found


def sentence_pieces(line: str, room: float) -> list[str]:
    """A line, parted at its stops where it takes longer than one listens."""
    if heard_s([line]) <= room:
        return [line]
    return [" ".join(some) for some in portions(_SENTENCE.split(line), room, room)]


def same_question(prompt: Prompt, before: Prompt | None) -> bool:
    """Whether a question is the one before, asked once more after its answer was refused."""
    if type(prompt) is not type(before):
        return False
    if isinstance(prompt, Choose) and isinstance(before, Choose):
        return prompt == before
    if isinstance(prompt, Text) and isinstance(before, Text):
        return (prompt.title, prompt.said) == (before.title, before.said)
    if isinstance(prompt, SignaturePrompt) and isinstance(before, SignaturePrompt):
        return (prompt.person, prompt.says) == (before.person, before.says)
    return prompt.title == getattr(before, "title", "") if isinstance(prompt, Form) else False
