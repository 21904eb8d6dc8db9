"""Tables as CSV (RFC 4180): a header, then rows.

A reader that guesses what a field is, as spreadsheets and pandas do, guesses right: a text never
becomes a formula, another number or nothing, and yes and no are truth values.
"""

import csv
import io
import re
from collections.abc import Iterable, Sequence
from typing import Final

# The four signs in half and in full width, and what a spreadsheet passes over before them.
_FORMULA: Final = frozenset("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")

# What pandas 3.0 takes for an empty field unless it is told not to (read_csv, na_values); #N/A is
# an error to a spreadsheet.
_NOTHING: Final = frozenset(
    (
        *("#N/A", "#N/A N/A", "#NA", "<NA>", "N/A", "n/a", "NA", "NULL", "null", "None"),
        *("1.#IND", "-1.#IND", "1.#QNAN", "-1.#QNAN"),
    )
)
_NUMBER: Final = re.compile(r"[+-]?(0|[1-9][0-9]{0,14})([.,][0-9]+)?", re.ASCII)


def csv_text(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Rows under a header; nothing known is an empty field, yes is `true` and no `false`.

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
        return "true" if value else "false"
    return guarded(value) if isinstance(value, str) else str(value)


def guarded(text: str) -> str:
    """A text that every reader takes for that text: else it gets an apostrophe.

    A formula does, a word for nothing (`NA`), and a tag that would come out as another number
    (`007`, `1e5`). A number stays, with its sign too, so that `+0.02` as typed is no formula.
    """
    if _NUMBER.fullmatch(text):
        return text
    changed = text[:1] in _FORMULA or text in _NOTHING or _is_number(text)
    return f"'{text}" if changed else text


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
