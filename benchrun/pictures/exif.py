"""Takes the position out of an Exif block, byte for byte in its place.

An Exif block is a TIFF structure: tables of twelve-byte entries that point to one another and to
their values (TIFF 6.0, section 2). The entry 0x8825 of a table points to the table of the position
(Exif 2.3, CIPA DC-008, 4.6; both from memory). Nothing is moved, so that offsets stay true.
"""

import struct
from dataclasses import dataclass, field
from typing import Final

_EXIF_TABLE: Final = 0x8769
_SUB_TABLES: Final = 0x014A
_GPS_TABLE: Final = 0x8825
_THUMBNAIL_AT: Final = 0x0201
_THUMBNAIL_BYTES: Final = 0x0202
_GPS_VERSION: Final = 0
_SIZES: Final = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4}

# Far above what cameras write; what is above it was made to waste time.
_MOST_TABLES: Final = 64
_MOST_ENTRIES: Final = 2000
_MOST_GPS: Final = 64

Span = tuple[int, int]


class Unreadable(Exception):
    """The bytes do not have the form that they claim; nothing in them was changed."""


@dataclass(frozen=True, slots=True)
class Cut:
    """What came of a look into an Exif block.

    Attributes:
        found: Whether it held a position, which is now zeros that nothing points to.
        thumbnails: From where to where in the block small pictures lie.
    """

    found: bool
    thumbnails: tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class _Entry:
    at: int
    tag: int
    kind: int
    count: int


@dataclass(slots=True)
class _Found:
    """What a walk over the tables met."""

    tables: dict[int, int] = field(default_factory=dict)
    taken: list[Span] = field(default_factory=list)
    thumbnails: list[Span] = field(default_factory=list)
    pointers: list[tuple[int, _Entry]] = field(default_factory=list)
    entries: int = 0


def cut_position(block: memoryview) -> Cut:
    """Take the position out of an Exif block.

    The table of the position and its values become zeros, and the entry that points to it is closed
    up. A table that says no more than its version holds no position and stays.

    Args:
        block: The block from its byte order mark on; changed in place.

    Raises:
        Unreadable: It has not the form of such a block; it is unchanged.
    """
    tiff = _Tiff(block)
    found = tiff.walk()
    wiped: list[Span] = []
    held = False
    for at in {tiff.pointer(entry) for _, entry in found.pointers}:
        spans, holds = tiff.position(at)
        wiped += spans
        held = held or holds
    if held:
        _stand_apart(wiped, [(0, 8), *found.tables.items(), *found.taken, *found.thumbnails])
        for start, stop in wiped:
            block[start:stop] = bytes(stop - start)
        # From the last entry up, so that closing up one does not move another.
        for table, entry in sorted(found.pointers, key=lambda one: one[1].at, reverse=True):
            tiff.close_up(table, entry)
    return Cut(held, tuple(found.thumbnails))


def _stand_apart(wiped: list[Span], kept: list[Span]) -> None:
    for start, stop in wiped:
        for other, end in kept:
            if start < end and other < stop:
                raise Unreadable("the position shares its bytes with something else")


