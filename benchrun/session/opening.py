"""Beginning a run, and going on with one that is open."""

import datetime as dt
import hashlib
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, replace
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.load_run import kept_procedure
from benchrun.moment import Moment
from benchrun.procedure.route import Procedure
from benchrun.record.chain import FORMAT
from benchrun.record.clock import Clock
from benchrun.record.draft import DraftRun
from benchrun.record.drawings import keep_drawings
from benchrun.record.folder import APPROVAL, RunFolder
from benchrun.record.register import Register
from benchrun.record.signers import Signers
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Refusal
from benchrun.run.course import Course
from benchrun.run.decide import decide
from benchrun.run.effects import Unfit
from benchrun.run.holds import ALONE
from benchrun.run.state import Run
from benchrun.session.inspection import Inspection
from benchrun.session.keeping import station_row
from benchrun.session.live import Session
from benchrun.session.readied import Condition, Readied
from benchrun.shop.books import read_books
from benchrun.shop.folder import Shop
from benchrun.shop.people import Person, read_people
from benchrun.shop.settings import read_settings
from benchrun.shop_use.readiness import at_hand, not_kept
from benchrun.signing_keys import hand_of
from benchrun.text import shown
from benchrun.version import program

NOTHING_READIED: Final = Readied()


def begin(
    shop: Shop,
    procedure: Procedure,
    parts: Sequence[e.PartSpec],
    person: Person,
    clock: Clock,
    *,
    readied: Readied = NOTHING_READIED,
    figures: Sequence[e.FigureSpec] = (),
    job: str = "",
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
        readied: The conditions that were checked and the tools that were counted out.
        figures: The figures of the procedure that are known, out of the shop's books.
        job: The id of the job it is done for, or empty.
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
    lacking = readied.lacks(procedure)
    if lacking:
        raise BenchrunError(f"before the start: {lacking}")
    about = {**({"job": job} if job else {}), **(more or {})}
    opened = c.Open(tuple(parts), about, tuple(figures), readied.tools_out)
    probe = decide(Run(Course(procedure.route)), opened, clock.now(), hand_of(person))
    if isinstance(probe, Refusal):
        raise BenchrunError(probe.text)
    start = _Start(shop, procedure, person, clock, opened, readied.conditions, tag)
    return _on_a_thread(start.session)


def _on_a_thread(work: Callable[[ThreadPoolExecutor], Session]) -> Session:
    """A session whose first writes are made on the thread that makes all others."""
    thread = ThreadPoolExecutor(1, thread_name_prefix="log")
    try:
        return thread.submit(work, thread).result()
    except BaseException:
        thread.shutdown()
        raise


@lean_dataclass(frozen=True, slots=True)
class _Start:
    """Beginning a run: laid out as a draft, made a run in one step, then told to the register.

    A cut before that step leaves nothing; one between it and the register leaves a run of which
    the register is told when it is taken up.
    """

    shop: Shop
    procedure: Procedure
    person: Person
    clock: Clock
    command: c.Open
    conditions: tuple[Condition, ...]
    tag: str | None

    def session(self, thread: ThreadPoolExecutor) -> Session:
        """Begin it."""
        now = self.clock.now()
        signers = Signers().add(station_row(self.shop, now))
        draft = DraftRun(
            self.shop.runs,
            self.procedure.id,
            now,
            self.procedure.content,
            signers,
            approval=self.procedure.approval,
            tag=self.tag,
        )
        try:
            return self._begun(draft, thread)
        except BaseException:
            draft.drop()
            raise

    def _begun(self, draft: DraftRun, thread: ThreadPoolExecutor) -> Session:
        writer = draft.folder.start_log()
        try:
            session = Session(
                self.shop, draft.run, writer, self.procedure, self.person, self.clock, thread
            )
            register = Register(self.shop.path)
            about = _about(
                self.shop, draft.run, self.procedure, self.conditions, self.clock.now(), register
            )
            about |= self._drawings(draft)
            session.begin_log(replace(self.command, about={**about, **self.command.about}))
            draft.place(writer)
            try:
                session.tell_register_of_begin(register)
            except BaseException:
                draft.take_back(writer)
                raise
        except BaseException:
            writer.close()
            raise
        draft.close()
        return session

    def _drawings(self, draft: DraftRun) -> dict[str, object]:
        """The drawings of the procedure, copied into the run, as its first entry names them."""
        names, home = self.procedure.drawings, self.procedure.home
        if not names or not home:
            return {}  # the bytes alone were given: nothing lies beside them
        kept = keep_drawings(draft.folder.path, Path(home), names)
        return {"drawings": {one.name: one.as_data() for one in kept}}


def _about(
    shop: Shop,
    folder: RunFolder,
    procedure: Procedure,
    conditions: Sequence[Condition],
    now: Moment,
    register: Register,
) -> dict[str, object]:
    books = read_books(shop)
    missing = not_kept(books, procedure)
    return {
        "format": FORMAT,
        "run": folder.run,
        "program": program(),
        "procedure": {
            "id": procedure.id,
            "title": procedure.title,
            "revision": procedure.revision,
            "status": procedure.status,
        },
        "procedure_sha256": procedure.sha256,
        **({"approval": _approval(procedure.approval)} if procedure.approval is not None else {}),
        "register_head": register.head(),
        "shop": shop.title,
        "people": {
            one.id: {"name": one.name, "roles": list(one.roles)} for one in read_people(shop)
        },
        "conditions": [asdict(one) for one in conditions],
        "at_hand": at_hand(books, procedure),
        **({"not_kept": list(missing)} if missing else {}),
        **({ALONE: _utc_offset(now)} if read_settings(shop).alone else {}),
    }


def _approval(content: bytes) -> dict[str, object]:
    sha256 = hashlib.sha256(content).hexdigest()
    return {"file": APPROVAL, "sha256": sha256, "bytes": len(content)}


def _utc_offset(now: Moment) -> str:
    """The offset of this machine's local time from UTC, like `+0100`."""
    return dt.datetime.fromtimestamp(now.utc_ms / 1000).astimezone().strftime("%z")[:5]


def take_up(
    shop: Shop, folder: RunFolder, person: Person | None, clock: Clock, *, reason: str = ""
) -> Session:
    """Go on with an open run, by the copy of the procedure in its folder.

    Everything that it holds is checked before anything is written.

    Args:
        shop: Where.
        folder: The run.
        person: Who goes on; None where that is asked at the first entry.
        clock: What tells the time.
        reason: Why this person goes on although something does not hold; kept as a doubt.

    Raises:
        Unsound: Something does not hold and no reason is given.
        BenchrunError: Another window has it, it is damaged or closed, or its procedure changed.
    """
    return _on_a_thread(lambda thread: _taken_up(shop, folder, person, clock, reason, thread))


def _taken_up(
    shop: Shop,
    folder: RunFolder,
    person: Person | None,
    clock: Clock,
    reason: str,
    thread: ThreadPoolExecutor,
) -> Session:
    check = Inspection(shop, folder, reason.strip())
    writer = folder.open_log(check)
    try:
        procedure = kept_procedure(folder, writer.found.lines[0].data if writer.n else {})
        session = Session(shop, folder, writer, procedure, person, clock, thread)
        session.go_on(check)
    except (Unfit, ValueError) as error:
        writer.close()
        raise BenchrunError(
            f"the log of {folder.run} does not fit its procedure: {error}"
        ) from None
    except BaseException:
        writer.close()
        raise
    return session
