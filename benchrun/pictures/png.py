"""PNG (ISO/IEC 15948, 5 and 11.3.4): the Exif chunk, and the texts that tell a position."""

import struct
import zlib
from collections.abc import Iterator
from typing import Final

from benchrun.pictures.exif import BadPicture
from benchrun.pictures.jpeg import blank_places, cut_exif
from benchrun.pictures.position_scan import EXIF, PositionScan, tells

PNG: Final = b"\x89PNG\r\n\x1a\n"
_TEXTS: Final = frozenset({b"tEXt", b"zTXt", b"iTXt"})


def is_png(data: bytes) -> bool:
    """Whether a file begins as a PNG picture."""
    return data.startswith(PNG)


def strip_png(scan: PositionScan, data: bytes) -> bytes:
    """A PNG file; chunks that tell a position are left out, the Exif chunk is written anew.

    Raises:
        Unreadable: It breaks off, or an Exif chunk is none.
    """
    kept = [PNG]
    for kind, start, stop in _chunks(data):
        scan.step()
        content = data[start + 8 : stop - 4] if kind in _TEXTS or kind == b"eXIf" else b""
        if kind == b"eXIf":
            kept.append(_exif(scan, content))
            continue
        if kind == b"":
            scan.blind = True
        if kind not in _TEXTS or not _text_tells(scan, kind, content):
            kept.append(data[start:stop])
    return b"".join(kept)


def _exif(scan: PositionScan, content: bytes) -> bytes:
    work = bytearray(content)
    head = len(EXIF) if content.startswith(EXIF) else 0
    cut_exif(scan, work, (head, len(work)))
    named = b"eXIf" + work
    return struct.pack(">I", len(work)) + named + struct.pack(">I", zlib.crc32(named))


def _text_tells(scan: PositionScan, kind: bytes, content: bytes) -> bool:
    keyword, _, text = content.partition(b"\0")
    if kind == b"zTXt":
        text = scan.unpacked(text[1:])
    elif kind == b"iTXt":
        packed, text = text[:1] == b"\1", text[2:].split(b"\0", 2)[-1]
        text = scan.unpacked(text) if packed else text
    told = tells(keyword + b" " + text)
    if keyword.lower().startswith(b"raw profile type"):
        told = _profile_tells(scan, text) or told
    scan.found = scan.found or told
    return told


def _profile_tells(scan: PositionScan, text: bytes) -> bool:
    """Whether a profile tells a position; it is a name, a length and bytes in hexadecimal."""
    try:
        content = bytes.fromhex(b"".join(text.split()[2:]).decode("ascii"))
    except ValueError:
        scan.blind = True
        return False
    content = content.removeprefix(EXIF)
    if content.startswith((b"II", b"MM")):
        return scan.cut(bytearray(content), (0, len(content))).found or tells(content)
    return tells(content) or _names_places(scan, content)


def _names_places(scan: PositionScan, content: bytes) -> bool:
    """Whether IPTC data name a place; they stand alone, or in a block of the name 8BIM."""
    start = content.find(b"\x1c\x02")
    work = bytearray(content[start:] if start >= 0 else b"")
    blank_places(scan, work, (0, len(work)))
    return work != content[start:] if start >= 0 else False


def _chunks(data: bytes) -> Iterator[tuple[bytes, int, int]]:
    """The chunks of a PNG picture, whole; what stands behind the last one has no name."""
    at, kind = len(PNG), b""
    while kind != b"IEND":
        length, kind = int.from_bytes(data[at : at + 4], "big"), data[at + 4 : at + 8]
        stop = at + 12 + length
        if stop > len(data):
            raise BadPicture("a chunk is longer than the picture")
        yield kind, at, stop
        at = stop
    if at < len(data):
        yield b"", at, len(data)
