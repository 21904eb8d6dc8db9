"""The tie-on tag: a part's name on a card with an eyelet; the eyelet is filled when chosen."""

from collections.abc import Collection, Sequence

from benchrun.screen.text_line import Paper, Role, TextLine


def tag(paper: Paper, part: str, *, chosen: bool = False, number: int | None = None) -> str:
    """One tag: `[∘ arm L]`, chosen `[● arm L]`, numbered `1 [∘ arm L]`."""
    eyelet = paper.signs.chosen if chosen else paper.signs.hole
    before = "" if number is None else f"{number} "
    return f"{before}[{eyelet} {paper.clean(part)}]"


def tags(
    paper: Paper,
    parts: Sequence[str],
    *,
    chosen: Collection[str] = (),
    numbered: bool = False,
    first: str = "",
    most_rows: int = 2,
) -> list[TextLine]:
    """Tags side by side; what does not fit in so many rows is counted.

    Args:
        paper: What they are drawn on.
        parts: The names.
        chosen: Those that are chosen.
        numbered: Whether each has its number before it.
        most_rows: How many rows they may take.
        first: What stands before the first, in a column of its own.
    """
    indent = max(1, len(paper.clean(first)))
    items = [
        (
            tag(paper, part, chosen=part in chosen, number=i + 1 if numbered else None),
            Role.STRONG if part in chosen else Role.TEXT,
        )
        for i, part in enumerate(parts)
    ]
    rows = paper.columns(items, indent=indent)
    if len(rows) > most_rows:
        rows = _counted(paper, items, indent, most_rows)
    if first and rows:
        head = paper.line((first, Role.QUIET))
        rows[0] = head + TextLine(rows[0].pieces[1:])
    return rows


def _counted(
    paper: Paper, items: Sequence[tuple[str, Role]], indent: int, most_rows: int
) -> list[TextLine]:
    kept = len(items)
    while kept > 1:
        kept -= 1
        more = (f"and {len(items) - kept} more", Role.QUIET)
        rows = paper.columns([*items[:kept], more], indent=indent)
        if len(rows) <= most_rows:
            return rows
    return rows[:most_rows]
