"""Lessons of past runs, as the board and a step show them."""

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment, utc_ms
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.shop.folder import Shop

if TYPE_CHECKING:
    from benchrun.history.lessons import KeptLesson
    from benchrun.procedure.route import Procedure

LATELY: Final = dt.timedelta(days=30)
_DAY_MS: Final = 86_400_000


@lean_dataclass(frozen=True, slots=True)
class Learned:
    """A lesson that somebody wrote down in a run.

    Attributes:
        procedure: The id of the procedure it is about.
        step: The id of its step.
        name: Who wrote it.
        utc_ms: When.
    """

    procedure: str
    step: str
    text: str
    name: str
    utc_ms: int

    def beside(self, now: Moment) -> str:
        """Who wrote it and how long ago: `Ada Brook, 3 days ago`."""
        days = max(0, now.utc_ms - self.utc_ms) // _DAY_MS
        when = "today" if not days else "yesterday" if days == 1 else f"{days} days ago"
        return f"{self.name}, {when}"


def learned_on(shop: Shop, procedure: "Procedure") -> Mapping[str, tuple[Learned, ...]]:
    """The lessons that are new on each step of a procedure, the newest first.

    Raises:
        BenchrunError: The shop's list of settled lessons is damaged; says where.
    """
    # Reading all logs of a shop is nothing that a first frame should wait for.
    from benchrun.history.lessons import lessons_for

    found = lessons_for(shop, procedure.id, procedure)
    return {step: tuple(_learned(one) for one in reversed(of)) for step, of in found.items()}


def learned_lately(shop: Shop, now: Moment) -> tuple[Learned, ...]:
    """The lessons of the last days that nobody has folded in or retired, the newest first.

    Raises:
        BenchrunError: The shop's list of settled lessons is damaged; says where.
    """
    from benchrun.history.lessons import all_lessons

    since = now.utc_ms - int(LATELY.total_seconds() * 1000)
    found = [_learned(one) for one in all_lessons(shop) if not one.fate]
    return tuple(one for one in reversed(found) if one.utc_ms >= since)


def _learned(lesson: "KeptLesson") -> Learned:
    try:
        at = utc_ms(lesson.utc)
    except ValueError:
        at = 0  # a log that verify will have something to say about
    return Learned(lesson.procedure, lesson.step, lesson.text, lesson.name, at)


def lesson_rows(
    paper: Paper, lessons: Sequence[Learned], now: Moment, *, first: str, role: Role = Role.TEXT
) -> list[TextLine]:
    """Lessons, each with who wrote it and when.

    Args:
        paper: What they are drawn on.
        lessons: Which.
        now: The moment now.
        first: What stands in front of each.
        role: How the text is shown.
    """
    rows: list[TextLine] = []
    for lesson in lessons:
        told = paper.paragraph(lesson.text, first=first, role=role, lead=Role.ACCENT)
        beside = f"  {lesson.beside(now)}"
        if told[-1].width + len(beside) < paper.width - 1:
            told[-1] = told[-1] + paper.line((beside, Role.QUIET))
        else:
            told.append(paper.line(" " * len(first), (beside.strip(), Role.QUIET)))
        rows += told
    return rows
