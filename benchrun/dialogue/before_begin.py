"""The page that is read before a run begins: purpose, hazards, what is lacking and at hand."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final, Protocol

from benchrun.approvals import edition_words
from benchrun.dialogue.page_prompt import PageRow, Tone, hazard_row
from benchrun.dialogue.revisions import LastRun, changed_words
from benchrun.procedure.route import Needs, Procedure, worst_first
from benchrun.record.approval import ApprovalState
from benchrun.shop_use.readiness import not_kept_words
from benchrun.text import listed

LACKING: Final = "not as it should be"


class Beginning(Protocol):
    """Facts of a run before it begins."""

    @property
    def procedure(self) -> Procedure:
        """The procedure that it follows."""
        ...

    @property
    def approval(self) -> ApprovalState:
        """Who approved the procedure."""
        ...

    @property
    def before(self) -> LastRun | None:
        """The revision that this shop ran last."""
        ...

    @property
    def took(self) -> str:
        """How long past runs took, in words, or empty."""
        ...

    @property
    def lacking(self) -> tuple[str, ...]:
        """The shortages that stand against beginning now."""
        ...

    @property
    def not_kept(self) -> tuple[str, ...]:
        """The books that it needs and that list nothing."""
        ...


def before_rows(new: Beginning) -> Iterator[PageRow]:
    """The purpose, what is lacking and can hurt, what must be at hand, what must be true."""
    procedure = new.procedure
    needs = procedure.needs
    edition = f"{procedure.id}, {edition_words(procedure)}."
    words = (edition, procedure.scope, _applies(procedure))
    yield PageRow(" ".join(word for word in words if word), tone=Tone.QUIET)
    if new.approval.words:
        tone = Tone.STRONG if new.approval.calls else Tone.QUIET
        yield PageRow(new.approval.words, tone=tone, first=new.approval.calls)
    changed = changed_words(procedure, new.before)
    if new.before is not None and changed:
        head = f"changed since revision {new.before.revision}, run here last on {new.before.day}"
        yield from headed_rows(head, [PageRow(words) for words in changed], Tone.CALLS, first=True)
    if new.took:
        yield from headed_rows("past runs", [PageRow(new.took)])
    if procedure.misgiving:
        yield PageRow()
        yield PageRow(procedure.misgiving, tone=Tone.STRONG, first=True)
    lacking = [PageRow(words) for words in new.lacking]
    yield from headed_rows(LACKING, lacking, Tone.CALLS, first=True)
    if needs.protection:
        worn = [PageRow(f"{listed(needs.protection, most=20)}.")]
        yield from headed_rows("to be worn", worn, first=True)
    hazards = [hazard_row(hazard) for hazard in worst_first(procedure.hazards)]
    yield from headed_rows("hazards", hazards, first=True)
    for place, said in enumerate(procedure.first_aid):
        yield PageRow(said, " " if place else "first aid ")
    if needs.at_hand:
        names = listed(needs.at_hand, most=len(needs.at_hand))
        rows = [PageRow(f"{names}.")]
        if new.not_kept:
            rows.append(PageRow(f"{not_kept_words(new.not_kept).capitalize()}."))
        yield from headed_rows("to be at hand", rows)
    helpers = [one for one in procedure.route.steps.values() if one.people > 1]
    if helpers:
        most = max(step.people for step in helpers)
        steps = listed([str(step.number) for step in helpers], most=20)
        told = f"{most} people, for step{'s' if len(helpers) > 1 else ''} {steps}."
        yield from headed_rows("people needed", [PageRow(told)])
    yield from headed_rows(
        "check before you begin", [PageRow(words) for words in needs.before_start]
    )


def next_words(needs: Needs) -> str:
    """The deed behind the page that is read before a begin."""
    if needs.before_start:
        return f"check {'them one by one' if len(needs.before_start) > 1 else 'it'}"
    return "count the tools out" if needs.counted else "begin"


def _applies(procedure: Procedure) -> str:
    """To which parts a procedure applies, as a sentence; empty where it says nothing."""
    return f"Applies to: {procedure.applies_to.removesuffix('.')}." if procedure.applies_to else ""


def headed_rows(
    head: str, rows: Sequence[PageRow], tone: Tone = Tone.QUIET, *, first: bool = False
) -> Iterator[PageRow]:
    """Rows under a head; nothing where there are none."""
    if rows:
        yield PageRow()
        yield PageRow(head, tone=tone, heads=True, first=first)
    strong = Tone.STRONG if tone is Tone.CALLS else Tone.TEXT
    for row in rows:
        told = row if row.hazard is not None else replace(row, tone=strong, indent=2)
        yield replace(told, first=first)
