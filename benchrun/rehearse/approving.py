"""Approving a procedure: its rehearsals are played, its runs counted, then it is signed for.

The approval lies beside the procedure's file. A run that follows the file carries it.
"""

import hashlib
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final

from benchrun.account.gather import gather
from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.plain_file import read_plain
from benchrun.procedure.files import approval_path
from benchrun.procedure.load import load
from benchrun.procedure.route import Procedure
from benchrun.record.approval import APPROVED, Approval, PassedRehearsal, approved
from benchrun.record.durable import write_file
from benchrun.record.folder import run_folders
from benchrun.record.signers import read_signers
from benchrun.record.sshsig import SIGN
from benchrun.rehearse.play import played, script_for
from benchrun.shop.folder import Shop, pasteable
from benchrun.shop.people import Person, read_people
from benchrun.signing_keys import person_key, principal
from benchrun.text import listed, shown

APPROVER: Final = "approver"
"""The role of whoever may approve a procedure."""

AskSecret = Callable[[str], str]


@lean_dataclass(frozen=True, slots=True)
class Standing:
    """All that stands behind a procedure that is to be approved.

    Attributes:
        rehearsals: Those that passed just now.
        closed, deviated: How many runs of this revision were closed in the shop, and how many of
            them held a deviation.
    """

    procedure: Procedure
    rehearsals: tuple[PassedRehearsal, ...]
    closed: int
    deviated: int


def approver_of(shop: Shop, name: str = "") -> Person:
    """Whoever approves: the person named, or the only one with the role.

    Raises:
        BenchrunError: Nobody, or not one alone, has the role; says how to give it.
    """
    people = [one for one in read_people(shop) if one.left is None]
    if name:
        person = next((one for one in people if one.id == name), None)
        if person is None:
            raise BenchrunError(f"nobody of the id {shown(name, 60)} works here: see `people`")
        if APPROVER in person.roles:
            return person
        roles = ";".join((*person.roles, APPROVER))
        give = pasteable(shop.path, "people", "change", person.id, f"roles={roles}")
        raise BenchrunError(f"{person.id} has not the role {APPROVER}: {give} gives it")
    able = [one for one in people if APPROVER in one.roles]
    if len(able) == 1:
        return able[0]
    known = listed([one.id for one in able or people], most=10) or "nobody"
    if able:
        raise BenchrunError(f"several may approve: name one with --as, of {known}")
    raise BenchrunError(
        f"nobody here has the role {APPROVER}: name with --as whom to give it to, of {known}"
    )


def standing_behind(shop: Shop, file: Path, scripts: Sequence[Path]) -> Standing:
    """Look at what stands behind a procedure; its rehearsals are played here.

    Raises:
        BenchrunError: Its status or day is not set, it holds errors, or a rehearsal does not pass.
    """
    procedure = load(file)
    name = shown(str(file), 200)
    if procedure.status != APPROVED:
        raise BenchrunError(
            f"{name}: its status is {procedure.status}: write `status: {APPROVED}` and the day "
            "under `dated` first, as the approval is of the file's bytes"
        )
    if not procedure.dated:
        raise BenchrunError(f"{name}: `dated` is missing: write the day of this revision first")
    rehearsals = tuple(_passed(procedure, script) for script in scripts)
    return Standing(procedure, rehearsals, *_runs(shop, procedure))


def _passed(procedure: Procedure, script: Path) -> PassedRehearsal:
    read = script_for(procedure, script)
    try:
        played(procedure, read, None)
    except BenchrunError as error:
        raise BenchrunError(f"this rehearsal does not pass: {error.message}") from None
    return PassedRehearsal(read.path, script.name, hashlib.sha256(read_plain(script)).hexdigest())


def _runs(shop: Shop, procedure: Procedure) -> tuple[int, int]:
    """How many runs of this revision were closed, and how many of them held a deviation."""
    closed = deviated = 0
    for folder in run_folders(shop.runs):
        if folder.run[11:-5] != procedure.id[:40]:
            continue
        try:
            facts = gather(folder.path)
        except BenchrunError:
            continue  # a run that cannot be read is told by the board
        same = (facts.procedure, facts.revision) == (procedure.id, procedure.revision)
        if same and facts.closed and not facts.rehearsal:
            closed += 1
            deviated += bool(facts.deviations)
    return closed, deviated


def approve(
    shop: Shop, file: Path, person: Person, behind: Standing, at: Moment, ask: AskSecret
) -> Approval:
    """Sign for a procedure and lay the approval beside its file.

    Args:
        shop: Whose signers must know the key.
        file: The procedure's file.
        person: Who approves.
        behind: What stands behind it.
        at: Now.
        ask: Asks for a passphrase without showing it, given the words of the question.

    Raises:
        BenchrunError: The key is not trusted or does not open, the file changed meanwhile, or the
            approval cannot be written.
    """
    procedure, locked = behind.procedure, person_key(person)
    who = principal(shop, person.id)
    trusted = read_signers(shop.signers).trusted(who, locked.public, SIGN, at.utc_ms)
    if not trusted.trusted:
        raise BenchrunError(f"nothing was signed: the key of {person.id} {trusted.why}")
    word = ask(f"Passphrase of {person.name}: ") if locked.encrypted else None
    key = locked.unlock(word)
    approval = approved(
        key,
        at,
        by=person.id,
        name=person.name,
        who=who,
        procedure={
            "id": procedure.id,
            "revision": procedure.revision,
            "sha256": procedure.sha256,
            "status": procedure.status,
            "title": procedure.title,
        },
        rehearsals=behind.rehearsals,
        runs=(behind.closed, behind.deviated),
    )
    if hashlib.sha256(read_plain(file)).hexdigest() != procedure.sha256:
        raise BenchrunError(f"{shown(str(file), 200)} was changed meanwhile: look at it again")
    write_file(approval_path(file), approval.content)
    return approval
