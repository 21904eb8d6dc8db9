"""The parts and vessels that the open runs of a shop hold, in the way of another."""

from typing import TYPE_CHECKING

from benchrun.errors import BenchrunError
from benchrun.kept_runs import KEPT_RUNS
from benchrun.shop.folder import Shop
from benchrun.text import slug

if TYPE_CHECKING:
    from benchrun.run.commands import Do, PutIn
    from benchrun.run.state import Run
    from benchrun.shop_use.vessels import VesselUse


def uses_beside(shop: Shop, run: str) -> "tuple[VesselUse, ...]":
    """The uses of vessels by the other open runs of a shop, as their logs stand now.

    Args:
        shop: The shop.
        run: The id of the run that asks; it is left out.
    """
    from benchrun.record.folder import RunFolder
    from benchrun.shop_use.vessels import vessel_uses_of

    uses: list[VesselUse] = []
    for folder in map(RunFolder, KEPT_RUNS.paths(shop.runs)[0]):
        try:
            if folder.run != run:
                uses += vessel_uses_of(folder.run, KEPT_RUNS.run(folder))
        except (BenchrunError, ValueError, OSError):
            continue  # the board tells of a log that cannot be read
    return tuple(uses)


def parts_in_work(shop: Shop) -> dict[str, str]:
    """The parts of the open runs that are not finished there, in plain letters, with the run."""
    from benchrun.record.folder import RunFolder
    from benchrun.run.state import Status

    found: dict[str, str] = {}
    for folder in map(RunFolder, KEPT_RUNS.paths(shop.runs)[0]):
        try:
            run = KEPT_RUNS.run(folder)
        except (BenchrunError, ValueError, OSError):
            continue  # the board tells of a log that cannot be read
        for marker in run.each():
            if marker.status not in (Status.SCRAP, Status.DONE):
                found[slug(marker.part)] = folder.run
    return found


def vessel_wanted(run: "Run", command: "PutIn | Do") -> str:
    """The vessel that an act would take parts into, by its id in the procedure; empty for none.

    Args:
        run: The run as it stands.
        command: What is to be put in, or the act that makes a load.
    """
    from benchrun.run.vessels import makes_load, vessel_for, vessels_open

    step = run.route.steps.get(command.step)
    if step is None or any(part not in run.markers for part in command.parts):
        return ""
    if makes_load(run, step, command.parts):
        wanted = command.vessel or next(iter(vessels_open(run, step, command.parts)), "")
    else:
        wanted = "" if step.load else vessel_for(run, step, command.parts)
    return wanted if wanted in run.route.vessels else ""


def in_the_way(shop: Shop, own: str, run: "Run", command: "PutIn | Do") -> str:
    """Why a load had better wait because of what other runs have in its vessel; empty for no.

    Args:
        shop: The shop.
        own: The id of the run that the load belongs to.
        run: That run as it stands.
        command: What is to be put in, or the act that makes a load.
    """
    from benchrun.shop.vessels import read_vessels
    from benchrun.shop_use.vessels import crowded, vessel_uses_of

    wanted = vessel_wanted(run, command)
    if not wanted:
        return ""
    beside = uses_beside(shop, own)
    room = sum(run.markers[part].size for part in command.parts)
    vessel, uses = run.route.vessels[wanted], (*vessel_uses_of(own, run), *beside)
    return crowded(read_vessels(shop), vessel, uses, own, room)
