"""The answers of the index as pages to be read, the latest first."""

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Final

from benchrun.dialogue.page_prompt import PageRow, Tone
from benchrun.dialogue.tables import Column, PageTable, Row, TrendCurve
from benchrun.history.wording import TIMES_RULE, decided_words, status_words, with_unit
from benchrun.quantity import limits_words
from benchrun.text import count, listed, span

if TYPE_CHECKING:
    from benchrun.history.answers import (
        DeviationRow,
        PartLife,
        ReadingHistory,
        ReadingRow,
        RecalledReading,
        RecallList,
        StepTime,
        StepWords,
        Trend,
    )
    from benchrun.history.index import Refreshed

Zone = dt.tzinfo | None
_TOLD: Final = 3  # damaged runs that are named on an answer
_RECALLED: Final = 200  # rows of a recall list on a page; the command gives all of them


def skipped_rows(index: "Refreshed") -> list[PageRow]:
    """The damaged runs that are in no answer, each in a row; none is passed over in silence."""
    named = list(index.skipped.items())
    rows = [
        PageRow(f"{name}: {text.removeprefix(name).strip()}", "skipped, damaged", Tone.CALLS)
        for name, text in named[:_TOLD]
    ]
    if len(named) > _TOLD:
        more = f"and {count(len(named) - _TOLD, 'more damaged run')}: Look up, Past runs, The index"
        rows.append(PageRow(more, tone=Tone.QUIET))
    return [*rows, PageRow()] if rows else []


def step_title(step: "StepWords | None") -> str:
    """A step as a title: its number and its text."""
    if step is None:
        return "the run as a whole"
    return f"{step.number:>2}  {step.text}" if step.text else step.step


def counted_words(verdicts: Mapping[str, int]) -> str:
    """How often each verdict or finding was given."""
    return listed([f"{number} {said or 'without limits'}" for said, number in verdicts.items()])


def on_day(zone: Zone, utc: str, *, clock: bool = True) -> str:
    """A moment by the bench's own clock: `2026-03-02 08:14`."""
    wall = dt.datetime.fromisoformat(utc).astimezone(zone)
    return f"{wall:%Y-%m-%d %H:%M}" if clock else f"{wall:%Y-%m-%d}"


def _remarks(row: "ReadingRow") -> str:
    words = [row.verdict] if row.verdict != row.value else []
    words += ["corrected"] if row.corrected else []
    return ", ".join(word for word in words if word)


def _run(row: "ReadingRow") -> str:
    return f"{row.run}, rehearsal" if row.rehearsal else row.run


def _rehearsed(rows: Sequence["ReadingRow"] | Sequence["RecalledReading"]) -> list[PageRow]:
    """How many values were only rehearsed: that is no verdict, and concerns whole runs."""
    number = sum(row.rehearsal for row in rows)
    words = f"{'all' if number == len(rows) else number} from rehearsals, not from real work"
    return [PageRow(words, tone=Tone.STRONG)] if number else []


def _latest(told: int, total: int) -> list[PageRow]:
    """The row that says that only the latest are told, where there are more."""
    return [PageRow(f"the latest {told}", tone=Tone.QUIET)] if told < total else []


def reading_rows(zone: Zone, answer: "ReadingHistory") -> list[PageRow]:
    """One reading over all runs and parts: how it stands, its trend, its values."""
    total = sum(answer.verdicts.values())
    rows = [PageRow(f"{count(total, 'value')}: {counted_words(answer.verdicts)}")]
    rows += _rehearsed(answer.rows)
    trend = answer.trend
    if trend is not None:
        rows += [*_trend_rows(trend, answer.rows), PageRow()]
    outside = {answer.rows[at - 1] for at in trend.points} if trend else set()
    told = [
        Row(
            (
                on_day(zone, row.utc),
                f"{row.part} {row.place}".strip(),
                with_unit(row.value, row.unit),
                limits_words(row.low, row.high),
                _remarks(row),
                _run(row),
            ),
            row in outside,
        )
        for row in reversed(answer.rows)
    ]
    heads = (
        Column("when"),
        Column("part", gives=True),
        Column("value", right=trend is not None),
        Column("limits", gives=True),
        Column("verdict", gives=True),
        Column("run", gives=True, wide=True),
    )
    return [*rows, *_latest(len(told), total), PageRow(table=PageTable(heads, told))]


def _trend_rows(trend: "Trend", rows: Sequence["ReadingRow"]) -> list[PageRow]:
    """The mean and the limits in words with the curve below, then what is to be known of it."""
    numbers = tuple(Decimal(row.value) for row in rows)
    curve = TrendCurve(numbers, Decimal(trend.centre), Decimal(trend.lower), Decimal(trend.upper))
    unit = f" {with_unit('', trend.unit)}" if trend.unit else ""
    words = f"mean {trend.centre}, control limits {trend.lower} to {trend.upper}{unit}"
    notes = [PageRow(note, "note", Tone.CALLS) for note in trend.notes]
    return [*notes, PageRow(words, tone=Tone.QUIET, curve=curve)]


