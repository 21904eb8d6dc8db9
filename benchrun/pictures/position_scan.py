"""One scan of a picture for the position that it tells, changing a copy in its place."""

import re
import zlib
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.pictures.exif import BadPicture, Cut, Span, cut_position

EXIF: Final = b"Exif\0\0"
# A position in words, as XMP and comments write it, and the names of places that XMP gives beside
# it (XMP, part 2, the exif and photoshop namespaces; IPTC Photo Metadata, Core and Extension; from
# memory).
_IN_WORDS: Final = re.compile(
    rb"(?i:latitude|longitude|gps:?(?:position|coordinates)|geo:l"
    rb"|photoshop:(?:city|state|country)"
    rb"|iptc4xmp(?:core|ext):(?:location|sublocation|city|province|country))"
)

# Against pictures made to waste time or memory.
_MOST_BLOCKS: Final = 64
_MOST_STEPS: Final = 100_000
_MOST_UNPACKED: Final = 16 * 1024 * 1024


def tells(text: bytes) -> bool:
    """Whether a text tells a position in words, in any encoding that spells with ASCII."""
    return _IN_WORDS.search(text.replace(b"\0", b"")) is not None


@lean_dataclass(slots=True)
class PositionScan:
    """One scan of a picture.

    Attributes:
        found: Whether a position was found; it is no longer in the copy.
        blind: Whether something in it could not be looked into.
        left: How many Exif blocks may still be looked into.
        room: How many bytes may still be unpacked.
        steps: How many pieces of the picture may still be walked over.
    """

    found: bool = False
    blind: bool = False
    left: int = _MOST_BLOCKS
    room: int = _MOST_UNPACKED
    steps: int = _MOST_STEPS

    def step(self) -> None:
        """Walk over one more piece.

        Raises:
            Unreadable: There are more than any camera writes.
        """
        self.steps -= 1
        if self.steps < 0:
            raise BadPicture("it has more pieces than any camera writes")

    def cut(self, work: bytearray, span: Span) -> Cut:
        """Cut the position out of an Exif block.

        Raises:
            Unreadable: It has not the form of one, or there are more than any camera writes.
        """
        if not self.left:
            raise BadPicture("it has more Exif blocks than any camera writes")
        self.left -= 1
        with memoryview(work) as whole, whole[slice(*span)] as block:
            cut = cut_position(block)
        self.found = self.found or cut.found
        return cut

    def wipe_words(self, work: bytearray, spans: list[Span], text: bytes) -> None:
        """Make spans zeros that tell a position; their places stay, so offsets stay true.

        Args:
            work: The picture.
            spans: Where the text lies.
            text: The text.
        """
        if tells(text):
            self.found = True
            for start, stop in spans:
                work[start:stop] = bytes(stop - start)

    def unpacked(self, packed: bytes) -> bytes:
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
