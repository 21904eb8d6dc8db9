"""The routes of parts: which procedures a kind of part goes through, in which order."""

from dataclasses import dataclass
from typing import Final

from benchrun.shop.book_file import BookFile, BookForm, BookRow, read_id
from benchrun.shop.folder import Shop


@dataclass(frozen=True, slots=True)
class PartRoute:
    """The way of a kind of part through the shop.

    Attributes:
        id: Its short name, which parts give as their route.
        name: What goes this way.
        procedures: The ids of the procedures, in order.
        if_scrapped: The procedure by which a part that was scrapped on the way is replaced, or
            empty.
    """

    id: str
    name: str
    procedures: tuple[str, ...]
    if_scrapped: str
    note: str


def read_routes(shop: Shop) -> BookFile[PartRoute]:
    """The routes of a shop, with what is wrong in their file."""
    return ROUTES.read(shop.path)


def _route(row: BookRow) -> PartRoute:
    procedures = row.texts("procedures")
    if not procedures:
        row.wrong("procedures", "procedures: a route needs one at least, by its id")
    twice = next((one for one in procedures if procedures.count(one) > 1), "")
    if twice:
        row.wrong("procedures", f"procedures: {twice} stands in the route twice")
    return PartRoute(
        id=row.id(),
        name=row.text("name"),
        procedures=procedures,
        if_scrapped=row.take("if scrapped", read_id, ""),
        note=row.text("note"),
    )


ROUTES: Final = BookForm(
    "routes.yaml",
    "routes",
    "route",
    {
        "id": "its short name: small letters, digits, hyphens; a part names it as its route",
        "name": "what goes this way",
        "procedures": "the ids of the procedures, in order: [dry-blasting, brush-coats]",
        "if scrapped": "the procedure that finds another part for one that was scrapped",
        "note": "anything else",
    },
    _route,
    "The routes of this shop's parts. What is done and what comes next follows from the runs.",
    (
        "Begin like this:",
        "  routes:",
        "    - {id: hub, procedures: [dye-penetrant-inspection, dry-blasting, brush-coats]}",
    ),
)
