"""The shop's vessels: tubs, ovens and rails, which runs share."""

from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.shop.book_file import BookFile, BookForm
from benchrun.shop.book_row import BookRow
from benchrun.shop.folder import Shop

_MOST: Final = 10_000


@lean_dataclass(frozen=True, slots=True)
class ShopVessel:
    """A tub, an oven, a rail of the shop.

    Attributes:
        id: Its short name.
        name: What it is.
        also: What procedures call it, by id or title, besides its id and name.
        holds: How many parts of size 1 fit in at once, over all runs; None for no limit.
        filled_with: The id of the supply that is in it, or empty.
        out_of_use: Why it is not to be used, or empty.
    """

    id: str
    name: str
    also: tuple[str, ...]
    holds: int | None
    filled_with: str
    out_of_use: str
    note: str

    def called(self, vessel: str, title: str) -> bool:
        """Whether a procedure's vessel is this one, by its id or its title."""
        own = {self.id, self.name.casefold(), *(name.casefold() for name in self.also)}
        return vessel.casefold() in own or title.casefold() in own


def read_vessels(shop: Shop) -> BookFile[ShopVessel]:
    """The vessels of a shop, with what is wrong in their file."""
    return VESSELS.read(shop.path)


def _made(row: BookRow) -> ShopVessel:
    return ShopVessel(
        id=row.id(),
        name=row.text("name", needed=True),
        also=row.texts("also"),
        holds=row.take("holds", _room, None),
        filled_with=row.text("filled with"),
        out_of_use=row.text("out of use"),
        note=row.text("note"),
    )


def _room(text: str) -> int:
    if not (text.isascii() and text.isdigit() and 1 <= int(text[:6]) <= _MOST and len(text) < 6):
        raise BenchrunError(f"{text[:40]!r} must be a whole number from 1 to {_MOST}")
    return int(text)


VESSELS: Final = BookForm(
    "vessels.yaml",
    "vessels",
    "vessel",
    {
        "id": "its short name; a procedure's vessel of that id or name is this one",
        "name": "what it is",
        "also": "other names that procedures use for it: [etch tub, acid tub]",
        "holds": "how many parts of usual size fit in at once",
        "filled with": "the id of the supply that is in it",
        "out of use": "why it must not be used",
        "note": "anything else",
    },
    _made,
    "The tubs, ovens and rails of this shop. Two runs that use the same one know of each other.",
    (
        "Begin like this, or with benchrun:",
        "  vessels:",
        "    - {id: tub, name: etch tub, holds: 4}",
    ),
)
