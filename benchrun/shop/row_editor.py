"""Adding and changing rows of the shop's files by their keys, proven by reading them again."""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from benchrun.errors import BenchrunError
from benchrun.procedure.marked import Items, Map
from benchrun.shop.book_file import BookFile, BookForm, N
from benchrun.shop.book_row import map_of, page_of
from benchrun.shop.file_writer import put_file, shop_lock
from benchrun.shop.yaml_editor import Plain, with_item, with_value
from benchrun.text import meant, shown

if TYPE_CHECKING:
    from benchrun.shop.row_pages import RowPages

_MARK: Final = b"\xef\xbb\xbf"


def add_row(folder: Path, form: BookForm[N], row: Mapping[str, Plain]) -> N:
    """Add a row at the end of a file; what is in it stays as it is.

    Args:
        folder: The shop's folder.
        form: Which file and rows.
        row: The new row; it must hold an id.

    Returns:
        The row as it reads.

    Raises:
        BenchrunError: The id is taken, a value will not do, or the file cannot be written.
    """
    name = str(row["id"])

    def edit(text: str, data: Map) -> str:
        if any(isinstance(row, Map) and row.get("id") == name for row in _rows(data, form.key)):
            raise BenchrunError(f"there is a {form.what} {shown(name, 60)} already")
        return with_item(text or form.head, (form.key,), row)

    return _changed(folder, form, name, edit)


def change_row(folder: Path, form: BookForm[N], name: str, values: Mapping[str, Plain]) -> N:
    """Set keys of a row; what is in the file besides stays as it is.

    Args:
        folder: The shop's folder.
        form: Which file and rows.
        name: The row's id.
        values: The keys to set.

    Raises:
        BenchrunError: There is no such row, a value will not do, or the file cannot be written.
    """

    def edit(text: str, data: Map) -> str:
        at = _index(data, form, name)
        for key, value in values.items():
            text = with_value(text, (form.key, at, key), value)
        return text

    return _changed(folder, form, name, edit, inside=True)


def add_line(folder: Path, form: BookForm[N], name: str, inside: str, line: Plain) -> N:
    """Add a line to a list inside a row, such as a use of a supply or a cost of a part.

    Args:
        folder: The shop's folder.
        form: Which file and rows.
        name: The row's id.
        inside: The key of the list.
        line: The line.

    Raises:
        BenchrunError: There is no such row, a value will not do, or the file cannot be written.
    """

    def edit(text: str, data: Map) -> str:
        return with_item(text, (form.key, _index(data, form, name), inside), line)

    return _changed(folder, form, name, edit, inside=True)


def change_line(
    folder: Path,
    form: BookForm[N],
    name: str,
    inside: str,
    number: Callable[[N], int],
    values: Mapping[str, str],
) -> N:
    """Set keys of a line of a list inside a row.

    Args:
        folder: The shop's folder.
        form: Which file and rows.
        name: The row's id.
        inside: The key of the list.
        number: Says which line, from 0, of the row as it stands once nobody else writes.
        values: The keys to set.

    Raises:
        BenchrunError: There is no such row, a value will not do, or the file cannot be written.
    """

    def edit(text: str, data: Map) -> str:
        at, line = _index(data, form, name), number(form.read(folder).named(name))
        for key, value in values.items():
            text = with_value(text, (form.key, at, inside, line, key), value)
        return text

    return _changed(folder, form, name, edit, inside=True)


def row_texts(folder: Path, form: BookForm[N], name: str, keys: Iterable[str]) -> dict[str, str]:
    """The values of a row's keys as text; several texts with semicolons between.

    Raises:
        BenchrunError: There is no such row, or the file cannot be read.
    """
    path = folder / form.file
    data, faults = map_of(form.content(folder) if path.exists() else b"", path.name, form.tops)
    if data is None:
        raise BenchrunError(faults[0].words)
    row = _rows(data, form.key)[_index(data, form, name)]
    texts = {key: row.get(key, "") if isinstance(row, Map) else "" for key in keys}
    return {
        key: value if isinstance(value, str) else "; ".join(map(str, value))
        for key, value in texts.items()
    }


Edit = Callable[[str, Map], str]


