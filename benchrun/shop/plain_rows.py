"""Rows of a book in plain forms, such as benchrun itself writes, read without a reader of YAML.

    - id: tin-7
      name: paint, the grey one       # a comment
      also: [paint, "primer: grey"]
      book:
        - {on: 2026-03-02, used: 40 ml}
    - {id: cap-2, name: cap}

Nearly every row of a book of thousands is of these forms, and is read in a quarter of the time.
Any other row is none here. No value but the id knows where it stands, so whoever finds fault with
a row reads it again.
"""

import re
from typing import Final

from benchrun.procedure.marked import Items, Map, Place

# Letters that mean themselves in YAML wherever they stand; all but in brackets; in marks as well.
_PLAIN: Final = "A-Za-z0-9_./+%()°²³µ·×À-ÿ-"
_APART: Final = rf"{_PLAIN},;'!?=<>&*"
_MARKED: Final = rf"{_APART}:#@$|~`^{{}}\[\]"
_MARKS: Final = rf'"[ {_MARKED}]{{0,600}}"'
_TEXT: Final = rf"(?:-?[A-Za-z0-9](?:[ {_APART}]{{0,600}}[{_APART}])?|{_MARKS})"
_IN_LIST: Final = rf"(?:-?[A-Za-z0-9](?:[ {_PLAIN}]{{0,600}}[{_PLAIN}])?|{_MARKS})"
_LIST: Final = rf"\[{_IN_LIST}(?:, {_IN_LIST})*\]"
_KEY: Final = "[a-z](?:[a-z ]{0,40}[a-z])?"
_IN_MAP: Final = rf"{_KEY}: (?:{_IN_LIST}|{_LIST})"
_MAP: Final = rf"\{{{_IN_MAP}(?:, {_IN_MAP})*\}}"
_COMMENT: Final = rf'#[ "\\{_MARKED}]*'
_END: Final = rf"(?: +{_COMMENT})?\n"
_ROW: Final = re.compile(
    rf"(?P<indent> +)- (?:(?P<map>\{{id: {_IN_LIST}(?:, {_IN_MAP})*\}}){_END}"
    rf"|(?P<lines>id: {_TEXT}{_END}"
    rf"(?:(?P=indent)  {_KEY}:(?: (?:{_TEXT}|{_LIST}){_END}"
    rf"|{_END}(?:(?P=indent)    - (?:{_TEXT}|{_MAP}){_END})+))*))"
    rf"(?: *(?:{_COMMENT})?\n)*"
)
_LINE: Final = re.compile(rf" *(?:({_KEY}):(?: ({_TEXT}|{_LIST}))?|- (?:({_TEXT})|({_MAP}))){_END}")
_PAIR: Final = re.compile(rf"[{{ ]({_KEY}): ({_IN_LIST}|{_LIST})(?=[,}}])")
_ITEM: Final = re.compile(rf"[\[ ]({_IN_LIST})(?=[,\]])")
_NOWHERE: Final = Place(1, 1)


def plain_row(text: str) -> Map | None:
    """The map that a row's lines make; of its places only that of its id is so.

    Args:
        text: The lines.

    Returns:
        None where they have not a form above, or a key is there twice.
    """
    form = _ROW.fullmatch(text)
    if form is None:
        return None
    row = _of_pairs(form["map"]) if form["map"] else _of_lines(form["lines"])
    if row is not None:
        before = form.end("indent") + len("- {id: " if form["map"] else "- id: ")
        row.values_at = {"id": Place(1, before + 1)}
    return row


def _of_lines(lines: str) -> Map | None:
    row, items = Map(_NOWHERE), Items(_NOWHERE)
    for key, value, text, pairs in _LINE.findall(lines):
        if pairs:
            inner = _of_pairs(pairs)
            if inner is None:
                return None
            items.append(inner)
        elif text:
            items.append(_value(text))
        elif key in row:
            return None
        elif value:
            row[key] = _value(value)
        else:
            row[key] = items = Items(_NOWHERE)
    row.keys_at = dict.fromkeys(row, _NOWHERE)
    return row


def _of_pairs(written: str) -> Map | None:
    made, pairs = Map(_NOWHERE), _PAIR.findall(written)
    for key, value in pairs:
        made[key] = _value(value)
    made.keys_at = dict.fromkeys(made, _NOWHERE)
    return made if len(made) == len(pairs) else None


def _value(written: str) -> str | Items:
    if written[0] == '"':
        return written[1:-1]
    if written[0] != "[":
        return written
    items = Items(_NOWHERE)
    items += [_value(one) for one in _ITEM.findall(written)]
    return items
