"""Pictures on their way into a record: the newest of a folder, and the position taken out.

A phone writes into its pictures where they were taken. That place is taken out of the copy without
touching the picture itself: of a JPEG (ITU-T T.81, B.1) the Exif position and the segments that
tell one in words, of a PNG (ISO/IEC 15948, 5 and 11.3.4) the like chunks. What a maker writes in a
form of its own into its own notes is not looked into, nor are place names.
"""

import re
import stat
import struct
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

from benchrun.errors import BenchrunError
from benchrun.record.exif import Cut, Span, Unreadable, cut_position
from benchrun.record.trouble import disk_said
from benchrun.text import shown

ENDINGS: Final = frozenset(
    {".jpg", ".jpeg", ".png", ".heic", ".heif", ".webp", ".gif", ".tif", ".tiff", ".avif"}
)
_JPEG: Final = b"\xff\xd8\xff"
_PNG: Final = b"\x89PNG\r\n\x1a\n"
_EXIF: Final = b"Exif\0\0"
# A position in words, as XMP and comments write it (XMP, part 2, the exif namespace; from memory).
_IN_WORDS: Final = re.compile(rb"(?i:latitude|longitude|gps:?(?:position|coordinates)|geo:l)")
_EXTENDED: Final = re.compile(rb"http://ns\.[a-z.]{1,40}/xmp/extension/\0")
_EXTENDED_HEAD: Final = 40  # the digest of the whole, its length, where this piece of it begins
_MARKER: Final = re.compile(rb"\xff[^\x00\xff\xd0-\xd7]")
_NOT_ZERO: Final = re.compile(rb"[^\0]")
_NOT_FILL: Final = re.compile(rb"[^\xff]")
_SOS: Final = 0xDA
_EOI: Final = 0xD9
_APP1: Final = 0xE1
_COMMENT: Final = 0xFE
_BROKEN: Final = -1

# Against pictures made to waste time or memory.
_MOST_BLOCKS: Final = 64
_MOST_UNPACKED: Final = 16 * 1024 * 1024

Position = Literal[
    "none found", "taken out", "taken out in part", "kept as asked", "not looked for"
]


@dataclass(frozen=True, slots=True)
class Looked:
    """A picture after a look for its position.

    Attributes:
        data: Its bytes.
        position: `none found`; `taken out`; `taken out in part`, where the picture has something
            that cannot be looked into, such as a film behind it; `kept as asked`; `not looked
            for`, where its form is unknown or broken.
    """

    data: bytes
    position: Position


def without_position(data: bytes) -> Looked:
    """Take the position out of a picture.

    A picture that cannot be looked into, or whose form is broken, comes back as it is.
    """
    look = _Look()
    try:
        if data.startswith(_JPEG):
            changed = look.jpeg_file(data)
        elif data.startswith(_PNG):
            changed = look.png_file(data)
        else:
            return Looked(data, "not looked for")
    except Unreadable:
        return Looked(data, "not looked for")
    if look.found:
        return Looked(changed, "taken out in part" if look.blind else "taken out")
    return Looked(data, "not looked for" if look.blind else "none found")


