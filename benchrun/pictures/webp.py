"""WebP (RFC 9649, 2): a RIFF file whose chunks `EXIF` and `XMP ` may tell a position."""

from collections.abc import Iterator
from typing import Final

from benchrun.pictures.exif import BadPicture
from benchrun.pictures.jpeg import cut_exif
from benchrun.pictures.position_scan import EXIF, PositionScan

_HEAD: Final = 12  # RIFF, the length of what follows, WEBP


def is_webp(data: bytes) -> bool:
    """Whether a file begins as a WebP picture."""
    return data[:4] == b"RIFF" and data[8:_HEAD] == b"WEBP"


def strip_webp(scan: PositionScan, data: bytes) -> bytes:
    """A WebP file; every byte stays in its place, those of the position become zeros.

    Raises:
        Unreadable: It breaks off, or an Exif chunk is none.
    """
    work = bytearray(data)
    for kind, start, stop in _chunks(data):
        scan.step()
        if kind == b"EXIF":
            head = len(EXIF) if work.startswith(EXIF, start, stop) else 0
            cut_exif(scan, work, (start + head, stop))
        elif kind == b"XMP ":
            scan.wipe_words(work, [(start, stop)], bytes(work[start:stop]))
        elif kind == b"":
            scan.blind = True
    return bytes(work)


def _chunks(data: bytes) -> Iterator[tuple[bytes, int, int]]:
    """The chunks: kind, and where their content begins and ends; what lies behind has no kind."""
    end = 8 + int.from_bytes(data[4:8], "little")
    if end > len(data):
        raise BadPicture("it is shorter than it says")
    at = _HEAD
    while at + 8 <= end:
        start = at + 8
        stop = start + int.from_bytes(data[at + 4 : start], "little")
        if stop > end:
            raise BadPicture("a chunk is longer than the picture")
        yield data[at : at + 4], start, stop
        at = stop + stop % 2  # a chunk of odd length is followed by one byte more
    # The byte that evens out the last chunk may stand outside of the length.
    if data[min(at, end) :].strip(b"\0"):
        yield b"", at, len(data)
