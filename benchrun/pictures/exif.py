"""Takes the position out of an Exif block, byte for byte in its place.

An Exif block is a TIFF structure: tables of twelve-byte entries that point to one another and to
their values (TIFF 6.0, section 2). The entry 0x8825 of a table points to the table of the position
(Exif 2.3, CIPA DC-008, 4.6; both from memory). Nothing is moved, so that offsets stay true.

A maker's own notes have a form that only the maker knows, and some tell a place: they go with the
position.
"""

import struct
from dataclasses import field
from typing import Final

from benchrun.lean_dataclass import lean_dataclass

_EXIF_TABLE: Final = 0x8769
_SUB_TABLES: Final = 0x014A
_GPS_TABLE: Final = 0x8825
_NOTES: Final = frozenset({0x927C, 0xC634})  # a maker's own, in Exif and in raw pictures
# What may tell a place in words: a description, a comment, XMP; IPTC data and what wraps them.
_TEXTS: Final = frozenset({0x010E, 0x9286, 0x02BC})
_IPTC: Final = 0x83BB
_RESOURCES: Final = 0x8649
# How a picture lies on the earth (GeoTIFF 1.1, annex A; from memory).
_ON_EARTH: Final = frozenset({0x830E, 0x8480, 0x8482, 0x85D8, 0x87AF, 0x87B0, 0x87B1})
_PACKING: Final = 0x0103
_POINTS: Final = ((0x0111, 0x0117), (0x0144, 0x0145))  # where strips or tiles begin, their bytes
_THUMBNAIL_AT: Final = 0x0201
_THUMBNAIL_BYTES: Final = 0x0202
_GPS_VERSION: Final = 0
_SIZES: Final = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4}

# Far above what cameras write; what is above it was made to waste time.
_MOST_TABLES: Final = 64
_MOST_ENTRIES: Final = 2000
_MOST_GPS: Final = 64
_MOST_STRIPS: Final = 100_000

Span = tuple[int, int]


class BadPicture(Exception):
    """The bytes do not have the form that they claim; nothing in them was changed."""


@lean_dataclass(frozen=True, slots=True)
class Cut:
    """The outcome of a scan of an Exif block. Spans are counted from its beginning.

    Attributes:
        found: Whether it held a position, or a maker's own notes; they are now zeros that nothing
            points to.
        thumbnails: Where small pictures lie.
        texts: Where texts lie that may tell a place in words.
        iptc: Where IPTC data lie.
        resources: Where blocks lie of which one may hold IPTC data.
        on_earth: Whether it says how the picture lies on the earth, which is left as it is.
        packings: By which methods the points of its pictures are packed.
        known: Where all lies that its tables know of, in order.
    """

    found: bool
    thumbnails: tuple[Span, ...] = ()
    texts: tuple[Span, ...] = ()
    iptc: tuple[Span, ...] = ()
    resources: tuple[Span, ...] = ()
    on_earth: bool = False
    packings: frozenset[int] = frozenset()
    known: tuple[Span, ...] = ()


@lean_dataclass(frozen=True, slots=True)
class _Entry:
    at: int
    tag: int
    kind: int
    count: int


@lean_dataclass(slots=True)
class _Found:
    """The finds of a walk over the tables."""

    tables: dict[int, int] = field(default_factory=dict)
    taken: list[Span] = field(default_factory=list)
    thumbnails: list[Span] = field(default_factory=list)
    points: list[Span] = field(default_factory=list)
    pointers: list[tuple[int, _Entry]] = field(default_factory=list)
    notes: list[tuple[int, _Entry]] = field(default_factory=list)
    words: dict[int, list[Span]] = field(default_factory=dict)
    on_earth: bool = False
    packings: set[int] = field(default_factory=set)
    entries: int = 0


def cut_position(block: memoryview) -> Cut:
    """Take the position out of an Exif block, in its place.

    The table of the position, its values and a maker's notes become zeros, and the entries that
    point to them are closed up. A table that says no more than its version holds none and stays.

    Args:
        block: The block from its byte order mark on.

    Raises:
        Unreadable: It has not the form of such a block; it is unchanged.
    """
    tiff = _Tiff(block)
    found = tiff.walk()
    wiped: list[Span] = []
    gone = list(found.notes)
    for at in {tiff.pointer(entry) for _, entry in found.pointers}:
        spans, holds = tiff.position(at)
        wiped += spans if holds else []
        gone += found.pointers if holds else []
    wiped += [span for _, entry in found.notes if (span := tiff.values(entry)) is not None]
    words = found.words
    texts = [span for tag in _TEXTS for span in words.get(tag, ())]
    iptc, resources = words.get(_IPTC, []), words.get(_RESOURCES, [])
    kept = [(0, 8), *found.tables.items(), *found.taken, *found.thumbnails, *found.points]
    changed = [*wiped, *texts, *iptc, *resources]
    _stand_apart(changed, kept)
    for start, stop in wiped:
        block[start:stop] = bytes(stop - start)
    # From the last entry up, so that closing up one does not move another.
    for table, entry in sorted(set(gone), key=lambda one: one[1].at, reverse=True):
        tiff.close_up(table, entry)
    return Cut(
        bool(gone),
        tuple(found.thumbnails),
        tuple(texts),
        tuple(iptc),
        tuple(resources),
        found.on_earth,
        frozenset(found.packings),
        tuple(sorted(kept + changed)),
    )


def _stand_apart(changed: list[Span], kept: list[Span]) -> None:
    """See that nothing that may be changed shares a byte with anything else."""
    spans = [(*span, True) for span in changed] + [(*span, False) for span in kept]
    reach = {True: 0, False: 0}
    for start, stop, mine in sorted(spans):
        if start < stop and start < (max(reach.values()) if mine else reach[True]):
            raise BadPicture("the position shares its bytes with something else")
        reach[mine] = max(reach[mine], stop)


