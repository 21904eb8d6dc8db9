"""Tells answers of the index as text for a terminal, and as plain data."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, fields, is_dataclass
from itertools import groupby
from typing import Any, Final

from benchrun.account.line_walk import IN_PLAY
from benchrun.csv_text import csv_text
from benchrun.history.answers import (
    DeviationRow,
    PartLife,
    ReadingHistory,
    RecalledReading,
    RecallList,
    StepTime,
    StepWords,
)
from benchrun.quantity import limits_words, unit_words
from benchrun.text import columns, count, listed, shown, span

TIMES_RULE: Final = (
    "A dwell counts its proven time, other work the time since the entry before it. Not counted: "
    "gaps of more than 2 hours, restarts, runs left or stopped, and steps that wait for a window."
)


def as_data(answer: object) -> Any:
    """An answer as plain data for JSON."""
    if isinstance(answer, tuple):
        return [as_data(item) for item in answer]
    if is_dataclass(answer) and not isinstance(answer, type):
        return asdict(answer)
    raise TypeError(f"{type(answer).__name__} is no answer")


def step_words(step: StepWords | None) -> str:
    """A step in words."""
    if step is None:
        return "the run"
    return f"{step.number}. {step.text}" if step.text else step.step


def with_unit(value: str, unit: str) -> str:
    """A value as it was kept, with its unit as people write it: `22 °C`."""
    return f"{value} {unit_words(unit)}".strip()


def _counts(verdicts: Mapping[str, int]) -> str:
    return listed([f"{number} {said or 'without limits'}" for said, number in verdicts.items()])


def reading_text(answer: ReadingHistory) -> str:
    """One reading over all runs and parts, with its trend; `*` marks what is outside the trend."""
    total = sum(answer.verdicts.values())
    rows = [step_words(answer.step), f"{count(total, 'value')}: {_counts(answer.verdicts)}"]
    trend = answer.trend
    if trend is not None:
        unit = f" {with_unit('', trend.unit)}" if trend.unit else ""
        rows.append(
            f"mean {trend.centre}, control limits {trend.lower} to {trend.upper}{unit}, "
            f"{count(len(trend.points), 'value')} outside them"
        )
        rows += [f"note: {note}" for note in trend.notes]
    outside = set(trend.points) if trend else set()
    table_rows = [
        (
            "*" if number in outside else "",
            row.utc[:16].replace("T", " "),
            f"{row.part} {row.place}".strip(),
            with_unit(row.value, row.unit) + (" (corrected)" if row.corrected else ""),
            limits_words(row.low, row.high),
            row.verdict,
            row.run,
        )
        for number, row in enumerate(answer.rows, 1)
    ]
    if len(answer.rows) < total:
        rows.append(f"the latest {len(answer.rows)}:")
    heads = ("", "When", "Part", "Value", "Limits", "Verdict", "Run")
    return "\n".join([*rows, "", *columns(table_rows, heads, frozenset({3}))])


def part_text(answer: PartLife) -> str:
    """A part's life."""
    table_rows = [
        (
            run.began[:10],
            ("rehearsal: " if run.rehearsal else "")
            + f"{shown(run.title, 35)}, revision {run.revision}",
            run.identity,
            f"{status_words(run.status)}{': ' + run.reason if run.reason else ''}",
            _counts(run.verdicts) or "none",
        )
        for run in answer.runs
    ]
    rows = [f"{shown(answer.part, 60)}: {count(len(table_rows), 'run')}", ""]
    rows += columns(table_rows, ("Begun", "Procedure", "Numbers", "Result", "Values"))
    signed = [
        (run.began[:10], shown(run.title, 35), who) for run in answer.runs for who in run.signers
    ]
    if signed:
        rows += ["", "Signed, by the runs' own word; benchrun verify tells whether it holds:", ""]
        rows += columns(signed, ("Begun", "Procedure", "Who"))
    values = [
        (
            f"{step_words(row.step)} {row.place}".strip(),
            with_unit(row.value, row.unit),
            row.verdict if row.verdict != row.value else "",
            row.utc[:10],
        )
        for row in answer.values
    ]
    if values:
        rows += ["", "The last value of each kind:", ""]
        rows += columns(values, ("Step", "Value", "Verdict", "On"), frozenset({1}))
    return "\n".join(rows)


def times_text(answer: Sequence[StepTime]) -> str:
    """How long each step took."""
    rows = [
        (
            f"{step_words(times.step)}{' (' + times.per + ')' if times.per else ''}",
            str(times.times),
            span(times.median),
            f"{span(times.quarter)} to {span(times.three_quarters)}",
            f"{span(times.least)} to {span(times.most)}",
        )
        for times in answer
    ]
    if not rows:
        return "no step was timed yet"
    heads = ("Step", "Times", "Median", "Middle half", "Least to most")
    return "\n".join([*columns(rows, heads, frozenset({1, 2})), "", TIMES_RULE])


def recall_text(answer: RecallList) -> str:
    """The recall list of an instrument: each part with its readings, and what was decided."""
    since = f" since {answer.since}" if answer.since else ""
    tool = shown(answer.tool, 60)
    if not answer.total:
        return f"{tool}{since}: no readings, nothing to be looked at again"
    rows = [
        f"Recall list: {tool}{since}",
        f"{count(answer.total, 'reading')} of {count(answer.parts, 'part')} in "
        f"{count(answer.runs, 'run')}, to be looked at again: {_counts(answer.verdicts)}",
    ]
    for run, of_run in groupby(answer.rows, key=lambda row: row.run):
        found = list(of_run)
        rehearsal = "rehearsal: " if found[0].rehearsal else ""
        rows += ["", f"{run}  {rehearsal}{shown(found[0].title, 60)}"]
        table_rows = [
            (
                f"  {row.part} {row.place}".rstrip(),
                row.utc[:16].replace("T", " "),
                f"{row.number}. {row.reading.replace('_', ' ')}",
                with_unit(row.value, row.unit) + (" (corrected)" if row.corrected else ""),
                row.verdict,
                decided_words(row),
            )
            for row in found
        ]
        heads = ("  Part", "When", "Reading", "Value", "Verdict", "What was decided")
        rows += columns(table_rows, heads, frozenset({3}))
    return "\n".join(rows)


def decided_words(row: RecalledReading) -> str:
    """The decision on a value and how its part ended: `Go on: to be sleeved; part done`."""
    state = "" if row.status == IN_PLAY else f"part {row.status}"
    state += f" ({row.reason})" if state and row.reason else ""
    return "; ".join(words for words in (row.decided, state) if words)


def recall_csv(answer: RecallList) -> str:
    """The recall list as CSV, a reading a row, with a header."""
    names = [field.name for field in fields(RecalledReading)]
    rows = ([answer.tool, *(getattr(row, name) for name in names)] for row in answer.rows)
    return csv_text(("instrument", *names), rows)


def deviations_text(answer: Sequence[DeviationRow]) -> str:
    """Deviations by step."""
    if not answer:
        return "no deviations"
    rows = [
        (
            step_words(deviation.step),
            deviation.what,
            str(deviation.times),
            str(deviation.runs),
            deviation.last[:10],
            deviation.reason,
        )
        for deviation in answer
    ]
    heads = ("Step", "What", "Times", "Runs", "Last", "Last reason")
    return "\n".join(columns(rows, heads, frozenset({2, 3})))


def status_words(status: str) -> str:
    """The state of a part in a run, as it is said."""
    return "in work" if status == IN_PLAY else status
