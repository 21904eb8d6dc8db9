"""The close of a run in its report: put back and followed on, or not, by whom and when."""

from collections.abc import Iterator, Sequence
from typing import Final

from benchrun.account.facts import RunFacts
from benchrun.report.doc import Cell, Para, Section, table_of
from benchrun.wording import CLOSE_DONE, CLOSE_LISTS, minute_words

_MOST: Final = 3


def close_words(runs: Sequence[RunFacts]) -> Iterator[Para]:
    """The sentences for the front on what is not done of the close of a run."""
    left = [
        f"{f'run {number}, ' if len(runs) > 1 else ''}{line.text.removesuffix('.')} ({line.reason})"
        for number, run in enumerate(runs, 1)
        for line in run.close_lines
        if line.n is not None and not line.done
    ]
    for words in left[:_MOST]:
        yield Para(f"Not done at the close: {words}.", "doubt")
    if len(left) > _MOST:
        yield Para(f"{len(left) - _MOST} more not done at the close, see the annexes.", "doubt")


def close_section(facts: RunFacts) -> Section | None:
    """Each line of the close, how it was ticked, by whom and when; None where none is kept."""
    if not facts.close_lines:
        return None
    rows = []
    for line in facts.close_lines:
        words = CLOSE_DONE[line.sort] if line.done else f"NOT DONE: {line.reason}"
        if line.n is None:
            words = "not ticked yet"
        state = Cell(words, mark="" if line.done else "doubt")
        when = minute_words(line.utc) if line.utc else ""
        name = facts.name_of(line.by) if line.by else ""
        rows.append((CLOSE_LISTS[line.sort], line.text, state, name, when))
    columns = ("", "What", "State", "By", "When")
    return Section("Put back and follow-on", (table_of(columns, rows),))
