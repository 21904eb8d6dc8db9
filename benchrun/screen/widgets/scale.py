"""The dwell scale: time along a line, earliest and latest scribed across it, a pointer between."""

from benchrun.lean_dataclass import lean_dataclass
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.text import span


@lean_dataclass(frozen=True, slots=True)
class Dial:
    """The data of a scale of time, in milliseconds.

    Attributes:
        now: The time spent.
        possible: The longest it may have been, where that differs; None: nobody can say.
    """

    now: int
    least: int | None = None
    most: int | None = None
    aim: int | None = None
    possible: int | None = None

    @property
    def length(self) -> int:
        """How much time the whole scale stands for."""
        known = [t for t in (self.least, self.most, self.aim) if t]
        longest = max(known, default=60_000)
        margin = longest // 8 if self.most else longest // 3
        return max(longest + margin, 1)


def line_of(paper: Paper, dial: Dial, width: int) -> TextLine:
    """The scale alone, one row: `├────▼──┃━━━━━━━┃──`."""
    signs, last = paper.signs, max(1, width - 1)
    least, most = _column(dial.least, dial, last), _column(dial.most, dial, last)
    row = [signs.thin] * (last + 1)
    good = range(least or 0, (last if most is None else most) + 1)
    if dial.least is not None or dial.most is not None:
        for at in good:
            row[at] = signs.thick
    row[0] = signs.edge
    for limit in (least, most):
        if limit is not None:
            row[min(limit, last)] = signs.limit
    at = min(last, dial.now * last // dial.length)
    text = "".join(row)
    return paper.line(text[:at], (signs.pointer, Role.ACCENT), text[at + 1 :])


def _column(time: int | None, dial: Dial, last: int) -> int | None:
    return None if time is None else min(last, time * last // dial.length)


def dwell_scale(paper: Paper, dial: Dial, width: int, *, indent: int = 3) -> list[TextLine]:
    """The scale with its figures above: `0 … earliest 10 min … latest 20 min`."""
    labels = [(0, "0")]
    last = width - 1
    for time, word in ((dial.least, "earliest"), (dial.aim, "aim"), (dial.most, "latest")):
        at = _column(time, dial, last)
        if time is not None and at is not None:
            labels.append((at, f"{word} {span(time)}"))
    row = _labelled(labels, width + 12)
    if dial.aim is not None and any(text not in row for _, text in labels):
        # The limits are told before the aim, which the words beside the clock know too.
        aim = f"aim {span(dial.aim)}"
        row = _labelled([one for one in labels if one[1] != aim], width + 12)
    return [
        paper.line(" " * indent, (row, Role.QUIET)),
        paper.line(" " * indent) + line_of(paper, dial, width),
    ]


def _labelled(labels: list[tuple[int, str]], width: int) -> str:
    row = ""
    for at, text in sorted(labels):
        start = at if not row or at > len(row) else len(row) + 2
        if start + len(text) <= width:
            row = row.ljust(start) + text
    return row