@dataclass(slots=True)
class _Look:
    """One look into a picture.

    Attributes:
        found: Whether a position was found.
        blind: Whether something in it could not be looked into.
        left: How many Exif blocks may still be looked into.
        room: How many bytes may still be unpacked.
    """

    found: bool = False
    blind: bool = False
    left: int = _MOST_BLOCKS
    room: int = _MOST_UNPACKED

    def jpeg_file(self, data: bytes) -> bytes:
        """A JPEG file, with further pictures that a phone may have put behind the first."""
        work = bytearray(data)
        at = self._jpeg(work, (0, len(work)))
        while (more := _NOT_ZERO.search(work, at)) is not None:
            at = more.start()
            try:
                if not work.startswith(_JPEG, at):
                    raise Unreadable("what stands behind the picture is none")
                at = self._jpeg(work, (at, len(work)))
            except Unreadable:
                self.blind = True
                break
        return bytes(work)

    def _jpeg(self, work: bytearray, span: Span, *, small: bool = False) -> int:
        """Look through one picture, changing it in place; tells where it ends."""
        end, pieces = span[1], list[Span]()
        for marker, start, stop in _segments(work, span):
            if marker == _EOI:
                end = stop
            elif marker == _BROKEN:
                self.blind = True
            elif marker == _APP1 and work.startswith(_EXIF, start, stop):
                self._exif(work, (start + len(_EXIF), stop), small=small)
            elif marker == _APP1 and _EXTENDED.match(work, start, stop):
                pieces.append((start, stop))
            elif marker == _COMMENT or _APP1 <= marker <= 0xEF:
                self._wipe_words(work, [(start, stop)], bytes(work[start:stop]))
        if pieces:
            self._wipe_words(work, pieces, _joined(work, pieces))
        return end

    def _exif(self, work: bytearray, span: Span, *, small: bool = False) -> None:
        """Cut the position out of an Exif block, and out of the small picture in it."""
        cut = self._cut(work, span)
        self.found = self.found or cut.found
        for start, stop in cut.thumbnails:
            inner = (span[0] + start, span[0] + stop)
            if not work.startswith(_JPEG, *inner):
                continue  # what is no picture with segments has no room for a position
            try:
                if small:
                    raise Unreadable("a small picture within a small picture")
                self._jpeg(work, inner, small=True)
            except Unreadable:
                self.blind = True

    def _cut(self, work: bytearray, span: Span) -> Cut:
        if not self.left:
            raise Unreadable("it has more Exif blocks than any camera writes")
        self.left -= 1
        with memoryview(work) as whole, whole[slice(*span)] as block:
            return cut_position(block)

    def _wipe_words(self, work: bytearray, spans: list[Span], text: bytes) -> None:
        """Make segments zeros that tell a position; their places stay, so offsets stay true."""
        if _tells(text):
            self.found = True
            for start, stop in spans:
                work[start:stop] = bytes(stop - start)

    def png_file(self, data: bytes) -> bytes:
        """A PNG file."""
        kept = [_PNG]
        for kind, start, stop in _chunks(data):
            content = data[start + 8 : stop - 4] if kind in _TEXTS or kind == b"eXIf" else b""
            if kind == b"eXIf":
                kept.append(self._png_exif(content))
                continue
            if kind == b"":
                self.blind = True
            if kind not in _TEXTS or not self._text_tells(kind, content):
                kept.append(data[start:stop])
        return b"".join(kept)

    def _png_exif(self, content: bytes) -> bytes:
        work = bytearray(content)
        head = len(_EXIF) if content.startswith(_EXIF) else 0
        self._exif(work, (head, len(work)))
        named = b"eXIf" + work
        return struct.pack(">I", len(work)) + named + struct.pack(">I", zlib.crc32(named))

    def _text_tells(self, kind: bytes, content: bytes) -> bool:
        keyword, _, text = content.partition(b"\0")
        if kind == b"zTXt":
            text = self._unpacked(text[1:])
        elif kind == b"iTXt":
            packed, text = text[:1] == b"\1", text[2:].split(b"\0", 2)[-1]
            text = self._unpacked(text) if packed else text
        tells = _tells(keyword + b" " + text)
        if keyword.lower().startswith(b"raw profile type"):
            tells = self._profile_tells(text) or tells
        self.found = self.found or tells
        return tells

    def _unpacked(self, packed: bytes) -> bytes:
        """A packed text; blind where it is broken or far too long."""
        machine = zlib.decompressobj()
        try:
            text = machine.decompress(packed, self.room)
        except zlib.error:
            self.blind = True
            return b""
        self.room = max(1, self.room - len(text))
        self.blind = self.blind or not machine.eof
        return text

    def _profile_tells(self, text: bytes) -> bool:
        """Whether a profile tells a position; it is a name, a length and bytes in hexadecimal."""
        try:
            content = bytes.fromhex(b"".join(text.split()[2:]).decode("ascii"))
        except ValueError:
            self.blind = True
            return False
        content = content.removeprefix(_EXIF)
        if not content.startswith((b"II", b"MM")):
            return _tells(content)
        return self._cut(bytearray(content), (0, len(content))).found


_TEXTS: Final = frozenset({b"tEXt", b"zTXt", b"iTXt"})


def _tells(text: bytes) -> bool:
    """Whether a text tells a position in words, in any encoding that spells with ASCII."""
    return _IN_WORDS.search(text.replace(b"\0", b"")) is not None


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
                raise Unreadable("a segment is none, or longer than the picture")
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


def _chunks(data: bytes) -> Iterator[tuple[bytes, int, int]]:
    """The chunks of a PNG picture, whole; what stands behind the last one has no name."""
    at, kind = len(_PNG), b""
    while kind != b"IEND":
        length, kind = int.from_bytes(data[at : at + 4], "big"), data[at + 4 : at + 8]
        stop = at + 12 + length
        if stop > len(data):
            raise Unreadable("a chunk is longer than the picture")
        yield kind, at, stop
        at = stop
    if at < len(data):
        yield b"", at, len(data)


def newest_picture(folder: Path, since_ms: int | None = None) -> Path:
    """The newest picture in a folder, by the time at which its file was last written.

    Only regular files with the ending of a picture count; links, empty files and hidden ones, as a
    sync tool leaves while it copies, do not. Folders within the folder are not looked into.

    Args:
        folder: Where, such as a phone's sync folder.
        since_ms: The oldest that will do, milliseconds since 1970; None for any age.

    Raises:
        BenchrunError: The folder cannot be read, or has none that will do.
    """
    place = shown(str(folder), 200)
    try:
        found = max(_pictures(folder), default=None)
    except OSError as error:
        raise BenchrunError(
            f"the watched folder {place} cannot be read: {disk_said(error)}"
        ) from None
    if found is None:
        raise BenchrunError(f"there is no picture in {place}: wait for it, or name the file")
    written_ns, name = found
    if since_ms is not None and written_ns < since_ms * 1_000_000:
        raise BenchrunError(
            f"{shown(name, 80)}, the newest picture in {place}, is older than this run: wait for "
            "the new one, or take the newest whatever its age"
        )
    return folder / name


def _pictures(folder: Path) -> Iterator[tuple[int, str]]:
    for path in folder.iterdir():
        if path.suffix.lower() not in ENDINGS or path.name.startswith("."):
            continue
        try:
            found = path.lstat()
        except FileNotFoundError:
            continue  # moved away by the sync tool since the folder was listed
        if stat.S_ISREG(found.st_mode) and found.st_size:
            yield found.st_mtime_ns, path.name
