"""The whole record of a run in plain text: its head, every entry in order, the parts at its end."""

from collections.abc import Iterator, Mapping
from typing import Any, Final

from benchrun.account.brief_words import untold_words
from benchrun.account.entry_words import EntryWords
from benchrun.account.facts import RunFacts
from benchrun.account.walk import facts_of
from benchrun.approvals import edition_words
from benchrun.load_run import read_kept
from benchrun.procedure.route import Procedure
from benchrun.record.chain import PRINTED_BY, WHERE
from benchrun.record.folder import RunFolder
from benchrun.run import entries as e
from benchrun.text import count, shown

_WIDTH: Final = 100


def show(folder: RunFolder, checked: Mapping[str, Any] | None = None) -> str:
    """The whole record as text.

    Args:
        folder: The run's folder.
        checked: What checking how it was kept came to, as `papers.key_words` takes it; None where
            nobody did.

    Raises:
        BenchrunError: The log or the copy of the procedure is damaged.
        ValueError: The log does not fit the procedure.
    """
    procedure, entries = read_kept(folder)
    facts = facts_of(procedure, entries)
    wording = EntryWords(procedure, entries, checked=checked)
    rows = list(_head(procedure, entries[0], str((checked or {}).get("approval", ""))))
    if checked and checked.get("faults"):
        wrong = count(len(checked["faults"]), "fault")
        rows[-1:] = [f"DAMAGED: {wrong} in how it was kept; benchrun verify tells all", ""]
    untold: list[e.Entry] = []
    for entry in entries:
        told = list(wording.rows(entry))
        if not told or told[-1].startswith("-- "):
            untold.append(entry)
        elif untold:
            rows.append(f"{' ' * 28} {untold_words(untold)}")
            untold = []
        rows += told
    rows += ["", *_parts(facts)]
    return "\n".join(rows)


def _head(procedure: Procedure, opened: e.Entry, approval: str) -> Iterator[str]:
    about: Mapping[str, Any] = opened.data.about if isinstance(opened.data, e.Opened) else {}
    yield shown(f"{procedure.title}, {edition_words(procedure)}", _WIDTH)
    yield f"procedure {procedure.id}" + (f". {shown(approval, 400)}" if approval else "")
    yield f"run {shown(str(about.get('run', '?')), 80)}, {shown(str(about.get('shop', '')), 60)}"
    if about.get("rehearsal"):
        yield f"REHEARSAL, not work: {shown(str(about['rehearsal']), 80)}"
    for who, person in dict(about.get("people") or {}).items():
        name = person.get("name", who) if isinstance(person, dict) else who
        yield f"  {shown(str(who), 30)} is {shown(str(name), 60)}"
    yield from _at_hand(about.get("at_hand"))
    yield f"{WHERE}; {PRINTED_BY} prints it."
    yield ""


def _at_hand(kept: object) -> Iterator[str]:
    """The shop at hand on the day it was begun: instruments, tins and baths."""
    steps = kept if isinstance(kept, dict) else {}
    for key in ("instruments", "supplies"):
        rows = steps.get(key)
        for name, about in rows.items() if isinstance(rows, dict) else ():
            yield f"  at hand: {shown(str(name), 30)}: {shown(str(about), 300)}"


def _parts(facts: RunFacts) -> Iterator[str]:
    yield "PARTS"
    rounds: dict[str, list[str]] = {}
    for repeat in facts.repeats:
        said = f"{repeat.title} {count(len(repeat.rounds), 'time')}"
        for tag in repeat.parts:
            rounds.setdefault(tag, []).append(said)
    for part in facts.parts:
        words = [part.kind, part.status, part.stands, *rounds.get(part.part, ()), *part.questions]
        yield f"  {shown(part.part, 24):<24} {shown(', '.join(w for w in words if w), 200)}"
    if facts.stopped:
        yield f"  run stopped: {shown(facts.stopped, 200)}"
