"""The text of `benchrun calc`: the list of sums, how to call one, or its answer."""

import json
from collections.abc import Sequence

from benchrun.shopmath.catalogue import CALCS, calc_named
from benchrun.shopmath.words import pairs_from, result_text, usage
from benchrun.text import columns


def calc_text(name: str | None, pairs: Sequence[str] = (), as_json: bool = False) -> str:
    """Work out one calculation for the command line.

    Args:
        name: The calculation; None or empty for the list of all.
        pairs: `key=value` words, values typed as at the bench; none at all asks how to call it.
        as_json: Answer as JSON: outputs as decimal strings with units, notes and sources.

    Returns:
        The text to print, without the last line break.

    Raises:
        BenchrunError: The name, a key or a value is no good; the message says what and why.
    """
    if not name:
        return calc_list()
    calc = calc_named(name)
    if not pairs:
        return usage(calc)
    values = pairs_from(pairs)
    if as_json:
        return json.dumps(calc.work(values).as_data(), indent=2)
    return result_text(calc, calc.read_out(values))


def calc_list() -> str:
    """All calculations with their purposes, one a line."""
    return "\n".join(columns([(calc.name, calc.purpose) for calc in CALCS.values()], longest=200))
