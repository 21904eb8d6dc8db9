"""The texts of hazard and precautionary codes, as the globally harmonized system words them."""

import csv
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from benchrun.procedure.route import Hazard


@cache
def _texts() -> Mapping[str, str]:
    table = files("benchrun.procedure") / "tables" / "ghs.csv"
    rows = csv.DictReader(table.read_text(encoding="utf-8").splitlines())
    return MappingProxyType({row["code"]: row["text"] for row in rows})


def code_text(code: str) -> str | None:
    """The text of a code such as `H314`, or of a joined one such as `P301+P330+P331`.

    The product's own label and safety data sheet go before these texts.

    Returns:
        The text, or None where the code (or a part of it) is not in the table.
    """
    parts = [_texts().get(part.strip()) for part in code.split("+")]
    texts = [part for part in parts if part is not None]
    return " ".join(texts) if len(texts) == len(parts) else None


def code_lines(hazard: Hazard) -> tuple[str, ...]:
    """A line for each code of a caution: the code and its text."""
    return tuple(f"{code} {code_text(code) or ''}".strip() for code in hazard.codes)
