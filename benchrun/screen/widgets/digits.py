"""Large digits of fixed width, to be read from across the bench."""

from typing import Final

from benchrun.screen.text_line import Paper, Role, TextLine

_DOTS: Final = {
    "0": ("###", "# #", "# #", "# #", "###"),
    "1": (" # ", "## ", " # ", " # ", "###"),
    "2": ("###", "  #", "###", "#  ", "###"),
    "3": ("###", "  #", " ##", "  #", "###"),
    "4": ("# #", "# #", "###", "  #", "  #"),
    "5": ("###", "#  ", "###", "  #", "###"),
    "6": ("###", "#  ", "###", "# #", "###"),
    "7": ("###", "  #", "  #", " # ", " # "),
    "8": ("###", "# #", "###", "# #", "###"),
    "9": ("###", "# #", "###", "  #", "###"),
    ":": (" ", "#", " ", "#", " "),
    ".": (" ", " ", " ", " ", "#"),
    "-": ("   ", "   ", "###", "   ", "   "),
    "+": ("   ", " # ", "###", " # ", "   "),
    " ": ("   ", "   ", "   ", "   ", "   "),
}
_HALVES: Final = {("#", "#"): "█", ("#", " "): "▀", (" ", "#"): "▄", (" ", " "): " "}


def rows_of(text: str, *, rows: int, solid: bool = False) -> list[str]:
    """Draw digits, `:`, `.`, `+` and `-` over 3, 5 or 10 rows; anything else is left out.

    Args:
        text: What to draw: `12:05`.
        rows: 3, 5 or 10; of 3 rows each holds two halves.
        solid: Draw with whole cells alone, `#` for a full one; then there are 5 rows at least.
    """
    known = [char for char in text if char in _DOTS]
    if rows == 3 and not solid:
        return ["  ".join(_half_row(_DOTS[c], row) for c in known) for row in range(3)]
    ink = "#" if solid else "█"
    wide, tall = (4, 2) if rows == 10 else (2, 1)
    drawn = []
    for row in range(5):
        dots = (" " * (wide)).join(
            "".join((ink if dot == "#" else " ") * wide for dot in _DOTS[c][row]) for c in known
        )
        drawn += [dots] * tall
    return drawn


def _half_row(dots: tuple[str, ...], row: int) -> str:
    upper = dots[row * 2]
    lower = dots[row * 2 + 1] if row * 2 + 1 < len(dots) else " " * len(upper)
    return "".join(_HALVES[pair] * 2 for pair in zip(upper, lower, strict=True))


def large_digits(
    paper: Paper, text: str, *, role: Role = Role.STRONG, indent: int = 5
) -> list[TextLine]:
    """Digits as large as the paper has room for: 3 rows at 80×24, 5 at 120×40, 10 beyond.

    On ASCII paper they take 5 rows at least.
    """
    sizes = (3,) if not paper.large else (10, 5, 3) if paper.height >= 48 else (5, 3)
    room = paper.width - indent
    for rows in sizes:
        drawn = rows_of(text, rows=rows, solid=paper.ascii)
        if len(drawn[0]) < room:
            break
    return [paper.line(" " * indent) + paper.drawn(row, role) for row in drawn]
