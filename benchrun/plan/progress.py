"""How far parts have come along their routes, by the runs that they went through."""

from collections.abc import Iterable, Mapping

from benchrun.errors import BenchrunError
from benchrun.kept_runs import parts_outcome
from benchrun.lean_dataclass import lean_dataclass
from benchrun.shop.folder import Shop
from benchrun.shop.parts import Part, read_parts
from benchrun.shop.routes import PartRoute, read_routes, route_of
from benchrun.shop.vessels import read_vessels
from benchrun.shop_use.part_states import unfit_parts
from benchrun.shop_use.vessels import too_large


@lean_dataclass(frozen=True, slots=True)
class PartProgress:
    """A part on its route.

    Attributes:
        part: The part.
        route: Its route.
        done: The procedures of the route that it has gone through.
        remaining: Those that are still ahead, the next one first.
        held: Why it cannot go on now, or empty.
        found: What sent it another way than its route, and where; or empty.
        too_large: Whether it is held because a vessel of its next procedure is too small for it.
    """

    part: Part
    route: PartRoute
    done: tuple[str, ...]
    remaining: tuple[str, ...]
    held: str
    found: str = ""
    too_large: bool = False

    @property
    def next(self) -> str:
        """The procedure that comes next; empty at the end of the route, or where it is held."""
        return self.remaining[0] if self.remaining and not self.held else ""


def parts_progress(shop: Shop, busy: Mapping[str, str]) -> tuple[PartProgress, ...]:
    """Every part that has a route, with how far it has come.

    Args:
        shop: The shop.
        busy: For tags in plain letters that are in an open run: which run that is.
    """
    routes = {route.id: route for route in read_routes(shop).rows}
    rows = read_parts(shop).rows
    ways = [(part, route_of(part, routes)) for part in rows]
    return tuple(_progress(shop, part, way, busy) for part, way in ways if way is not None)


def progress_of(shop: Shop, part: Part, busy: Mapping[str, str]) -> PartProgress | None:
    """How far one part has come; None where it has no route.

    Args:
        shop: The shop.
        part: The part.
        busy: As for `parts_progress`.
    """
    routes = {route.id: route for route in read_routes(shop).rows}
    way = route_of(part, routes)
    return None if way is None else _progress(shop, part, way, busy)


def _progress(shop: Shop, part: Part, route: PartRoute, busy: Mapping[str, str]) -> PartProgress:
    done, remaining, found = _way(shop, part, route)
    unfit = unfit_parts([part], [part.id], busy)
    held = unfit.get(part.id, "")
    large = _too_large(shop, remaining[0], part.size) if part.size > 1 and remaining else ""
    held = held or large
    if held.startswith("scrapped") and route.if_scrapped:
        held = f"{held}; {route.if_scrapped} finds another"
    return PartProgress(part, route, done, remaining, held, found, bool(large) and held == large)


def _way(shop: Shop, part: Part, route: PartRoute) -> tuple[tuple[str, ...], tuple[str, ...], str]:
    """The way of a part: gone through, still ahead, and what sent it another way.

    From the run on that found something for which the route has another way, that way counts.
    """
    ahead, done, found = list(route.procedures), list[str](), ""
    for run in part.runs:
        outcome = parts_outcome(shop.runs / run)
        if part.id in outcome.finished and outcome.procedure in ahead:
            ahead.remove(outcome.procedure)
            done.append(outcome.procedure)
        way = route.other_way(outcome.procedure, outcome.found.get(part.id, ()))
        if way is not None:
            ahead, found = list(way.procedures), f"{way.finding}, in {outcome.procedure}"
    if not found:
        done.sort(key=route.procedures.index)
    return tuple(done), tuple(ahead), found


def _too_large(shop: Shop, procedure: str, size: int) -> str:
    """Why a large part does not go into the vessels of its next procedure, or empty."""
    from benchrun.procedure.load import look_at

    try:
        loaded = look_at(shop.procedure(procedure))
    except BenchrunError:
        return ""  # a name that leads nowhere is told where the route stands
    return too_large(read_vessels(shop), loaded, size)


def ready_parts(progress: Iterable[PartProgress]) -> dict[str, tuple[str, ...]]:
    """For each procedure the parts whose turn it is, by their ids in the order of the book."""
    found: dict[str, tuple[str, ...]] = {}
    for one in progress:
        if one.next:
            found[one.next] = (*found.get(one.next, ()), one.part.id)
    return found


def parts_to_follow_on(shop: Shop, busy: Mapping[str, str]) -> dict[str, tuple[str, ...]]:
    """For each procedure the parts without a route that it may follow for, in the book's order.

    It follows on what their last run finished, by what that procedure says.

    Args:
        shop: The shop.
        busy: As for `parts_progress`.
    """
    found: dict[str, tuple[str, ...]] = {}
    rows = [part for part in read_parts(shop).rows if not part.route and not part.own_route]
    unfit = unfit_parts(rows, [part.id for part in rows], busy)
    for part in rows:
        if part.runs and part.id not in unfit:
            outcome = parts_outcome(shop.runs / part.runs[-1])
            for name in outcome.follow_on if part.id in outcome.finished else ():
                found[name] = (*found.get(name, ()), part.id)
    return found


def progress_text(progress: Iterable[PartProgress]) -> str:
    """The parts by where they stand on their routes, a line each, as text."""
    lines = []
    for one in progress:
        count = len(one.done) + len(one.remaining)
        at = f"{len(one.done)} of {count}"
        then = one.held or (f"next: {one.next}" if one.next else "through")
        then += f"; found: {one.found}" if one.found else ""
        lines.append(f"{one.part.id:<14} {one.route.id:<12} {at:<8} {then}")
    return "\n".join(lines) or "No part has a route: name one of routes.yaml as its route."
