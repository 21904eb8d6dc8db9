"""The questions that the index answers. Each is one or two look-ups; none reads a log."""

import datetime as dt
import sqlite3
from collections.abc import Sequence, Set
from decimal import Decimal
from pathlib import Path
from typing import Any

from benchrun.account.line_walk import IN_PLAY
from benchrun.account.papers import KNOWN_WORDS
from benchrun.errors import BenchrunError
from benchrun.history import selections as select
from benchrun.history.answers import (
    DeviationRow,
    PartLife,
    PartRun,
    ReadingHistory,
    ReadingRow,
    RecalledReading,
    RecallList,
    StepTime,
    StepWords,
    Trend,
)
from benchrun.history.index import History
from benchrun.history.known import indexed_parts, known_procedures
from benchrun.quantity import plain
from benchrun.record.signers import Signer, read_signers
from benchrun.shopmath.spread import control
from benchrun.text import meant, shown


def reading_history(
    history: History, procedure: str, reading: str, part: str = "", latest: int = select.LATEST
) -> ReadingHistory:
    """One reading, finding or worked-out value over all runs and parts.

    Args:
        history: The index.
        procedure: The procedure's id.
        reading: The step's id, or what formulas call its value.
        part: Only this part; empty for all.
        latest: How many to go back for the table and the trend.

    Raises:
        BenchrunError: No run holds such a value; says which there are.
    """
    store = history.store
    number, step = _step(store, procedure, reading)
    if part:
        keys = (_word(store, part), number)
        counts = _verdicts(store, select.COUNT_OF_STEP_AND_PART, keys)
        rows = _rows(store, select.OF_STEP_AND_PART, (*keys, latest))
    else:
        counts = _verdicts(store, select.COUNT_OF_STEP, (number,))
        rows = _rows(store, select.OF_STEP, (number, latest))
    return ReadingHistory(step, counts, rows, trend_of(rows))


def _step(store: sqlite3.Connection, procedure: str, reading: str) -> tuple[int, StepWords]:
    steps = store.execute(select.STEPS, (procedure,)).fetchall()
    for row in steps:
        if reading in (row[2], row[5]):
            return int(row[0]), StepWords(*row[1:])
    known = [row[1] for row in store.execute(select.KNOWN_VALUES, (procedure,))]
    would = meant(reading, known, most=40)
    raise BenchrunError(f"no run holds {shown(reading, 60)!r} of {shown(procedure, 60)!r}: {would}")


def worked_times(history: History, procedure: str) -> str:
    """The id of a procedure of which a run is known.

    Raises:
        BenchrunError: No run of it is known.
    """
    known = [procedure.id for procedure in known_procedures(history)]
    if procedure not in known:
        name = shown(procedure, 60)
        raise BenchrunError(f"no run of {name!r} is known: {meant(procedure, known)}")
    return procedure


def _verdicts(store: sqlite3.Connection, query: str, keys: Sequence[object]) -> dict[str, int]:
    rows = store.execute(query, keys).fetchall()
    return dict(sorted((_text(store, verdict), number) for verdict, number in rows))


def _text(store: sqlite3.Connection, word: int) -> str:
    row = store.execute("SELECT text FROM words WHERE id = ?", (word,)).fetchone()
    return str(row[0]) if row else ""


def _word(store: sqlite3.Connection, text: str) -> int:
    row = store.execute("SELECT id FROM words WHERE text = ?", (text,)).fetchone()
    return int(row[0]) if row else -1


def _rows(store: sqlite3.Connection, chosen: str, keys: Sequence[object]) -> tuple[ReadingRow, ...]:
    rows = store.execute(select.ROWS.replace("{chosen}", chosen), keys)
    return tuple(_row(row) for row in rows)


def _row(row: Sequence[Any]) -> ReadingRow:
    run, n, utc, part, identity, place, number, word, unit = row[:9]
    low, high, verdict, tool, corrected, rehearsal = row[9:15]
    value = number if number is not None else word or ""
    return ReadingRow(
        run, n, utc_text(utc), part, identity, place or "", value, unit or "", low, high,
        verdict or "", tool or "", bool(corrected), bool(rehearsal), StepWords(*row[15:]),
    )  # fmt: skip


