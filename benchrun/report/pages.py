"""Lays out the pages: a sheet a run in the order in which a reader asks, and a job's summary."""

from collections.abc import Sequence

from benchrun.account.facts import RunFacts
from benchrun.report import front
from benchrun.report.doc import Block, Cell, Fields, Report, Section, Sheet, table_of
from benchrun.report.proof import proof_section, trust_words
from benchrun.report.readings import (
    dwells_section,
    findings_section,
    readings_section,
    rounds_section,
    sums_section,
)
from benchrun.report.sections import (
    account_section,
    odd_section,
    parts_section,
    photos_section,
    procedure_section,
    signatures_section,
    supplies_section,
    words_section,
)
from benchrun.text import listed
from benchrun.wording import minute_words

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
    shown = pictures or [[("", None)] * len(run.photos) for run in runs]
    sheets = [_sheet(run, own) for run, own in zip(runs, shown, strict=True)]
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
        front.card(facts),
        front.words(facts),
        tuple(section for section in sections if section is not None),
    )


def _job(runs: Sequence[RunFacts], title: str) -> Sheet:
    shops = tuple(dict.fromkeys(run.shop for run in runs))
    card = Fields(
        (
            ("Shop", listed(shops)),
            ("Runs", str(len(runs))),
            ("From", f"{minute_words(min(run.began for run in runs))} UTC"),
            ("To", f"{minute_words(max(run.last for run in runs))} UTC"),
            ("Worked by", front.names(name for run in runs for name in front.hands(run))),
            ("Signed by", front.names(sign.name for run in runs for sign in run.signatures)),
        )
    )
    sections = (
        Section("The runs", (_runs_table(runs),)),
        Section("Part by part, over all runs", (_lives(runs),)),
    )
    return Sheet(title, "Record of a job", card, front.job_words(runs), sections)


def _runs_table(runs: Sequence[RunFacts]) -> Block:
    rows = []
    for number, run in enumerate(runs, 1):
        trust = trust_words(run)
        short = {"": "whole", "bad": "NOT WHOLE", "doubt": "not checked"}[trust.mark]
        odd = front.odd_counts(run)
        rows.append(
            (
                str(number),
                f"{run.title} (revision {run.revision})",
                run.run,
                f"{minute_words(run.began)} to {minute_words(run.last)}" if run.closed else "open",
                front.result_words(run),
                Cell(odd or "nothing", mark="doubt" if odd else ""),
                Cell(short, mark=trust.mark),
            )
        )
    columns = ("No.", "Procedure", "Run", "When", "Result", "To be looked at", "Record")
    return table_of(columns, rows, (0,))


def _lives(runs: Sequence[RunFacts]) -> Block:
    names = dict.fromkeys(part.part for run in runs for part in run.parts)
    rows: list[tuple[Cell | str, ...]] = []
    for name in names:
        first = True
        for number, run in enumerate(runs, 1):
            for part in run.parts:
                if part.part == name:
                    mark = {"done": "", "scrap": "bad"}.get(part.status, "doubt")
                    state, run_name = Cell(part.status, mark=mark), f"{number}. {run.title}"
                    shown = name if first else ""
                    rows.append((shown, part.known_as, run_name, state, part.reason))
                    first = False
    return table_of(("Part", "Identity", "Run", "Result", "Remarks"), rows)
