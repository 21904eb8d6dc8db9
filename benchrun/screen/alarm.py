"""The alarm on a page: a band across the top, told by its size and its words, not its colour."""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Final

from benchrun.part_names import brief
from benchrun.screen.page import Page
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.screen.widgets.digits import rows_of
from benchrun.text import dial

if TYPE_CHECKING:
    from benchrun.alarms.calls import Alarm

SILENCE: Final = "0"
"""The key that silences an alarm."""

_LATE, _SOON = 3, 2
_EDGE: Final = 2
_NAME: Final = 16
"""In a short row the name of a run, and the tags of its parts, take so many cells at most."""
_NOW: Final = "due now"
"""Behind the word `DUE` it says nothing."""


def alarm_band(
    paper: Paper,
    standing: "Sequence[Alarm]",
    answers: str,
    *,
    counts: bool = True,
    most: int | None = None,
) -> list[TextLine]:
    """The band of the most urgent alarm: one row when due, two when soon, four when late.

    Args:
        paper: What it is drawn on.
        standing: The alarms that stand, the most urgent first; one at least.
        answers: The keys that answer it.
        counts: Whether it counts how far a late one is over in large figures; a page that is at
            the act does so itself.
        most: How many rows it may take, where the page has not room for all of them.
    """
    alarm, room = standing[0], most or 4
    if alarm.band >= _LATE and room >= 4:
        return _late(paper, alarm, standing[1:], answers, counts=counts)
    if alarm.band >= _SOON and room >= 2:
        when = alarm.words.when
        keys = min(paper.line(answers).width, _half(paper))
        others = _others(
            paper, standing[1:], 2 * _half(paper) - keys - paper.line(when).width - 2 * _EDGE
        )
        where = f"{when}{others and ' ' * _EDGE + others}"
        signal = f"{alarm.words.signal}   "
        return [
            _row(paper, f"{signal}{_what(paper, alarm, 2 * _half(paper) - len(signal))}"),
            _row(paper, where, answers),
        ]
    return [_one_row(paper, alarm, len(standing) - 1, answers)]


def _one_row(paper: Paper, alarm: "Alarm", others: int, answers: str) -> TextLine:
    """An alarm in one row: whose run it is gives way first, then by when, the act never."""
    signal, when = f"{alarm.words.signal}   ", alarm.words.when
    more = f" (+ {others} more)" if others else ""
    end = f", {when}{more}" if when != _NOW else more
    whole = f"{signal}{_all(alarm)}{end}"
    # Where one row is too short for both, the line of keys tells them alone.
    if paper.line(whole, answers).width + 3 * _EDGE <= paper.width:
        return _row(paper, whole, answers)
    room = 2 * _half(paper) - paper.line(signal).width
    texts = [f"{what}{tail}" for tail in (end, more) for what in _shorter(paper, alarm)]
    fits = (text for text in texts if paper.line(text).width <= room)
    return _row(paper, f"{signal}{next(fits, None) or alarm.words.act}")


def _all(alarm: "Alarm") -> str:
    name = f"{alarm.title}: " if alarm.title else ""
    return f"{name}{alarm.words.parts}: {alarm.words.act}"


def _shorter(paper: Paper, alarm: "Alarm") -> Sequence[str]:
    """The run, the parts and the act, ever shorter; the parts are never left out."""
    act, title = alarm.words.act, paper.fitted(alarm.title, _NAME)
    parts = brief(alarm.clock.parts, _NAME)
    named = [f"{title}: {parts}: {act}"] if title else []
    return [_all(alarm), *named, f"{parts}: {act}"]


def _what(paper: Paper, alarm: "Alarm", room: int) -> str:
    """The run, the parts and the act in so many cells; the act is what is never left out."""
    fits = (one for one in _shorter(paper, alarm) if paper.line(one).width <= room)
    return next(fits, None) or paper.fitted(alarm.words.act, room)


def _half(paper: Paper) -> int:
    """How many cells half a row of the band holds."""
    return (paper.width - 2 * _EDGE) // 2


def _others(paper: Paper, rest: "Sequence[Alarm]", room: int) -> str:
    """The other alarms in as many words as fit into so many cells, the most urgent first."""
    for most in (3, 2, 1, 0):
        told = [f"{one.words.signal} {one.words.parts}" for one in rest[:most]]
        plus = "+ " if told else ""
        told += [f"{plus}{len(rest) - most} more"] if len(rest) > most else []
        text = "also " + ", ".join(told) if told else ""
        if paper.line(text).width <= room:
            return text
    return ""


def _late(
    paper: Paper, alarm: "Alarm", rest: "Sequence[Alarm]", answers: str, *, counts: bool
) -> list[TextLine]:
    """Four rows: what, for whom and in which run, how far past, the keys; the overrun large."""
    over = alarm.clock.over_ms
    large = ["", "", ""]
    act = alarm.words.act
    act = act[:1].upper() + act[1:]
    # Three rows are too few for digits of whole cells: ASCII paper has the words alone.
    if counts and over >= 1000 and not paper.ascii:
        drawn = rows_of(f"+{dial(over)}", rows=3)
        head = paper.line(f"{alarm.words.signal}   {act}").width
        fits = 2 * len(drawn[0]) <= paper.width - 2 * _EDGE
        # The act is never cut for them: how far it is over stands in words below.
        if fits and head + len(drawn[0]) + 3 * _EDGE <= paper.width:
            large = drawn
    name = f"   {alarm.title}" if alarm.title else ""
    who = f"{alarm.words.parts}{name}"
    if name and paper.line(who).width + 7 > 2 * _half(paper):
        who = f"{brief(alarm.clock.parts, _NAME)}{name}"
    return [
        _row(paper, f"{alarm.words.signal}   {act}", large[0]),
        _row(paper, f"       {who}", large[1]),
        _row(paper, f"       {alarm.words.when}", large[2]),
        _keys_row(paper, answers, rest),
    ]


def _keys_row(paper: Paper, answers: str, rest: "Sequence[Alarm]") -> TextLine:
    """The keys, whole, and behind them what else calls, in as many words as there is room for."""
    left = f"       {answers}"
    room = min(_half(paper), paper.width - 3 * _EDGE - paper.line(left).width)
    return _row(paper, left, _others(paper, rest, room))


def _row(paper: Paper, left: str, right: str = "") -> TextLine:
    """A row of the band, what stands at its right end kept whole as far as it may be."""
    room = paper.width - 2 * _EDGE
    last = paper.fitted(right, _half(paper)) if right.strip() else right
    last_width = paper.line(last).width
    first = paper.padded(left, room - last_width - (_EDGE if last_width else 0))
    gap = " " * (_EDGE if last_width else 0)
    text = f"{' ' * _EDGE}{first}{gap}{last}{' ' * _EDGE}"
    return paper.line((text, Role.ALARM), band=Role.ALARM)


def under_band(page: Page, band_of: "Callable[[int | None], Sequence[TextLine]]") -> Page:
    """A page with the band over its first rows; nothing on the page moves.

    Args:
        page: The page.
        band_of: Draws the band, in no more rows than it is given; None: in as many as it takes.
    """
    band = band_of(None)
    if len(band) > page.yielding:
        band = band_of(page.yielding)
    return Page((*band, *page.rows[len(band) :]), page.whole, page.tight)
