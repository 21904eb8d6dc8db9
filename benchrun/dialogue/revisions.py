"""The revision of a procedure: what it is, and what changed since the one that was run before."""

import hashlib
import json

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.plain_file import open_regular
from benchrun.procedure.files import read_file
from benchrun.procedure.route import Procedure
from benchrun.record.folder import run_folders
from benchrun.shop.folder import Shop


@lean_dataclass(frozen=True, slots=True)
class LastRun:
    """The revision that a shop ran last of a procedure.

    Attributes:
        day: The day on which that run began, as its name has it.
        sha256: Hex digest of the file that it followed.
    """

    revision: int
    day: str
    sha256: str


def last_run_of(shop: Shop, procedure: str) -> LastRun | None:
    """The revision of the shop's last run of a procedure; None where it has none."""
    named = [f for f in run_folders(shop.runs) if f.run[11:-5] == procedure[:40]]
    for folder in reversed(named):
        try:
            with open_regular(folder.log) as file:
                data = json.loads(file.readline())["data"]
            followed = data["procedure"]
            if followed["id"] == procedure and not data.get("rehearsal"):
                return LastRun(
                    int(followed["revision"]), folder.run[:10], str(data["procedure_sha256"])
                )
        except (OSError, ValueError, KeyError, TypeError):
            continue  # a run that cannot be read is told by the board
    return None


def changed_words(procedure: Procedure, before: LastRun | None) -> tuple[str, ...]:
    """The changes since the revision that a shop ran last, a line each; none where it is the same.

    Args:
        procedure: The procedure as it is now.
        before: What the shop ran last.
    """
    if before is None or before.sha256 == procedure.sha256:
        return ()
    if before.revision == procedure.revision:
        return (f"The file is not that of {before.day}, though its revision is the same.",)
    if before.revision > procedure.revision:
        return (f"On {before.day} this shop ran revision {before.revision}, which is newer.",)
    later = [one for one in procedure.changes if before.revision < _number(one)]
    return tuple(later) or (f"Revision {procedure.revision} does not say what it changed.",)


def later_words(shop: Shop, running: Procedure) -> tuple[str, ...]:
    """The newer revision that the shop has of the procedure of a run, with its changes.

    Args:
        shop: The shop.
        running: The copy that the run follows; it goes on by that.
    """
    from benchrun.procedure.load import load_bytes

    listed = next((one for one in shop.procedures() if one.id == running.id), None)
    if listed is None:
        return ()
    try:
        content = read_file(listed.path)
        if hashlib.sha256(content).hexdigest() == running.sha256:
            return ()
        now = load_bytes(content, str(listed.path))
    except BenchrunError:
        return ()  # what is wrong in it is told where it is begun
    if now.status == "withdrawn" and running.status != "withdrawn":
        return ("The procedure of this run was withdrawn since. Ask before you go on.",)
    if now.revision <= running.revision:
        return ()
    mine = LastRun(running.revision, "", running.sha256)
    head = f"Revision {now.revision} exists; this run goes on by its copy of {running.revision}."
    return (head, *changed_words(now, mine))


def _number(change: str) -> int:
    number = change.partition(":")[0]
    return int(number) if number.isdigit() else 0
