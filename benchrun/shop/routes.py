"""The routes of parts: which procedures a kind of part goes through, in which order."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.shop.book_file import BookFile, BookForm
from benchrun.shop.book_row import BookRow, read_id
from benchrun.shop.folder import Listed, Shop
from benchrun.shop.parts import Part
from benchrun.text import meant

OWN_ROUTE: Final = "own"
"""Stands for the name of a route that one part has for itself."""


FOUND_KEYS: Final = ("finding", "in", "go on with")


@lean_dataclass(frozen=True, slots=True)
class OtherWay:
    """The rest of a way for parts of which something was found.

    Attributes:
        finding: What an inspection found, as its procedure calls it.
        procedure: The procedure of the route that finds it; empty: any of them.
        procedures: What such a part goes through from there on, in order.
    """

    finding: str
    procedure: str
    procedures: tuple[str, ...]


@lean_dataclass(frozen=True, slots=True)
class PartRoute:
    """The way of a kind of part through the shop.

    Attributes:
        id: Its short name, which parts give as their route.
        name: What goes this way.
        procedures: The ids of the procedures, in order.
        if_scrapped: The procedure by which a part that was scrapped on the way is replaced, or
            empty.
        if_found: The other ways of parts of which something was found.
    """

    id: str
    name: str
    procedures: tuple[str, ...]
    if_scrapped: str
    note: str
    if_found: tuple[OtherWay, ...] = ()

    def other_way(self, procedure: str, found: Collection[str]) -> OtherWay | None:
        """The other way of a part by what a run found; None where it goes on as planned.

        Args:
            procedure: The run's procedure.
            found: What its inspections found of the part.
        """
        words = {one.casefold() for one in found}
        ways = (way for way in self.if_found if way.procedure in ("", procedure))
        return next((way for way in ways if way.finding.casefold() in words), None)


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
        others = [one for way in route.if_found for one in (way.procedure, *way.procedures)]
        named = (*route.procedures, *filter(None, (route.if_scrapped, *others)))
        found += [f"routes.yaml: {route.id}: {words}" for words in _lost(named, known)]
        if route.if_scrapped in route.procedures:
            found.append(
                f"routes.yaml: {route.id}: {route.if_scrapped} finds another part for one that "
                "was scrapped, and is on its way: a spare that fails would ask for itself. "
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
        row.wrong("procedures", f"procedures: {twice} is in the route twice")
    ways = tuple(_other_way(row, inner) for inner in row.items("if found", FOUND_KEYS))
    return PartRoute(
        id=row.id(),
        name=row.text("name"),
        procedures=procedures,
        if_scrapped=row.take("if scrapped", read_id, ""),
        note=row.text("note"),
        if_found=ways,
    )


def _other_way(row: BookRow, inner: BookRow) -> OtherWay:
    way = OtherWay(
        finding=inner.text("finding", needed=True),
        procedure=inner.take("in", read_id, ""),
        procedures=inner.texts("go on with"),
    )
    if not way.procedures:
        inner.wrong("go on with", "go on with: name the procedures from there on, in order")
    twice = next((one for one in way.procedures if way.procedures.count(one) > 1), "")
    if twice:
        inner.wrong("go on with", f"go on with: {twice} is in it twice")
    row.gather(inner)
    return way


ROUTES: Final = BookForm(
    "routes.yaml",
    "routes",
    "route",
    {
        "id": "its short name: small letters, digits, hyphens; a part names it as its route",
        "name": "what goes this way",
        "procedures": "the ids of the procedures, in order: [dry-blasting, brush-coats]",
        "if scrapped": "the procedure that finds another part for one that was scrapped",
        "if found": "for parts of which an inspection found something, what they go through then",
        "note": "anything else",
    },
    _route,
    "The routes of this shop's parts. What is done and what comes next follows from the runs.",
    (
        "Begin like this:",
        "  routes:",
        "    - {id: hub, procedures: [dye-penetrant-inspection, dry-blasting, brush-coats]}",
        "A line of `if found`, in the words of the procedure named behind `in`:",
        "  - {finding: not sure, in: dye-penetrant-inspection, go on with: [spare-part-matching]}",
    ),
)
