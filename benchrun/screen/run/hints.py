"""The name of Enter for each thing that can be in hand, and the other keys beside it."""

from typing import Final

from benchrun.board import is_sent
from benchrun.dialogue.hand import View, inspects, is_hold
from benchrun.dialogue.run_prompts import SAME, ReadingPrompt
from benchrun.part_names import brief
from benchrun.procedure.route import Hold, Inspect, Kind
from benchrun.run.close_lines import lines_to_tick
from benchrun.run.offers import Deed, Offer
from benchrun.run.photos import unphotographed
from benchrun.run.state import Run
from benchrun.run.tool_counts import counts_back, tools_to_count
from benchrun.screen.page_api import Hint


def whom(run: Run, parts: tuple[str, ...]) -> str:
    """Parts in few words: nothing for the only one, `all 6`, their names or their number."""
    if len(run.parts) == 1:
        return ""
    if len(parts) == len(run.parts):
        return "both" if len(parts) == 2 else f"all {len(parts)}"
    return brief(parts, 12)


_PLAIN: Final = {
    Deed.WITNESS: "who came, or nobody",
    Deed.TEND: "tended",
    Deed.RESUME: "resume the run",
    Deed.CLOSE: "close the run",
    Deed.LATE: "late: answer it",
}


def enter_words(run: Run, offer: Offer, parts: tuple[str, ...], *, watched: bool = False) -> str:
    """The words for Enter; where a folder is `watched`, a photo is its newest picture."""
    if offer.figures:
        return "type the figure"
    who = whom(run, parts)
    if offer.deed is Deed.CLOSE and tools_to_count(run):
        return "count the tools back"
    if offer.deed is Deed.CLOSE and lines_to_tick(run):
        return "tick the close"
    if offer.deed in _PLAIN:
        return _PLAIN[offer.deed]
    match offer.deed:
        case Deed.BEGIN:
            return f"begin {who}".strip()
        case Deed.LIFT if offer.clock is not None and is_sent(offer.clock):
            return f"back in: {who}" if who else "back in"
        case Deed.LIFT:
            return f"take out {who}".strip()
        case Deed.TELL:
            return f"told, for {who}" if who else "they are told"
        case Deed.GET_BACK:
            return f"back in: {who}" if who else "back in"
    return _do_words(run, offer, who, watched=watched)


def anyway_words(run: Run, offer: Offer, parts: tuple[str, ...], *, watched: bool = False) -> str:
    """The words for doing what is only waited for, before it may be done."""
    words = enter_words(run, offer, parts, watched=watched)
    return words if offer.deed is Deed.WITNESS or _may_be_back(offer) else f"{words} anyway"


def _may_be_back(offer: Offer) -> bool:
    """Whether parts that were sent away may come back at any time now."""
    clock = offer.clock if offer.deed is Deed.LIFT else None
    return clock is not None and is_sent(clock) and clock.to_least <= 0


def _do_words(run: Run, offer: Offer, who: str, *, watched: bool) -> str:
    step = offer.step
    if offer.deed is Deed.PUT_IN:
        return f"start the clock, {who}" if who else "start the clock"
    if step is None:
        return "done"
    if isinstance(step.detail, Hold):
        ticks = step.id == run.route.release and lines_to_tick(run)
        return "tick the close, then sign" if ticks else "go to sign"
    if step.kind is Kind.WORK_OUT:
        return "work it out"
    if step.carries_out:
        return "name its run, or go there"
    if counts_back(run, step):
        return "count them"
    done = "done"
    if unphotographed(run, step, offer.parts):
        done = "take the newest picture, done" if watched else "name the photo, done"
    return f"{done}, {who}" if who else done


def hints_of(
    now: View,
    parts: tuple[str, ...],
    *,
    typed: str,
    reading: ReadingPrompt | None,
    waits: bool,
    signed: bool = False,
    watched: bool = False,
) -> list[Hint]:
    """The keys that mean something now.

    Args:
        now: The run as it is shown.
        parts: For whom the offer in hand would be taken up.
        typed: What stands in the entry field.
        reading: The reading that may be typed, if one is in hand.
        waits: Whether there is nothing to do yet, so that it must be taken in hand on purpose.
        signed: Whether it is known who signs, so that the passphrase may be typed at once.
        watched: Whether a folder is watched for pictures.
    """
    run, offer = now.run, now.offer
    if offer is None:
        return [Hint("*", "write, leave"), Hint("/", "look"), Hint("Esc", "to the board")]
    if reading is not None:
        return _reading_hints(run, reading, typed)
    if waits:
        words = anyway_words(run, offer, parts, watched=watched)
        return [Hint("+", words), *_rest(now, offer)[len(now.offers) > 1 :]]
    typed_at_once = [Hint("digits", "the passphrase")] if signed and _signs(offer) else []
    first = _first(run, offer, parts, watched=watched)
    return [first, *typed_at_once, *_rest(now, offer)]


def _reading_hints(run: Run, reading: ReadingPrompt, typed: str) -> list[Hint]:
    if typed:
        several = len(reading.waiting) > len(reading.parts)
        same = [Hint(SAME, f"the same for {whom(run, reading.waiting)}")] if several else []
        take = Hint("Enter", "take it", first=True)
        return [take, *same, Hint("*", "rub out"), Hint("Esc", "empty it")]
    again = [Hint(SAME, f"{reading.last} again")] if reading.last else []
    figures = Hint("digits", "type the reading", first=True)
    return [figures, *again, Hint("*", "write, leave"), Hint("/", "look")]


def _first(run: Run, offer: Offer, parts: tuple[str, ...], *, watched: bool) -> Hint:
    if offer.deed is Deed.ANSWER:
        return Hint("digit", "answer", first=True)
    if inspects(offer):
        detail = offer.step.detail if offer.step is not None else None
        words = "which way" if isinstance(detail, Inspect) and detail.ways else "what is found"
        return Hint("digit", f"{words}, {whom(run, parts)}".rstrip(", "), first=True)
    return Hint("Enter", enter_words(run, offer, parts, watched=watched), first=offer.ready)


def _signs(offer: Offer) -> bool:
    return is_hold(offer) or (offer.deed is Deed.CLOSE and offer.ready)


def _rest(now: View, offer: Offer) -> list[Hint]:
    hints = []
    if len(now.offers) > 1:
        hints.append(Hint("+", "other work"))
    if len(now.run.parts) > 1:
        hints.append(Hint(".", "parts"))
    hints += [Hint("*", "write, leave"), Hint("/", "look")]
    if offer.step is not None and offer.deed is not Deed.ANSWER:
        hints.append(Hint("0", "why, drawing" if offer.step.drawing else "why"))
    return hints
