"""Asking for the reason that a command lacks, with reasons at hand for gloved fingers."""

from collections.abc import Awaitable, Callable, Iterable
from typing import Final

from benchrun.run import entries as e
from benchrun.screen.page_api import PaneHost
from benchrun.screen.prompts import TextPane

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
FOR_CORRECTIONS: Final = (
    "typed wrongly",
    "read off wrongly",
    "entered for another part",
    "measured at another place",
    "another instrument was used",
)
"""Why an entry is often wrong; common practice, no source."""


def given_last(entries: Iterable[e.Entry]) -> str:
    """The reason given last in a run, or empty."""
    last = ""
    for entry in entries:
        reason = getattr(entry.data, "reason", "")
        if isinstance(reason, str) and reason:
            last = reason
    return last


def reason_pane(
    host: PaneHost,
    said: str,
    entries: Iterable[e.Entry],
    done: Callable[[str], Awaitable[None]],
    at_hand: tuple[str, ...] = AT_HAND,
) -> TextPane:
    """Ask for a reason.

    Args:
        host: The screen.
        said: Why one is needed.
        entries: What was kept so far; the reason given last is offered first,
            beside those that are given for work done otherwise.
        done: What to do with it.
        at_hand: Reasons to choose from by number.
    """
    last = given_last(entries) if at_hand is AT_HAND else ""
    ready = [last, *at_hand] if last and last not in at_hand else list(at_hand)
    return TextPane(host, "A reason", done, said=said, ready=ready)
