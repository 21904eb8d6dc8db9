"""HEIF (ISO/IEC 23008-12, on the boxes of ISO/IEC 14496-12; from memory): what phones write.

A box `meta` lists items and where their bytes lie. The items of Exif and of XMP are changed in
their place; whatever else is not known to be a plain picture makes the scan blind.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import pairwise
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.pictures.exif import BadPicture, Span
from benchrun.pictures.jpeg import cut_exif, look_into
from benchrun.pictures.position_scan import EXIF, PositionScan, tells

_BRANDS: Final = frozenset(
    {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"mif2", b"msf1", b"avif"}
)
# Coded pictures and what is put together of them: they have no room for a position.
_PICTURES: Final = frozenset(
    {b"hvc1", b"hev1", b"av01", b"avc1", b"grid", b"iovl", b"iden", b"tmap"}
)
_QUIET: Final = frozenset({b"ftyp", b"mdat"})
_XMP: Final = b"application/rdf+xml"
_MOST_ITEMS: Final = 4000
_MOST_BOXES: Final = 4000


def is_heif(data: bytes) -> bool:
    """Whether a file begins as a HEIF picture."""
    return data[4:8] == b"ftyp" and data[8:12] in _BRANDS


def strip_heif(scan: PositionScan, data: bytes) -> bytes:
    """A HEIF file; every byte stays in its place, those of the position become zeros.

    Raises:
        Unreadable: It breaks off, or its lists are none.
    """
    work, metas = bytearray(data), list[Span]()
    for box in _boxes(data, (0, len(data))):
        if box.kind == b"meta":
            metas.append(box.body)
        elif box.kind in (b"free", b"skip"):
            scan.blind = scan.blind or bool(data[slice(*box.body)].strip(b"\0"))
        elif box.kind == b"uuid":
            scan.wipe_words(work, [box.body], data[slice(*box.body)])
        elif box.kind not in _QUIET:
            scan.blind = True
    if len(metas) != 1:
        raise BadPicture("it has not one list of what is in it")
    _meta(scan, work, data, metas[0])
    return bytes(work)


@lean_dataclass(frozen=True, slots=True)
class _Box:
    kind: bytes
    body: Span


def _boxes(data: bytes, span: Span) -> Iterator[_Box]:
    at, end = span
    for _ in range(_MOST_BOXES):
        if at == end:
            return
        size, kind, body = _number(data, at, 4, end), data[at + 4 : at + 8], at + 8
        if size == 1:
            size, body = _number(data, body, 8, end), at + 16
        elif size == 0:
            size = end - at
        if at + size < body or at + size > end:
            raise BadPicture("a box is longer than the picture")
        yield _Box(kind, (body, at + size))
        at += size
    raise BadPicture("it has more boxes than any camera writes")


def _number(data: bytes, at: int, size: int, end: int) -> int:
    if at + size > end:
        raise BadPicture("it breaks off")
    return int.from_bytes(data[at : at + size], "big")


@lean_dataclass(frozen=True, slots=True)
class _Item:
    """Something that the list names.

    Attributes:
        media: What a text is, such as XMP.
        plain: Whether its bytes stand as they are, neither packed nor locked.
        spans: Where they lie; None where that is not in this file, or is not known.
    """

    kind: bytes
    media: bytes = b""
    plain: bool = True
    spans: tuple[Span, ...] | None = None


def _meta(scan: PositionScan, work: bytearray, data: bytes, span: Span) -> None:
    boxes = list(_boxes(data, (span[0] + 4, span[1])))
    found = {box.kind: box.body for box in boxes}
    if b"iinf" not in found or b"iloc" not in found or len(found) < len(boxes):
        raise BadPicture("the list of what is in it is none")
    items = _named(data, found[b"iinf"])
    idat = found.get(b"idat", (0, 0))
    for number, spans in _placed(data, found[b"iloc"], idat):
        items[number] = replace(items.get(number, _Item(b"")), spans=spans)
    _stand_apart(items)
    for item in items.values():
        if item.kind not in _PICTURES:
            _item(scan, work, item)
    for kind in found.keys() & {b"uuid", b"xml "}:
        scan.wipe_words(work, [found[kind]], data[slice(*found[kind])])


def _item(scan: PositionScan, work: bytearray, item: _Item) -> None:
    """Look into one item."""
    if item.spans is None or not item.plain:
        scan.blind = True
    elif item.kind == b"Exif":
        _exif(scan, work, item.spans)
    elif item.kind == b"mime" and item.media == _XMP:
        spans = list(item.spans)
        scan.wipe_words(work, spans, b"".join(bytes(work[slice(*span)]) for span in spans))
    elif item.kind == b"jpeg" and len(item.spans) == 1:
        look_into(scan, work, item.spans[0])
    else:
        text = b"".join(bytes(work[slice(*span)]) for span in item.spans)
        scan.blind = scan.blind or bool(text) or tells(text)


def _exif(scan: PositionScan, work: bytearray, spans: tuple[Span, ...]) -> None:
    """An Exif item: how many bytes to pass over, those, then the block."""
    block = bytearray().join(work[slice(*span)] for span in spans)
    head = 4 + _number(bytes(block[:4]), 0, 4, len(block))
    if block.startswith(EXIF, head):
        head += len(EXIF)
    if head > len(block):
        raise BadPicture("an Exif block is none")
    cut_exif(scan, block, (head, len(block)))
    at = 0
    for start, stop in spans:
        work[start:stop] = block[at : at + stop - start]
        at += stop - start


def _stand_apart(items: Mapping[int, _Item]) -> None:
    """Refuse a change to bytes that are part of anything else."""
    changed = {n for n, one in items.items() if one.kind not in _PICTURES}
    spans = sorted((*span, n) for n, one in items.items() for span in one.spans or ())
    reach, owner = 0, -1
    for start, stop, number in spans:
        if start < reach and stop > start and {number, owner} & changed:
            raise BadPicture("what is in it shares its bytes")
        if stop >= reach:
            reach, owner = stop, number


def _named(data: bytes, span: Span) -> dict[int, _Item]:
    """The items by number, with their kinds."""
    at = span[0] + 4 + (2 if data[span[0]] == 0 else 4)
    items: dict[int, _Item] = {}
    for box in _boxes(data, (min(at, span[1]), span[1])):
        start, stop = box.body
        version = _number(data, start, 1, stop)
        if box.kind != b"infe" or version not in (2, 3):
            raise BadPicture("an item has no kind")
        wide = 2 if version == 2 else 4
        number, at = _number(data, start + 4, wide, stop), start + 4 + wide
        locked, kind = _number(data, at, 2, stop), data[at + 2 : min(at + 6, stop)]
        texts = data[at + 6 : stop].split(b"\0")
        media = texts[1] if kind == b"mime" and len(texts) > 1 else b""
        packed = bool(texts[2]) if kind == b"mime" and len(texts) > 2 else False
        if number in items or len(items) >= _MOST_ITEMS:
            raise BadPicture("it has more items than any camera writes, or one twice")
        items[number] = _Item(kind, media, not locked and not packed)
    return items


@lean_dataclass(slots=True)
class _Reading:
    """Reads numbers one after the other."""

    data: bytes
    at: int
    end: int

    def take(self, size: int) -> int:
        number = _number(self.data, self.at, size, self.end) if size else 0
        self.at += size
        return number


def _placed(data: bytes, span: Span, idat: Span) -> Iterator[tuple[int, tuple[Span, ...] | None]]:
    """Where the bytes of each item lie."""
    read = _Reading(data, *span)
    version = read.take(1)
    read.take(3)
    sizes = read.take(2)
    offset, length, base, index = (sizes >> shift & 15 for shift in (12, 8, 4, 0))
    if version > 2 or {offset, length, base} - {0, 4, 8} or (version and index not in (0, 4, 8)):
        raise BadPicture("the list of places is none")
    wide = 4 if version == 2 else 2
    count = read.take(wide)
    if count > _MOST_ITEMS:
        raise BadPicture("it has more items than any camera writes")
    for _ in range(count):
        number = read.take(wide)
        method = read.take(2) & 15 if version else 0
        elsewhere = read.take(2) != 0
        start, parts = read.take(base), read.take(2)
        places = []
        for _ in range(parts):
            read.take(index if version else 0)
            at = start + read.take(offset)
            places.append((at, at + read.take(length)))
        known = method in (0, 1) and not elsewhere
        whole = idat if method == 1 else (0, len(data))
        yield number, _within(places, whole) if known else None


def _within(places: list[Span], whole: Span) -> tuple[Span, ...] | None:
    """Places counted from the beginning of the file; None where one has no length of its own."""
    spans = tuple((whole[0] + start, whole[0] + stop) for start, stop in places)
    if any(stop > whole[1] for _, stop in spans):
        raise BadPicture("an item lies behind the end")
    if any(start > later for (_, start), (later, _) in pairwise(spans)) and len(spans) > 64:
        raise BadPicture("an item is parted oddly")
    return None if any(start == stop for start, stop in spans) else spans
