"""The work of `benchrun history`: refresh the index, ask it one question, tell the answer."""

import datetime as dt
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from benchrun.errors import BenchrunError
from benchrun.history.answers import RecallList
from benchrun.history.index import History, Progress, Refreshed
from benchrun.history.known import known_tools
from benchrun.history.questions import (
    deviations_by_step,
    part_life,
    reading_history,
    recall_list,
    step_times,
    worked_times,
)
from benchrun.history.wording import (
    as_data,
    deviations_text,
    part_text,
    reading_text,
    recall_csv,
    recall_text,
    times_text,
)
from benchrun.lean_dataclass import lean_dataclass
from benchrun.shop.folder import Shop
from benchrun.shop.instruments import read_instruments
from benchrun.text import count, meant, shown


@lean_dataclass(frozen=True, slots=True)
class IndexQuestion:
    """A question to the index; an empty one asks how the index stands.

    Attributes:
        procedure: The id of the procedure asked about.
        reading: This reading of it, over all runs and parts; with `part`, of that part alone.
        part: The life of this part, by its tag or its numbers.
        tool: The recall list of this instrument.
        since: Only those from this day on; None for the day of its calibration as the shop's own
            register gives it, or for all where that gives none.
        times: How long each step of the procedure took.
        deviating: Deviations by step; with `procedure`, of that one.
    """

    procedure: str = ""
    reading: str = ""
    part: str = ""
    tool: str = ""
    since: dt.date | None = None
    times: bool = False
    deviating: bool = False


def run_history(
    shop: Path,
    question: IndexQuestion,
    *,
    rebuild: bool = False,
    as_json: bool = False,
    as_csv: bool = False,
    progress: Progress | None = None,
) -> tuple[str, str]:
    """Answer one question about all runs of a shop, after reading what is new.

    Args:
        shop: The shop's folder.
        question: What is asked.
        rebuild: Throw the index away first.
        as_json: Give the answer as JSON.
        as_csv: Give a recall list as CSV.
        progress: Called now and then while the index is read on.

    Returns:
        The answer, and a line for each damaged run that was skipped (empty when there is none).

    Raises:
        BenchrunError: The question is incomplete, nothing is known, or the disk refused.
    """
    if as_csv and not question.tool:
        raise BenchrunError("--csv gives the recall list of an instrument: add --instrument ID")
    with History(shop) as history:
        done = history.rebuild(progress) if rebuild else history.refresh(progress)
        notes = "\n".join(
            f"skipped, damaged: {shown(name, 100)}: {shown(text, 200)}"
            for name, text in done.skipped.items()
        )
        if question.tool and question.since is None:
            question = replace(question, since=calibrated_on(shop, question.tool))
        answer, tell = _ask(history, shop, question)
        if tell is None:
            return _standing(done, as_json=as_json), notes
        if as_csv and isinstance(answer, RecallList):
            return recall_csv(answer).removesuffix("\r\n"), notes
        if as_json:
            return json.dumps(as_data(answer), indent=1), notes
        return tell(answer), notes


def _ask(
    history: History, shop: Path, asked: IndexQuestion
) -> tuple[object, Callable[[Any], str] | None]:
    if (asked.reading or asked.times) and not asked.procedure:
        raise BenchrunError("say of which procedure: a reading or a step belongs to one")
    if asked.procedure:
        worked_times(history, asked.procedure)
    if asked.reading:
        answer = reading_history(history, asked.procedure, asked.reading, asked.part)
        return answer, reading_text
    if asked.part:
        return part_life(history, asked.part), part_text
    if asked.tool:
        readings = recall_list(history, asked.tool, asked.since)
        if not readings.total:
            _refuse_unknown(history, shop, asked.tool)
        return readings, recall_text
    if asked.times:
        return step_times(history, asked.procedure), times_text
    if asked.deviating:
        return deviations_by_step(history, asked.procedure), deviations_text
    return None, None


def _refuse_unknown(history: History, shop: Path, tool: str) -> None:
    """Refuse an instrument that neither a run nor the shop's register knows."""
    measured = known_tools(history)
    rows = read_instruments(Shop(shop, "")).rows
    if tool in measured or any(tool == row.id or row.called(tool) for row in rows):
        return
    names = [*measured, *(row.id for row in rows), *(row.name for row in rows)]
    raise BenchrunError(
        f"no instrument {shown(tool, 60)!r} is known: {meant(tool, list(dict.fromkeys(names)))}"
    )


def calibrated_on(shop: Path, tool: str) -> dt.date | None:
    """The day on which an instrument was last calibrated, by the shop's register; None if unknown.

    Args:
        shop: The shop's folder.
        tool: Its id, or a name that only one instrument of the shop goes by.
    """
    rows = read_instruments(Shop(shop, "")).rows
    matching = [row for row in rows if row.id == tool] or [row for row in rows if row.called(tool)]
    return matching[0].calibrated if len(matching) == 1 else None


def _standing(done: Refreshed, *, as_json: bool) -> str:
    if as_json:
        return json.dumps(as_data(done), indent=1)
    said = f"{count(done.runs, 'run')} in the index, {count(done.read, 'run')} read on"
    skipped = f", {len(done.skipped)} damaged and skipped" if done.skipped else ""
    return f"{said} ({count(done.entries, 'entry', 'entries')}){skipped}"
