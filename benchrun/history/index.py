"""The index over a shop's runs: made from the logs, read on as they grow, thrown away at will."""

import hashlib
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import field
from pathlib import Path
from types import TracebackType
from typing import IO, Final, Self

from benchrun.account.line_walk import states
from benchrun.errors import BenchrunError, disk_said
from benchrun.history.ingest import Ingest
from benchrun.history.store import INDEXES, NAME, change, open_store, throw_away
from benchrun.history.words import WordNumbers
from benchrun.lean_dataclass import lean_dataclass
from benchrun.load_run import compiled_copy
from benchrun.plain_file import open_regular
from benchrun.procedure.route import Step
from benchrun.record.chain import Chain, raw_lines
from benchrun.record.folder import RunFolder
from benchrun.record.line import ZEROS, Line
from benchrun.shop.folder import pasteable
from benchrun.text import shown

Progress = Callable[[int, int], None]
_RUNS_A_CHANGE: Final = 200
_FINAL: Final = 2
_MANY: Final = 500  # new runs from which it is quicker to make the indexes afterwards


@lean_dataclass(slots=True)
class Refreshed:
    """The outcome of reading on.

    Attributes:
        runs: How many runs there are in the index.
        read: How many runs were new or had grown.
        entries: How many entries were read.
        skipped: The runs that are damaged, with what was found; they are in no answer.
    """

    runs: int = 0
    read: int = 0
    entries: int = 0
    skipped: dict[str, str] = field(default_factory=dict)


@lean_dataclass(frozen=True, slots=True)
class _Known:
    """A run as the index has it: how far it was read, and where the next line must follow."""

    id: int
    closed: int
    size: int
    n: int
    head: str
    tail: int
    boot: str
    up_ms: int
    procedure: str


def _can_keep(shop: Path) -> bool:
    """Whether an index can be kept in a shop; one that is not there is told by opening it."""
    return os.access(shop, os.W_OK) or not shop.is_dir()


class _PassingIndex:
    """An index beside a shop that can only be read, for as long as it is asked.

    Args:
        shop: The shop's folder; the index that lies there is where it begins.
    """

    def __init__(self, shop: Path) -> None:
        self._folder = tempfile.TemporaryDirectory(prefix="benchrun-history-")
        self.path = Path(self._folder.name) / NAME
        with suppress(OSError):
            shutil.copyfile(shop / NAME, self.path)

    def drop(self) -> None:
        """Take it away."""
        self._folder.cleanup()


