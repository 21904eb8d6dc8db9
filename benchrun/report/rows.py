"""Writes a report for machines: readings as tidy CSV, everything as JSON; see SCHEMA.md."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any, Final

from benchrun.account.facts import RunFacts
from benchrun.csv_text import csv_text

FORMAT: Final = 1
"""The version of the JSON form; it rises when a key changes its meaning or goes."""

CSV_COLUMNS: Final = (
    "run",
    "procedure",
    "revision",
    "n",
    "utc",
    "by",
    "part",
    "identity",
    "step",
    "number",
    "name",
    "place",
    "source",
    "typed",
    "value",
    "unit",
    "low",
    "high",
    "verdict",
    "first",
    "first_verdict",
    "instrument",
    "uncertainty",
    "corrected_by",
    "correction",
    "taken_back",
)


def as_csv(runs: Sequence[RunFacts]) -> str:
    """Readings and worked-out values, one a row, with a header (RFC 4180, UTF-8)."""
    rows = []
    for run in runs:
        head = {"run": run.run, "procedure": run.procedure, "revision": run.revision}
        for reading in run.readings:
            values = {**head, **asdict(reading)}
            rows.append([values[column] for column in CSV_COLUMNS])
    return csv_text(CSV_COLUMNS, rows)


def as_json(runs: Sequence[RunFacts], logs: Sequence[Sequence[Mapping[str, Any]]]) -> str:
    """Everything: the facts of each run, and each log, line by line as it is kept.

    Args:
        runs: The facts.
        logs: For each run its lines, each the object that the log holds.
    """
    runs_data = [{**asdict(run), "log": list(lines)} for run, lines in zip(runs, logs, strict=True)]
    return json.dumps({"format": FORMAT, "runs": runs_data}, ensure_ascii=False, indent=1) + "\n"
