"""The one boundary between text from files or people and a terminal.

Everything that was typed, read from a file or recorded passes `shown` before a face renders it.
What comes out holds no control code, no bidirectional override and no line break, so that a
terminal can only print it. Markup is the face's own matter: faces render text as text.
"""

import re
import unicodedata
from collections.abc import Collection, Iterable, Sequence

_DEGREE = re.compile(r" ?°(?=(\w?))")
_LETTER = re.compile(r"[^\W\d_]")
_DIGIT = re.compile(r"\d")
_WORD = re.compile(r"\w+")
_STOP = re.compile(r"[.:;?!](?=\s|$)")
_COMMA = re.compile(r"[,()]")
_SPELLED = re.compile(r"\b[A-Z]{2,}\b|[%°µ/]")
_TAB_OR_BREAK = re.compile(r"[\t\n\v\f\r\x85\u2028\u2029]+")

# Characters that reorder, hide or tag text instead of standing for something on the page.
_BIDI_AND_INVISIBLE = frozenset(
    "\u061c\u200b\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2060\u2066\u2067\u2068\u2069\ufeff"
)
_UNPRINTABLE = frozenset({"Cc", "Cf", "Cs", "Co", "Cn"})
_PLACEHOLDER = "\N{REPLACEMENT CHARACTER}"

ASCII_FOR = str.maketrans(
    {
        "–": "-",
        "—": "-",
        "−": "-",
        "×": "x",
        "µ": "u",
        "μ": "u",
        "±": "+/-",
        "≤": "<=",
        "≥": ">=",
        "…": "...",
        "‘": "'",
        "’": "'",
        "“": '"',
        "”": '"',
        "·": "-",
        "•": "*",
        "²": "2",
        "³": "3",
        "½": "1/2",
        "¼": "1/4",
        "¾": "3/4",
        "→": "->",
        "Ø": "dia ",
        "⌀": "dia ",
    }
)


def shown(text: str, limit: int = 2000) -> str:
    """Make one line of harmless text for a screen, a terminal or a message.

    Args:
        text: Anything from a file or a person.
        limit: The longest result in characters; more is cut and ended with an ellipsis.

    Returns:
        One line: breaks and tabs become a space, what cannot be printed becomes U+FFFD.
    """
    line = _TAB_OR_BREAK.sub(" ", text[: limit * 2])
    if not line.isascii() or not line.isprintable():
        line = "".join(_harmless(char) for char in line)
    return line if len(line) <= limit and len(text) <= limit * 2 else line[: limit - 1] + "…"


def _harmless(char: str) -> str:
    if char in _BIDI_AND_INVISIBLE or unicodedata.category(char) in _UNPRINTABLE:
        return _PLACEHOLDER
    return char


def paragraphs(text: str, limit: int = 20_000) -> tuple[str, ...]:
    """Split text at its line breaks into lines that are each fit to be shown.

    Args:
        text: Anything from a file or a person.
        limit: The longest text that is looked at, in characters.
    """
    return tuple(shown(line) for line in text[:limit].splitlines())


def unfit(text: str) -> str | None:
    """Name the first character of a text that must not be kept in an identifier or a label.

    Returns:
        Its code point and name (`U+001B ESCAPE`), or None when the text is clean.
    """
    if text.isascii() and text.isprintable():
        return None
    for char in text:
        if _harmless(char) == _PLACEHOLDER and char != _PLACEHOLDER:
            return f"U+{ord(char):04X} {unicodedata.name(char, 'control character')}"
    return None


def plain_ascii(text: str) -> str:
    """Write text with ASCII characters alone, for terminals and printers that have no others."""
    spelled = unicodedata.normalize("NFKD", _DEGREE.sub(_degrees, text).translate(ASCII_FOR))
    return (
        "".join(c for c in spelled if not unicodedata.combining(c))
        .encode("ascii", "replace")
        .decode("ascii")
    )


def _degrees(match: re.Match[str]) -> str:
    return " deg " if match[1] else " deg"


def slug(text: str, fallback: str = "unnamed", limit: int = 40) -> str:
    """Make a name for a file or a principal: lower-case ASCII letters, digits and hyphens.

    Args:
        text: A title or a person's name.
        fallback: What to use when nothing usable is left.
        limit: The longest result in characters.
    """
    spelled = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode("ascii")
    name = re.sub(r"[^a-z0-9]+", "-", spelled.lower()).strip("-")[:limit].strip("-")
    return name or fallback


