"""JSON Schemas of the shop's books, for editors that complete and explain keys."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from benchrun.data_schema import DIALECT
from benchrun.shop.book_file import BookForm
from benchrun.shop.instruments import INSTRUMENTS
from benchrun.shop.parts import JOBS, PARTS
from benchrun.shop.people import people_form
from benchrun.shop.supplies import SUPPLIES
from benchrun.shop.vessels import VESSELS
from benchrun.version import FILES_FORMAT


def book_schemas() -> dict[str, dict[str, Any]]:
    """The schema of each book of a shop, by the name of its file without its ending."""
    forms: Sequence[Sequence[BookForm[Any]]] = (
        (INSTRUMENTS,),
        (SUPPLIES,),
        (VESSELS,),
        (PARTS, JOBS),
        (people_form(Path()),),
    )
    return {Path(same[0].file).stem: _book(same) for same in forms}


def _book(forms: Sequence[BookForm[Any]]) -> dict[str, Any]:
    rows = {form.key: {"type": "array", "items": _row(form)} for form in forms}
    number = {"type": "integer", "minimum": 1, "maximum": FILES_FORMAT}
    return {
        "$schema": DIALECT,
        "title": forms[0].file,
        "description": forms[0].intro,
        "type": "object",
        "properties": {"format": number, **rows},
        "additionalProperties": False,
    }


def _row(form: BookForm[Any]) -> dict[str, Any]:
    return {
        "description": form.what,
        "type": "object",
        "properties": {key: {"description": words} for key, words in form.keys.items()},
        "additionalProperties": False,
    }
