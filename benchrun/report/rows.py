"""Writes a report for machines: CSV, one table a question, everything as JSON; see SCHEMA.md."""

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict
from decimal import Decimal
from typing import Any, Final

from benchrun.account.facts import RunFacts
from benchrun.csv_text import csv_text
from benchrun.quantity import UNITS, convert, dimension, known, plain
from benchrun.shopmath.accepting import unit_of_difference

FORMAT: Final = 1
"""The version of the JSON form; it rises when a key changes its meaning or goes."""

Row = Mapping[str, object]
Rows = Callable[[RunFacts], Iterator[Row]]
_RUN: Final = ("run", "procedure", "revision")
CSV_COLUMNS: Final[Mapping[str, tuple[str, ...]]] = {
    "readings": (
        *_RUN,
        *("n", "utc", "by", "part", "identity", "kind", "pair", "step", "number", "name"),
        *(
            "place",
            "source",
            "characteristic",
            "typed",
            "value",
            "unit",
            "low",
            "high",
            "verdict",
            "first",
        ),
        *("first_verdict", "instrument", "named", "calibrated", "until", "resolution"),
        *("uncertainty", "misgivings", "limits_from", "corrected_by", "correction", "taken_back"),
        *("in_unit", "value_in", "low_in", "high_in", "uncertainty_in"),
    ),
    "clocks": (
        *_RUN,
        *("n_in", "n_out", "part", "step", "number", "where", "began", "ended", "least_s"),
        *("most_s", "aim_s", "proven_s", "possible_s", "verdict", "tended", "taken_back"),
    ),
    "supplies": (
        *_RUN,
        *("n", "utc", "by", "number", "parts", "supply", "name", "about", "amount", "unit"),
        *("first", "misgivings", "back", "taken_back", "in_unit", "amount_in"),
    ),
    "deviations": (*_RUN, "n", "utc", "by", "sort", "number", "step", "parts", "what", "reason"),
    "parts": (
        *_RUN,
        *("part", "identity", "kind", "pair", "size", "status", "reason", "began", "last"),
        *("closed", "inside", "in_doubt", "outside", "open_questions", "rehearsal"),
    ),
}
"""The tables that a report can be asked for, one a question, each with its columns."""


def as_csv(runs: Sequence[RunFacts], table: str = "readings") -> str:
    """One table with a header (RFC 4180, UTF-8).

    Args:
        runs: The facts.
        table: One of `CSV_COLUMNS`.
    """
    columns, rows = CSV_COLUMNS[table], []
    for run in runs:
        head = {"run": run.run, "procedure": run.procedure, "revision": run.revision}
        for row in _TABLES[table](run):
            values = {**head, **row}
            rows.append([_cell(values[column]) for column in columns])
    return csv_text(columns, rows)


def _cell(value: object) -> object:
    return "; ".join(map(str, value)) if isinstance(value, tuple) else value


def _readings(run: RunFacts) -> Iterator[Row]:
    parts = {part.part: part for part in run.parts}
    for reading in run.readings:
        numbers = {name: getattr(reading, name) for name in ("value", "low", "high")}
        one = _one_unit(reading.unit)
        yield {
            **asdict(reading),
            "kind": parts[reading.part].kind,
            "pair": parts[reading.part].pair,
            "limits_from": tuple(f"{o.of} {o.kind}: {o.words}" for o in reading.origins),
            "in_unit": one,
            **{f"{name}_in": _in(number, reading.unit, one) for name, number in numbers.items()},
            "uncertainty_in": _in(
                reading.uncertainty, unit_of_difference(reading.unit), unit_of_difference(one)
            ),
        }


def _clocks(run: RunFacts) -> Iterator[Row]:
    for dwell in run.dwells:
        spans = ("least", "most", "aim", "proven", "possible")
        for part in dwell.parts:
            yield {
                **asdict(dwell),
                "part": part,
                **{f"{name}_s": _seconds(getattr(dwell, name)) for name in spans},
            }


def _seconds(ms: int | None) -> str | None:
    return None if ms is None else plain(Decimal(ms) / 1000)


def _supplies(run: RunFacts) -> Iterator[Row]:
    for supply in run.supplies:
        one = _one_unit(supply.unit)
        amount = _in(supply.amount, supply.unit, one)
        yield {**asdict(supply), "in_unit": one, "amount_in": amount}


def _deviations(run: RunFacts) -> Iterator[Row]:
    for sort, remarks in (("deviation", run.deviations), ("doubt", run.doubts)):
        for remark in remarks:
            yield {**asdict(remark), "sort": sort, "what": remark.words}
    for fix in run.corrections:
        what = f"{fix.name} {fix.place}".strip()
        words = f"{what} of entry {fix.of}: {fix.was} now {fix.now}"
        yield {**asdict(fix), "sort": "correction", "step": "", "parts": fix.part, "what": words}
    acts = {act.n: act for act in run.acts}
    for asked in run.questions:
        by, answer, act = asked.by, asked.answer or "still open", acts.get(asked.n)
        utc, step = (act.utc, act.step) if act else ("", "")
        row = {"n": asked.n, "utc": utc, "by": by, "number": asked.number, "step": step}
        what = f"{asked.says} {answer}"
        yield {
            **row, "sort": "question", "parts": asked.part, "what": what, "reason": asked.reason
        }  # fmt: skip


def _parts(run: RunFacts) -> Iterator[Row]:
    for part in run.parts:
        own = [r for r in run.readings if r.part == part.part and not r.taken_back]
        said = [reading.verdict for reading in own]
        yield {
            **asdict(part),
            "began": run.began,
            "last": run.last,
            "closed": run.closed,
            "inside": said.count("inside"),
            "in_doubt": said.count("in doubt"),
            "outside": said.count("outside"),
            "open_questions": len(part.questions),
            "rehearsal": bool(run.rehearsal),
        }


_TABLES: Final[Mapping[str, Rows]] = {
    "readings": _readings,
    "clocks": _clocks,
    "supplies": _supplies,
    "deviations": _deviations,
    "parts": _parts,
}


def _one_unit(unit: str) -> str:
    """The one unit in which a column holds every value of a dimension."""
    if not known(unit):
        return unit
    own = dimension(unit)
    return next((other.name for other in UNITS if other.dimension == own), unit)


def _in(number: str, unit: str, one: str) -> str:
    if not number or not known(unit):
        return ""
    return plain(convert(Decimal(number), unit, one))


def as_json(runs: Sequence[RunFacts], logs: Sequence[Sequence[Mapping[str, Any]]]) -> str:
    """Everything: the facts of each run, and each log, line by line as it is kept.

    Args:
        runs: The facts.
        logs: For each run its lines, each the object that the log holds.
    """
    runs_data = [{**asdict(run), "log": list(lines)} for run, lines in zip(runs, logs, strict=True)]
    return json.dumps({"format": FORMAT, "runs": runs_data}, ensure_ascii=False, indent=1) + "\n"
