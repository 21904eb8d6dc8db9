"""Tables as CSV (RFC 4180): a header, then rows; a text never becomes a spreadsheet's formula."""

import csv
import io
from collections.abc import Iterable, Sequence
from typing import Final

# The four signs in half and in full width, and what a spreadsheet passes over before them.
_FORMULA: Final = frozenset("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")


def csv_text(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Rows under a header; nothing known is an empty field, yes and no are words.

    Args:
        columns: The names of the columns.
        rows: Of each row one value a column: a text, a number, a yes or no, or None.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows([_field(value) for value in row] for row in rows)
    return out.getvalue()


def _field(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return guarded(value) if isinstance(value, str) else str(value)


def guarded(text: str) -> str:
    """A text that a spreadsheet takes for text: what looks like a formula gets an apostrophe.

    A number with its sign stays as it is, so that `+0.02` as typed is no formula either.
    """
    if text[:1] in _FORMULA:
        plain = text[1:].replace(".", "", 1).replace(",", "", 1)
        if not (text[0] in "+-" and plain.isascii() and plain.isdigit()):
            return f"'{text}"
    return text
