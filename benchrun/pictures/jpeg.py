"""JPEG (ITU-T T.81, B.1): every segment, and every picture behind the first, that may tell a place.

That is the Exif block, texts, and the names of places that IPTC gives (IIM 4.2, record 2; from
memory). What a maker writes in a form of its own into its own notes is not looked into.
"""

import re
from collections.abc import Iterator
from typing import Final

from benchrun.pictures.exif import BadPicture, Cut, Span
from benchrun.pictures.position_scan import EXIF, PositionScan

JPEG: Final = b"\xff\xd8\xff"
_EXTENDED: Final = re.compile(rb"http://ns\.[a-z.]{1,40}/xmp/extension/\0")
_EXTENDED_HEAD: Final = 40  # the digest of the whole, its length, where this piece of it begins
_MARKER: Final = re.compile(rb"\xff[^\x00\xff\xd0-\xd7]")
_NOT_ZERO: Final = re.compile(rb"[^\0]")
_NOT_FILL: Final = re.compile(rb"[^\xff]")
_SOS: Final = 0xDA
_EOI: Final = 0xD9
_APP1: Final = 0xE1
_APP13: Final = 0xED
_COMMENT: Final = 0xFE
_BROKEN: Final = -1
_RESOURCES: Final = b"Photoshop 3.0\0"
_IPTC: Final = 0x0404
_EXIF_AGAIN: Final = 0x0422
# City, place within it, province, code and name of the country, and the codes and names of places
# in the picture: data sets of record 2. Each is the tag 0x1C, record, number, length, content.
_PLACES: Final = frozenset({26, 27, 90, 92, 95, 100, 101})


def is_jpeg(data: bytes) -> bool:
    """Whether a file begins as a JPEG picture."""
    return data.startswith(JPEG)


def strip_jpeg(scan: PositionScan, data: bytes) -> bytes:
    """A JPEG file, with further pictures that a phone may have put behind the first.

    Raises:
        Unreadable: It breaks off, or is none, before the first scan.
    """
    work = bytearray(data)
    at = look_into(scan, work, (0, len(work)))
    while (more := _NOT_ZERO.search(work, at)) is not None:
        at = more.start()
        try:
            if not work.startswith(JPEG, at):
                raise BadPicture("what follows the picture is none")
            at = look_into(scan, work, (at, len(work)))
        except BadPicture:
            scan.blind = True
            break
    return bytes(work)


def look_into(scan: PositionScan, work: bytearray, span: Span, *, small: bool = False) -> int:
    """Look through one picture, changing it in place.

    Args:
        scan: The scan that it belongs to.
        work: What the picture lies in.
        span: From where to where it may reach.
        small: Whether it lies within the Exif block of another.

    Returns:
        Where it ends.

    Raises:
        Unreadable: It breaks off, or is none, before the first scan.
    """
    end, pieces = span[1], list[Span]()
    for marker, start, stop in _segments(work, span):
        scan.step()
        if marker == _EOI:
            end = stop
        elif marker == _BROKEN:
            scan.blind = True
        elif marker == _APP1 and work.startswith(EXIF, start, stop):
            cut_exif(scan, work, (start + len(EXIF), stop), small=small)
        elif marker == _APP1 and _EXTENDED.match(work, start, stop):
            pieces.append((start, stop))
        elif marker == _COMMENT or _APP1 <= marker <= 0xEF:
            scan.wipe_words(work, [(start, stop)], bytes(work[start:stop]))
            if marker == _APP13 and work.startswith(_RESOURCES, start, stop):
                _resources(scan, work, (start + len(_RESOURCES), stop))
    if pieces:
        scan.wipe_words(work, pieces, _joined(work, pieces))
    return end