class _Tiff:
    def __init__(self, block: memoryview) -> None:
        order = {b"II": "<", b"MM": ">"}.get(bytes(block[:2]))
        if order is None:
            raise BadPicture("no byte order mark")
        self._block = block
        self._short = struct.Struct(order + "H")
        self._long = struct.Struct(order + "I")
        self._head = struct.Struct(order + "HHI")
        if self._number(self._short, 2) != 42:
            raise BadPicture("no TIFF header")

    def _number(self, form: struct.Struct, at: int) -> int:
        try:
            (number,) = form.unpack_from(self._block, at)
        except struct.error:
            raise BadPicture("it points behind its end") from None
        return int(number)

    def _table(self, at: int) -> tuple[list[_Entry], int]:
        """The entries of a table and where they end."""
        count = self._number(self._short, at)
        end = at + 2 + 12 * count
        if end > len(self._block) or count > _MOST_ENTRIES:
            raise BadPicture("a table is longer than the block or than any camera writes")
        places = range(at + 2, end, 12)
        return [_Entry(p, *self._head.unpack_from(self._block, p)) for p in places], end

    def pointer(self, entry: _Entry) -> int:
        """Where an entry points to."""
        if entry.count != 1 or entry.kind not in (3, 4, 13):
            raise BadPicture("a pointer is none")
        form = self._short if entry.kind == 3 else self._long
        return self._number(form, entry.at + 8)

    def values(self, entry: _Entry) -> Span | None:
        """Where the values of an entry lie outside of it; None where they lie in it."""
        if entry.kind not in _SIZES:
            raise BadPicture("values are of no known kind")
        size = _SIZES[entry.kind] * entry.count
        if size <= 4:
            return None
        start = self._number(self._long, entry.at + 8)
        if start + size > len(self._block):
            raise BadPicture("values lie behind the end")
        return start, start + size

    def walk(self) -> _Found:
        """Meet every table but those of the position."""
        found = _Found()
        waiting = [(self._number(self._long, 4), True)]
        while waiting:
            at, in_line = waiting.pop()
            if at in found.tables or len(found.tables) >= _MOST_TABLES:
                raise BadPicture("its tables lead back to themselves")
            entries, end = self._table(at)
            found.entries += len(entries)
            if found.entries > _MOST_ENTRIES:
                raise BadPicture("it has more entries than any camera writes")
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
            elif entry.tag in _NOTES:
                found.notes.append((table, entry))
                continue
            elif entry.tag == _PACKING:
                found.packings.add(self.pointer(entry))
            found.on_earth = found.on_earth or entry.tag in _ON_EARTH
            self._note_values(entry, found)
        if len(found.pointers) > _MOST_TABLES:
            raise BadPicture("it has more positions than any camera writes")
        self._note_thumbnail(entries, found)
        self._note_points(entries, found)
        return tables

    def _pointers(self, entry: _Entry) -> list[int]:
        span = self.values(entry)
        if span is None:
            return [self.pointer(entry)]
        if entry.kind not in (4, 13) or entry.count > _MOST_TABLES:
            raise BadPicture("a list of tables is none")
        return [self._number(self._long, at) for at in range(*span, 4)]

    def _note_values(self, entry: _Entry, found: _Found) -> None:
        try:
            span = self.values(entry)
        except BadPicture:
            return  # a broken entry that has nothing to do with the position does no harm
        if span is None:
            return
        if entry.tag in _TEXTS or entry.tag in (_IPTC, _RESOURCES):
            found.words.setdefault(entry.tag, []).append(span)
        else:
            found.taken.append(span)

    def _note_thumbnail(self, entries: list[_Entry], found: _Found) -> None:
        numbers = {e.tag: e for e in entries if e.tag in (_THUMBNAIL_AT, _THUMBNAIL_BYTES)}
        if len(numbers) == 2:
            start = self.pointer(numbers[_THUMBNAIL_AT])
            stop = start + self.pointer(numbers[_THUMBNAIL_BYTES])
            if stop > len(self._block):
                raise BadPicture("the small picture lies behind the end")
            found.thumbnails.append((start, stop))

    def _note_points(self, entries: list[_Entry], found: _Found) -> None:
        by_tag = {entry.tag: entry for entry in entries}
        for begins, sizes in _POINTS:
            if begins in by_tag and sizes in by_tag:
                if by_tag[begins].count + len(found.points) > _MOST_STRIPS:
                    raise BadPicture("it has more strips than any camera writes")
                both = (self._numbers(by_tag[begins]), self._numbers(by_tag[sizes]))
                found.points += [(at, at + size) for at, size in zip(*both, strict=False)]

    def _numbers(self, entry: _Entry) -> list[int]:
        """The values of an entry that holds whole numbers."""
        if entry.kind not in (3, 4) or entry.count > _MOST_STRIPS:
            raise BadPicture("the list of its strips is none")
        form = self._short if entry.kind == 3 else self._long
        start = (self.values(entry) or (entry.at + 8, 0))[0]
        stop = start + form.size * entry.count
        return [self._number(form, at) for at in range(start, stop, form.size)]

    def position(self, at: int) -> tuple[list[Span], bool]:
        """All bytes of a table of the position, and whether it says more than its version."""
        entries, end = self._table(at)
        if len(entries) > _MOST_GPS:
            raise BadPicture("the table of the position is longer than any camera writes")
        values = [span for span in map(self.values, entries) if span is not None]
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
