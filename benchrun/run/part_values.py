"""Values of a part from its begin on: its kind, and those that follow from the kind alone."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from benchrun.procedure.header_values import KIND, PartKind
from benchrun.procedure.route import Route
from benchrun.quantity import Measure, plain
from benchrun.run.commands import Refusal
from benchrun.run.outcomes import PartSpec, Revision
from benchrun.run.state import Marker, Run, Value, ValueKey
from benchrun.text import listed, shown


def fresh_marker(run: Run, spec: PartSpec, n: int, *, waited: bool = True) -> Marker:
    """A part as it joins a run, with what is known of it at once.

    Args:
        run: The run.
        spec: The part.
        n: The entry by which it joins.
        waited: Whether steps done together wait for it.
    """
    own = {value.key: value for value in run.figures.values()}
    values = {**kind_values(run.route, spec, n), **own}
    return Marker(
        spec.part,
        size=spec.size,
        waited=waited,
        values=values,
        pair=spec.pair,
        last=n,
        touched=n,
    )


def kind_values(route: Route, spec: PartSpec, n: int) -> Mapping[ValueKey, Value]:
    """The kind of a part as a value, and what follows from it."""
    kind = route.kinds.get(spec.kind)
    if kind is None:
        return {}
    own = _word(n, spec.part, KIND, kind.id)
    values = [own]
    for name, value in kind.values.items():
        follows = (
            _word(n, spec.part, name, value)
            if isinstance(value, str)
            else replace(_word(n, spec.part, name, ""), number=value.value, unit=value.unit)
        )
        values.append(replace(follows, inputs=(own,)))
    return {value.key: value for value in values}


def _word(n: int, part: str, name: str, word: str) -> Value:
    return Value(n, part, "", name, "", None, "", word, "", ())


def of_kind(value: Value, kinds: Mapping[str, PartKind], kind: str) -> Revision | None:
    """The revision of a value that follows from the kind, for another kind; None for any other.

    Args:
        value: The value.
        kinds: The kinds of the procedure.
        kind: The part's kind, as corrected.
    """
    known = kinds.get(kind)
    now = known.values.get(value.name) if known is not None else None
    if now is None:
        return None
    if isinstance(now, Measure):
        number = plain(now.to(value.unit))
        return Revision(value.n, value.part, number, value.id[2])
    return Revision(value.n, value.part, None, value.id[2], now)


def kind_fault(route: Route, spec: PartSpec) -> Refusal | None:
    """Refuse a part without its kind, of a kind that there is not, or with one where none is."""
    names = listed(tuple(route.kinds), most=20)
    if spec.kind in route.kinds or (not spec.kind and not route.kinds):
        return None
    if not route.kinds:
        return Refusal(f"{spec.part}: this procedure has no kinds of part. Name no kind.")
    if not spec.kind:
        return Refusal(f"{spec.part}: say of which kind it is: {names}.")
    return Refusal(f"{spec.part}: {shown(spec.kind, 40)} is no kind here. Choose one of {names}.")


def in_pairs(route: Route, specs: Sequence[PartSpec]) -> tuple[PartSpec, ...]:
    """The parts with the number of the pair that each belongs to.

    The first part of each tied kind makes the first pair, the second of each the second, in the
    order of the batch; a part of a kind that is not tied belongs to none.
    """
    if not route.pair:
        return tuple(replace(spec, pair="") for spec in specs)
    count: dict[str, int] = {}
    tied: list[PartSpec] = []
    for spec in specs:
        pair = ""
        if spec.kind in route.pair:
            count[spec.kind] = count.get(spec.kind, 0) + 1
            pair = str(count[spec.kind])
        tied.append(replace(spec, pair=pair))
    return tuple(tied)


def joined_pair(run: Run, spec: PartSpec) -> PartSpec:
    """A part that joins, with the first pair that still lacks one of its kind."""
    route = run.route
    if spec.kind not in route.pair:
        return replace(spec, pair="")
    taken = {m.pair for m in run.each() if kind_id(m) == spec.kind}
    number = 1
    while str(number) in taken:
        number += 1
    return replace(spec, pair=str(number))


def kind_id(marker: Marker) -> str:
    """The id of the kind of a part, as corrected; empty where there are no kinds."""
    value = marker.values.get((KIND, ""))
    return value.word if value is not None else ""


def mates(run: Run, part: str) -> tuple[str, ...]:
    """The parts of the pair that a part belongs to, itself among them, in batch order."""
    pair = run.markers[part].pair
    return tuple(m.part for m in run.each() if pair and m.pair == pair)
