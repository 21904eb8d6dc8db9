"""Ending a witness point: who came, who sent word that nobody does, or the notice ran out."""

from collections.abc import Sequence

from benchrun.dialogue.delivery import give
from benchrun.dialogue.prompts import Blank, Choose, Form, Option
from benchrun.dialogue.turns import Flow, choose, fill
from benchrun.dialogue.work import Work
from benchrun.part_names import part_names
from benchrun.run import commands as c
from benchrun.run.clocks import LoadClock
from benchrun.run.entries import Entry, NoticeEnd, Witnessed
from benchrun.run.offers import Offer
from benchrun.session import Kept
from benchrun.text import span


def end_notice(work: Work, offer: Offer, parts: tuple[str, ...]) -> Flow:
    """Ask how a witness point ended, and record it."""
    step, clock = offer.step, offer.clock
    if step is None or clock is None:
        return False
    title = f"{step.number}  {step.text}"
    options = [
        Option("They came", "who, and on whose behalf, is asked next"),
        Option("Nobody comes", "they sent word: who did is asked next"),
        Option("The notice ran out", _left_words(clock)),
    ]
    place = yield from choose(
        Choose(title, tuple(options), f"{part_names(parts)}: the witness", explains=True)
    )
    if place is None:
        return False
    end = tuple(NoticeEnd)[place]
    name = behalf = ""
    if end is not NoticeEnd.RAN_OUT:
        asked = "Who came" if end is NoticeEnd.CAME else "Who sent word that nobody comes"
        last = _last_named(work.session.entries)
        blanks = (
            Blank("name", f"{asked[:1].lower()}{asked[1:]}, the full name", "", last[0]),
            Blank("for", "customer, firm or club; empty: for themselves", "", last[1]),
        )
        texts = yield from fill(Form(asked, blanks, title, "record it"))
        if texts is None:
            return False
        name, behalf = texts[0] or last[0], texts[1] or last[1]
    command = c.EndNotice(parts, work.seen, end, name, behalf)
    return isinstance((yield from give(work, command)), Kept)


def _left_words(clock: LoadClock) -> str:
    left = clock.to_least
    return "nobody came" if left <= 0 else f"not yet: it runs {span(left)} more"


def _last_named(entries: Sequence[Entry]) -> tuple[str, str]:
    """Who was named at a witness point last in this run, so that Enter takes them again."""
    for entry in reversed(entries):
        if isinstance(entry.data, Witnessed) and entry.data.name:
            return entry.data.name, entry.data.behalf
    return "", ""
