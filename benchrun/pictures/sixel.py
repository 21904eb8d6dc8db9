"""A picture drawn by a terminal that says that it can: sixels (DEC STD 070, chapter 9).

The terminal is asked for its attributes (ECMA-48, 8.3.24 DA); 4 among them means sixels.
"""

import fcntl
import io
import os
import re
import select
import struct
import termios
import time
import tty
from collections.abc import Iterator
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from PIL.Image import Image

COLOURS: Final = 48
_BAND: Final = 6
_ANSWER_S: Final = 0.5
_MOST_PIXELS: Final = 100_000_000
_WIDEST, _HIGHEST = 1280, 960
_ATTRIBUTES: Final = re.compile(rb"\x1b\[\?([0-9;]+)c")
_USUAL: Final = (640, 400)
_ROWS_LEFT: Final = 3


def sixels(content: bytes, width: int, height: int) -> str | None:
    """A picture as sixels, no larger than so many pixels; None for what is no picture.

    Args:
        content: The file.
        width: The most pixels across.
        height: The most pixels down.
    """
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with Image.open(io.BytesIO(content)) as picture:
            if picture.width * picture.height > _MOST_PIXELS:
                return None
            turned = ImageOps.exif_transpose(picture).convert("RGBA")
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        return None
    ground = Image.new("RGBA", turned.size, "white")
    flat = Image.alpha_composite(ground, turned).convert("RGB")
    flat.thumbnail((min(width, _WIDEST), min(height, _HIGHEST)))
    return "".join(_drawn(flat.quantize(COLOURS)))


def _drawn(picture: "Image") -> Iterator[str]:
    wide, high = picture.size
    pixels = picture.tobytes()
    palette = picture.getpalette() or []
    yield f'\x1bPq"1;1;{wide};{high}'
    for place in sorted(set(pixels)):
        shares = (round(one * 100 / 255) for one in palette[place * 3 : place * 3 + 3])
        yield f"#{place};2;{';'.join(map(str, shares))}"
    for top in range(0, high, _BAND):
        masks: dict[int, bytearray] = {}
        for row in range(top, min(top + _BAND, high)):
            bit = 1 << (row - top)
            for across, place in enumerate(pixels[row * wide : (row + 1) * wide]):
                masks.setdefault(place, bytearray(wide))[across] |= bit
        yield "$".join(f"#{place}{_runs(mask)}" for place, mask in masks.items())
        yield "-"
    yield "\x1b\\"


def _runs(mask: bytearray) -> str:
    """The columns of one colour of a band; more than three alike are counted."""
    words = []
    for value, alike in groupby(mask):
        number, char = sum(1 for _ in alike), chr(value + 63)
        words.append(f"!{number}{char}" if number > 3 else char * number)
    return "".join(words)


def draw_on_terminal(path: Path, wait_s: float, keys: int, screen: int) -> bool | None:
    """Draw a picture on the terminal until a key is pressed, or for so long at most.

    Args:
        path: The picture.
        wait_s: For how many seconds at most.
        keys: The file number by which the terminal is read.
        screen: That by which it is written.

    Returns:
        Whether it was drawn: False where the file is no picture that can be; None where the
        terminal does not say that it draws.
    """
    if not (os.isatty(keys) and os.isatty(screen)):
        return None
    before = termios.tcgetattr(keys)
    try:
        tty.setcbreak(keys)
        if not _draws(keys, screen):
            return None
        drawn = sixels(path.read_bytes(), *_room(screen))
        if drawn is None:
            return False
        _write(screen, f"\x1b[2J\x1b[H{drawn}\r\nAny key goes back.".encode())
        select.select([keys], [], [], wait_s)
        _write(screen, b"\x1b[2J\x1b[H")
        termios.tcflush(keys, termios.TCIFLUSH)
        return True
    except OSError:
        return None
    finally:
        termios.tcsetattr(keys, termios.TCSANOW, before)


def _write(screen: int, data: bytes) -> None:
    while data:
        data = data[os.write(screen, data) :]


def _draws(keys: int, screen: int) -> bool:
    """Whether the terminal names sixels among its attributes."""
    termios.tcflush(keys, termios.TCIFLUSH)
    _write(screen, b"\x1b[c")
    answer, until = b"", time.monotonic() + _ANSWER_S
    while (left := until - time.monotonic()) > 0:
        if not select.select([keys], [], [], left)[0]:
            break
        answer += os.read(keys, 256)
        found = _ATTRIBUTES.search(answer)
        if found is not None:
            return b"4" in found[1].split(b";")[1:]
    return False


def _room(screen: int) -> tuple[int, int]:
    """The pixels that a picture may take, with some rows left below it."""
    size = fcntl.ioctl(screen, termios.TIOCGWINSZ, bytes(8))
    rows, _, wide, high = struct.unpack("HHHH", size)
    if not (rows and wide and high):
        return _USUAL
    return wide, high * max(1, rows - _ROWS_LEFT) // rows
