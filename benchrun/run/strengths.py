"""The strengths of baths that a run read or worked out, as they stand now."""

from collections.abc import Mapping, Sequence
from decimal import Decimal

from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.route import Reading, Route, WorkOut
from benchrun.quantity import in_words
from benchrun.run import entries as e
from benchrun.run.corrections import Amended


@lean_dataclass(frozen=True, slots=True)
class Strength:
    """The strength of a bath by a reading.

    Attributes:
        of: The vessel, by its id, or the supply, as the procedure calls it.
        number: The strength in `unit`.
    """

    of: str
    number: Decimal
    unit: str


def baths_of(route: Route) -> Mapping[str, str]:
    """The baths of the steps that measure a strength, by the step's id."""
    return {
        step.id: step.detail.strength_of
        for step in route.steps.values()
        if isinstance(step.detail, (Reading, WorkOut)) and step.detail.strength_of
    }


def strengths(
    route: Route, entries: Sequence[e.Entry], amended: Amended | None = None
) -> Mapping[int, Strength]:
    """The strengths of baths by the entry that gave each, corrections followed.

    What was taken back is not among them; a part that goes back makes no reading undone, as the
    bath was what it was.

    Args:
        route: What the run follows.
        entries: Its log, oldest first.
        amended: What was corrected and taken back in it, where that is known already.
    """
    baths = baths_of(route)
    if not baths:
        return {}
    known = amended or Amended()
    known.read(entries)
    read = {}
    for entry in entries:
        data = entry.data
        if isinstance(data, e.Did) and data.step in baths and not known.taken_back(entry.n):
            now = known.stands((entry.n, data.parts[0], data.place))
            if now is not None and now.number is not None:
                read[entry.n] = Strength(baths[data.step], Decimal(now.number), now.unit)
    return read


def strength_words(route: Route, entries: Sequence[e.Entry]) -> Mapping[int, str]:
    """The strengths that a run read, in words by entry: `strength of the etch tub: 12 %`."""
    names = {vessel.id: vessel.title for vessel in route.vessels.values()}
    return {
        n: f"strength of the {names.get(bath.of, bath.of)}: {in_words(bath.number, bath.unit)}"
        for n, bath in strengths(route, entries).items()
    }
