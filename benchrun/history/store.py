"""The file of the index: its tables, and opening it; whatever is wrong with it, it is made anew.

The index holds nothing that is not in the logs. Words that repeat (tags, units, verdicts) are kept
once in `words`; a step is kept once for its procedure, whatever the revision.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.text import shown

VERSION: Final = 9
NAME: Final = "history.sqlite"
_WAIT_S: Final = 5.0
_TABLES: Final = """
CREATE TABLE words (id INTEGER PRIMARY KEY, text TEXT NOT NULL UNIQUE);
CREATE TABLE steps (
  id INTEGER PRIMARY KEY, procedure TEXT NOT NULL, step TEXT NOT NULL,
  number INTEGER NOT NULL DEFAULT 0, kind TEXT NOT NULL DEFAULT '', name TEXT NOT NULL DEFAULT '',
  instrument TEXT NOT NULL DEFAULT '', text TEXT NOT NULL DEFAULT '',
  revision INTEGER NOT NULL DEFAULT 0,
  per TEXT NOT NULL DEFAULT 'a part', waits INTEGER NOT NULL DEFAULT 0,
  UNIQUE (procedure, step)
);
CREATE TABLE procedures (sha256 TEXT PRIMARY KEY, procedure TEXT NOT NULL);
CREATE TABLE runs (
  id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE, procedure TEXT NOT NULL, title TEXT NOT NULL,
  revision INTEGER NOT NULL, rehearsal INTEGER NOT NULL, began INTEGER NOT NULL,
  last INTEGER NOT NULL, closed INTEGER NOT NULL, size INTEGER NOT NULL, n INTEGER NOT NULL,
  head TEXT NOT NULL, tail INTEGER NOT NULL, boot TEXT NOT NULL, up_ms INTEGER NOT NULL
);
CREATE TABLE faults (
  name TEXT PRIMARY KEY, size INTEGER NOT NULL, mtime INTEGER NOT NULL, text TEXT NOT NULL
);
CREATE TABLE parts (
  run INTEGER NOT NULL, part INTEGER NOT NULL, identity TEXT NOT NULL, PRIMARY KEY (run, part)
) WITHOUT ROWID;
CREATE TABLE states (
  run INTEGER NOT NULL, part INTEGER NOT NULL, n INTEGER NOT NULL, status TEXT NOT NULL,
  reason TEXT NOT NULL, PRIMARY KEY (run, part, n)
) WITHOUT ROWID;
CREATE TABLE readings (
  step INTEGER NOT NULL, utc INTEGER NOT NULL, run INTEGER NOT NULL, n INTEGER NOT NULL,
  part INTEGER NOT NULL, place INTEGER NOT NULL, number TEXT, word INTEGER NOT NULL,
  unit INTEGER NOT NULL, low TEXT NOT NULL, high TEXT NOT NULL, verdict INTEGER NOT NULL,
  tool INTEGER NOT NULL, doubt TEXT NOT NULL, corrected INTEGER NOT NULL
);
CREATE TABLE revised (
  run INTEGER NOT NULL, n INTEGER NOT NULL, reading INTEGER NOT NULL, number TEXT,
  word INTEGER NOT NULL, verdict INTEGER NOT NULL, corrected INTEGER NOT NULL,
  low TEXT NOT NULL, high TEXT NOT NULL,
  PRIMARY KEY (run, n, reading)
) WITHOUT ROWID;
CREATE TABLE spans (
  step INTEGER NOT NULL, utc INTEGER NOT NULL, ms INTEGER NOT NULL, run INTEGER NOT NULL,
  n INTEGER NOT NULL, acts INTEGER NOT NULL
);
CREATE TABLE deviations (
  step INTEGER NOT NULL, utc INTEGER NOT NULL, run INTEGER NOT NULL, n INTEGER NOT NULL,
  what TEXT NOT NULL, reason TEXT NOT NULL, parts TEXT NOT NULL
);
CREATE TABLE signatures (
  run INTEGER NOT NULL, n INTEGER NOT NULL, who INTEGER NOT NULL, key INTEGER NOT NULL,
  PRIMARY KEY (run, n)
) WITHOUT ROWID;
CREATE TABLE decisions (
  run INTEGER NOT NULL, part INTEGER NOT NULL, step INTEGER NOT NULL, n INTEGER NOT NULL,
  answer TEXT NOT NULL, PRIMARY KEY (run, part, step, n)
) WITHOUT ROWID;
CREATE TABLE asked (
  run INTEGER NOT NULL, question TEXT NOT NULL, step TEXT NOT NULL, answers TEXT NOT NULL,
  PRIMARY KEY (run, question)
) WITHOUT ROWID;
"""
# Made after the first filling, when that is a matter of sorting once.
INDEXES: Final = (
    "CREATE INDEX IF NOT EXISTS readings_step ON readings (step, utc, verdict)",
    "CREATE INDEX IF NOT EXISTS readings_part ON readings (part, step, utc, verdict)",
    "CREATE INDEX IF NOT EXISTS readings_tool ON readings (tool, utc, verdict) WHERE tool > 0",
    "CREATE INDEX IF NOT EXISTS readings_run ON readings (run, n)",
    "CREATE INDEX IF NOT EXISTS spans_step ON spans (step, utc, ms, acts, run)",
    "CREATE INDEX IF NOT EXISTS spans_run ON spans (run, n)",
    "CREATE INDEX IF NOT EXISTS deviations_step ON deviations (step, what, utc)",
    "CREATE INDEX IF NOT EXISTS deviations_run ON deviations (run, n)",
    "CREATE INDEX IF NOT EXISTS parts_part ON parts (part)",
)


def open_store(path: Path) -> sqlite3.Connection:
    """Open the index, or make it; one of another version, or a damaged one, is made anew.

    Raises:
        BenchrunError: It cannot be read or written.
    """
    try:
        try:
            return _open(path)
        except sqlite3.OperationalError:
            raise
        except (sqlite3.DatabaseError, _Outdated):
            throw_away(path)
            return _open(path)
    except (sqlite3.Error, OSError, _Outdated) as error:
        raise BenchrunError(f"{shown(str(path), 200)} cannot be used: {error}") from None


class _Outdated(Exception):
    """An index that another version of the program made."""


def _open(path: Path) -> sqlite3.Connection:
    store = sqlite3.connect(path, timeout=_WAIT_S, isolation_level=None)
    try:
        store.execute("PRAGMA journal_mode = WAL")
        # After a power cut the last runs may be missing: they are read from their logs again.
        store.execute("PRAGMA synchronous = NORMAL")
        store.execute("PRAGMA cache_size = -12000")
        if _version(store) == 0:
            _make_tables(store)
        if _version(store) != VERSION:
            raise _Outdated(f"it is of version {_version(store)}")
        # Reads a page of the tables, so that a damaged file shows now.
        store.execute("SELECT count(*) FROM runs").fetchone()
    except BaseException:
        store.close()
        raise
    return store


def _version(store: sqlite3.Connection) -> int:
    return int(store.execute("PRAGMA user_version").fetchone()[0])


def _make_tables(store: sqlite3.Connection) -> None:
    with change(store):
        if _version(store):
            return  # another window was quicker
        for statement in _TABLES.split(";"):
            store.execute(statement)
        store.execute(f"PRAGMA user_version = {VERSION}")


def throw_away(path: Path) -> None:
    """Delete the index; nothing is lost with it.

    Raises:
        OSError: The disk refused.
    """
    for suffix in ("", "-wal", "-shm"):
        path.with_name(path.name + suffix).unlink(missing_ok=True)


@contextmanager
def change(store: sqlite3.Connection) -> Iterator[None]:
    """All of a change, or nothing of it."""
    store.execute("BEGIN IMMEDIATE")
    try:
        yield
    except BaseException:
        with suppress(sqlite3.Error):
            store.execute("ROLLBACK")
        raise
    store.execute("COMMIT")
