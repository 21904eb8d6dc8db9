"""The runs to come: what parts still go through by their routes after the runs they are in."""

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from pathlib import Path

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.plan.pieces import RunAhead
from benchrun.plan.progress import PartProgress
from benchrun.procedure.files import read_file
from benchrun.procedure.route import Procedure
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Hand, Refusal
from benchrun.run.course import Course
from benchrun.run.decide import decide
from benchrun.run.fold import fold
from benchrun.run.state import Run, Status
from benchrun.shop.folder import Shop
from benchrun.text import slug


@lean_dataclass(frozen=True, slots=True)
class RunsToCome:
    """Runs that are still to be begun.

    Attributes:
        runs: The runs, each after those that its parts come from.
        names: What each is called.
        faults: Procedures that cannot be planned, each with why.
    """

    runs: tuple[RunAhead, ...]
    names: Mapping[str, str]
    faults: tuple[str, ...]


def runs_to_come(
    shop: Shop, progress: Iterable[PartProgress], now_in: Sequence[RunAhead], now: Moment
) -> RunsToCome:
    """The runs that parts still have before them, parts that come the same way in one.

    Parts that are scrapped, set aside, to be replaced or away without a run are left out until
    somebody decides; so is what another finding would lead to.

    Args:
        shop: The shop.
        progress: The parts on their routes.
        now_in: The open runs.
        now: The moment.
    """
    inside = {
        slug(one.part): ahead
        for ahead in now_in
        for one in ahead.run.each()
        if one.status in (Status.PLAY, Status.AWAY)
    }
    waves: dict[tuple[str, ...], list[PartProgress]] = {}
    faults: dict[str, str] = {}
    for part in progress:
        ahead = inside.get(slug(part.part.id))
        if part.held and ahead is None:
            if part.too_large:
                faults[part.part.id] = part.held
            continue
        way = tuple(one for one in part.remaining if ahead is None or one != ahead.procedure)
        whence = ahead.id if ahead is not None else ""
        for place in range(1, len(way) + 1):
            waves.setdefault((whence, *way[:place]), []).append(part)
    runs, names = list[RunAhead](), dict[str, str]()
    for trail in sorted(waves, key=lambda one: (len(one), one)):
        name = trail[-1]
        if any(one in faults for one in trail[1:-1]):
            continue  # what comes after something that cannot be planned cannot be either
        try:
            procedure = procedure_at(shop.procedure(name))
            for batch in _batches(waves[trail], procedure.batch.most):
                ahead = RunAhead(
                    f"to come {len(runs) + 1}", name, _begun(procedure, batch, now), comes=True
                )
                runs.append(ahead)
                names[ahead.id] = procedure.title
        except BenchrunError as error:
            faults[name] = error.message.partition("\n")[0]
    told = tuple(f"{name} cannot be planned: {why}" for name, why in faults.items())
    return RunsToCome(tuple(runs), names, told)


def _batches(parts: Sequence[PartProgress], most: int) -> Iterable[Sequence[PartProgress]]:
    count = -(-len(parts) // most)
    at = 0
    for place in range(count):
        size = len(parts) // count + (place < len(parts) % count)
        yield parts[at : at + size]
        at += size


def _begun(procedure: Procedure, batch: Sequence[PartProgress], now: Moment) -> Run:
    """A run as it would be just after its begin; nothing of it is kept.

    Raises:
        BenchrunError: It could not be begun with these parts.
    """
    if procedure.status == "withdrawn":
        raise BenchrunError("it is withdrawn: name its successor in the route")
    empty = Run(Course(procedure.route))
    # Where a part's kind is not known yet any kind will do: nothing but a plan comes of it.
    usual = next(iter(procedure.route.kinds), "")
    specs = tuple(
        e.PartSpec(
            one.part.id,
            size=one.part.size,
            kind=one.part.kind if one.part.kind in procedure.route.kinds else usual,
        )
        for one in batch
    )
    hand = Hand("plan")
    data = decide(empty, c.Open(specs, {}), now, hand)
    if isinstance(data, Refusal):
        raise BenchrunError(data.text)
    return fold(empty, e.Entry(0, now, hand.id, data))


def procedure_at(path: Path) -> Procedure:
    """The procedure in a file, compiled once for each of its contents.

    Raises:
        BenchrunError: It cannot be read, or is not sound.
    """
    content = read_file(path)
    return _compiled(content, hashlib.sha256(content).hexdigest(), path.name)


@lru_cache(maxsize=64)
def _compiled(content: bytes, digest: str, name: str) -> Procedure:
    from benchrun.procedure.load import load_bytes
    from benchrun.procedure.plain_form import compiled

    return compiled(content, digest, lambda: load_bytes(content, name))
