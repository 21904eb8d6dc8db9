"""Takes the position out of a picture's copy, whatever its kind, and says what came of it.

A phone writes into its pictures where they were taken. That place is taken out of the copy without
touching the picture itself.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

from benchrun.pictures import gif, heif, jpeg, png, tiff, webp
from benchrun.pictures.exif import Unreadable
from benchrun.pictures.look import Look

Position = Literal[
    "none found", "taken out", "taken out in part", "kept as asked", "not looked for"
]
UNSURE: Final = frozenset({"taken out in part", "not looked for"})
"""What is said of a copy that may still tell where the picture was taken."""


@dataclass(frozen=True, slots=True)
class Looked:
    """A picture after a look for its position.

    Attributes:
        data: Its bytes.
        position: `none found`; `taken out`, a position or a maker's own notes, which may hold one;
            `taken out in part`, where the picture has something
            that cannot be looked into, such as a film behind it; `kept as asked`; `not looked
            for`, where its form is unknown or broken.
    """

    data: bytes
    position: Position


def without_position(data: bytes) -> Looked:
    """Take the position out of a picture.

    A picture that cannot be looked into, or whose form is broken, comes back as it is.
    """
    take_out = _kind(data)
    if take_out is None:
        return Looked(data, "not looked for")
    look = Look()
    try:
        changed = take_out(look, data)
    except Unreadable:
        return Looked(data, "not looked for")
    if look.found:
        return Looked(changed, "taken out in part" if look.blind else "taken out")
    return Looked(data, "not looked for" if look.blind else "none found")


def _kind(data: bytes) -> Callable[[Look, bytes], bytes] | None:
    if data.startswith(jpeg.JPEG):
        return jpeg.without_position
    if data.startswith(png.PNG):
        return png.without_position
    if webp.is_webp(data):
        return webp.without_position
    if heif.is_heif(data):
        return heif.without_position
    if tiff.is_tiff(data):
        return tiff.without_position
    if gif.is_gif(data):
        return gif.without_position
    return None
