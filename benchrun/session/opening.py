"""Beginning a run, and going on with one that is open."""

from collections.abc import Mapping, Sequence

from benchrun import __version__
from benchrun.errors import BenchrunError
from benchrun.load_run import kept_procedure
from benchrun.procedure.route import Procedure
from benchrun.record.chain import FORMAT
from benchrun.record.clock import Clock
from benchrun.record.folder import RunFolder
from benchrun.record.register import Register
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Refusal
from benchrun.run.course import Course
from benchrun.run.decide import decide
from benchrun.run.effects import Unfit
from benchrun.run.state import Run
from benchrun.session.live import Session
from benchrun.shop.books import read_books
from benchrun.shop.folder import Shop
from benchrun.shop.people import Person, read_people
from benchrun.shop_use.readiness import at_hand
from benchrun.signing_keys import hand_of
from benchrun.text import shown


def begin(
    shop: Shop,
    procedure: Procedure,
    parts: Sequence[e.PartSpec],
    person: Person,
    clock: Clock,
    *,
    conditions: Sequence[str] = (),
    more: Mapping[str, object] | None = None,
    tag: str | None = None,
) -> Session:
    """Begin a run.

    Args:
        shop: Where.
        procedure: What to carry out.
        parts: The batch.
        person: Who begins it.
        clock: What tells the time.
        conditions: The conditions before start that were confirmed.
        more: What else the first line says, such as that it is a rehearsal.
        tag: The four letters at the end of the run's name; None for random ones.

    Raises:
        BenchrunError: The procedure may not be begun, the batch is refused, the disk refused.
    """
    if procedure.status == "withdrawn":
        raise BenchrunError(f"the procedure {procedure.id} is withdrawn: choose its successor")
    least, most = procedure.batch.least, procedure.batch.most
    if not least <= len(parts) <= most:
        many = f"{least} to {most}" if least < most else f"{most}"
        raise BenchrunError(
            f"a batch of {procedure.id} is {many} of {shown(procedure.batch.part, 60)}; "
            f"{len(parts)} were named"
        )
    lacking = [one for one in procedure.needs.before_start if one not in conditions]
    if lacking:
        raise BenchrunError(f"before the start: {shown(lacking[0], 200)}")
    probe = decide(Run(Course(procedure.route)), c.Open(tuple(parts)), clock.now(), hand_of(person))
    if isinstance(probe, Refusal):
        raise BenchrunError(probe.text)
    folder = RunFolder.create(shop.runs, procedure.id, clock.now(), procedure.content, tag=tag)
    session = Session(shop, folder, folder.start_log(), procedure, person, clock)
    session.start(c.Open(tuple(parts), _about(shop, folder, procedure, conditions, more or {})))
    return session


def _about(
    shop: Shop,
    folder: RunFolder,
    procedure: Procedure,
    conditions: Sequence[str],
    more: Mapping[str, object],
) -> dict[str, object]:
    return {
        "format": FORMAT,
        "run": folder.run,
        "program": f"benchrun {__version__}",
        "procedure": {
            "id": procedure.id,
            "title": procedure.title,
            "revision": procedure.revision,
            "status": procedure.status,
        },
        "procedure_sha256": procedure.sha256,
        "register_head": Register(shop.path).head(),
        "shop": shop.title,
        "people": {
            one.id: {"name": one.name, "roles": list(one.roles)} for one in read_people(shop)
        },
        "conditions": list(conditions),
        "at_hand": at_hand(read_books(shop), procedure),
        **more,
    }


def take_up(shop: Shop, folder: RunFolder, person: Person, clock: Clock) -> Session:
    """Go on with an open run, by the copy of the procedure in its folder.

    Raises:
        BenchrunError: Another window has it, it is damaged or closed, or its procedure changed.
    """
    writer = folder.open_log()
    try:
        procedure = kept_procedure(folder, writer.found.lines[0].data if writer.n else {})
        session = Session(shop, folder, writer, procedure, person, clock)
        session.go_on()
    except (Unfit, ValueError) as error:
        writer.close()
        raise BenchrunError(
            f"the log of {folder.run} does not fit its procedure: {error}"
        ) from None
    except BaseException:
        writer.close()
        raise
    return session