class _Tiff:
    def __init__(self, block: memoryview) -> None:
        order = {b"II": "<", b"MM": ">"}.get(bytes(block[:2]))
        if order is None:
            raise Unreadable("no byte order mark")
        self._block = block
        self._short = struct.Struct(order + "H")
        self._long = struct.Struct(order + "I")
        self._head = struct.Struct(order + "HHI")
        if self._number(self._short, 2) != 42:
            raise Unreadable("no TIFF header")

    def _number(self, form: struct.Struct, at: int) -> int:
        try:
            (number,) = form.unpack_from(self._block, at)
        except struct.error:
            raise Unreadable("it points behind its end") from None
        return int(number)

    def _table(self, at: int) -> tuple[list[_Entry], int]:
        """The entries of a table and where they end."""
        count = self._number(self._short, at)
        end = at + 2 + 12 * count
        if end > len(self._block) or count > _MOST_ENTRIES:
            raise Unreadable("a table is longer than the block or than any camera writes")
        places = range(at + 2, end, 12)
        return [_Entry(p, *self._head.unpack_from(self._block, p)) for p in places], end

    def pointer(self, entry: _Entry) -> int:
        """Where an entry points to."""
        if entry.count != 1 or entry.kind not in (3, 4, 13):
            raise Unreadable("a pointer is none")
        form = self._short if entry.kind == 3 else self._long
        return self._number(form, entry.at + 8)

    def _values(self, entry: _Entry) -> Span | None:
        """Where the values of an entry lie outside of it; None where they lie in it."""
        if entry.kind not in _SIZES:
            raise Unreadable("values are of no known kind")
        size = _SIZES[entry.kind] * entry.count
        if size <= 4:
            return None
        start = self._number(self._long, entry.at + 8)
        if start + size > len(self._block):
            raise Unreadable("values lie behind the end")
        return start, start + size

    def walk(self) -> _Found:
        """Meet every table but those of the position."""
        found = _Found()
        waiting = [(self._number(self._long, 4), True)]
        while waiting:
            at, in_line = waiting.pop()
            if at in found.tables or len(found.tables) >= _MOST_TABLES:
                raise Unreadable("its tables lead back to themselves")
            entries, end = self._table(at)
            found.entries += len(entries)
            if found.entries > _MOST_ENTRIES:
                raise Unreadable("it has more entries than any camera writes")
            room = in_line and end + 4 <= len(self._block)
            found.tables[at] = end + 4 if room else end
            following = self._number(self._long, end) if room else 0
            waiting += [(following, True)] if following else []
            waiting += [(one, False) for one in self._further(at, entries, found)]
        return found

    def _further(self, table: int, entries: list[_Entry], found: _Found) -> list[int]:
        """Note what the entries of a table lead to; gives the further tables among it."""
        tables: list[int] = []
        for entry in entries:
            if entry.tag == _GPS_TABLE:
                found.pointers.append((table, entry))
            elif entry.tag == _EXIF_TABLE:
                tables.append(self.pointer(entry))
            elif entry.tag == _SUB_TABLES:
                tables += self._pointers(entry)
            self._note_values(entry, found)
        self._note_thumbnail(entries, found)
        return tables

    def _pointers(self, entry: _Entry) -> list[int]:
        span = self._values(entry)
        if span is None:
            return [self.pointer(entry)]
        if entry.kind not in (4, 13) or entry.count > _MOST_TABLES:
            raise Unreadable("a list of tables is none")
        return [self._number(self._long, at) for at in range(*span, 4)]

    def _note_values(self, entry: _Entry, found: _Found) -> None:
        try:
            span = self._values(entry)
        except Unreadable:
            return  # a broken entry that has nothing to do with the position does no harm
        if span is not None:
            found.taken.append(span)

    def _note_thumbnail(self, entries: list[_Entry], found: _Found) -> None:
        numbers = {e.tag: e for e in entries if e.tag in (_THUMBNAIL_AT, _THUMBNAIL_BYTES)}
        if len(numbers) == 2:
            start = self.pointer(numbers[_THUMBNAIL_AT])
            stop = start + self.pointer(numbers[_THUMBNAIL_BYTES])
            if stop > len(self._block):
                raise Unreadable("the small picture lies behind the end")
            found.thumbnails.append((start, stop))

    def position(self, at: int) -> tuple[list[Span], bool]:
        """All bytes of a table of the position, and whether it says more than its version."""
        entries, end = self._table(at)
        if len(entries) > _MOST_GPS:
            raise Unreadable("the table of the position is longer than any camera writes")
        values = [span for span in map(self._values, entries) if span is not None]
        return [(at, end), *values], any(entry.tag != _GPS_VERSION for entry in entries)

    def close_up(self, table: int, entry: _Entry) -> None:
        """Take an entry out of its table; the ones behind it move up within the table."""
        block = self._block
        count = self._number(self._short, table)
        end = table + 2 + 12 * count
        following = bytes(block[end : end + 4])
        block[entry.at : end - 12] = bytes(block[entry.at + 12 : end])
        block[end - 12 : end] = following.ljust(12, b"\0")
        self._short.pack_into(block, table, count - 1)
