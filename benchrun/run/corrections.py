"""Entries of a log put right or taken back since, for whoever tells of its entries.

Nothing in a log is ever erased: a value that was corrected is told with what it was before, by
whom, when and why it was changed; so is an entry that was taken back.
"""

from collections.abc import Iterable, Sequence
from dataclasses import field, replace

from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.header_values import KIND
from benchrun.run import entries as e

Key = tuple[int, str, str]
"""A value in a log: the entry that it stands in, its part, its place.

An amount of a supply that an act used has no part, and the supply as its place.
"""


def used_value(use: e.Use) -> e.Given:
    """How much of a supply an act used."""
    if not use.amount:
        return e.Given(word="an amount that is not known")
    return e.Given(number=use.amount, unit=use.unit)


def figure_given(spec: e.FigureSpec) -> e.Given:
    """A figure as it was entered, or that the run goes on without it."""
    if spec.number is None:
        return e.Given(word="not known: the run goes on without it")
    return e.Given(typed=spec.typed, number=spec.number, unit=spec.unit)


def _known_from(entry: e.Entry) -> dict[Key, e.Given]:
    """The figures and the kinds of parts that an entry brings."""
    data = entry.data
    if not isinstance(data, (e.Opened, e.Added, e.Figured)):
        return {}
    if isinstance(data, e.Figured):
        return {(entry.n, "", data.figure.name): figure_given(data.figure)}
    parts = data.parts if isinstance(data, e.Opened) else (data.part,)
    figures = data.figures if isinstance(data, e.Opened) else ()
    kinds = {(entry.n, one.part, KIND): e.Given(word=one.kind) for one in parts if one.kind}
    return kinds | {(entry.n, "", one.name): figure_given(one) for one in figures}


@lean_dataclass(slots=True)
class Change:
    """One value changed by a correction.

    Attributes:
        by: The correction.
        was: The value before it.
        now: The value after it.
        itself: Whether it is the value that was put right, not one that follows from it.
        taken_back: The entry that took the correction back, or None.
    """

    by: e.Entry
    was: e.Given
    now: e.Given
    itself: bool
    taken_back: e.Entry | None = None


@lean_dataclass(slots=True)
class Amended:
    """Corrections and mis-taps of a log, kept up entry by entry."""

    _stands: dict[Key, e.Given] = field(default_factory=dict)
    _changes: dict[Key, list[Change]] = field(default_factory=dict)
    _taken_back: dict[int, e.Entry] = field(default_factory=dict)
    _relimits: dict[Key, list[tuple[e.Entry, e.Relimit]]] = field(default_factory=dict)
    _read: int = 0

    def read(self, entries: Sequence[e.Entry]) -> None:
        """Take the entries of a log that came since the last reading."""
        while self._read < len(entries):
            self.take(entries[self._read])
            self._read += 1

    def take(self, entry: e.Entry) -> None:
        """Take the next entry."""
        data = entry.data
        self._stands |= _known_from(entry)
        if isinstance(data, e.Did):
            for part, outcome in data.each.items():
                if outcome.value is not None:
                    self._stands[entry.n, part, data.place] = outcome.value
        if isinstance(data, (e.Did, e.WentIn)):
            self._stands |= {(entry.n, "", use.supply): used_value(use) for use in data.uses}
        elif isinstance(data, e.Corrected):
            self._correct(entry, data)
        elif isinstance(data, e.Retracted):
            self._take_back(entry, data)

    def _correct(self, entry: e.Entry, data: e.Corrected) -> None:
        for outcome in data.each.values():
            for relimit in outcome.relimited:
                key = (relimit.n, relimit.part, relimit.place)
                self._relimits.setdefault(key, []).append((entry, relimit))
        own = self._key_of(data)
        changed = [
            (revision.n, revision.part, revision.place, revision.number, revision.word)
            for outcome in data.each.values()
            for revision in outcome.revised
        ]
        new = {
            (n, part, place): replace(self._stands[n, part, place], number=number, word=word)
            for n, part, place, number, word in changed
            if (n, part, place) in self._stands
        }
        if own in self._stands:
            new[own] = data.given
        for key, now in new.items():
            change = Change(entry, self._stands[key], now, itself=key == own)
            self._changes.setdefault(key, []).append(change)
            self._stands[key] = now

    def _key_of(self, data: e.Corrected) -> Key:
        used = (data.of, "", data.place)
        return used if used in self._stands else (data.of, data.part, data.place)

    def _take_back(self, entry: e.Entry, data: e.Retracted) -> None:
        self._taken_back[data.of] = entry
        for key, changes in self._changes.items():
            for change in changes:
                if change.by.n == data.of:
                    change.taken_back = entry
                    self._stands[key] = change.was

    def relimited(self, key: Key) -> tuple[e.Entry, e.Relimit] | None:
        """The correction since which other limits hold for a value, with these; None if none."""
        standing = (one for one in self._relimits.get(key, ()) if one[0].n not in self._taken_back)
        return max(standing, key=lambda one: one[0].n, default=None)

    def stands(self, key: Key) -> e.Given | None:
        """A value as it stands now; None where none was entered."""
        return self._stands.get(key)

    def changes(self, key: Key) -> Iterable[Change]:
        """The changes to a value, the newest first."""
        return reversed(self._changes.get(key, ()))

    def change_by(self, entry: e.Entry) -> Change | None:
        """The change that a correction made to the value that it names."""
        data = entry.data
        if not isinstance(data, e.Corrected):
            return None
        changes = self._changes.get(self._key_of(data), ())
        return next((change for change in changes if change.by.n == entry.n), None)

    def taken_back(self, n: int) -> e.Entry | None:
        """The entry that took entry `n` back, or None."""
        return self._taken_back.get(n)
