"""Lessons: collected from the logs, shown on their step, until folded in or retired with a reason.

A lesson is an entry of a log and stays there. What was done about it stands in the shop's
`lessons.yaml`, a plain list that is only ever added to.
"""

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.plain_file import open_regular, read_plain
from benchrun.procedure.marked import Items, Map, Unreadable
from benchrun.procedure.route import Procedure
from benchrun.record.folder import RunFolder, run_folders
from benchrun.shop.file_writer import put_file, shop_lock
from benchrun.shop.folder import Shop
from benchrun.shop.yaml_text import scalar
from benchrun.text import shown

FILE: Final = "lessons.yaml"
FOLDED, RETIRED = "folded in", "retired"
_MARK: Final = b'"kind":"lesson"'
_MOST_FIRST: Final = 1 << 20
_HEAD: Final = """\
# What became of lessons: folded into their procedure, or retired, with the reason.
# The lessons themselves stand in the logs of the runs; benchrun lessons lists them.
lessons:
"""


@lean_dataclass(frozen=True, slots=True)
class KeptLesson:
    """A lesson from a run.

    Attributes:
        id: Six letters that name it for good.
        n: Its entry in the log of `run`.
        revision: The revision of the procedure that it was learned with.
        name: The full name of who wrote it.
        fate: `folded in`, `retired`, or empty while it is new.
        reason: Why it was retired, or into which revision it was folded.
    """

    id: str
    procedure: str
    revision: int
    step: str
    text: str
    run: str
    n: int
    utc: str
    by: str
    name: str
    fate: str = ""
    reason: str = ""


def lessons_for(
    shop: Shop, procedure: str, written: Procedure | None = None
) -> Mapping[str, tuple[KeptLesson, ...]]:
    """The lessons that are new on each step of a procedure, the oldest first.

    Args:
        shop: The shop whose runs are looked through; damaged logs are passed over.
        procedure: The procedure's id; its revision does not matter.
        written: The procedure as it stands, so that what its steps say already is not said twice.

    Returns:
        For each step id that has some, its lessons.
    """
    by_step: dict[str, list[KeptLesson]] = {}
    for lesson in all_lessons(shop, procedure):
        step = written.route.steps.get(lesson.step) if written else None
        if not lesson.fate and not (step and lesson.text in step.lessons):
            by_step.setdefault(lesson.step, []).append(lesson)
    return {step: tuple(lessons) for step, lessons in by_step.items()}


def all_lessons(shop: Shop, procedure: str = "") -> tuple[KeptLesson, ...]:
    """Every lesson of a procedure, or of all, with what became of it; the oldest first.

    Raises:
        BenchrunError: The shop's lessons.yaml is damaged; says where.
    """
    fates = _fates(shop.path / FILE)
    lessons = []
    for folder in run_folders(shop.runs):
        for lesson in _of_run(folder, procedure):
            fate, reason = fates.get((lesson.run, lesson.n), ("", ""))
            lessons.append(replace(lesson, fate=fate, reason=reason))
    return tuple(sorted(lessons, key=lambda one: (one.utc, one.run, one.n)))


def _of_run(folder: RunFolder, procedure: str) -> Iterator[KeptLesson]:
    """The lessons in one log; only lines that hold one are read as more than bytes."""
    try:
        with open_regular(folder.log) as file:
            first = file.readline(_MOST_FIRST)
            about = json.loads(first)["data"]
            known = about["procedure"]
            if procedure and known["id"] != procedure:
                return
            lines = [json.loads(line) for line in file if _MARK in line and line[-1:] == b"\n"]
            for line in lines:
                if line["kind"] == "lesson":
                    yield _lesson(folder.run, about, line)
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return


def _lesson(run: str, about: Mapping[str, Any], line: Mapping[str, Any]) -> KeptLesson:
    n, by = int(line["n"]), str(line["by"])
    person = dict(about.get("people") or {}).get(by)
    return KeptLesson(
        lesson_id(run, n),
        str(about["procedure"]["id"]),
        int(about["procedure"]["revision"]),
        str(line["data"]["step"]),
        str(line["data"]["text"]),
        run,
        n,
        str(line["at"]["utc"]),
        by,
        str(person.get("name", by)) if isinstance(person, dict) else by,
    )


def lesson_id(run: str, n: int) -> str:
    """The name of a lesson, made from where it stands."""
    return hashlib.sha256(f"{run} {n}".encode()).hexdigest()[:6]


def _fates(path: Path) -> Mapping[tuple[str, int], tuple[str, str]]:
    fates = {}
    for row in _rows(path):
        run, n = row.get("run"), row.get("entry")
        now, reason = row.get("now"), row.get("reason", "")
        known = now in (FOLDED, RETIRED) and isinstance(run, str) and isinstance(reason, str)
        if not known or not isinstance(n, str) or not n.isascii() or not n.isdigit():
            raise BenchrunError(
                f"{shown(str(path), 200)}:{row.at.line}: a row needs run, entry, and now, "
                f"which is {FOLDED!r} or {RETIRED!r}"
            )
        fates[str(run), int(n)] = (str(now), str(reason))
    return fates


def _rows(path: Path) -> list[Map]:
    from benchrun.procedure.yamlread import read_yaml

    name = shown(str(path), 200)
    try:
        data = read_yaml(read_plain(path))
    except FileNotFoundError:
        return []
    except OSError as error:
        raise BenchrunError(f"{name} cannot be read: {error.strerror}") from None
    except Unreadable as error:
        raise BenchrunError(f"{name}:{error.at.line}:{error.at.column}: {error.text}") from None
    rows = data.get("lessons", "")
    if rows == "":
        return []
    if not isinstance(rows, Items) or not all(isinstance(row, Map) for row in rows):
        raise BenchrunError(f"{name}: `lessons` must be a list")
    return [row for row in rows if isinstance(row, Map)]


def settle(
    shop: Shop, lessons: Sequence[KeptLesson], fate: str, reason: str, by: str, now: Moment
) -> None:
    """Write down what became of lessons; what is in the file stays as it is.

    Args:
        shop: The shop.
        lessons: Which.
        fate: `FOLDED` or `RETIRED`.
        reason: Why; a retired lesson needs one.
        by: Who decided it.
        now: When.

    Raises:
        BenchrunError: A reason is missing, or the file cannot be written.
    """
    if not reason.strip():
        raise BenchrunError("say why: a lesson is not put away without a reason")
    rows = [
        f"  - run: {scalar(lesson.run)}\n    entry: {lesson.n}\n    now: {fate}\n"
        f"    reason: {scalar(shown(reason.strip(), 500))}\n    by: {scalar(by)}\n"
        f"    on: {now.utc[:10]}\n"
        for lesson in lessons
    ]
    path = shop.path / FILE
    with shop_lock(shop.path):
        before = read_plain(path) if path.exists() else None
        # Read first: adding to a damaged file would only bury the damage.
        _fates(path)
        text = _HEAD if before is None else before.decode("utf-8").rstrip("\n") + "\n"
        put_file(path, (text + "".join(rows)).encode("utf-8"), before)
