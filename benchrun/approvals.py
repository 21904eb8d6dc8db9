"""Who approved a procedure, by the keys that a shop knows; and what it says of itself."""

import hashlib
from collections.abc import Mapping
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.plain_file import read_plain
from benchrun.procedure.files import read_approval_beside, read_file
from benchrun.procedure.route import Procedure
from benchrun.record.approval import (
    APPROVALS_SINCE,
    APPROVED,
    ApprovalState,
    approval_state,
)
from benchrun.record.folder import RunFolder
from benchrun.record.signers import Signers, read_signers
from benchrun.shop.folder import Listed, Shop

STATUSES: Final = ("draft", "checked", APPROVED, "withdrawn")
"""The statuses of a procedure."""


def approval_of(shop: Shop | None, procedure: Procedure) -> ApprovalState:
    """The approval beside the file of a procedure, judged by the file as it was read."""
    return _judged(shop, procedure.approval, procedure)


def kept_approval(
    shop: Shop, folder: RunFolder, procedure: Procedure, opened: Mapping[str, object]
) -> ApprovalState:
    """The approval that a run carries with its copy of the procedure; older runs carry none.

    Args:
        shop: Whose keys are trusted.
        folder: The run.
        procedure: Its copy of the procedure.
        opened: What the first entry says of the run.
    """
    number = opened.get("format")
    if not isinstance(number, int) or number < APPROVALS_SINCE:
        return ApprovalState("")
    try:
        content = read_plain(folder.approval) if "approval" in opened else None
    except OSError:
        content = b""  # it is said not to hold
    return _judged(shop, content, procedure)


def _judged(shop: Shop | None, content: bytes | None, procedure: Procedure) -> ApprovalState:
    trusted = None if content is None else _trusted_by(shop)
    return approval_state(content, procedure.status, procedure.sha256, trusted)


def listed_edition(shop: Shop, listed: Listed) -> str:
    """The edition of a procedure as the board lists it, with its approver where it needs one."""
    words = listed.edition.split(", ")
    at = next((place for place, word in enumerate(words) if word in STATUSES), None)
    if at is None:
        return listed.edition
    try:
        content = read_approval_beside(listed.path)
        if content is None and words[at] != APPROVED:
            return listed.edition
        sha256 = hashlib.sha256(read_file(listed.path)).hexdigest()
    except BenchrunError:
        return listed.edition  # what is wrong is told where it is begun
    state = approval_state(content, words[at], sha256, _trusted_by(shop))
    words[at] = f"{words[at]} {state.brief}".rstrip()
    return ", ".join(words)


def edition_words(procedure: Procedure, approval: ApprovalState | None = None) -> str:
    """Revision, status, approver, day and level of use: `revision 3, draft, step by step`."""
    by = f" {approval.brief}" if approval is not None and approval.brief else ""
    words = (f"revision {procedure.revision}", f"{procedure.status}{by}", procedure.dated)
    return ", ".join([*filter(None, words), level_words(procedure.use)])


def level_words(use: str) -> str:
    """How a procedure is used: followed step by step, or kept at hand for reference."""
    return "for reference" if use == "reference" else use


def _trusted_by(shop: Shop | None) -> Signers | None:
    if shop is None:
        return None
    try:
        return read_signers(shop.signers) if shop.signers.is_file() else None
    except BenchrunError:
        return None  # told where it is written
