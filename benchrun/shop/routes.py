"""The routes of parts: which procedures a kind of part goes through, in which order."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.shop.book_file import BookFile, BookForm, BookRow, read_id
from benchrun.shop.folder import Listed, Shop
from benchrun.shop.parts import Part
from benchrun.text import meant

OWN_ROUTE: Final = "own"
"""Stands for the name of a route that one part has for itself."""


@lean_dataclass(frozen=True, slots=True)
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


def route_of(part: Part, routes: Mapping[str, PartRoute]) -> PartRoute | None:
    """The route of a part, its own or one of the shop's; None where it has none.

    Args:
        part: The part.
        routes: The shop's routes by their ids.
    """
    if part.own_route:
        return PartRoute(OWN_ROUTE, part.name, part.own_route, "", "")
    return routes.get(part.route)


def route_faults(
    routes: Iterable[PartRoute], parts: Iterable[Part], procedures: Iterable[Listed]
) -> tuple[str, ...]:
    """Names in routes that nothing goes by, and procedures in them that are withdrawn, in words.

    Args:
        routes: The shop's routes.
        parts: Its parts, which name routes or have their own.
        procedures: The procedures that can be begun.
    """
    known = {one.id: one for one in procedures}
    rows = {route.id: route for route in routes}
    found = []
    for route in rows.values():
        named = (*route.procedures, *filter(None, (route.if_scrapped,)))
        found += [f"routes.yaml: {route.id}: {words}" for words in _lost(named, known)]
        if route.if_scrapped in route.procedures:
            found.append(
                f"routes.yaml: {route.id}: {route.if_scrapped} finds another part for one that "
                "was scrapped, and stands on its way: a spare that fails would ask for itself. "
                "Strike it from one of them"
            )
    for part in parts:
        if part.route and part.route not in rows:
            would = meant(part.route, list(rows))
            found.append(f"parts.yaml: {part.id} goes by {part.route}, which is no route: {would}")
        found += [f"parts.yaml: {part.id}: {words}" for words in _lost(part.own_route, known)]
    return tuple(found)


def _lost(named: Iterable[str], known: Mapping[str, Listed]) -> Iterator[str]:
    for one in dict.fromkeys(named):
        if one not in known:
            yield f"{one} is no procedure: {meant(one, list(known))}"
        elif known[one].withdrawn:
            yield f"{one} is withdrawn: name its successor"


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