def count(number: int, one: str, many: str | None = None) -> str:
    """Say a number of things: `1 part`, `2 parts`."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def listed(names: tuple[str, ...] | list[str], most: int = 6) -> str:
    """Say a list in words: `a, b and c`, or `a, b and 5 more` when it is long."""
    if len(names) > most:
        return f"{', '.join(names[: most - 1])} and {len(names) - most + 1} more"
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def columns(
    rows: Iterable[Sequence[str]],
    heads: Sequence[str] = (),
    right: Collection[int] = (),
    *,
    widest: int = 60,
    longest: int = 60,
) -> list[str]:
    """Rows in columns that line up, two blanks apart; the last column runs free.

    Args:
        rows: The cells, row by row; a row may have fewer than the others.
        heads: What stands above, with a rule below it; empty for none.
        right: The columns, from 0, whose cells stand at the right.
        widest: To so many characters shorter cells are filled up.
        longest: A longer cell is cut.
    """
    cells = [[shown(cell, longest) for cell in row] for row in ((heads, *rows) if heads else rows)]
    wide = [
        min(widest, max(len(row[at]) for row in cells if at < len(row)))
        for at in range(max(map(len, cells), default=0))
    ]
    lines = [
        "  ".join(
            cell.rjust(wide[at]) if at in right else cell.ljust(wide[at])
            for at, cell in enumerate(row)
        ).rstrip()
        for row in cells
    ]
    if heads:
        lines.insert(1, "  ".join("-" * width for width in wide))
    return lines


def span(milliseconds: int) -> str:
    """Say a length of time as at the bench: `41 s`, `7 min 12 s`, `1 h 05 min`, `3 d 4 h`.

    Args:
        milliseconds: The length; part seconds are cut off, a negative one is said as its size.
    """
    seconds = abs(milliseconds) // 1000
    minutes, hours, days = seconds // 60, seconds // 3600, seconds // 86400
    if days >= 2:
        return f"{days} d {hours % 24} h" if hours % 24 else f"{days} d"
    if hours:
        return f"{hours} h {minutes % 60:02d} min" if minutes % 60 else f"{hours} h"
    if minutes:
        return f"{minutes} min {seconds % 60:02d} s" if seconds % 60 else f"{minutes} min"
    return f"{seconds} s"


def span_beside(milliseconds: int, limits: Iterable[int | None]) -> str:
    """Say a length of time so that it never reads as a limit which it is not.

    Args:
        milliseconds: The length.
        limits: What is said beside it: where that would read alike, the length is said to the
            second, or to its tenth: `4 h 0 min 12 s`.
    """
    words = span(milliseconds)
    if all(limit in (None, milliseconds) or span(limit or 0) != words for limit in limits):
        return words
    seconds, rest = divmod(abs(milliseconds), 1000)
    days, hours, minutes = seconds // 86400, seconds // 3600, seconds // 60
    larger = [(days, "d"), (hours % 24, "h")] if days >= 2 else [(hours, "h")]
    told = [*larger, (minutes % 60, "min")]
    while told and not told[0][0]:
        del told[0]
    tenth = f".{rest // 100}" if rest and not seconds % 60 else ""
    return " ".join([*(f"{number} {unit}" for number, unit in told), f"{seconds % 60}{tenth} s"])


def dial(milliseconds: int) -> str:
    """Write a length of time as digits of a clock: `7:42`, `1:12:05`."""
    seconds = abs(milliseconds) // 1000
    hours, rest = divmod(seconds, 3600)
    return f"{hours}:{rest // 60:02d}:{rest % 60:02d}" if hours else f"{rest // 60}:{rest % 60:02d}"


def meant(name: str, known: Iterable[str], most: int = 12) -> str:
    """Say what somebody may have meant: `did you mean 'paint'?`, or `known are paint and rags`.

    Args:
        name: What was written, which is none of them.
        known: What there is.
        most: So many are listed where none is near.
    """
    from difflib import get_close_matches

    names = list(known)
    if near := get_close_matches(name[:200], names, 1):
        return f"did you mean {shown(near[0], 80)!r}?"
    known_ones = listed([shown(one, 80) for one in names], most)
    return f"known are {known_ones}" if known_ones else "there is none yet"


def heard_s(lines: Iterable[str]) -> float:
    """About how many seconds lines take to hear.

    Fitted to 900 turns of the plain face as espeak-ng 1.51 says them by its own voice and speed,
    with 0.7 s between the one and the other.
    """
    text = "\n".join(lines)
    return (
        0.055 * len(_LETTER.findall(text))
        + 0.27 * len(_DIGIT.findall(text))
        + 0.04 * len(_WORD.findall(text))
        + 0.37 * len(_STOP.findall(text))
        + 0.19 * len(_COMMA.findall(text))
        + 0.32 * len(_SPELLED.findall(text))
    )
