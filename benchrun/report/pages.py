"""Lays out the pages: the front of all runs, an annex a run, and once for all what they share."""

from collections.abc import Sequence

from benchrun.account.facts import RunFacts
from benchrun.report import front
from benchrun.report.close_lines import close_section
from benchrun.report.conformity import LIMITS, all_characteristics
from benchrun.report.doc import Fields, Para, Report, Section, Sheet
from benchrun.report.front import Issue, front_sheet
from benchrun.report.job import job_sections
from benchrun.report.proof import proof_section
from benchrun.report.readings import (
    dwells_section,
    findings_section,
    readings_section,
    rounds_section,
    sums_section,
)
from benchrun.report.sections import (
    account_section,
    drawings_section,
    figures_section,
    odd_section,
    parts_section,
    photos_section,
    procedure_section,
    signatures_section,
    supplies_section,
    witnesses_section,
    words_section,
)
from benchrun.report.start import start_section
from benchrun.wording import minute_words

Pictures = Sequence[tuple[str, bytes | None]]
_NO_ISSUE = Issue()


def lay_out(
    runs: Sequence[RunFacts],
    issue: Issue = _NO_ISSUE,
    pictures: Sequence[Pictures] | None = None,
) -> Report:
    """Lay out a report.

    Args:
        runs: One run, or the runs of a job in the order wanted.
        issue: What the record says of its own issue.
        pictures: For each run its pictures, those of its drawings last; None for a form that
            shows none.
    """
    shown = pictures or [[("", None)] * (len(run.photos) + len(run.drawings)) for run in runs]
    annexes = [
        _annex(run, own, f"Annex {number} of {len(runs) + 1}", alone=len(runs) == 1)
        for number, (run, own) in enumerate(zip(runs, shown, strict=True), 1)
    ]
    name = issue.title or (f"{runs[0].title}, {runs[0].run}" if len(runs) == 1 else "Job record")
    first = front_sheet(runs, issue)
    return Report(name, (first, *annexes, _shared(runs, first)))


def _annex(facts: RunFacts, contents: Pictures, over: str, *, alone: bool) -> Sheet:
    """Everything of one run that its procedure and its proof do not tell."""
    sections = (
        parts_section(facts),
        start_section(facts),
        signatures_section(facts),
        witnesses_section(facts),
        close_section(facts),
        readings_section(facts),
        findings_section(facts),
        dwells_section(facts),
        rounds_section(facts),
        supplies_section(facts),
        figures_section(facts),
        odd_section(facts),
        photos_section(facts, contents[: len(facts.photos)]),
        drawings_section(facts, contents[len(facts.photos) :]),
        words_section(facts),
        sums_section(facts),
        account_section(facts),
    )
    rehearsal = "; a rehearsal, not work" if facts.rehearsal else ""
    card = Fields(
        (
            ("Run", facts.run),
            ("Procedure", f"{facts.procedure}, revision {facts.revision}"),
            ("Begun", f"{minute_words(facts.began)} UTC"),
            ("Closed", f"{minute_words(facts.last)} UTC" if facts.closed else "not closed"),
            ("Worked by", front.names(front.hands(facts))),
        )
    )
    title = "What was read, found and done" if alone else facts.title
    kept = tuple(section for section in sections if section is not None)
    return Sheet(title, f"{over}{rehearsal}", card, (), kept)


def _shared(runs: Sequence[RunFacts], first: Sheet) -> Sheet:
    """The procedures, each once, and the proof of all runs."""
    procedures = {run.procedure_sha256: run for run in runs}
    sections = [procedure_section(run) for run in procedures.values()]
    if len(sections) > 1:
        named = zip(sections, procedures.values(), strict=True)
        sections = [Section(f"{one.title}: {run.title}", one.blocks) for one, run in named]
    job = job_sections(runs) if len(runs) > 1 else ()
    proof = proof_section(runs)
    end = Para("End of the record.")
    closing = Section(proof.title, (*proof.blocks, end))
    told = next(section for section in first.sections if section.title == LIMITS)
    every = all_characteristics(runs, told)
    measured = (every,) if every is not None else ()
    over = f"Annex {len(runs) + 1} of {len(runs) + 1}"
    return Sheet(
        "Procedures and proof", over, Fields(()), (), (*job, *measured, *sections, closing)
    )