def cut_exif(scan: PositionScan, work: bytearray, span: Span, *, small: bool = False) -> Cut:
    """Cut the position out of an Exif block, out of its texts and out of the small picture in it.

    Raises:
        Unreadable: It has not the form of one.
    """
    cut = scan.cut(work, span)
    for start, stop in _shifted(cut.texts, span):
        scan.wipe_words(work, [(start, stop)], bytes(work[start:stop]))
    for inner in _shifted(cut.iptc, span):
        blank_places(scan, work, inner)
    for inner in _shifted(cut.resources, span):
        _resources(scan, work, inner)
    for inner in _shifted(cut.thumbnails, span):
        if not work.startswith(JPEG, *inner):
            continue  # what is no picture with segments has no room for a position
        try:
            if small:
                raise BadPicture("a small picture within a small picture")
            look_into(scan, work, inner, small=True)
        except BadPicture:
            scan.blind = True
    return cut


def _shifted(spans: tuple[Span, ...], within: Span) -> Iterator[Span]:
    return ((within[0] + start, within[0] + stop) for start, stop in spans)


def _resources(scan: PositionScan, work: bytearray, span: Span) -> None:
    """Look into blocks of the name 8BIM, of which one may hold IPTC data, one Exif."""
    at, end = span
    while work.startswith(b"8BIM", at, end):
        scan.step()
        kind = int.from_bytes(work[at + 4 : at + 6], "big")
        named = at + 7 + int.from_bytes(work[at + 6 : at + 7], "big")
        head = named + (named - at) % 2  # the name and its length take an even number of bytes
        start = head + 4
        stop = start + int.from_bytes(work[head:start], "big")
        if stop > end:
            scan.blind = True
            return
        if kind == _IPTC:
            blank_places(scan, work, (start, stop))
        elif kind == _EXIF_AGAIN:
            cut_exif(scan, work, (start, stop))
        at = stop + (stop - start) % 2


def blank_places(scan: PositionScan, work: bytearray, span: Span) -> None:
    """Make blanks of the places that IPTC data sets name; lengths stay, so all else stays true."""
    at, end = span
    while at + 5 <= end and work[at] == 0x1C:
        scan.step()
        record, number = work[at + 1], work[at + 2]
        start = at + 5
        stop = start + int.from_bytes(work[at + 3 : start], "big")
        if stop > end:
            scan.blind = True
            return
        if record == 2 and number in _PLACES and work[start:stop].strip():
            scan.found = True
            work[start:stop] = b" " * (stop - start)
        at = stop


def _segments(work: bytearray, span: Span) -> Iterator[tuple[int, int, int]]:
    """The segments of a JPEG picture: marker, where the content begins, where it ends.

    The end of the picture is the last one. Where something broken stands behind the first scan the
    last marker is `_BROKEN`; where the picture breaks off within a scan there is no last one.

    Raises:
        Unreadable: It breaks off, or is none, before the first scan.
    """
    at, end, scanned = span[0] + 2, span[1], False
    while True:
        marker = _MARKER.match(work, _last_fill(work, at, end), end)
        code, start = (work[marker.end() - 1], marker.end()) if marker else (_BROKEN, at)
        if code == _EOI:
            yield code, start, start
            return
        length = int.from_bytes(work[start : start + 2], "big")
        if code == _BROKEN or length < 2 or start + length > end:
            if not scanned:
                raise BadPicture("a segment is none, or longer than the picture")
            yield _BROKEN, at, end
            return
        yield code, start + 2, start + length
        at = start + length
        if code == _SOS:
            scanned = True
            following = _MARKER.search(work, at, end)
            if following is None:
                return
            at = following.start()


def _last_fill(work: bytearray, at: int, end: int) -> int:
    """Any number of fill bytes may stand before a marker (T.81, B.1.1.2): the last of them."""
    other = _NOT_FILL.search(work, at, end)
    return at if other is None else max(at, other.start() - 1)


def _joined(work: bytearray, pieces: list[Span]) -> bytes:
    """The text of pieces that were parted because a segment holds no more than 64 KiB."""
    texts = []
    for start, stop in pieces:
        name = _EXTENDED.match(work, start, stop)
        head = start if name is None else name.end()
        body = head + _EXTENDED_HEAD
        texts.append((bytes(work[head : body - 8]), bytes(work[body - 4 : body]), body, stop))
    return b"".join(bytes(work[body:stop]) for _, _, body, stop in sorted(texts))
