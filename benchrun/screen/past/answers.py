"""The answers of the index as pages to be read, the latest first."""

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Final, TypeVar

from benchrun.history.wording import TIMES_RULE, decided_words, with_unit
from benchrun.quantity import limits_words
from benchrun.screen.page_api import Pane, PaneHost
from benchrun.screen.past.asking import Past, skipped_rows
from benchrun.screen.past.table import Column, Row, painted_rows
from benchrun.screen.reader_page import ReadPane
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.screen.theme import Appearance
from benchrun.screen.widgets.trend import TrendCurve, room, trend_plot
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

T = TypeVar("T")
Rows = Callable[[Paper], list[TextLine]]


def answer_pane(host: PaneHost, title: str, past: Past[T], rows: Rows) -> Pane:
    """A page of an answer; the runs that are in none stand on top of it."""
    kept: dict[Paper, list[TextLine]] = {}

    def drawn(paper: Paper) -> list[TextLine]:
        # It does not change while it is looked at, and the page is painted every second.
        if paper not in kept:
            kept.clear()
            kept[paper] = [*skipped_rows(paper, past.index), *rows(paper)]
        return kept[paper]

    return ReadPane(host, title, drawn)


def step_title(step: "StepWords | None") -> str:
    """A step as a title: its number and its text."""
    if step is None:
        return "the run as a whole"
    return f"{step.number}  {step.text}" if step.text else step.step


def counted_words(verdicts: Mapping[str, int]) -> str:
    """How often each verdict or finding was given."""
    return listed([f"{number} {said or 'without limits'}" for said, number in verdicts.items()])


def on_day(look: Appearance, utc: str, *, clock: bool = True) -> str:
    """A moment by the bench's own clock: `2026-03-02 08:14`."""
    wall = dt.datetime.fromisoformat(utc).astimezone(look.zone)
    return f"{wall:%Y-%m-%d %H:%M}" if clock else f"{wall:%Y-%m-%d}"


def _remarks(row: "ReadingRow") -> str:
    words = [row.verdict] if row.verdict != row.value else []
    words += ["corrected"] if row.corrected else []
    return ", ".join(word for word in words if word)


def _run(row: "ReadingRow") -> str:
    return f"{row.run}, rehearsal" if row.rehearsal else row.run


def _rehearsed(
    paper: Paper, rows: Sequence["ReadingRow"] | Sequence["RecalledReading"]
) -> list[TextLine]:
    """How many values were only rehearsed: that is no verdict, and concerns whole runs."""
    number = sum(row.rehearsal for row in rows)
    words = f"{'all' if number == len(rows) else number} from rehearsals, not from real work"
    return paper.paragraph(words, role=Role.STRONG) if number else []


