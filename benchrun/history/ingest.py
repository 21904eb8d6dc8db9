"""Takes the lines of one run into the index: values, spans, deviations, how parts fared."""

import json
import sqlite3
from collections.abc import Callable, Mapping
from decimal import Decimal, InvalidOperation
from typing import Any, Final

from benchrun.account.deviations import deviations_in, may_tell
from benchrun.account.questions import AskedFacts, asked_in
from benchrun.history.selections import PART_STATE
from benchrun.history.words import WordNumbers
from benchrun.load_run import entry_of
from benchrun.procedure.route import Act, Dwell, Step
from benchrun.record.line import Line
from benchrun.shopmath.accepting import verdict_of
from benchrun.text import listed

SITTING_MS: Final = 2 * 3_600_000
"""A gap that is longer than this is a break, not the time that a step took."""

_BREAKS: Final = frozenset({"stop", "resume"})
# Written down or done in passing: the work in hand goes on, and so does its time.
_IN_PASSING: Final = frozenset({"beat", "seal", "note", "photo", "lesson", "tend"})
_STATES: Final = {"aside": "set aside", "scrap": "scrap", "play": "in play"}

Data = Mapping[str, Any]


_READING: Final = "INSERT INTO readings VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)"
_SPAN: Final = "INSERT INTO spans VALUES (?,?,?,?,?,?)"
_PART: Final = "INSERT OR REPLACE INTO parts VALUES (?,?,?)"
_STATE: Final = "INSERT OR REPLACE INTO states VALUES (?,?,?,?,?)"
_DEVIATION: Final = "INSERT INTO deviations VALUES (?,?,?,?,?,?,?)"
_INSERTS: Final = (_READING, _SPAN, _PART, _STATE, _DEVIATION)


