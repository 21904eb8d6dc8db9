"""Kept runs that are asked for again and again: each is read anew only when its files changed.

What is held is as large as what is there, with no end at which it would stop to help: a run that is
gone or closed is let go of as soon as its shop is looked at again. A run that cannot be read is not
read again either before one of its files changes.
"""

from collections.abc import Callable, Collection, Mapping
from dataclasses import field
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.record.glimpse import closed, run_paths
from benchrun.text import slug

if TYPE_CHECKING:
    from benchrun.load_run import LookedAt
    from benchrun.record.folder import RunFolder
    from benchrun.run.state import Run

T = TypeVar("T")
FileStamp = tuple[int, int]
"""When a file was last changed, in nanoseconds, and its length; zeros where there is none."""


def file_stamp(path: Path) -> FileStamp:
    """The stamp by which a changed file is known."""
    try:
        stat = path.stat()
    except OSError:
        return (0, 0)
    return (stat.st_mtime_ns, stat.st_size)


class _ByStamp(Generic[T]):
    """Things made of folders, each with the stamps of the files that it was made of."""

    def __init__(self) -> None:
        self._kept: dict[Path, tuple[object, Callable[[], T]]] = {}

    def get(self, path: Path, stamps: object, make: Callable[[T | None], T]) -> T:
        """A thing made of a folder; made again only under other stamps.

        Args:
            path: The folder.
            stamps: The stamps of what it is made of.
            make: Makes it, of what was made the last time if that is known.

        Raises:
            BenchrunError, ValueError: As `make` does, again for the same stamps.
        """
        held = self._kept.get(path)
        if held is None or held[0] != stamps:
            # Whoever comes meanwhile makes it too; the one that is done last stays.
            held = (stamps, _outcome_of(lambda: make(_made(held))))
            self._kept[path] = held
        return held[1]()

    def holds(self, path: Path, stamps: object) -> bool:
        """Whether something was made of a folder under these stamps."""
        held = self._kept.get(path)
        return held is not None and held[0] == stamps

    def keep_only(self, runs: Path, there: Collection[Path]) -> None:
        """Let go of the folders in `runs` that are not there any more."""
        for path in [path for path in self._kept if path.parent == runs and path not in there]:
            self._kept.pop(path, None)


def _made(held: tuple[object, Callable[[], T]] | None) -> T | None:
    try:
        return held[1]() if held is not None else None
    except (BenchrunError, ValueError):
        return None


def _outcome_of(make: Callable[[], T]) -> Callable[[], T]:
    """Make a thing once, and give it, or raise what was raised, again and again."""
    try:
        made = make()
    except (BenchrunError, ValueError) as error:
        raised = error

        def fail() -> T:
            raise raised.with_traceback(None)

        return fail
    return lambda: made


class KeptRuns:
    """The runs of this process's shops as they were read last."""

    def __init__(self) -> None:
        self._runs: _ByStamp[LookedAt] = _ByStamp()
        self._closed: _ByStamp[Any] = _ByStamp()
        self._shut: dict[Path, int] = {}

    def paths(self, runs: Path) -> tuple[list[Path], list[Path]]:
        """The open runs and the closed ones in a folder, oldest first by name.

        A folder of a closed run in which no file came or went since is not looked into again.

        Raises:
            BenchrunError: The folder cannot be read.
        """
        shut, still, begun = [], {}, []
        for path in run_paths(runs, known=self._still_shut):
            changed = self._changed(path)
            if self._shut.get(path) == changed or closed(path):
                still[path] = changed
                shut.append(path)
            else:
                begun.append(path)
        self._shut = {**{p: at for p, at in self._shut.items() if p.parent != runs}, **still}
        self._runs.keep_only(runs, set(begun))
        self._closed.keep_only(runs, set(shut))
        return begun, shut

    def _changed(self, path: Path) -> int:
        try:
            return path.stat().st_mtime_ns
        except OSError:
            return 0

    def _still_shut(self, path: Path) -> bool:
        return path in self._shut and self._shut[path] == self._changed(path)

    def run(self, folder: "RunFolder") -> "Run":
        """The run that a folder holds; of a log that grew, only what came is read.

        Raises:
            BenchrunError: The log is damaged, or the copy of the procedure is.
            ValueError: They do not fit each other.
        """

        def read(before: "LookedAt | None") -> "LookedAt":
            from benchrun.load_run import look_at_kept

            return look_at_kept(folder, before)

        return self._runs.get(folder.path, _stamps(folder), read).run

    def has_run(self, folder: "RunFolder") -> bool:
        """Whether a run was read and has not changed since."""
        return self._runs.holds(folder.path, _stamps(folder))

    def of_closed(self, folder: "RunFolder", make: "Callable[[RunFolder], T]") -> T:
        """A thing made of a closed run: such a log does not change, so it is asked once.

        Args:
            folder: The run's folder.
            make: Always the same function.
        """
        made: T = self._closed.get(folder.path, file_stamp(folder.log), lambda _: make(folder))
        return made


def _stamps(folder: "RunFolder") -> tuple[FileStamp, FileStamp]:
    return (file_stamp(folder.log), file_stamp(folder.procedure))


KEPT_RUNS = KeptRuns()
"""The one of this process."""


@lean_dataclass(frozen=True, slots=True)
class PartsOutcome:
    """The outcome of a run for its parts, by their tags in plain letters.

    Attributes:
        procedure: The procedure's id.
        finished: The parts that it has finished.
        found: For each part what inspections found, by the names of the procedure.
        follow_on: The procedures that follow on it, by their ids.
    """

    procedure: str = ""
    finished: frozenset[str] = frozenset()
    found: Mapping[str, frozenset[str]] = field(default_factory=dict)
    follow_on: tuple[str, ...] = ()


def parts_outcome(path: Path) -> PartsOutcome:
    """The outcome of a run for its parts; an empty one if it cannot be read.

    Args:
        path: The run's folder.
    """
    from benchrun.record.folder import RunFolder

    return _outcome(path, file_stamp(RunFolder(path).log))


@lru_cache(maxsize=8192)
def _outcome(path: Path, _log: FileStamp) -> PartsOutcome:
    from benchrun.load_run import look_at_kept, procedure_looked_at
    from benchrun.record.folder import RunFolder
    from benchrun.run.state import Status

    try:
        looked = look_at_kept(RunFolder(path))
        procedure, run = procedure_looked_at(looked), looked.run
    except (BenchrunError, ValueError, OSError):
        return PartsOutcome()
    return PartsOutcome(
        procedure.id,
        frozenset(slug(one.part) for one in run.each() if one.status is Status.DONE),
        {
            slug(one.part): frozenset(value.word for value in one.values.values() if value.word)
            for one in run.each()
        },
        tuple(one.procedure for one in procedure.successors),
    )
