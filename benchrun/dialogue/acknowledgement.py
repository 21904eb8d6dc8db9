"""The words said when an entry is on the disk: its number, and what it holds."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Final

from benchrun import quantity
from benchrun.account.witnesses import witness_words
from benchrun.part_names import part_names
from benchrun.procedure.route import Act, Dwell
from benchrun.run import entries as e
from benchrun.run.corrections import figure_given
from benchrun.run.state import Run
from benchrun.run.vessels import part_vessel
from benchrun.text import listed
from benchrun.wording import grouped, value_words


def kept_words(entry: e.Entry, before: Run, *, whose: bool = True) -> str:
    """The words when an entry is on the disk: its number, and what it holds.

    Args:
        entry: The entry.
        before: The run as it stood before the entry; it knows the questions that were open.
        whose: Whether the parts are named.
    """
    return f"Recorded, entry {entry.n}: {_what(entry.data, before, whose=whose)}."


def all_kept_words(entries: Sequence[e.Entry], run: Run) -> str:
    """The words when one value was given to several parts: for whom, judged alike, in one line."""
    said: dict[str, str] = {}
    place = ""
    for entry in entries:
        if isinstance(entry.data, e.Did):
            place = entry.data.place
            said |= dict.fromkeys(entry.data.parts, _did(replace(entry.data, place=""), ""))
    groups = (
        f"{words}, {part_names(whose, run.parts)} {place}".rstrip()
        for words, whose in grouped(said)
    )
    return f"Recorded, entries {entries[0].n} to {entries[-1].n}: {'; '.join(groups)}."


def signed_words(entry: e.Entry, before: Run, name: str, *, whose: bool = True) -> str:
    """The words when a hold is signed: by whom, not only that it is done.

    Args:
        entry: The entry of the hold.
        before: The run as it stood before the entry.
        name: The full name of whoever signed.
        whose: Whether the parts are named.
    """
    data = entry.data
    named = whose and isinstance(data, e.Did)
    who = f", {part_names(data.parts, before.parts)}" if named and isinstance(data, e.Did) else ""
    how = "waived" if isinstance(data, e.Did) and data.waived else "signed"
    return f"Recorded, entry {entry.n}: {how} by {name}{who}."


def _what(data: e.Data, before: Run, *, whose: bool) -> str:
    parts: Sequence[str] = getattr(data, "parts", ()) if whose else ()
    who = part_names(parts, before.parts) if parts else ""
    first = f"{who} " if who else ""
    match data:
        case e.Did():
            return _did(data, who)
        case e.Figured(figure):
            given = figure_given(figure)
            words = value_words(given.number, given.unit, given.word)
            return f"figure {figure.name.replace('_', ' ')}, {words}"
        case e.WentIn():
            return _with(_MOVES[_kind_of(data, before)][0], who)
        case e.CameOut():
            return f"{first}{_MOVES[_kind_of(data, before)][1]}, {_verdicts(data)}"
        case e.Witnessed():
            return _with(witness_words(data.end, data.name, data.behalf), who)
        case e.Moved():
            return f"{first}{_moved(data.to)}"
        case e.Answered():
            return f"{first}answered “{_answer(data, before)}”"
        case e.Corrected() | e.Retracted():
            return f"entry {data.of} {'corrected' if data.KIND == 'correct' else 'undone'}"
        case e.Ticked():
            return "done" if data.done else f"not done, {data.reason}"
    return _with(_PLAIN.get(data.KIND, data.KIND), who)


_MOVES: Final = {
    "vessel": ("put in", "taken out"),
    "place": ("sent out", "back in"),
    "": ("clock started", "clock stopped"),
}
"""The words for the begin and the end of a dwell: in a vessel, away, on the bench."""


def _kind_of(data: e.WentIn | e.CameOut, before: Run) -> str:
    """Where a dwell holds its parts: in a vessel, at another place, or nowhere but on the bench."""
    step = before.route.steps.get(data.step)
    detail = step.detail if step is not None else None
    if isinstance(detail, Dwell) and detail.place:
        return "place"
    own = detail.vessel if isinstance(detail, Dwell) else ""
    held = own or getattr(data, "vessel", "") or part_vessel(before, before.markers[data.parts[0]])
    return "vessel" if held else ""


def _with(words: str, who: str) -> str:
    return f"{words}, {who}" if who else words


_PLAIN = {
    "begin": "begun, do it now",
    "tell": "told, the notice runs",
    "tend": "tended",
    "skip": "step skipped",
    "ask": "query open",
    "got": "back in",
    "count": "tools counted back",
    "stop": "stopped",
    "resume": "resumed",
    "photo": "photo",
    "close": "closed",
}


def _answer(data: e.Answered, before: Run) -> str:
    """The answer as its question words it; a way back names the step by its number."""
    for part, outcome in data.each.items():
        for question in before.markers[part].questions:
            one = question.answer(data.code) if question.id == outcome.settles else None
            if one is not None:
                step = before.route.steps.get(one.to) if one.act is Act.REWORK else None
                return f"Back to step {step.number}" if step else one.text.removesuffix(".")
    return data.code


def _moved(to: str) -> str:
    return {"aside": "set aside", "play": "back in work", "scrap": "scrapped"}.get(to, f"to {to}")


def _verdicts(data: e.CameOut) -> str:
    return listed(tuple(dict.fromkeys(one.verdict for one in data.each.values() if one.verdict)))


def _did(data: e.Did, who: str) -> str:
    values = [one for one in data.each.values() if one.value is not None]
    if not values or values[0].value is None:
        return _with("done", who)
    value, verdict = values[0].value, values[0].verdict
    said = value.word
    if value.number is not None:
        said = quantity.in_words(Decimal(value.number), value.unit)
        said = f"{said}, {verdict}" if verdict else said
    # A tag may end in a figure, so the value goes first: `arm 1 4` would be read as arm 14.
    return _with(said, f"{who} {data.place}".strip())
