"""Tells answers of the index as text for a terminal, and as plain data."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, is_dataclass
from typing import Any, Final

from benchrun.history.answers import (
    DeviationRow,
    PartLife,
    ReadingHistory,
    StepTime,
    StepWords,
    ToolHistory,
)
from benchrun.quantity import limits_words, unit_words
from benchrun.text import columns, count, listed, shown, span

TIMES_RULE: Final = (
    "A dwell counts its proven time, other work the time since the entry before it. Left out: gaps "
    "of more than 2 hours, restarts, runs left or stopped, and steps that wait for a window."
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
            f"{run.status}{': ' + run.reason if run.reason else ''}",
            _counts(run.verdicts) or "none",
            listed(run.signers) or "nobody",
        )
        for run in answer.runs
    ]
    rows = [f"{shown(answer.part, 60)}: {count(len(table_rows), 'run')}", ""]
    rows += columns(table_rows, ("Begun", "Procedure", "Numbers", "Result", "Values", "Signed by"))
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


def tool_text(answer: ToolHistory) -> str:
    """The readings of an instrument."""
    since = f" since {answer.since}" if answer.since else ""
    rows = [f"{shown(answer.tool, 60)}{since}: {count(answer.total, 'reading')}"]
    if not answer.total:
        return rows[0]
    rows += [_counts(answer.verdicts), ""]
    table_rows = [
        (
            row.utc[:16].replace("T", " "),
            f"{row.part} {row.place}".strip(),
            row.step.name or row.step.step,
            with_unit(row.value, row.unit),
            row.verdict,
            row.run,
        )
        for row in answer.rows
    ]
    heads = ("When", "Part", "Reading", "Value", "Verdict", "Run")
    return "\n".join([*rows, *columns(table_rows, heads, frozenset({3}))])


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