class History:
    """The index of one shop. Use it as a context, or close it.

    Args:
        shop: The shop's folder.
        path: The file of the index; None for the usual one in the shop.

    Attributes:
        shop: The shop's folder.

    Raises:
        BenchrunError: It cannot be read or written.
    """

    def __init__(self, shop: Path, path: Path | None = None) -> None:
        self.shop = shop
        self._runs = shop / "runs"
        self._passing = _PassingIndex(shop) if path is None and not _can_keep(shop) else None
        self._path = path or (self._passing.path if self._passing else shop / NAME)
        self.store = open_store(self._path)
        self._words = WordNumbers(self.store)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        self.store.close()
        if self._passing is not None:
            self._passing.drop()

    def rebuild(self, progress: Progress | None = None) -> Refreshed:
        """Throw the index away and build it from the logs.

        Raises:
            BenchrunError: The disk refused, or another window uses the index.
        """
        self.store.close()
        try:
            throw_away(self._path)
        except OSError as error:
            raise BenchrunError(
                f"{shown(str(self._path), 200)} cannot be deleted: {disk_said(error)}"
            ) from None
        self.store = open_store(self._path)
        self._words = WordNumbers(self.store)
        return self.refresh(progress)

    def refresh(self, progress: Progress | None = None) -> Refreshed:
        """Read what is new: new runs, and new entries of runs that are not closed.

        A closed run that was read is not looked at again; whether it is still whole is a matter for
        `benchrun verify`.

        Args:
            progress: Called now and then with how many of how many runs were looked at.

        Raises:
            BenchrunError: The disk refused, or another window holds the index for too long.
        """
        try:
            return self._refresh(progress)
        except sqlite3.Error as error:
            anew = pasteable(self.shop, "history", "--rebuild")
            raise BenchrunError(
                f"{shown(str(self._path), 200)} cannot be written: {error}. "
                f"Nothing is lost; this rebuilds it: {anew}"
            ) from None

    def _refresh(self, progress: Progress | None) -> Refreshed:
        done, version = Refreshed(), self._version()
        known, final, names = self._known(), self._final(), self._names()
        self._forget((known.keys() | final) - names)
        if not known and not final and len(names) > _MANY:
            self._drop_indexes()
        wanted = sorted(names - final)
        for start in range(0, len(wanted), _RUNS_A_CHANGE):
            with change(self.store):
                if self._version() != version:
                    # Another window has read on meanwhile; nothing changes now until this is done.
                    version, known, final = self._version(), self._known(), self._final()
                for name in wanted[start : start + _RUNS_A_CHANGE]:
                    if name in final:
                        continue
                    self._read(RunFolder(self._runs / name), known.get(name), done)
            if progress is not None:
                progress(min(start + _RUNS_A_CHANGE, len(wanted)), len(wanted))
        for statement in INDEXES:
            self.store.execute(statement)
        if done.entries > 10_000:
            # What the planner knows of the tables; cheap, and only worth it after much was added.
            self.store.execute("PRAGMA optimize")
            self.store.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        done.runs = self.store.execute("SELECT count(*) FROM runs").fetchone()[0]
        done.skipped = dict(self.store.execute("SELECT name, text FROM faults ORDER BY name"))
        return done

    def unread(self) -> int:
        """How many runs there are of which nothing was read yet."""
        read = self.store.execute("SELECT name FROM runs UNION SELECT name FROM faults")
        return len(self._names() - {name for (name,) in read})

    def _version(self) -> int:
        """A number that another one follows when somebody else has changed the index."""
        return int(self.store.execute("PRAGMA data_version").fetchone()[0])

    def _known(self) -> dict[str, _Known]:
        rows = self.store.execute(
            "SELECT name, id, closed, size, n, head, tail, boot, up_ms, procedure FROM runs "
            "WHERE closed <> ?",
            (_FINAL,),
        )
        return {
            row[0]: _Known(row[1], row[2], row[3], row[4], row[5], row[6], *row[7:]) for row in rows
        }

    def _final(self) -> set[str]:
        """The runs that were closed for good when they were read."""
        rows = self.store.execute("SELECT name FROM runs WHERE closed = ?", (_FINAL,))
        return {name for (name,) in rows}

    def _names(self) -> set[str]:
        """The folders of runs; what is no run has no log and is passed over later."""
        try:
            with os.scandir(self._runs) as folder:
                return {entry.name for entry in folder if not entry.name.startswith(".")}
        except FileNotFoundError:
            return set()
        except OSError as error:
            raise BenchrunError(
                f"{shown(str(self._runs), 200)} cannot be read: {disk_said(error)}"
            ) from None

    def _drop_indexes(self) -> None:
        for (name,) in self.store.execute(
            "SELECT name FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL"
        ).fetchall():
            self.store.execute(f'DROP INDEX "{name}"')

    def _forget(self, gone: set[str]) -> None:
        """Take out runs whose folder is gone."""
        if gone:
            with change(self.store):
                for name in gone:
                    self._take_out(name)
        for (name,) in self.store.execute("SELECT name FROM faults").fetchall():
            if not (self._runs / name).is_dir():
                self.store.execute("DELETE FROM faults WHERE name = ?", (name,))

    def _take_out(self, name: str) -> None:
        row = self.store.execute("SELECT id FROM runs WHERE name = ?", (name,)).fetchone()
        if row is None:
            return
        for statement in _TAKE_OUT:
            self.store.execute(statement, row)

    def _read(self, folder: RunFolder, known: _Known | None, done: Refreshed) -> None:
        """Read one run on; a damaged one is taken out and noted."""
        try:
            state = folder.log.stat()
        except OSError:
            return  # no log: a folder of something else, or a run that never began
        fault = self.store.execute(
            "SELECT 1 FROM faults WHERE name = ? AND size = ? AND mtime = ?",
            (folder.run, state.st_size, state.st_mtime_ns),
        ).fetchone()
        if fault or (known is not None and known.size == state.st_size):
            return
        self.store.execute("SAVEPOINT run")
        try:
            with open_regular(folder.log) as file:
                done.entries += self._lines(folder, file, known)
            done.read += 1
            self.store.execute("DELETE FROM faults WHERE name = ?", (folder.run,))
            self.store.execute("RELEASE run")
        except (BenchrunError, OSError, ValueError, KeyError, TypeError, AttributeError) as error:
            self.store.execute("ROLLBACK TO run")
            self.store.execute("RELEASE run")
            self._words = WordNumbers(self.store)
            self._take_out(folder.run)
            said = error.message if isinstance(error, BenchrunError) else _said(error)
            self.store.execute(
                "INSERT OR REPLACE INTO faults VALUES (?, ?, ?, ?)",
                (folder.run, state.st_size, state.st_mtime_ns, said),
            )

    def _lines(self, folder: RunFolder, file: IO[bytes], known: _Known | None) -> int:
        if known is not None and not _goes_on(file, known):
            self._take_out(folder.run)
            known = None
            file.seek(0)
        chain = Chain(folder.run)
        if known is not None:
            chain.n, chain.head = known.n, known.head
        first, size, tail = chain.n, known.size if known else 0, known.tail if known else 0
        ingest = self._going_on(folder, known) if known else None
        run, last, at = known.id if known else 0, None, size
        stated: Line | None = None
        for raw in raw_lines(file, folder.run, first):
            if raw[-1:] != b"\n":
                break  # a line that is being written, or was torn: read when it is whole
            line, at = chain.take(raw), at + len(raw)
            if ingest is None:
                run, ingest = self._begin(folder, line)
            before, stated = stated, line if states(line.kind, line.data) else None
            if stated is not None:
                continue  # read with its signature, as without one it counts for nothing
            if before is not None and line.kind == "sign":
                ingest.take(before)
            ingest.take(line)
            size, tail, last = at, len(raw), line
        if ingest is None or last is None:
            return 0
        ingest.finish()
        clock = (ingest.boot, ingest.up_ms)
        self.store.execute(
            "UPDATE runs SET last = ?, closed = ?, size = ?, n = ?, head = ?, tail = ?, boot = ?, "
            "up_ms = ? WHERE id = ?",
            (last.utc_ms, _closed(folder, ingest), size, last.n + 1, last.head, tail, *clock, run),
        )
        return last.n + 1 - first

    def _going_on(self, folder: RunFolder, known: _Known) -> Ingest:
        ingest = Ingest(
            self.store,
            self._words,
            known.id,
            known.procedure,
            known.boot,
            known.up_ms,
            lambda: _steps_of(folder),
        )
        ingest.closed = known.closed > 0
        return ingest

    def _begin(self, folder: RunFolder, line: Line) -> tuple[int, Ingest]:
        if line.kind != "open":
            raise BenchrunError(f"{folder.run} entry 0: it does not open a run")
        data = line.data
        about = data.get("procedure") or {}
        procedure, revision = str(about.get("id", "")), int(about.get("revision", 0))
        title, rehearsal = str(about.get("title", "")), bool(data.get("rehearsal"))
        self._words.learn(folder, data, revision)
        digest = str(data.get("procedure_sha256", ""))
        cursor = self.store.execute(
            "INSERT INTO runs (name, procedure, title, revision, rehearsal, began, last, closed, "
            "size, n, head, tail, boot, up_ms) VALUES (?, ?, ?, ?, ?, ?, ?, 0, 0, 0, ?, 0, '', 0)",
            (folder.run, procedure, title, revision, rehearsal, line.utc_ms, line.utc_ms, ZEROS),
        )
        run = int(cursor.lastrowid or 0)
        return run, Ingest(
            self.store, self._words, run, procedure, "", 0, lambda: _steps_of(folder, digest)
        )