def reading_rows(paper: Paper, look: Appearance, answer: "ReadingHistory") -> list[TextLine]:
    """One reading over all runs and parts: how it stands, its trend, its values."""
    total = sum(answer.verdicts.values())
    rows = paper.paragraph(f"{count(total, 'value')}: {counted_words(answer.verdicts)}")
    rows += _rehearsed(paper, answer.rows)
    trend = answer.trend
    if trend is not None:
        rows += [*_trend_rows(paper, trend, answer.rows), paper.line()]
    outside = {answer.rows[at - 1] for at in trend.points} if trend else set()
    told = [
        Row(
            (
                on_day(look, row.utc),
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
    if len(told) < total:
        rows.append(paper.line(" ", (f"the latest {len(told)}", Role.QUIET)))
    heads = (
        Column("when"),
        Column("part", gives=True),
        Column("value", right=trend is not None),
        Column("limits", gives=True),
        Column("verdict", gives=True),
        Column("run", gives=True, wide=True),
    )
    return [*rows, *painted_rows(paper, heads, told)]


def _trend_rows(paper: Paper, trend: "Trend", rows: Sequence["ReadingRow"]) -> list[TextLine]:
    curve = TrendCurve(
        tuple(Decimal(row.value) for row in rows),
        Decimal(trend.centre),
        Decimal(trend.lower),
        Decimal(trend.upper),
    )
    unit = f" {with_unit('', trend.unit)}" if trend.unit else ""
    labels = (trend.upper, trend.centre, trend.lower)
    drawn = min(len(rows), room(paper, labels))
    part = f", the latest {drawn} drawn" if drawn < len(rows) else ""
    words = (
        f"mean {trend.centre}, control limits {trend.lower} to {trend.upper}{unit}{part}, "
        f"{paper.signs.chosen} {len(trend.points)} beyond them"
    )
    told = paper.paragraph(words, role=Role.QUIET)
    for note in trend.notes:
        told += paper.paragraph(note, first=" note  ", lead=Role.ACCENT)
    return [*told, paper.line(), *trend_plot(paper, curve, labels)]


def part_life_rows(paper: Paper, look: Appearance, answer: "PartLife") -> list[TextLine]:
    """A part's life: its runs, and the last value of each kind."""
    runs = [
        Row(
            (
                on_day(look, one.began, clock=False),
                one.title + (", rehearsal" if one.rehearsal else ""),
                one.status,
                counted_words(one.verdicts) or "no values",
            ),
            note=one.reason,
        )
        for one in reversed(answer.runs)
    ]
    numbers = [one.identity for one in reversed(answer.runs) if one.identity]
    rows = paper.paragraph(f"{numbers[0]}", first=" numbers  ", lead=Role.QUIET) if numbers else []
    heads = (Column("begun"), Column("procedure", gives=True), Column("result"), Column("values"))
    rows += (
        [paper.line(), *painted_rows(paper, heads, runs)]
        if rows
        else painted_rows(paper, heads, runs)
    )
    if answer.values:
        rows += [paper.line(), paper.line(" ", ("the last value of each kind", Role.QUIET))]
        rows += _last_values(paper, look, answer.values)
    return rows


def _last_values(paper: Paper, look: Appearance, values: Sequence["ReadingRow"]) -> list[TextLine]:
    told = [
        Row(
            (
                f"{row.step.name.replace('_', ' ') or step_title(row.step)} {row.place}".strip(),
                with_unit(row.value, row.unit),
                _remarks(row),
                on_day(look, row.utc, clock=False),
                _run(row),
            )
        )
        for row in reversed(values)
    ]
    heads = (
        Column("what", gives=True),
        Column("value", right=all(row.verdict != row.value for row in values)),
        Column("verdict"),
        Column("on"),
        Column("run", gives=True, wide=True),
    )
    return painted_rows(paper, heads, told)


def times_rows(paper: Paper, answer: Sequence["StepTime"]) -> list[TextLine]:
    """How long each step took."""
    if not answer:
        return paper.paragraph("No step was timed yet.")
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
    rule = paper.paragraph(TIMES_RULE, role=Role.QUIET)
    return [*painted_rows(paper, heads, told), paper.line(), *rule]


def _from_to(least: int, most: int) -> str:
    return f"{span(least)} to {span(most)}" if least != most else ""


_RECALLED: Final = 200  # rows of a recall list on the screen; the command gives all of them


def recall_rows(paper: Paper, look: Appearance, answer: "RecallList") -> list[TextLine]:
    """The recall list of an instrument since its calibration, the latest reading first."""
    since = f", since its calibration on {answer.since}" if answer.since else ""
    rows = paper.paragraph(
        f"{count(answer.total, 'reading')} of {count(answer.parts, 'part')} in "
        f"{count(answer.runs, 'run')}{since}"
    )
    if not answer.total:
        return rows
    rows += [*paper.paragraph(counted_words(answer.verdicts)), *_rehearsed(paper, answer.rows)]
    told = [
        Row(
            (
                on_day(look, row.utc),
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
    if len(told) < answer.total:
        rows.append(paper.line(" ", (f"the latest {len(told)}", Role.QUIET)))
    heads = (
        Column("when"),
        Column("reading", gives=True),
        Column("part", gives=True),
        Column("value", right=True),
        Column("verdict"),
        Column("run", gives=True, wide=True),
    )
    return [*rows, paper.line(), *painted_rows(paper, heads, told)]


def deviation_rows(
    paper: Paper, look: Appearance, answer: Sequence["DeviationRow"]
) -> list[TextLine]:
    """Deviations by step, the most frequent first, each with the last reason."""
    if not answer:
        return paper.paragraph("No deviations.")
    told = [
        Row(
            (
                f"{one.times} x",
                step_title(one.step),
                one.what,
                count(one.runs, "run"),
                on_day(look, one.last, clock=False),
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
    return painted_rows(paper, heads, told)


def index_words(index: "Refreshed", values: int) -> str:
    """How the index stands, in one sentence."""
    damaged = f", {count(len(index.skipped), 'damaged run')} skipped" if index.skipped else ""
    return f"{count(index.runs, 'run')}, {count(values, 'value')}{damaged}."


def index_rows(paper: Paper, index: "Refreshed", values: int) -> list[TextLine]:
    """How the index stands, and every damaged run with what was found."""
    rows = paper.paragraph(index_words(index, values))
    for name, text in index.skipped.items():
        rows += [paper.line(), paper.line(" ", (name, Role.STRONG))]
        rows += paper.paragraph(text, first="   ")
    if index.skipped:
        words = "benchrun verify says more of a damaged run. It is left as it is."
        rows += [paper.line(), *paper.paragraph(words, role=Role.QUIET)]
    return rows
