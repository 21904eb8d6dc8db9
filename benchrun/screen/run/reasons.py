"""Asking for the reason that a command lacks, with reasons at hand for gloved fingers."""

from collections.abc import Awaitable, Callable, Iterable
from typing import Final

from benchrun.run import entries as e
from benchrun.screen.asks import TextPane
from benchrun.screen.desk import Desk

AT_HAND: Final = (
    "looked at closely and judged sound",
    "as the maker's data sheet says",
    "as agreed with the owner",
    "called away",
    "tool or material not at hand",
    "done so to hold to the daylight or the working time",
    "tried out on purpose",
)
"""Reasons that are often given; common practice, no source."""


def given_last(entries: Iterable[e.Entry]) -> str:
    """The reason given last in a run, or empty."""
    last = ""
    for entry in entries:
        reason = getattr(entry.data, "reason", "")
        if isinstance(reason, str) and reason:
            last = reason
    return last


def reason_pane(
    desk: Desk,
    said: str,
    entries: Iterable[e.Entry],
    done: Callable[[str], Awaitable[None]],
) -> TextPane:
    """Ask for a reason.

    Args:
        desk: The screen.
        said: Why one is needed.
        entries: What was kept so far; the reason given last is offered first.
        done: What to do with it.
    """
    last = given_last(entries)
    ready = [last, *AT_HAND] if last and last not in AT_HAND else list(AT_HAND)
    return TextPane(desk, "A reason", done, said=said, ready=ready)
