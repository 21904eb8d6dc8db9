"""A result in words for a terminal, and how a sum is called there."""

import re
import textwrap
from collections.abc import Iterable
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.shopmath.calc import Calc, Result
from benchrun.shopmath.inputs import Input

_WIDTH: Final = 80


def result_text(calc: Calc, result: Result) -> str:
    """The whole answer as plain lines: cautions first, then answers, sum, notes and sources."""
    width = max(len(name) for name in result.outputs)
    meanings = {output.name: output.meaning for output in calc.outputs}
    answers = [
        (name, amount.words, meanings.get(name, "")) for name, amount in result.outputs.items()
    ]
    value_width = min(24, max(len(words) for _, words, _ in answers))
    lines = [line for caution in result.cautions for line in _wrapped("CAUTION", caution)]
    lines += [""] if lines else []
    lines += [
        f"{name:<{width}}  {words:<{value_width}}  {meaning}".rstrip()
        if len(words) <= value_width
        else f"{name:<{width}}  {words}"
        for name, words, meaning in answers
    ]
    lines += _block("sum", result.workings)
    lines += _block("note", result.notes)
    lines += _block("source", result.sources)
    return "\n".join(lines)


def _block(title: str, lines: Iterable[str]) -> list[str]:
    wrapped = [part for line in dict.fromkeys(lines) for part in _wrapped(title, line)]
    return ["", *wrapped] if wrapped else []


def _wrapped(title: str, line: str) -> list[str]:
    head = f"{title:<8} "
    # A no-break space keeps a number and its unit on one line while wrapping.
    held = re.sub(r"(?<=[0-9]) (?=[^\W0-9]|[°%])", "\N{NO-BREAK SPACE}", line)
    lines = textwrap.wrap(held, _WIDTH, initial_indent=head, subsequent_indent=" " * len(head))
    return [part.replace("\N{NO-BREAK SPACE}", " ") for part in lines]


def usage(calc: Calc) -> str:
    """How to call a calculation: inputs, outputs and an example, as plain lines."""
    names = [*(entry.name for entry in calc.entries), *(output.name for output in calc.outputs)]
    width = max(map(len, names))
    lines = [f"{calc.name}: {calc.purpose}"]
    lines += _wrapped("", calc.convention) if calc.convention else []
    lines += ["", "takes"]
    lines += [f"  {entry.name:<{width}}  {_about(entry)}" for entry in calc.entries]
    lines += ["", "answers"]
    lines += [
        f"  {output.name:<{width}}  {output.meaning}" + (f", {output.unit}" if output.unit else "")
        for output in calc.outputs
    ]
    pairs = " ".join(_pair(name, value) for name, value in calc.example.items())
    return "\n".join([*lines, "", f"such as  benchrun calc {calc.name} {pairs}"])


def _pair(name: str, value: str) -> str:
    quoted = f'"{value}"' if any(char in value for char in " ;#") else value
    return f"{name}={quoted}"


def _about(entry: Input) -> str:
    parts = [entry.meaning]
    if entry.unit and entry.unit != "difference":
        parts.append(f"in {entry.unit}")
    if entry.choices:
        parts.append(f"one of {', '.join(entry.choices)}")
    if entry.default is not None:
        parts.append(f"{entry.default} when not given")
    elif not entry.needed and "not given" not in entry.meaning:
        parts.append("may be missing")
    return "; ".join(parts)


def pairs_from(pairs: Iterable[str]) -> dict[str, str]:
    """Read `key=value` words of a command line.

    Raises:
        BenchrunError: A word has no `=`, or a key comes twice.
    """
    values: dict[str, str] = {}
    for pair in pairs:
        name, equals, value = pair.partition("=")
        if not equals or not name.strip():
            raise BenchrunError(f"{pair[:40]!r} is not name=value, such as size=62")
        if name.strip() in values:
            raise BenchrunError(f"{name.strip()[:40]} is given twice")
        values[name.strip()] = value
    return values