_TAKE_OUT: Final = (
    "DELETE FROM signatures WHERE run = ?",
    "DELETE FROM readings WHERE run = ?",
    "DELETE FROM spans WHERE run = ?",
    "DELETE FROM deviations WHERE run = ?",
    "DELETE FROM states WHERE run = ?",
    "DELETE FROM parts WHERE run = ?",
    "DELETE FROM asked WHERE run = ?",
    "DELETE FROM revised WHERE run = ?",
    "DELETE FROM runs WHERE id = ?",
)


def _steps_of(folder: RunFolder, digest: str = "") -> Mapping[str, Step]:
    """The steps of a run's procedure by id; none where its copy cannot be loaded."""
    try:
        return compiled_copy(folder, digest).route.steps
    except (BenchrunError, ValueError):
        return {}


def _goes_on(file: IO[bytes], known: _Known) -> bool:
    """Whether the file still holds what was read of it: the last line read is where it was.

    Leaves the file where the next line begins.
    """
    file.seek(known.size - known.tail)
    return hashlib.sha256(file.read(known.tail)).hexdigest() == known.head


def _closed(folder: RunFolder, ingest: Ingest) -> int:
    """How far a run is closed: not, by its entry, or for good with the seal beside the log."""
    return (_FINAL if folder.seal.is_file() else 1) if ingest.closed else 0


def _said(error: Exception) -> str:
    if isinstance(error, OSError):
        return disk_said(error)
    return f"an entry has not its form: {shown(str(error), 200)}"
