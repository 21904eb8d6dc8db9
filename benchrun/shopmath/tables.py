"""The tables behind the sums: CSV files with a source column, read when first needed."""

import csv
from collections.abc import Mapping
from decimal import Decimal
from functools import cache
from importlib import resources


@cache
def table_rows(name: str) -> tuple[Mapping[str, str], ...]:
    """All rows of one table.

    Args:
        name: The file's name without `.csv`.
    """
    text = resources.files("benchrun.shopmath").joinpath(f"tables/{name}.csv").read_text("utf-8")
    return tuple(csv.DictReader(text.splitlines()))


def sources(name: str) -> tuple[str, ...]:
    """The different sources that the rows of a table name, in order."""
    return tuple(dict.fromkeys(row["source"] for row in table_rows(name)))


def step(name: str, size: Decimal) -> Mapping[str, str] | None:
    """The row whose step holds a size in mm: over `over_mm`, up to and including `incl_mm`.

    The size counts to a millionth of a millimetre, so that 40 mm given in inches is 40.
    """
    counted = size if size > 1000 else round(size, 6)
    for row in table_rows(name):
        if Decimal(row["over_mm"]) < counted <= Decimal(row["incl_mm"]):
            return row
    return None
