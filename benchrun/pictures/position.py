"""Takes the position out of a picture's copy, whatever its kind, and says what came of it.

A phone writes into its pictures where they were taken. That place is taken out of the copy without
touching the picture itself.
"""

from collections.abc import Callable
from typing import Final, Literal

from benchrun.lean_dataclass import lean_dataclass
from benchrun.pictures import gif, heif, jpeg, png, tiff, webp
from benchrun.pictures.exif import BadPicture
from benchrun.pictures.position_scan import PositionScan

Position = Literal[
    "none found", "taken out", "taken out in part", "kept as asked", "not looked for"
]
Strip = Callable[[PositionScan, bytes], bytes]
_KINDS: Final[tuple[tuple[Callable[[bytes], bool], Strip], ...]] = (
    (jpeg.is_jpeg, jpeg.strip_jpeg),
    (png.is_png, png.strip_png),
    (webp.is_webp, webp.strip_webp),
    (heif.is_heif, heif.strip_heif),
    (tiff.is_tiff, tiff.strip_tiff),
    (gif.is_gif, gif.strip_gif),
)
"""How each kind of picture is known by its first bytes, and rid of its position."""
UNSURE: Final = frozenset({"taken out in part", "not looked for"})
"""The words for a copy that may still tell where the picture was taken."""


@lean_dataclass(frozen=True, slots=True)
class StrippedPicture:
    """A picture after a scan for its position.

    Attributes:
        data: Its bytes.
        position: `none found`; `taken out`, a position or a maker's own notes, which may hold one;
            `taken out in part`, where the picture has something
            that cannot be looked into, such as a film behind it; `kept as asked`; `not looked
            for`, where its form is unknown or broken.
    """

    data: bytes
    position: Position


def without_position(data: bytes) -> StrippedPicture:
    """Take the position out of a picture.

    A picture that cannot be looked into, or whose form is broken, comes back as it is.
    """
    strip = _stripper_of(data)
    if strip is None:
        return StrippedPicture(data, "not looked for")
    scan = PositionScan()
    try:
        changed = strip(scan, data)
    except BadPicture:
        return StrippedPicture(data, "not looked for")
    if scan.found:
        return StrippedPicture(changed, "taken out in part" if scan.blind else "taken out")
    return StrippedPicture(data, "not looked for" if scan.blind else "none found")


def _stripper_of(data: bytes) -> Strip | None:
    return next((strip for begins_so, strip in _KINDS if begins_so(data)), None)
