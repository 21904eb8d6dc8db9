"""The work of `benchrun lessons`: list, fold into the procedure, retire with a reason."""

import textwrap
from collections.abc import Sequence
from pathlib import Path

from benchrun.errors import BenchrunError
from benchrun.history.folding import folded_in
from benchrun.history.lessons import FOLDED, RETIRED, KeptLesson, all_lessons, settle
from benchrun.moment import Moment
from benchrun.plain_file import read_plain
from benchrun.procedure.files import read_file
from benchrun.procedure.load import load
from benchrun.shop.file_writer import put_file, shop_lock
from benchrun.shop.folder import Shop, pasteable, shipped
from benchrun.text import count, listed, shown


def list_lessons(shop: Shop, procedure: str = "", *, every: bool = False) -> str:
    """The lessons of a procedure, or of all; without `every` only the new ones.

    Raises:
        BenchrunError: The shop's lessons.yaml is damaged.
    """
    rows: list[str] = []
    last = ("", "")
    for lesson in sorted(all_lessons(shop, procedure), key=lambda x: (x.procedure, x.step, x.utc)):
        if lesson.fate and not every:
            continue
        if (lesson.procedure, lesson.step) != last:
            last = (lesson.procedure, lesson.step)
            rows += ["", f"{shown(lesson.procedure, 60)}, step {shown(lesson.step, 60)}"]
        fate = f" ({lesson.fate}: {shown(lesson.reason, 200)})" if lesson.fate else ""
        head = f"  {lesson.id}  {lesson.utc[:10]} {shown(lesson.name, 40)}"
        head += f", revision {lesson.revision}{fate}"
        rows += textwrap.wrap(head, 100, subsequent_indent=" " * 10)
        rows += textwrap.wrap(
            shown(lesson.text), 90, initial_indent=" " * 10, subsequent_indent=" " * 10
        )
    if not rows:
        return "no lessons" if every else "no new lessons"
    return "\n".join(rows[1:])


def retire_lesson(shop: Shop, lesson: str, reason: str, by: str, now: Moment) -> str:
    """Retire a lesson: it is no longer shown, and the reason is kept.

    Args:
        shop: The shop.
        lesson: Its six letters.
        reason: Why.
        by: Who decides it.
        now: When.

    Raises:
        BenchrunError: There is no such new lesson, or no reason.
    """
    (kept,) = _chosen(shop, [lesson])
    settle(shop, [kept], RETIRED, reason, by, now)
    return f"retired: {shown(kept.text, 80)}"


def fold_lessons(shop: Shop, lessons: Sequence[str], by: str, now: Moment) -> str:
    """Fold lessons of one procedure into its file, as its next revision.

    A procedure that came with the program is copied to the shop's own first, with its figures, and
    takes the place of the shipped one from then on.

    Args:
        shop: The shop.
        lessons: Their six letters each.
        by: Who decides it.
        now: When.

    Raises:
        BenchrunError: They are not new, belong to several procedures, or cannot be inserted.
    """
    chosen = _chosen(shop, lessons)
    names = {lesson.procedure for lesson in chosen}
    if len(names) > 1:
        raise BenchrunError(
            f"these lessons belong to {listed(sorted(names))}: fold those of one at a time"
        )
    with shop_lock(shop.path):
        path = _own(shop, shop.procedure(names.pop()))
        content = read_file(path)
        steps = sorted({kept.step for kept in chosen})
        pairs = [(kept.step, kept.text) for kept in chosen]
        change = f"{count(len(chosen), 'lesson')} folded in at {listed(steps, most=8)}."
        put_file(path, folded_in(content, shown(str(path), 200), pairs, change), content)
        revision = load(path).revision
        settle(shop, chosen, FOLDED, f"revision {revision}", by, now)
    return (
        f"{count(len(chosen), 'lesson')} folded into {shown(str(path), 200)}, revision {revision}"
    )


def _chosen(shop: Shop, lessons: Sequence[str]) -> list[KeptLesson]:
    if not lessons:
        lists = pasteable(shop.path, "lessons")
        raise BenchrunError(f"say which, by its six letters; this lists them: {lists}")
    known = {lesson.id: lesson for lesson in all_lessons(shop)}
    for lesson in lessons:
        if lesson not in known:
            raise BenchrunError(
                f"there is no lesson {shown(lesson, 40)!r}; this lists them: "
                f"{pasteable(shop.path, 'lessons')}"
            )
        if known[lesson].fate:
            kept = known[lesson]
            raise BenchrunError(
                f"lesson {kept.id} is {kept.fate} already: {shown(kept.reason, 200)}"
            )
    return [known[lesson] for lesson in dict.fromkeys(lessons)]


def _own(shop: Shop, path: Path) -> Path:
    """The shop's own copy of a procedure that came with the program."""
    if shipped("procedures").resolve() not in path.resolve().parents:
        return path
    target = shop.path / "procedures" / path.name
    target.parent.mkdir(exist_ok=True)
    for step in load(path).route.steps.values():
        if step.drawing:
            drawing = shop.path / "procedures" / step.drawing
            drawing.parent.mkdir(parents=True, exist_ok=True)
            if not drawing.exists():
                put_file(drawing, read_plain(path.parent / step.drawing), None)
    put_file(target, read_file(path), None)
    return target
