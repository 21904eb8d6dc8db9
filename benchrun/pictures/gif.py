"""GIF (version 89a, 15 to 27; from memory): texts that tell a position are left out of the copy."""

from collections.abc import Iterator
from typing import Final

from benchrun.pictures.exif import BadPicture
from benchrun.pictures.position_scan import PositionScan, tells

_HEAD: Final = 13  # the signature, and how large the screen is
_IMAGE: Final = 0x2C
_EXTENSION: Final = 0x21
_END: Final = 0x3B
_MOST_PARTS: Final = 1_000_000  # of 255 bytes each
_CONTROL: Final = 0xF9  # how long a picture stays: four bytes
_COMMENT: Final = 0xFE
_PROGRAM: Final = 0xFF
_COLOURS: Final = b"ICCRGBG1012"  # a colour profile
_FEW: Final = 3  # bytes, such as how often a picture is played again: no room for a place
_XMP: Final = b"XMP DataXMP"


def is_gif(data: bytes) -> bool:
    """Whether a file begins as a GIF picture."""
    return data[:6] in (b"GIF87a", b"GIF89a")


def strip_gif(scan: PositionScan, data: bytes) -> bytes:
    """A GIF file; comments, texts and XMP that tell a position are left out.

    Raises:
        Unreadable: It breaks off.
    """
    kept, end = [], 0
    for kind, start, stop in _blocks(data):
        scan.step()
        end = stop
        if kind in (_IMAGE, _END, _CONTROL):
            kept.append(data[start:stop])
            continue
        told = tells(_text(data, start + 2, stop)) or tells(data[start:stop])
        scan.found = scan.found or told
        if not told:
            kept.append(data[start:stop])
            scan.blind = scan.blind or (kind == _PROGRAM and not _known(data, start, stop))
    if data[end:].strip(b"\0"):
        scan.blind = True
    return b"".join([*kept, data[end:]])


def _known(data: bytes, start: int, stop: int) -> bool:
    """Whether what a program left is of a form that has been looked into."""
    if data[start + 2] != len(_XMP):
        return False
    name = data[start + 3 : start + 14]
    return name in (_COLOURS, _XMP) or len(_text(data, start + 14, stop)) <= _FEW


def _text(data: bytes, at: int, stop: int) -> bytes:
    """The content of a block's parts, put together."""
    parts = []
    while at < stop:
        size = data[at]
        parts.append(data[at + 1 : at + 1 + size])
        at += 1 + size
    return b"".join(parts)


def _blocks(data: bytes) -> Iterator[tuple[int, int, int]]:
    """The blocks up to the end: kind, where each begins and ends; the head counts as a picture.

    Raises:
        Unreadable: It breaks off, or a block is of no kind.
    """
    at, parts = _HEAD + _colours(data, _HEAD - 3), iter(range(_MOST_PARTS))
    yield _IMAGE, 0, at
    while True:
        start, kind = at, _byte(data, at)
        if kind == _END:
            yield kind, start, start + 1
            return
        if kind == _IMAGE:
            at += 11 + _colours(data, at + 9)
        elif kind == _EXTENSION:
            kind, at = _byte(data, at + 1), at + 2
        else:
            raise BadPicture("a block is of no kind")
        at = _behind_parts(data, at, parts)
        yield kind, start, at


def _behind_parts(data: bytes, at: int, parts: Iterator[int]) -> int:
    for _ in parts:
        size = _byte(data, at)
        at += 1 + size
        if not size:
            return at
    raise BadPicture("it has more parts than any picture needs")


def _colours(data: bytes, at: int) -> int:
    """How many bytes a table of colours takes, by the flags at a place."""
    flags = _byte(data, at)
    return 3 << (flags & 7) + 1 if flags & 0x80 else 0


def _byte(data: bytes, at: int) -> int:
    if at >= len(data):
        raise BadPicture("it breaks off")
    return data[at]