def part_life_rows(zone: Zone, answer: "PartLife") -> list[PageRow]:
    """A part's life: its runs, and the last value of each kind."""
    runs = [
        Row(
            (
                on_day(zone, one.began, clock=False),
                one.title + (", rehearsal" if one.rehearsal else ""),
                status_words(one.status),
                counted_words(one.verdicts) or "no values",
            ),
            note=one.reason,
        )
        for one in reversed(answer.runs)
    ]
    numbers = [one.identity for one in reversed(answer.runs) if one.identity]
    rows = [PageRow(numbers[0], "numbers"), PageRow()] if numbers else []
    heads = (
        Column("begun"),
        Column("procedure", gives=True),
        Column("result"),
        Column("values", gives=True),
    )
    rows.append(PageRow(table=PageTable(heads, runs)))
    if answer.values:
        rows += [PageRow(), PageRow("the last value of each kind", tone=Tone.QUIET, heads=True)]
        rows.append(PageRow(table=_last_values(zone, answer.values)))
    return rows


def _last_values(zone: Zone, values: Sequence["ReadingRow"]) -> PageTable:
    told = [
        Row(
            (
                f"{row.step.name.replace('_', ' ') or step_title(row.step)} {row.place}".strip(),
                with_unit(row.value, row.unit),
                _remarks(row),
                on_day(zone, row.utc, clock=False),
                _run(row),
            )
        )
        for row in reversed(values)
    ]
    heads = (
        Column("what", gives=True),
        Column("value", right=all(row.verdict != row.value for row in values), gives=True),
        Column("verdict"),
        Column("on"),
        Column("run", gives=True, wide=True),
    )
    return PageTable(heads, told)


def times_rows(answer: Sequence["StepTime"]) -> list[PageRow]:
    """How long each step took."""
    if not answer:
        return [PageRow("No step was timed yet.")]
    told = [
        Row(
            (
                step_title(one.step),
                one.per or "the batch",
                str(one.times),
                span(one.median),
                _from_to(one.quarter, one.three_quarters),
                _from_to(one.least, one.most),
            )
        )
        for one in answer
    ]
    heads = (
        Column("step", gives=True),
        Column("of"),
        Column("times", right=True),
        Column("median", right=True),
        Column("middle half", right=True),
        Column("least to most", right=True, wide=True),
    )
    rule = PageRow(TIMES_RULE, tone=Tone.QUIET)
    return [PageRow(table=PageTable(heads, told)), PageRow(), rule]


def _from_to(least: int, most: int) -> str:
    return f"{span(least)} to {span(most)}" if least != most else ""


def recall_rows(zone: Zone, answer: "RecallList") -> list[PageRow]:
    """The recall list of an instrument since its calibration, the latest reading first."""
    since = f", since its calibration on {answer.since}" if answer.since else ""
    words = (
        f"{count(answer.total, 'reading')} of {count(answer.parts, 'part')} in "
        f"{count(answer.runs, 'run')}{since}"
    )
    if not answer.total:
        return [PageRow(words)]
    told = [
        Row(
            (
                on_day(zone, row.utc),
                row.reading.replace("_", " "),
                f"{row.part} {row.place}".strip(),
                with_unit(row.value, row.unit),
                row.verdict,
                row.run,
            ),
            note=decided_words(row),
        )
        for row in answer.rows[: -_RECALLED - 1 : -1]
    ]
    heads = (
        Column("when"),
        Column("reading", gives=True),
        Column("part", gives=True),
        Column("value", right=True),
        Column("verdict"),
        Column("run", gives=True, wide=True),
    )
    return [
        PageRow(words),
        PageRow(counted_words(answer.verdicts)),
        *_rehearsed(answer.rows),
        *_latest(len(told), answer.total),
        PageRow(),
        PageRow(table=PageTable(heads, told)),
    ]


def deviation_rows(zone: Zone, answer: Sequence["DeviationRow"]) -> list[PageRow]:
    """Deviations by step, the most frequent first, each with the last reason."""
    if not answer:
        return [PageRow("No deviations.")]
    told = [
        Row(
            (
                f"{one.times} x",
                step_title(one.step),
                one.what,
                count(one.runs, "run"),
                on_day(zone, one.last, clock=False),
            ),
            note=one.reason,
        )
        for one in answer
    ]
    heads = (
        Column("", right=True),
        Column("step", gives=True),
        Column("what", gives=True),
        Column("in"),
        Column("last"),
    )
    return [PageRow(table=PageTable(heads, told))]


def index_words(index: "Refreshed", values: int) -> str:
    """How the index stands, in one sentence."""
    damaged = f", {count(len(index.skipped), 'damaged run')} skipped" if index.skipped else ""
    return f"{count(index.runs, 'run')}, {count(values, 'value')}{damaged}."


def index_rows(index: "Refreshed", values: int) -> Iterator[PageRow]:
    """How the index stands, and every damaged run with what was found."""
    yield PageRow(index_words(index, values))
    for name, text in index.skipped.items():
        yield PageRow()
        yield PageRow(name, tone=Tone.STRONG, heads=True)
        yield PageRow(text, indent=2)
    if index.skipped:
        words = "Past runs, A closed run says more of a damaged one. It is left as it is."
        yield PageRow()
        yield PageRow(words, tone=Tone.QUIET)