class Ingest:
    """Takes lines of one run, in order.

    Attributes:
        closed: Whether the run is closed.
        boot, up_ms: The boot clock at the last act, from which the next span counts; an empty boot
            means that a break lies between.
    """

    def __init__(
        self,
        store: sqlite3.Connection,
        words: WordNumbers,
        run: int,
        procedure: str,
        boot: str,
        up_ms: int,
        steps: Callable[[], Mapping[str, Step]],
    ) -> None:
        self._store = store
        self._words = words
        self._run = run
        self._procedure = procedure
        self._steps_of = steps
        self._steps: Mapping[str, Step] | None = None
        self._asked: dict[str, AskedFacts] = {}
        self.closed = False
        self.boot, self.up_ms = boot, up_ms
        self._rows: dict[str, list[tuple[object, ...]]] = {one: [] for one in _INSERTS}
        self._readings, self._spans = self._rows[_READING], self._rows[_SPAN]
        self._takes: Mapping[str, Callable[[Line, Data], None]] = {
            "open": self._opened,
            "add": self._added,
            "do": self._did,
            "in": self._in_or_out,
            "out": self._in_or_out,
            "answer": self._answered,
            "put": self._put,
            "got": self._got_back,
            "correct": self._corrected,
            "retract": self._retracted,
            "close": self._closes,
        }

    def take(self, line: Line) -> None:
        """Take the next line.

        Raises:
            ValueError, KeyError, TypeError, AttributeError: It has not the form of its kind.
        """
        take = self._takes.get(line.kind)
        if take is not None:
            take(line, line.data)
        if may_tell(line.kind, line.data):
            self._tell(line)
        if line.kind in _BREAKS or (line.kind == "seal" and line.data.get("why") == "suspend"):
            self.boot = ""
        elif line.kind not in _IN_PASSING:
            self.boot, self.up_ms = line.when["boot"], line.when["up_ms"]

    def finish(self) -> None:
        """Write down what was gathered; of an open run also what was asked, for its next lines."""
        self.put()
        if self.closed:
            self._store.execute("DELETE FROM asked WHERE run = ?", (self._run,))
            return
        rows = [
            (self._run, asked.id, asked.step, json.dumps(dict(asked.answers)))
            for asked in self._asked.values()
        ]
        self._store.executemany("INSERT OR REPLACE INTO asked VALUES (?, ?, ?, ?)", rows)

    def put(self) -> None:
        """Write down the rows that were gathered."""
        for statement, rows in self._rows.items():
            if rows:
                self._store.executemany(statement, rows)
                rows.clear()

    def _step(self, data: Data) -> int:
        return self._words.step(self._procedure, str(data["step"]))

    def _opened(self, line: Line, data: Data) -> None:
        for spec in data["parts"]:
            self._part(line, str(spec["part"]), str(spec.get("identity", "")))

    def _added(self, line: Line, data: Data) -> None:
        spec = data["part"]
        self._part(line, str(spec["part"]), str(spec.get("identity", "")))

    def _part(self, line: Line, part: str, identity: str) -> None:
        row = (self._run, self._words.word(part), identity)
        self._rows[_PART].append(row)
        self._state(line, (part,), "in play", "")

    def _state(self, line: Line, parts: tuple[str, ...], status: str, reason: str) -> None:
        self._rows[_STATE] += [
            (self._run, self._words.word(part), line.n, status, reason) for part in parts
        ]

    def _did(self, line: Line, data: Data) -> None:
        step, word = self._step(data), self._words.word
        tool = str(data.get("tool", {}).get("name", ""))
        tool = tool or self._words.instrument(self._procedure, str(data["step"]))
        place, utc = word(str(data.get("place", ""))), line.utc_ms
        for part, outcome in data.get("each", {}).items():
            value = outcome.get("value")
            if value is not None:
                number = value.get("number")
                measured = number is not None and not data.get("inputs")
                doubt = value.get("doubt") or data.get("tool", {}).get("uncertainty", "")
                about = (word(value.get("word", "")), word(value.get("unit", "")))
                limits = (outcome.get("low", ""), outcome.get("high", ""))
                verdict = word(outcome.get("verdict", ""))
                gauge = word(tool) if measured else 0
                key = (step, utc, self._run, line.n, word(part), place)
                self._readings.append((*key, number, *about, *limits, verdict, gauge, doubt, 0))
        self._span(line, step, max(1, len(data.get("parts", ()))))

    def _in_or_out(self, line: Line, data: Data) -> None:
        step = self._step(data)
        if line.kind == "out":
            proven = [o["proven"] for o in data.get("each", {}).values() if "proven" in o]
            if proven and not data.get("ago"):
                self._spans.append((step, line.utc_ms, max(proven), self._run, line.n, 1))
        known = self._step_of(str(data["step"]))
        if known is not None and isinstance(known.detail, Dwell) and known.detail.place:
            status = "away" if line.kind == "in" else "in play"
            self._state(line, tuple(map(str, data["parts"])), status, "")

    def _span(self, line: Line, step: int, acts: int) -> None:
        passed = line.when["up_ms"] - self.up_ms
        if line.when["boot"] == self.boot and 0 < passed <= SITTING_MS:
            self._spans.append((step, line.utc_ms, passed, self._run, line.n, acts))

    def _answered(self, line: Line, data: Data) -> None:
        code, parts = str(data["code"]), tuple(map(str, data["parts"]))
        if code in _STATES or code.startswith(f"{Act.AWAY} "):
            status = _STATES.get(code, "away")
            self._state(line, parts, status, str(data.get("reason", "")))

    def _got_back(self, line: Line, data: Data) -> None:
        self._state(line, tuple(map(str, data["parts"])), "in play", "")

    def _put(self, line: Line, data: Data) -> None:
        to, parts = str(data["to"]), tuple(map(str, data["parts"]))
        self._state(line, parts, _STATES.get(to, "in play"), str(data.get("reason", "")))

    def _tell(self, line: Line) -> None:
        """Take what an entry asks, and what it says was done otherwise than written."""
        entry = entry_of(line)
        self._asked |= {one.id: one for one in asked_in(entry.data, self._step_of)}
        for remark in deviations_in(entry, self._step_of, self._asked_of):
            step = self._words.step(self._procedure, remark.step) if remark.step else 0
            named = listed(remark.parts, most=12)
            row = (step, line.utc_ms, self._run, line.n, remark.what, remark.reason, named)
            self._rows[_DEVIATION].append(row)

    def _asked_of(self, question: str) -> AskedFacts | None:
        if question not in self._asked:
            query = "SELECT step, answers FROM asked WHERE run = ? AND question = ?"
            row = self._store.execute(query, (self._run, question)).fetchone()
            if row is None:
                return None
            self._asked[question] = AskedFacts(question, row[0], json.loads(row[1]))
        return self._asked[question]

    def _step_of(self, step: str) -> Step | None:
        if self._steps is None:
            self._steps = self._steps_of()
        return self._steps.get(step)

    def _corrected(self, line: Line, data: Data) -> None:
        self.put()
        for outcome in data.get("each", {}).values():
            for one in outcome.get("revised", ()):
                self._revise(line, one)

    def _revise(self, line: Line, one: Data) -> None:
        part, place = self._words.word(one["part"]), self._words.word(one.get("place", ""))
        found = self._store.execute(
            "SELECT rowid, number, low, high, doubt FROM readings "
            "WHERE run = ? AND n = ? AND part = ? AND place = ?",
            (self._run, int(one["n"]), part, place),
        ).fetchone()
        if found is None:
            return
        rowid, before, low, high, doubt = found
        self._store.execute(
            "INSERT OR IGNORE INTO revised SELECT ?, ?, rowid, number, word, verdict, corrected "
            "FROM readings WHERE rowid = ?",
            (self._run, line.n, rowid),
        )
        number = one.get("number")
        if before is None:
            word = self._words.word(one.get("word", ""))
            change = "UPDATE readings SET word = ?, verdict = ?, corrected = ? WHERE rowid = ?"
            self._store.execute(change, (word, word, line.n, rowid))
        elif number is not None:
            verdict = self._words.word(_verdict(number, low, high, doubt))
            change = "UPDATE readings SET number = ?, verdict = ?, corrected = ? WHERE rowid = ?"
            self._store.execute(change, (number, verdict, line.n, rowid))

    def _retracted(self, line: Line, data: Data) -> None:
        del line
        self.put()
        of = int(data["of"])
        for part in map(str, data["parts"]):
            key = (self._run, of, self._words.word(part))
            self._store.execute("DELETE FROM readings WHERE run = ? AND n = ? AND part = ?", key)
            self._store.execute("DELETE FROM states WHERE run = ? AND n = ? AND part = ?", key)
        # A correction that was a mistake: what it changed is again what it was.
        self._store.execute(
            "UPDATE readings SET (number, word, verdict, corrected) = "
            "(SELECT number, word, verdict, corrected FROM revised AS was "
            "WHERE was.run = ?1 AND was.n = ?2 AND was.reading = readings.rowid) "
            "WHERE rowid IN (SELECT reading FROM revised WHERE run = ?1 AND n = ?2)",
            (self._run, of),
        )
        self._store.execute("DELETE FROM spans WHERE run = ? AND n = ?", (self._run, of))
        self._store.execute("DELETE FROM deviations WHERE run = ? AND n = ?", (self._run, of))

    def _closes(self, line: Line, data: Data) -> None:
        self.closed = True
        if data.get("reasons"):
            self.put()
        for part, reason in data.get("reasons", {}).items():
            row = self._store.execute(
                PART_STATE, (self._run, self._words.word(str(part)))
            ).fetchone()
            status = row[0] if row and row[0] != "in play" else "not done"
            self._state(line, (str(part),), status, str(reason))


def _verdict(number: str, low: str, high: str, doubt: str) -> str:
    """The verdict on a corrected value by the limits that the log gives."""
    try:
        value, least, most = (Decimal(text) if text else None for text in (number, low, high))
        reach = Decimal(doubt or 0)
    except InvalidOperation:
        return ""
    return "" if value is None else verdict_of(value, least, most, reach)
