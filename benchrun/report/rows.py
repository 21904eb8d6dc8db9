"""Writes a report for machines: readings as tidy CSV, everything as JSON; see SCHEMA.md."""

import csv
import io
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any, Final

from benchrun.account.facts import ReadingFacts, RunFacts

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
_FREE: Final = frozenset(
    {"run", "procedure", "by", "part", "identity", "step", "name", "place", "typed", "instrument"}
    | {"correction"}
)

# The four signs in half and in full width, and what a spreadsheet passes over before them.
_FORMULA: Final = frozenset("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")


def as_csv(runs: Sequence[RunFacts]) -> str:
    """Readings and worked-out values, one a row, with a header (RFC 4180, UTF-8)."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(CSV_COLUMNS)
    for run in runs:
        head = {"run": run.run, "procedure": run.procedure, "revision": run.revision}
        for reading in run.readings:
            writer.writerow(_row(head, reading))
    return out.getvalue()


def _row(head: Mapping[str, object], reading: ReadingFacts) -> list[str]:
    values = {**head, **asdict(reading)}
    return [_field(column, values[column]) for column in CSV_COLUMNS]


def _field(column: str, value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return guarded(str(value)) if column in _FREE else str(value)


def guarded(text: str) -> str:
    """A text that a spreadsheet takes for text: what looks like a formula gets an apostrophe.

    A number with its sign stays as it is, so that `+0.02` as typed is no formula either.
    """
    if text[:1] in _FORMULA:
        plain = text[1:].replace(".", "", 1).replace(",", "", 1)
        if not (text[0] in "+-" and plain.isascii() and plain.isdigit()):
            return f"'{text}"
    return text


def as_json(runs: Sequence[RunFacts], logs: Sequence[Sequence[Mapping[str, Any]]]) -> str:
    """Everything: the facts of each run, and each log, line by line as it is kept.

    Args:
        runs: The facts.
        logs: For each run its lines, each the object that the log holds.
    """
    runs_data = [{**asdict(run), "log": list(lines)} for run, lines in zip(runs, logs, strict=True)]
    return json.dumps({"format": FORMAT, "runs": runs_data}, ensure_ascii=False, indent=1) + "\n"
