"""Keeps the account of one run in the index: values, spans, deviations, how parts fared."""

import json
import sqlite3
from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final

from benchrun.account.facts import RemarkFacts
from benchrun.account.line_walk import LineValue, LineWalk, revised_verdict
from benchrun.account.questions import AskedFacts
from benchrun.history.selections import PART_STATE
from benchrun.history.words import WordNumbers
from benchrun.part_names import part_names
from benchrun.procedure.route import Step
from benchrun.record.line import Line
from benchrun.record.sshsig import read_signature
from benchrun.record.trouble import BadSignature

_READING: Final = "INSERT INTO readings VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)"
_SPAN: Final = "INSERT INTO spans VALUES (?,?,?,?,?,?)"
_PART: Final = "INSERT OR REPLACE INTO parts VALUES (?,?,?)"
_STATE: Final = "INSERT OR REPLACE INTO states VALUES (?,?,?,?,?)"
_DECISION: Final = "INSERT INTO decisions VALUES (?,?,?,?,?)"
_DEVIATION: Final = "INSERT INTO deviations VALUES (?,?,?,?,?,?,?)"
_SIGNATURE: Final = "INSERT INTO signatures VALUES (?,?,?,?)"


class Ingest(LineWalk):
    """Takes lines of one run, in order; `finish` writes down what they say."""

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
        super().__init__(boot, up_ms, steps)
        self._store = store
        self._words = words
        self._run = run
        self._procedure = procedure
        self._rows: dict[str, list[tuple[object, ...]]] = {
            insert: []
            for insert in (_READING, _SPAN, _PART, _STATE, _DECISION, _DEVIATION, _SIGNATURE)
        }

    def finish(self) -> None:
        """Write down what was gathered; of an open run also what was asked, for its next lines."""
        self._write()
        if self.closed:
            self._store.execute("DELETE FROM asked WHERE run = ?", (self._run,))
            return
        rows = [
            (self._run, asked.id, asked.step, json.dumps(dict(asked.answers)))
            for asked in self.asked.values()
        ]
        self._store.executemany("INSERT OR REPLACE INTO asked VALUES (?, ?, ?, ?)", rows)

    def _write(self) -> None:
        for insert, rows in self._rows.items():
            if rows:
                self._store.executemany(insert, rows)
                rows.clear()

    def keep_part(self, part: str, identity: str) -> None:
        """Keep a part of the run."""
        self._rows[_PART].append((self._run, self._words.word(part), identity))

    def keep_state(self, n: int, parts: Sequence[str], status: str, reason: str) -> None:
        """Keep how parts stand from an entry on."""
        word, run = self._words.word, self._run
        self._rows[_STATE] += [(run, word(str(part)), n, status, reason) for part in parts]

    def keep_values(
        self, line: Line, step: str, place: str, tool: str, values: Sequence[LineValue]
    ) -> None:
        """Keep the values of an entry, with the instrument that the procedure asks for if none."""
        word, rows = self._words.word, self._rows[_READING]
        number = self._words.step(self._procedure, step)
        gauge = word(tool or self._words.instrument(self._procedure, step))
        n, utc, at, run = line.n, line.utc_ms, word(place), self._run
        for part, value, finding, unit, low, high, verdict, doubt, measured in values:
            rows.append(
                (
                    number,
                    utc,
                    run,
                    n,
                    word(part),
                    at,
                    value,
                    word(finding) if finding else 0,
                    word(unit) if unit else 0,
                    low,
                    high,
                    word(verdict) if verdict else 0,
                    gauge if measured else 0,
                    doubt,
                    0,
                )
            )

    def keep_span(self, line: Line, step: str, ms: int, acts: int) -> None:
        """Keep how long a step took for a number of acts."""
        number = self._words.step(self._procedure, step)
        self._rows[_SPAN].append((number, line.utc_ms, ms, self._run, line.n, acts))

    def keep_remark(self, line: Line, remark: RemarkFacts) -> None:
        """Keep a deviation."""
        step = self._words.step(self._procedure, remark.step) if remark.step else 0
        named = part_names(remark.parts)
        row = (step, line.utc_ms, self._run, line.n, remark.what, remark.reason, named)
        self._rows[_DEVIATION].append(row)

    def keep_signature(self, line: Line, who: str, sshsig: str) -> None:
        """Keep whose signature a line holds, and by which key."""
        try:
            key = read_signature(sshsig).key.fingerprint
        except BadSignature:
            key = ""
        word = self._words.word
        self._rows[_SIGNATURE].append((self._run, line.n, word(who), word(key)))

    def keep_decision(self, line: Line, parts: Sequence[str], step: str, answer: str) -> None:
        """Keep how a question about a step was answered for parts."""
        number, word = self._words.step(self._procedure, step), self._words.word
        self._rows[_DECISION] += [
            (self._run, word(str(part)), number, line.n, answer) for part in parts
        ]

    def revise(self, n: int, revision: Mapping[str, Any]) -> None:
        """Put a value right, and keep what it was."""
        row = self._kept_before(n, revision)
        if row is None:
            return
        rowid, before, low, high, doubt = row
        number = revision.get("number")
        if before is None:
            word = self._words.word(revision.get("word", ""))
            change = "UPDATE readings SET word = ?, verdict = ?, corrected = ? WHERE rowid = ?"
            self._store.execute(change, (word, word, n, rowid))
        elif number is not None:
            verdict = self._words.word(revised_verdict(number, low, high, doubt))
            change = "UPDATE readings SET number = ?, verdict = ?, corrected = ? WHERE rowid = ?"
            self._store.execute(change, (number, verdict, n, rowid))

    def relimit(self, n: int, relimit: Mapping[str, Any]) -> None:
        """Give a value the limits that hold for it since a correction."""
        row = self._kept_before(n, relimit)
        if row is not None:
            verdict = self._words.word(relimit.get("verdict", ""))
            change = "UPDATE readings SET low = ?, high = ?, verdict = ? WHERE rowid = ?"
            limits = (relimit.get("low", ""), relimit.get("high", ""), verdict, row[0])
            self._store.execute(change, limits)

    def _kept_before(self, n: int, value: Mapping[str, Any]) -> tuple[Any, ...] | None:
        """The row of a value, with what it was before entry `n` kept."""
        self._write()
        part = self._words.word(value["part"])
        place = self._words.word(value.get("place", ""))
        row: tuple[Any, ...] | None = self._store.execute(
            "SELECT rowid, number, low, high, doubt FROM readings "
            "WHERE run = ? AND n = ? AND part = ? AND place = ?",
            (self._run, int(value["n"]), part, place),
        ).fetchone()
        if row is not None:
            self._store.execute(
                "INSERT OR IGNORE INTO revised SELECT ?, ?, rowid, number, word, verdict, "
                "corrected, low, high FROM readings WHERE rowid = ?",
                (self._run, n, row[0]),
            )
        return row

    def forget(self, n: int, parts: Sequence[str]) -> None:
        """Forget what an entry said that was a mis-tap; what it put right is as it was."""
        self._write()
        for part in map(str, parts):
            key = (self._run, n, self._words.word(part))
            self._store.execute("DELETE FROM readings WHERE run = ? AND n = ? AND part = ?", key)
            self._store.execute("DELETE FROM states WHERE run = ? AND n = ? AND part = ?", key)
        self._store.execute(
            "UPDATE readings SET (number, word, verdict, corrected, low, high) = "
            "(SELECT number, word, verdict, corrected, low, high FROM revised AS was "
            "WHERE was.run = ?1 AND was.n = ?2 AND was.reading = readings.rowid) "
            "WHERE rowid IN (SELECT reading FROM revised WHERE run = ?1 AND n = ?2)",
            (self._run, n),
        )
        self._store.execute("DELETE FROM spans WHERE run = ? AND n = ?", (self._run, n))
        self._store.execute("DELETE FROM deviations WHERE run = ? AND n = ?", (self._run, n))
        self._store.execute("DELETE FROM decisions WHERE run = ? AND n = ?", (self._run, n))

    def state_of(self, part: str) -> str:
        """How a part stands; empty where that is not known."""
        self._write()
        key = (self._run, self._words.word(part))
        row = self._store.execute(PART_STATE, key).fetchone()
        return str(row[0]) if row else ""

    def asked_before(self, question: str) -> AskedFacts | None:
        """A question that was put by a line read at another time."""
        query = "SELECT step, answers FROM asked WHERE run = ? AND question = ?"
        row = self._store.execute(query, (self._run, question)).fetchone()
        return AskedFacts(question, row[0], json.loads(row[1])) if row else None
