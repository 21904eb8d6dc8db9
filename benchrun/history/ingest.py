"""Takes the lines of one run into the index: values, spans, deviations, how parts fared."""

import sqlite3
from collections.abc import Callable, Mapping
from decimal import Decimal, InvalidOperation
from typing import Any, Final

from benchrun.history.selections import PART_STATE
from benchrun.history.words import Words
from benchrun.record.line import Line
from benchrun.text import listed

SITTING_MS: Final = 2 * 3_600_000
"""A gap that is longer than this is a break, not the time that a step took."""

_BREAKS: Final = frozenset({"stop", "resume"})
# Written down or done in passing: the work in hand goes on, and so does its time.
_IN_PASSING: Final = frozenset({"beat", "seal", "note", "photo", "lesson", "tend"})
_STATES: Final = {"aside": "set aside", "scrap": "scrap", "play": "in play"}

Data = Mapping[str, Any]


class Taking:
    """Takes lines of one run, in order.

    Attributes:
        closed: Whether the run is closed.
        boot, up_ms: The boot clock at the last act, from which the next span counts; an empty boot
            means that a break lies between.
    """

    def __init__(
        self,
        store: sqlite3.Connection,
        words: Words,
        run: int,
        procedure: str,
        boot: str,
        up_ms: int,
    ) -> None:
        self._store = store
        self._words = words
        self._run = run
        self._procedure = procedure
        self.closed = False
        self.boot, self.up_ms = boot, up_ms
        self._readings: list[tuple[object, ...]] = []
        self._spans: list[tuple[int, int, int, int, int, int]] = []
        self._takes: Mapping[str, Callable[[Line, Data], None]] = {
            "open": self._opened,
            "add": self._added,
            "do": self._did,
            "in": self._in_or_out,
            "out": self._in_or_out,
            "skip": self._skipped,
            "ask": self._asked,
            "answer": self._answered,
            "put": self._put,
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
        if line.kind in _BREAKS or (line.kind == "seal" and line.data.get("why") == "suspend"):
            self.boot = ""
        elif line.kind not in _IN_PASSING:
            self.boot, self.up_ms = line.when["boot"], line.when["up_ms"]

    def put(self) -> None:
        """Write down what was gathered."""
        self._store.executemany(
            "INSERT INTO readings VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)", self._readings
        )
        self._store.executemany("INSERT INTO spans VALUES (?,?,?,?,?,?)", self._spans)
        self._readings.clear()
        self._spans.clear()

    def _step(self, data: Data) -> int:
        return self._words.step(self._procedure, str(data["step"]))

    def _opened(self, line: Line, data: Data) -> None:
        for spec in data["parts"]:
            self._part(line, str(spec["part"]), str(spec.get("identity", "")))
        self._asks(data)

    def _added(self, line: Line, data: Data) -> None:
        spec = data["part"]
        self._part(line, str(spec["part"]), str(spec.get("identity", "")))
        self._deviates(line, 0, "joined late", data, (str(spec["part"]),))

    def _part(self, line: Line, part: str, identity: str) -> None:
        row = (self._run, self._words.word(part), identity)
        self._store.execute("INSERT OR REPLACE INTO parts VALUES (?, ?, ?)", row)
        self._state(line, (part,), "in play", "")

    def _state(self, line: Line, parts: tuple[str, ...], status: str, reason: str) -> None:
        self._store.executemany(
            "INSERT OR REPLACE INTO states VALUES (?, ?, ?, ?, ?)",
            [(self._run, self._words.word(part), line.n, status, reason) for part in parts],
        )

    def _asks(self, data: Data) -> None:
        rows = [
            (self._run, str(asked["id"]), self._step(asked))
            for outcome in data.get("each", {}).values()
            for asked in outcome.get("asks", ())
        ]
        if rows:
            self._store.executemany("INSERT OR REPLACE INTO asked VALUES (?, ?, ?)", rows)

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
        self._otherwise(line, step, data)
        self._asks(data)

    def _in_or_out(self, line: Line, data: Data) -> None:
        step = self._step(data)
        if line.kind == "out":
            proven = [o["proven"] for o in data.get("each", {}).values() if "proven" in o]
            if proven and not data.get("ago"):
                self._spans.append((step, line.utc_ms, max(proven), self._run, line.n, 1))
        self._otherwise(line, step, data)
        self._asks(data)

    def _span(self, line: Line, step: int, acts: int) -> None:
        passed = line.when["up_ms"] - self.up_ms
        if line.when["boot"] == self.boot and 0 < passed <= SITTING_MS:
            self._spans.append((step, line.utc_ms, passed, self._run, line.n, acts))

    def _otherwise(self, line: Line, step: int, data: Data) -> None:
        each = data.get("each", {})
        words = [f"without {listed(data['without'])}"] if data.get("without") else []
        words += data.get("flags", ())
        off = {o.get("verdict") for o in each.values()} & {"early", "late", "too soon"}
        words += sorted(off) if line.kind == "out" or "too soon" in off else []
        if words or data.get("reason"):
            self._deviates(line, step, "; ".join(words) or "otherwise than written", data)

    def _skipped(self, line: Line, data: Data) -> None:
        self._deviates(line, self._step(data), "left out", data)
        self._asks(data)

    def _asked(self, line: Line, data: Data) -> None:
        del line
        self._asks(data)

    def _answered(self, line: Line, data: Data) -> None:
        code, parts = str(data["code"]), tuple(map(str, data["parts"]))
        each = data.get("each", {})
        settled = next((o["settles"] for o in each.values() if o.get("settles")), "")
        query = "SELECT step FROM asked WHERE run = ? AND question = ?"
        row = self._store.execute(query, (self._run, settled)).fetchone()
        step = int(row[0]) if row else 0
        if code in _STATES or code.startswith("away "):
            status = _STATES.get(code, "away")
            self._state(line, parts, status, str(data.get("reason", "")))
        if data.get("reason"):
            self._deviates(line, step, f"question settled: {code}", data)
        self._asks(data)

    def _put(self, line: Line, data: Data) -> None:
        to, parts = str(data["to"]), tuple(map(str, data["parts"]))
        self._state(line, parts, _STATES.get(to, "in play"), str(data.get("reason", "")))
        step = 0 if to in _STATES else self._words.step(self._procedure, to)
        what = _STATES.get(to, "put back to this step")
        self._deviates(line, step, what, data)
        self._asks(data)

    def _deviates(
        self, line: Line, step: int, what: str, data: Data, parts: tuple[str, ...] = ()
    ) -> None:
        named = listed(parts or tuple(map(str, data.get("parts", ()))), most=12)
        row = (step, line.utc_ms, self._run, line.n, what, str(data.get("reason", "")), named)
        self._store.execute("INSERT INTO deviations VALUES (?, ?, ?, ?, ?, ?, ?)", row)

    def _corrected(self, line: Line, data: Data) -> None:
        self.put()
        for outcome in data.get("each", {}).values():
            for one in outcome.get("revised", ()):
                self._revise(line, one)
        self._asks(data)

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
            verdict = self._words.word(judged(number, low, high, doubt))
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
        self._store.execute("DELETE FROM asked WHERE run = ?", (self._run,))
        for part, reason in data.get("reasons", {}).items():
            row = self._store.execute(
                PART_STATE, (self._run, self._words.word(str(part)))
            ).fetchone()
            status = row[0] if row and row[0] != "in play" else "not done"
            self._state(line, (str(part),), status, str(reason))
            self._deviates(line, 0, "closed though not done", {"reason": reason}, (str(part),))


def judged(number: str, low: str, high: str, doubt: str) -> str:
    """The verdict on a corrected value by the limits that the log gives (ISO 14253-1)."""
    if not low and not high:
        return ""
    try:
        value, reach = Decimal(number), Decimal(doubt or 0)
        least, most = Decimal(low or "-Infinity"), Decimal(high or "Infinity")
    except InvalidOperation:
        return ""
    if value + reach < least or value - reach > most:
        return "outside"
    if value - reach < least or value + reach > most:
        return "in doubt" if reach else "outside"
    return "inside"