def utc_text(utc_ms: int) -> str:
    """Wall time as RFC 3339 text to the second."""
    return f"{dt.datetime.fromtimestamp(utc_ms // 1000, dt.UTC):%Y-%m-%dT%H:%M:%SZ}"


def trend_of(rows: Sequence[ReadingRow]) -> Trend | None:
    """Control limits over values in the order of time, by `shopmath.spread.control`.

    Returns:
        None for findings, for fewer than two values, and for values in several units.
    """
    numbers: list[Decimal] = []
    units: set[str] = set()
    for row in rows:
        if row.verdict == row.value:
            return None
        numbers.append(Decimal(row.value))
        units.add(row.unit)
    if len(numbers) < 2 or len(units) != 1:
        return None
    unit = units.pop()
    result = control(numbers, unit)
    centre, low, high = (
        Decimal(str(result.outputs[key].value)) for key in ("centre", "lower", "upper")
    )
    notes = tuple(result.notes)
    if len({(row.low, row.high) for row in rows}) > 1:
        notes = ("the limits are not the same for all: the values may be of several sizes", *notes)
    points = tuple(n for n, number in enumerate(numbers, 1) if not low <= number <= high)
    return Trend(unit, _short(centre), _short(low), _short(high), points, notes)


def _short(number: Decimal) -> str:
    """A worked-out number to seven digits, which is more than any instrument gives."""
    if len(number.as_tuple().digits) > 7:
        number = number.quantize(Decimal(1).scaleb(max(-12, number.adjusted() - 6)))
    return plain(number)


def part_life(history: History, part: str, latest: int = select.LATEST) -> PartLife:
    """A part's life over all runs, by its tag or by its cast or stamped numbers.

    Args:
        history: The index.
        part: The tag, or the numbers as they were entered.
        latest: How many runs to go back.

    Raises:
        BenchrunError: No run knows it.
    """
    store = history.store
    keys = (_word(store, part), part, latest)
    rows = store.execute(select.PART_RUNS, keys).fetchall()
    if not rows:
        parts = [
            name for part in indexed_parts(history) for name in (part.part, part.identity) if name
        ]
        raise BenchrunError(f"no run knows a part {shown(part, 60)!r}: {meant(part, parts)}")
    known = {(row.principal, row.key.fingerprint) for row in _signers(history.shop)}
    runs = tuple(_part_run(store, row, known) for row in reversed(rows))
    return PartLife(part, runs, _rows(store, select.LAST_OF_PART, keys))


def _signers(shop: Path) -> tuple[Signer, ...]:
    try:
        return read_signers(shop / "signers").signers
    except BenchrunError:
        return ()  # then the shop knows nobody, as verifying says in full


def _part_run(
    store: sqlite3.Connection, row: Sequence[Any], known: Set[tuple[str, str]]
) -> PartRun:
    run, name, procedure, title, revision, began, last, closed, rehearsal, part, identity = row
    state = store.execute(select.PART_STATE, (run, part)).fetchone()
    status, reason = state or ("in play", "")
    if closed and status == "in play":
        status = "done"
    verdicts = _verdicts(store, select.COUNT_OF_RUN, (part, run))
    signed = dict.fromkeys(store.execute(select.SIGNERS_OF_RUN, (run,)).fetchall())
    signers = tuple(f"{who}{KNOWN_WORDS[(who, key) in known]}" for who, key in signed)
    return PartRun(
        name, procedure, title, revision, utc_text(began), utc_text(last), identity, status,
        reason, verdicts, bool(rehearsal), signers,
    )  # fmt: skip