def _changed(folder: Path, form: BookForm[N], name: str, edit: Edit, *, inside: bool = False) -> N:
    """Edit a file; nothing is written unless the row then reads without a fault.

    Args:
        folder: The shop's folder.
        form: Which file and rows.
        name: The row's id.
        edit: Makes the new text of the old, given what it says.
        inside: Whether it changes this row alone; then, where the row can be read by itself, the
            rest of the file is not looked at.
    """
    path = folder / form.file
    with shop_lock(folder):
        before = form.content(folder) if path.exists() else None
        done = (
            _row_edited(form, path, before, name, edit) if inside and before is not None else None
        )
        content, sheet = done or _file_edited(form, path, before, edit)
        row = sheet.find(name)
        if row is None:
            known = {fault.text for fault in form.parse(before or b"", path).faults}
            new = [fault.text for fault in sheet.faults if fault.text not in known]
            raise BenchrunError(new[0] if new else f"{shown(name, 60)} is not sound: see the file")
        put_file(path, content, before)
        form.wrote(content, sheet)
    return row


Edited = tuple[bytes, BookFile[N]]
"""The new bytes of a file, and how they read."""


def _file_edited(form: BookForm[N], path: Path, before: bytes | None, edit: Edit) -> Edited[N]:
    data, faults = map_of(before or b"", path.name, form.tops)
    if data is None:
        raise BenchrunError(f"{faults[0].words}. Put that right first")
    content = _mark(before) + edit((before or b"").decode("utf-8-sig"), data).encode()
    return content, form.parse(content, path)


def _mark(before: bytes | None) -> bytes:
    return _MARK if before is not None and before.startswith(_MARK) else b""


def _row_edited(
    form: BookForm[N], path: Path, before: bytes, name: str, edit: Edit
) -> Edited[N] | None:
    """The file with one row edited by itself; None where the row cannot be taken out."""
    from benchrun.shop.row_pages import keep_pages, row_pages

    pages, sheet = row_pages(before, form.tops), form.parse(before, path)
    if pages is None or sheet.find(name) is None:
        return None
    rows, own = pages.rows.get(form.key), _own_rows(form, pages, sheet, name)
    if rows is None or len(own) != 1:
        return None
    head, (number,) = f"{form.key}:\n", own
    alone = head + rows.texts[number]
    new = edit(alone, page_of(alone.encode()))
    if not new.startswith(head) or not new.endswith("\n"):
        return None
    new = new.removeprefix(head)
    after = pages.with_row(form.key, number, new)
    text = after.text if after is not None else pages.text_with(form.key, number, new)
    content = _mark(before) + text.encode()
    if after is not None:
        changed = form.parse_changed(sheet, after, rows.texts[number], new, name)
        if changed is not None:
            keep_pages(content, form.tops, after)
            return content, changed
    return content, form.parse(content, path)


def _own_rows(form: BookForm[N], pages: "RowPages", sheet: BookFile[N], name: str) -> Sequence[int]:
    """The numbers of the rows of an id, in a file taken apart."""
    rows = pages.rows.get(form.key)
    if rows is None:
        return ()
    place = sheet.place(name)
    if not sheet.faults and len(sheet.rows) == len(rows.texts):  # each text is a row, in order
        return [] if place is None else [place]
    tells_id = re.compile(rf"\bid: *[\"']?{re.escape(name)}[\"']? *(?:[#,}}]|$)", re.MULTILINE)
    texts = {number: rows.texts[number] for number in rows.holding(name, pages.text)}
    alike = {number: text for number, text in texts.items() if tells_id.search(text)}
    return [number for number, text in alike.items() if _says(form, text, name)]


def _says(form: BookForm[N], text: str, name: str) -> bool:
    """Whether the text of a row by itself is that of an id."""
    from benchrun.shop.row_pages import read_rows

    rows = read_rows(form.key, [text]) or ()
    return any(row.get("id") == name for _, row in rows)


def _rows(data: Map, key: str) -> Items | tuple[()]:
    rows = data.get(key)
    return rows if isinstance(rows, Items) else ()


def _index(data: Map, form: BookForm[N], name: str) -> int:
    """Where a row stands in its list, counting the unsound ones as well."""
    rows = _rows(data, form.key)
    for number, candidate in enumerate(rows):
        if isinstance(candidate, Map) and candidate.get("id") == name:
            return number
    would = meant(name, [str(row.get("id", "?")) for row in rows if isinstance(row, Map)])
    raise BenchrunError(f"no {form.what} {shown(name, 60)!r}: {would}")
