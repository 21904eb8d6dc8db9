"""The runs of a job, and the life of each part over all of them."""

from collections.abc import Sequence

from benchrun.account.facts import PartFacts, RunFacts
from benchrun.report.doc import Block, Cell, Section, table_of
from benchrun.report.front import STATUS_MARKS, odd_counts, result_words
from benchrun.report.proof import trust_words
from benchrun.wording import STATES, minute_words


def job_sections(runs: Sequence[RunFacts]) -> tuple[Section, ...]:
    """The runs of a job, and the life of each part over all of them."""
    return (
        Section("The runs", (_runs_table(runs),)),
        Section("Part by part, over all runs", (_lives(runs),)),
    )


def _runs_table(runs: Sequence[RunFacts]) -> Block:
    rows = []
    for number, run in enumerate(runs, 1):
        trust = trust_words(run)
        short = {"": "whole", "bad": "DAMAGED", "doubt": "not checked"}[trust.mark]
        odd = odd_counts((run,))
        rows.append(
            (
                str(number),
                f"{run.title} (revision {run.revision})",
                run.run,
                f"{minute_words(run.began)} to {minute_words(run.last)}" if run.closed else "open",
                result_words(run.parts),
                Cell(odd or "nothing", mark="doubt" if odd else ""),
                Cell(short, mark=trust.mark),
            )
        )
    columns = ("No.", "Procedure", "Run", "When", "Result", "To be looked at", "Record")
    return table_of(columns, rows, (0,))


def _lives(runs: Sequence[RunFacts]) -> Block:
    lives: dict[str, list[tuple[int, RunFacts, PartFacts]]] = {}
    for number, run in enumerate(runs, 1):
        for part in run.parts:
            lives.setdefault(part.part, []).append((number, run, part))
    rows: list[tuple[Cell | str, ...]] = []
    for name, life in lives.items():
        for at, (number, run, part) in enumerate(life):
            state = Cell(
                STATES.get(part.status, part.status), mark=STATUS_MARKS.get(part.status, "doubt")
            )
            run_name = f"{number}. {run.title}"
            rows.append(("" if at else name, part.known_as, run_name, state, part.reason))
    return table_of(("Part", "Identity", "Run", "Result", "Remarks"), rows)