def step_times(
    history: History, procedure: str, latest: int = select.LATEST, but: str = ""
) -> tuple[StepTime, ...]:
    """How long each step of a procedure took, by the latest times that it was done.

    What counts as the time of a step:

    - A dwell counts the time of each load that is proven; one whose end was told late counts none.
    - Another step counts the time since the entry before it, divided by the parts of the entry
      where the step is done for each part. Notes, photos, lessons and tending in between are part
      of it.
    - Not counted: a gap of more than two hours (`line_walk.SITTING_MS`), a restart of the machine,
      a run that was left or stopped in between, and a step with a window that must open first,
      whose time is mostly waiting.
    - Rehearsals count only while nothing else is known.

    Args:
        history: The index, or anything with its `store`.
        procedure: The procedure's id.
        latest: How many times to go back.
        but: A run that does not count, or empty.

    Raises:
        BenchrunError: No run of it is known.
    """
    return times_in(history.store, worked_times(history, procedure), latest, but)


def times_in(
    store: sqlite3.Connection, procedure: str, latest: int = select.LATEST, but: str = ""
) -> tuple[StepTime, ...]:
    """The step times of a procedure by an index that is open; see `step_times`."""
    answer = []
    for step in store.execute(select.TIMED, (procedure,)).fetchall():
        spans = store.execute(select.SPANS, (step[0], but, latest)).fetchall()
        worked = [span for span in spans if not span[3]]
        kept = worked or spans
        if kept:
            alone = not step[7]
            times = sorted(ms if alone else ms // acts for ms, acts, _, _ in kept)
            runs = len({run for _, _, run, _ in kept})
            about = (step[7], len(times), runs, not worked)
            answer.append(StepTime(StepWords(*step[1:7]), *about, *_quartiles(times)))
    return tuple(answer)


def _quartiles(ms: Sequence[int]) -> tuple[int, int, int, int, int]:
    """Least, quarter, median, three quarters, most; between two values the shorter one."""
    last = len(ms) - 1
    return (ms[0], ms[last // 4], ms[last // 2], ms[last * 3 // 4], ms[last])


def recall_list(history: History, tool: str, since: dt.date | None = None) -> RecallList:
    """The readings, parts and runs to be looked at again because of an instrument.

    Args:
        history: The index.
        tool: What the log calls it; where an entry names none, what the procedure asks for.
        since: The day from which on, such as that of its last good calibration; None for all.
    """
    store, start = history.store, 0
    if since is not None:
        start = int(dt.datetime.combine(since, dt.time(), dt.UTC).timestamp()) * 1000
    found = store.execute(select.RECALL, (_word(store, tool), start))
    rows = tuple(_recalled(row) for row in found)
    verdicts: dict[str, int] = {}
    for row in rows:
        verdicts[row.verdict] = verdicts.get(row.verdict, 0) + 1
    return RecallList(
        tool,
        since.isoformat() if since else "",
        len(rows),
        len({row.run for row in rows}),
        len({(row.run, row.part) for row in rows}),
        dict(sorted(verdicts.items())),
        rows,
    )


def _recalled(row: Sequence[Any]) -> RecalledReading:
    run, title, n, utc, part, identity, place, number, reading, value, unit = row[:11]
    low, high, verdict, corrected, rehearsal, decided, status, reason, closed = row[11:]
    ended = "done" if closed and status == IN_PLAY else status
    return RecalledReading(
        run, title, n, utc_text(utc), part, identity, place or "", number, reading, value or "",
        unit or "", low, high, verdict or "", bool(corrected), bool(rehearsal), decided, ended,
        reason,
    )  # fmt: skip


def deviations_by_step(history: History, procedure: str = "") -> tuple[DeviationRow, ...]:
    """Deviations by step, the most frequent first.

    Args:
        history: The index.
        procedure: Only those of this procedure; empty for all.
    """
    rows = history.store.execute(select.DEVIATIONS, (procedure,))
    return tuple(
        DeviationRow(
            StepWords(*row[:6]) if row[0] is not None else None,
            row[6],
            row[7],
            row[8],
            utc_text(row[9]),
            row[10],
            row[11],
        )
        for row in rows
    )
