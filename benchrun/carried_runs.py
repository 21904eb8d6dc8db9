"""Runs that carried another procedure out, or are about to: for which parts, and their results."""

from collections.abc import Iterator

from benchrun.errors import BenchrunError
from benchrun.load_run import folded, read_kept
from benchrun.procedure.route import Step
from benchrun.quantity import plain
from benchrun.record.folder import RunFolder, run_folders
from benchrun.record.glimpse import closed
from benchrun.run.entries import Carried, CarriedPart, Given
from benchrun.run.state import Marker
from benchrun.shop.folder import Shop
from benchrun.text import slug


def carried_by(folder: RunFolder, step: Step, parts: tuple[str, ...]) -> Carried | None:
    """A closed run as one that carried out the procedure of a step, for those parts that it holds.

    Returns:
        None where it is open, followed something else, or holds none of the parts.

    Raises:
        BenchrunError: It is damaged.
        ValueError: Its entries do not fit its procedure.
    """
    procedure, entries = read_kept(folder)
    if (procedure.id, procedure.revision) != (step.carries_out, step.carries_revision):
        return None
    run = folded(procedure, entries)
    held = {part: _result(run.markers[part], step) for part in parts if part in run.markers}
    if not run.ended or not held:
        return None
    return Carried(folder.run, procedure.id, procedure.revision, folder.read().head, held)


def _result(marker: Marker, step: Step) -> CarriedPart:
    values = {}
    for name, _ in step.carries_values:
        value = marker.values.get((name, ""))
        if value is not None:
            number = None if value.number is None else plain(value.number)
            doubt = plain(value.doubt) if value.doubt else ""
            values[name] = Given("", number, value.unit, value.word, doubt)
    return CarriedPart(marker.status.value, values)


def runs_that_carried_out(shop: Shop, step: Step, parts: tuple[str, ...]) -> tuple[Carried, ...]:
    """The closed runs of the shop that carried out the procedure of a step for parts, newest first.

    Those that hold all of the parts stand before those that hold some.
    """
    found = list(_carried(shop, step, parts))
    found.reverse()
    return tuple(sorted(found, key=lambda one: len(one.parts) < len(parts)))


def open_runs_for(
    shop: Shop, step: Step, parts: tuple[str, ...]
) -> tuple[tuple[RunFolder, tuple[str, ...]], ...]:
    """The open runs of the procedure of a step that hold any of the parts, newest first.

    Returns:
        Each with those of the parts that it holds.
    """
    found = []
    for folder in _named_after(shop, step):
        if closed(folder.path):
            continue
        try:
            procedure, entries = read_kept(folder)
            run = folded(procedure, entries)
        except (BenchrunError, ValueError, OSError):
            continue  # the board tells of a log that cannot be read
        held = tuple(part for part in parts if part in run.markers)
        same = (procedure.id, procedure.revision) == (step.carries_out, step.carries_revision)
        if same and held and not run.ended:
            found.append((folder, held))
    return tuple(reversed(found))


def _named_after(shop: Shop, step: Step) -> Iterator[RunFolder]:
    marked = f"-{slug(step.carries_out, 'run')}-"
    return (folder for folder in run_folders(shop.runs) if marked in folder.run)


def _carried(shop: Shop, step: Step, parts: tuple[str, ...]) -> Iterator[Carried]:
    for folder in _named_after(shop, step):
        try:
            carried = carried_by(folder, step, parts)
        except (BenchrunError, ValueError):
            continue  # a run that is damaged is told by the board and by verify
        if carried is not None:
            yield carried
