"""Lays out the pages: a sheet a run in the order in which a reader asks, and a job's summary."""

from collections.abc import Sequence

from benchrun.report.doc import Block, Cell, Fields, Para, Report, Section, Sheet, table
from benchrun.report.facts import RunFacts
from benchrun.report.measured import (
    dwells_section,
    findings_section,
    readings_section,
    rounds_section,
    sums_section,
)
from benchrun.report.proof import proof_section, trust_words
from benchrun.report.spoken import when
from benchrun.report.supplied import supplies_section
from benchrun.report.told import (
    account_section,
    odd_section,
    parts_section,
    photos_section,
    procedure_section,
    result_words,
    signatures_section,
    words_section,
)
from benchrun.text import count, listed

Pictures = Sequence[tuple[str, bytes | None]]


def lay_out(
    runs: Sequence[RunFacts], title: str = "", pictures: Sequence[Pictures] | None = None
) -> Report:
    """Lay out a report.

    Args:
        runs: One run, or the runs of a job in the order wanted.
        title: What the job is called; empty for a plain title.
        pictures: For each run its pictures; None for a form that shows none.
    """
    shown = pictures or [[("", None)] * len(one.photos) for one in runs]
    sheets = [_sheet(one, own) for one, own in zip(runs, shown, strict=True)]
    if len(runs) == 1:
        return Report(title or f"{runs[0].title}, {runs[0].run}", tuple(sheets))
    name = title or "Job record"
    return Report(name, (_job(runs, name), *sheets))


def _sheet(facts: RunFacts, contents: Pictures) -> Sheet:
    sections = (
        parts_section(facts),
        signatures_section(facts),
        readings_section(facts),
        findings_section(facts),
        dwells_section(facts),
        rounds_section(facts),
        supplies_section(facts),
        odd_section(facts),
        photos_section(facts, contents),
        words_section(facts),
        sums_section(facts),
        procedure_section(facts),
        account_section(facts),
        proof_section(facts),
    )
    over = "Rehearsal in virtual time, not work" if facts.rehearsal else "Record of a run"
    return Sheet(
        facts.title,
        over,
        _card(facts),
        (*_warnings(facts), Para(result_words(facts)), trust_words(facts), _odd_words(facts)),
        tuple(one for one in sections if one is not None),
    )


def _card(facts: RunFacts) -> Fields:
    ended = when(facts.last) if facts.closed else "not closed"
    status = "" if facts.status == "approved" else f" ({facts.status})"
    return Fields(
        (
            ("Run", facts.run),
            ("Shop", facts.shop),
            ("Procedure", f"{facts.procedure}, revision {facts.revision}{status}"),
            ("Parts", listed([one.part for one in facts.parts], most=12)),
            ("Begun", f"{when(facts.began)} UTC"),
            ("Closed", f"{ended} UTC" if facts.closed else ended),
            ("Worked by", listed([facts.name_of(by) for by in _hands(facts)], most=12)),
        )
    )


def _hands(facts: RunFacts) -> tuple[str, ...]:
    """Who entered work, the one who began it first."""
    return tuple(dict.fromkeys(one.by for one in facts.acts if one.by != "station"))


def _warnings(facts: RunFacts) -> tuple[Para, ...]:
    found = []
    if facts.rehearsal:
        found.append(Para(f"A rehearsal by a script, nothing was worked: {facts.rehearsal}", "bad"))
    if not facts.closed:
        found.append(Para(f"The run is open; this is how it stood at {when(facts.last)}.", "doubt"))
    if facts.stopped:
        found.append(Para(f"The run is stopped: {facts.stopped}", "bad"))
    return tuple(found)


def _odd_counts(facts: RunFacts) -> str:
    counts = (
        (len(facts.deviations), "deviation"),
        (len(facts.corrections), "correction"),
        (len(facts.doubts), "doubt"),
        (facts.open_questions, "open question"),
    )
    return listed([count(number, word) for number, word in counts if number])


def _odd_words(facts: RunFacts) -> Para:
    odd = _odd_counts(facts)
    if not odd:
        return Para("Nothing was done otherwise than written, corrected, or left in doubt.")
    return Para(f"To be looked at: {odd}, each with its reason below.", "doubt")


def _job(runs: Sequence[RunFacts], title: str) -> Sheet:
    shops = tuple(dict.fromkeys(one.shop for one in runs))
    card = Fields(
        (
            ("Shop", listed(shops)),
            ("Runs", str(len(runs))),
            ("From", f"{when(min(one.began for one in runs))} UTC"),
            ("To", f"{when(max(one.last for one in runs))} UTC"),
        )
    )
    whole = sum(bool(one.verdict and one.verdict.get("whole")) for one in runs)
    unread = sum(one.verdict is None for one in runs)
    trust = f"{whole} of {count(len(runs), 'record')} checked and whole."
    mark = "" if whole == len(runs) else "doubt" if whole + unread == len(runs) else "bad"
    sections = (
        Section("The runs", (_runs_table(runs),)),
        Section("Part by part, over all runs", (_lives(runs),)),
    )
    return Sheet(title, "Record of a job", card, (Para(trust, mark),), sections)


def _runs_table(runs: Sequence[RunFacts]) -> Block:
    rows = []
    for number, one in enumerate(runs, 1):
        trust = trust_words(one)
        short = {"": "whole", "bad": "NOT WHOLE", "doubt": "not checked"}[trust.mark]
        odd = _odd_counts(one)
        rows.append(
            (
                str(number),
                f"{one.title} (revision {one.revision})",
                one.run,
                f"{when(one.began)} to {when(one.last)}" if one.closed else "open",
                result_words(one),
                Cell(odd or "nothing", mark="doubt" if odd else ""),
                Cell(short, mark=trust.mark),
            )
        )
    columns = ("No.", "Procedure", "Run", "When", "Result", "To be looked at", "Record")
    return table(columns, rows, (0,))


def _lives(runs: Sequence[RunFacts]) -> Block:
    names = dict.fromkeys(part.part for one in runs for part in one.parts)
    rows: list[tuple[Cell | str, ...]] = []
    for name in names:
        first = True
        for number, run in enumerate(runs, 1):
            for part in run.parts:
                if part.part == name:
                    mark = {"done": "", "scrap": "bad"}.get(part.status, "doubt")
                    state, told = Cell(part.status, mark=mark), f"{number}. {run.title}"
                    shown = name if first else ""
                    rows.append((shown, part.identity, told, state, part.reason))
                    first = False
    return table(("Part", "Identity", "Run", "Result", "Remarks"), rows)
