"""A picture for a page: upright, no larger than a page shows it, and light."""

import io
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from PIL.Image import Image

MOST_BYTES: Final = 280_000
"""No picture of a report is heavier."""
_SIDES: Final = (1280, 1024, 800, 640, 480, 320)
_QUALITIES: Final = (80, 65, 50)
_MOST_PIXELS: Final = 200_000_000
_ORIENTATION: Final = 274  # the Exif tag that says how the camera was held


def scaled(content: bytes, kind: str) -> tuple[str, bytes] | None:
    """A picture as a page shows it.

    One that is light, small and upright already stays as it is, byte for byte.

    Args:
        content: The file.
        kind: Its media type.

    Returns:
        The media type and the bytes; None for what cannot be read as a picture.
    """
    from PIL import ImageOps, UnidentifiedImageError
    from PIL.Image import DecompressionBombError
    from PIL.Image import open as open_picture

    try:
        with open_picture(io.BytesIO(content)) as picture:
            if picture.width * picture.height > _MOST_PIXELS:
                return None
            upright = picture.getexif().get(_ORIENTATION, 1) == 1
            small = max(picture.size) <= _SIDES[0] and len(content) <= MOST_BYTES
            if upright and small and picture.format in _SHOWN:
                picture.load()
                return kind, content
            picture.draft("RGB", (_SIDES[0], _SIDES[0]))
            turned = ImageOps.exif_transpose(picture).convert("RGB")
            return "image/jpeg", _light(turned)
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, DecompressionBombError):
        return None


_SHOWN: Final = ("JPEG", "PNG", "GIF", "WEBP")


def _light(picture: "Image") -> bytes:
    """The picture as JPEG, as large and as good as its weight lets it be."""
    content = b""
    for side in _SIDES:
        smaller = picture.copy()
        smaller.thumbnail((side, side))
        for quality in _QUALITIES:
            out = io.BytesIO()
            smaller.save(out, "JPEG", quality=quality, optimize=True)
            content = out.getvalue()
            if len(content) <= MOST_BYTES:
                return content
    return content
