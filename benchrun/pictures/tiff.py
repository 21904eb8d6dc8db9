"""TIFF (6.0, section 2; from memory): the whole file is one block such as Exif has.

Its tables lead to everything in it. What they do not lead to, pictures packed as files of their
own, and how a picture lies on the earth make the scan blind.
"""

from typing import Final

from benchrun.pictures.exif import Span
from benchrun.pictures.jpeg import cut_exif
from benchrun.pictures.position_scan import PositionScan

# Plain, the three of fax, and four that only pack bytes: none has room for a text.
_PACKINGS: Final = frozenset({1, 2, 3, 4, 5, 8, 32773, 32946})


def is_tiff(data: bytes) -> bool:
    """Whether a file begins as a TIFF picture."""
    return data[:4] in (b"II*\0", b"MM\0*")


def strip_tiff(scan: PositionScan, data: bytes) -> bytes:
    """A TIFF file; every byte stays in its place, those of the position become zeros.

    Raises:
        Unreadable: It has not the form of one.
    """
    work = bytearray(data)
    cut = cut_exif(scan, work, (0, len(work)))
    if cut.on_earth or cut.packings - _PACKINGS or _more(work, cut.known):
        scan.blind = True
    return bytes(work)


def _more(work: bytearray, known: tuple[Span, ...]) -> bool:
    """Whether anything but zeros lies between what is known, given in order, or behind it."""
    reach = 0
    for start, stop in (*known, (len(work), len(work))):
        if start > reach and work[reach:start].strip(b"\0"):
            return True
        reach = max(reach, stop)
    return False
