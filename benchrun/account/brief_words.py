"""Entries in one line each, as a log page has them: joined, alike parts together, some counted."""

from collections.abc import Iterable, Sequence
from typing import Final

from benchrun.account.entry_words import EntryWords
from benchrun.part_names import part_names
from benchrun.run import entries as e
from benchrun.run.entries import Entry, Opened
from benchrun.text import listed

MACHINES: Final = {"beat": "signs of life", "seal": "seals"}


def untold_words(entries: Sequence[e.Entry]) -> str:
    """The entries that are not told, counted, so that no number seems to be missing."""
    first, last = entries[0].n, entries[-1].n
    which = f"entry {first}" if first == last else f"entries {first} to {last}"
    kinds = [MACHINES.get(entry.kind, entry.kind) for entry in entries]
    return f"{which} not shown: {listed(list(dict.fromkeys(kinds)))}"


def entry_words(telling: EntryWords, entry: Entry) -> str:
    """The words of an entry, in one text; empty for a mere sign of life."""
    return _joined(telling.words(entry))


def _joined(texts: Iterable[str]) -> str:
    """Texts one after the other; the full stop of a step gives way to what comes behind it."""
    *before, last = [text.strip() for text in texts] or [""]
    return "; ".join([*(text.removesuffix(".") for text in before), last])


def brief_words(telling: EntryWords, entry: Entry) -> str:
    """The same with parts of one outcome told together, so that a large batch stays readable."""
    texts = [text.strip() for text in telling.words(entry, brief=True)]
    if isinstance(entry.data, Opened):
        return _joined(
            [f"opened with {part_names([part.part for part in entry.data.parts])}", *texts[1:]]
        )
    parts: tuple[str, ...] = getattr(entry.data, "parts", ())
    if len(parts) == 1:
        return _joined([*texts[:1], *(text.removeprefix(f"{parts[0]}: ") for text in texts[1:])])
    if not parts or not texts:
        return _joined(texts)
    head = texts[0].removeprefix(part_names(parts))
    alike: dict[str, list[str]] = {}
    rest: list[str] = []
    for text in texts[1:]:
        whose = next((p for p in parts if text.startswith((f"{p}: ", f"{p}, "))), None)
        if whose is None:
            rest.append(text)
        else:
            alike.setdefault(text[len(whose) + 2 :], []).append(whose)
    outcomes = [
        outcome if len(whose) == len(parts) else f"{part_names(whose)}: {outcome}"
        for outcome, whose in alike.items()
    ]
    first = f"{part_names(parts)}{head}" if head != texts[0] else texts[0]
    return _joined([first, *outcomes, *rest])
