"""Another procedure carried out for parts of a run: the run of it named, opened or begun."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

from benchrun.carried_runs import open_runs_for, runs_that_carried_out
from benchrun.dialogue.delivery import done
from benchrun.dialogue.new_run import NewRun
from benchrun.dialogue.prompts import Choose, Option
from benchrun.dialogue.turns import Destination, Flow, OpenPage, Say, called, choose
from benchrun.dialogue.work import Work
from benchrun.errors import BenchrunError
from benchrun.part_names import part_names
from benchrun.procedure.load import load
from benchrun.procedure.route import Procedure, Step
from benchrun.record.folder import RunFolder
from benchrun.run import commands as c
from benchrun.run.entries import Added, Carried, Entry, Opened, PartSpec
from benchrun.session import Sitting, begin
from benchrun.shop.folder import Shop
from benchrun.shop.people import Person
from benchrun.wording import grouped


def carry_out(work: Work, step: Step, parts: tuple[str, ...]) -> Flow:
    """Name the run that carried a step's procedure out for parts, go on with one, or begin it."""
    shop = work.session.shop
    found = yield from called(lambda: runs_that_carried_out(shop, step, parts))
    begun = yield from called(lambda: open_runs_for(shop, step, parts))
    taken = {part for _, held in begun for part in held}
    left = tuple(part for part in parts if part not in taken)
    ways: list[tuple[Option, Callable[[], Flow]]] = [
        (Option(one.run, carried_words(one)), partial(_named, work, step, parts, one))
        for one in found
    ]
    for folder, held in begun:
        words = f"it is open, with {part_names(held)}"
        ways.append((Option(f"Go on with {folder.run}", words), partial(_opened, folder)))
    if left:
        words = f"a run of its own for {part_names(left)}"
        ways.append((Option("Begin it now", words), partial(_begin, work, step, left)))
    ways.append((Option("Go on without it", "with a reason"), partial(_named, work, step, parts)))
    title = f"The run of {step.carries_out}, revision {step.carries_revision}"
    place = yield from choose(Choose(title, tuple(option for option, _ in ways)))
    return False if place is None else (yield from ways[place][1]())


def _opened(folder: RunFolder) -> Flow:
    """Open a run that was begun for the parts, instead of beginning it twice."""
    yield OpenPage(Destination.RUN, folder.path)
    return False


def _named(work: Work, step: Step, parts: tuple[str, ...], carried: Carried | None = None) -> Flow:
    """Name the run that carried the step's procedure out, or none, which needs a reason."""
    held = parts if carried is None else tuple(part for part in parts if part in carried.parts)
    return (yield from done(work, c.Do(step.id, held, work.seen, carried=carried)))


def carried_words(carried: Carried) -> str:
    """How parts came out of another run: `done: arm L; scrap: arm R`."""
    results = {part: there.result for part, there in carried.parts.items()}
    return "; ".join(f"{result}: {part_names(parts)}" for result, parts in grouped(results))


def _begin(work: Work, step: Step, parts: tuple[str, ...]) -> Flow:
    """Begin a run of the procedure for parts; it is gone on with from the board."""
    session = work.session
    try:
        procedure = yield from called(lambda: _procedure(session.shop, step))
        new = NewRun(session.shop, procedure, session.now, session.person)
        known = yield from new.ask_for(_specs(session.entries, parts))
        person = new.person
        if not known or person is None:
            return False
        name = yield from called(lambda: _begun(session, new, person), once=True)
    except BenchrunError as error:
        yield Say(error.message, strong=True)
        return False
    yield Say(f"{name} is begun and on the board. When it is closed, name it here.")
    return False


def _procedure(shop: Shop, step: Step) -> Procedure:
    """The procedure that a step carries out, of the revision that it names.

    Raises:
        BenchrunError: The shop has none of that id, or another revision.
    """
    procedure = load(shop.procedure(step.carries_out))
    if procedure.revision != step.carries_revision:
        raise BenchrunError(
            f"{procedure.id} is at revision {procedure.revision} now; this step needs revision "
            f"{step.carries_revision}. Finish without it, with a reason."
        )
    return procedure


def _begun(session: Sitting, new: NewRun, person: Person) -> str:
    """Begin the run and leave it again; its id."""
    run = begin(
        session.shop,
        new.procedure,
        new.parts,
        person,
        session.clock,
        readied=new.readied,
        figures=new.figures,
        job=new.job,
        more=new.more,
    )
    name = run.folder.run
    run.leave()
    return name


def _specs(entries: Sequence[Entry], parts: tuple[str, ...]) -> tuple[PartSpec, ...]:
    """The parts as they joined this run; of which kind they are there is asked."""
    known: dict[str, PartSpec] = {}
    for entry in entries:
        if isinstance(entry.data, Opened):
            known |= {spec.part: spec for spec in entry.data.parts}
        elif isinstance(entry.data, Added):
            known[entry.data.part.part] = entry.data.part
    return tuple(replace(known[part], kind="", pair="") for part in parts if part in known)
