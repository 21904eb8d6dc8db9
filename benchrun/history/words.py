"""Words and steps by their numbers in the index; what was looked up once is not looked up again."""

import sqlite3
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.load_run import kept_procedure
from benchrun.procedure.route import Dwell, Inspect, Reading, Step, WorkOut
from benchrun.record.folder import RunFolder

_MOST_KEPT: Final = 100_000


class WordNumbers:
    """Gives every word and every step a number, for good."""

    def __init__(self, store: sqlite3.Connection) -> None:
        self._store = store
        self._words: dict[str, int] = {"": 0}
        self._steps: dict[tuple[str, str], tuple[int, str]] = {}
        self._known: set[str] = set()

    def word(self, text: str) -> int:
        """The number of a word; the empty one is 0."""
        number = self._words.get(text)
        if number is None:
            number = self._word(text)
            if len(self._words) > _MOST_KEPT:
                self._words = {"": 0}
            self._words[text] = number
        return number

    def _word(self, text: str) -> int:
        row = self._store.execute("SELECT id FROM words WHERE text = ?", (text,)).fetchone()
        if row is not None:
            return int(row[0])
        cursor = self._store.execute("INSERT INTO words (text) VALUES (?)", (text,))
        return int(cursor.lastrowid or 0)

    def step(self, procedure: str, step: str) -> int:
        """The number of a step of a procedure, whatever its revision."""
        return self._step(procedure, step)[0]

    def instrument(self, procedure: str, step: str) -> str:
        """The instrument that the procedure asks for at a step, or empty."""
        return self._step(procedure, step)[1]

    def _step(self, procedure: str, step: str) -> tuple[int, str]:
        known = self._steps.get((procedure, step))
        if known is None:
            query = "SELECT id, instrument FROM steps WHERE procedure = ? AND step = ?"
            row = self._store.execute(query, (procedure, step)).fetchone()
            if row is None:
                insert = "INSERT INTO steps (procedure, step) VALUES (?, ?)"
                row = (self._store.execute(insert, (procedure, step)).lastrowid, "")
            known = self._steps[procedure, step] = (int(row[0]), str(row[1]))
        return known

    def learn(self, folder: RunFolder, opened: dict[str, object], revision: int) -> None:
        """Take the words of a procedure's steps from the copy that a run keeps, once a revision.

        A copy that cannot be loaded is passed over: its steps are then known by their ids alone.
        """
        sha256 = str(opened.get("procedure_sha256", ""))
        if sha256 in self._known:
            return
        self._known.add(sha256)
        query = "SELECT 1 FROM procedures WHERE sha256 = ?"
        if self._store.execute(query, (sha256,)).fetchone():
            return
        try:
            procedure = kept_procedure(folder, opened)
        except (BenchrunError, ValueError):
            return
        self._store.execute("INSERT INTO procedures VALUES (?, ?)", (sha256, procedure.id))
        for step in procedure.route.steps.values():
            self._learn(procedure.id, revision, step)
        self._steps.clear()

    def _learn(self, procedure: str, revision: int, step: Step) -> None:
        detail = step.detail
        name = detail.name if isinstance(detail, Reading | WorkOut | Inspect) else ""
        instrument = detail.instrument if isinstance(detail, Reading) else ""
        number = self.step(procedure, step.id)
        self._store.execute(
            "UPDATE steps SET number = ?, kind = ?, name = ?, instrument = ?, text = ?, "
            "per = ?, waits = ?, revision = ? WHERE id = ? AND revision <= ?",
            (
                step.number,
                step.kind.value,
                name,
                instrument,
                step.text,
                _per(step),
                step.window is not None and step.window.least is not None,
                revision,
                number,
                revision,
            ),
        )


def _per(step: Step) -> str:
    """The subject of the time of one act of a step; empty where the whole batch is one."""
    if isinstance(step.detail, Dwell):
        return "a load"
    if step.together or step.set_up:
        return ""
    if step.gathers:
        return "a load"
    if step.shared:
        return "a reading"
    several = isinstance(step.detail, Reading) and len(step.detail.places) > 1
    return "a reading" if several else "a part"
