"""The short phrases of the language: lengths of time, consequences, names of places to measure.

Each reader raises ValueError with what was found and what would do; the loader adds the place.
"""

import re
from decimal import Decimal
from itertools import product
from math import prod
from typing import Final

from benchrun.procedure.route import Act, Consequence

_TIME: Final = re.compile(r"([0-9]+(?:\.[0-9]+)?) ?([a-z]+)")
_UNITS_OF_TIME: Final = {
    "s": 1_000, "min": 60_000, "h": 3_600_000, "d": 86_400_000,
    "second": 1_000, "minute": 60_000, "hour": 3_600_000, "day": 86_400_000, "week": 604_800_000,
}  # fmt: skip
MOST_PLACES: Final = 200
FINDING_WORD: Final = "finding"
"""Stands in place of a unit where a value is a word that was found."""
_LONGEST: Final = 5 * 365 * 86_400_000
_COUNTED: Final = re.compile(r"(.*?),? (?:at most )?(once|twice|[0-9]{1,3} times)")
_PLAIN_ACTS: Final = {
    "go on": Act.GO_ON,
    "again": Act.AGAIN,
    "set aside": Act.ASIDE,
    "scrap": Act.SCRAP,
    "stop the run": Act.STOP,
}
_SAY_ACTS: Final = (
    "write go on, again, rework from STEP at most 2 times, set aside, send away to PLACE, "
    "scrap, or stop the run"
)
STEP_ID: Final = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*")


def time_span(text: str) -> int:
    """A length of time such as `90 s`, `10 min`, `1 h 30 min`, `2 days`.

    Returns:
        Whole milliseconds.

    Raises:
        ValueError: It is no length of time.
    """
    left, total, last = text.strip(), Decimal(0), None
    while left:
        match = _TIME.match(left)
        scale = None if match is None else _scale(match[2])
        if match is None or scale is None or (last is not None and scale >= last):
            raise ValueError(
                f"{text!r} is no length of time: write 90 s, 10 min, 2 h or 1 h 30 min"
            )
        total += Decimal(match[1]) * scale
        left, last = left[match.end() :].strip(), scale
    if last is None or total <= 0 or total > _LONGEST or total != int(total):
        raise ValueError(
            f"{text!r} is no length of time that can be kept: write 90 s, 10 min or 2 h"
        )
    return int(total)


def _scale(word: str) -> int | None:
    return _UNITS_OF_TIME.get(word) or _UNITS_OF_TIME.get(word.removesuffix("s"))


def in_time(milliseconds: int) -> str:
    """A length of time as a procedure writes it: `1 h 30 min`."""
    parts: list[str] = []
    for unit, scale in (("d", 86_400_000), ("h", 3_600_000), ("min", 60_000)):
        count, milliseconds = divmod(milliseconds, scale)
        if count:
            parts.append(f"{count} {unit}")
    if milliseconds or not parts:
        parts.append(f"{Decimal(milliseconds) / 1000:f} s")
    return " ".join(parts)


def consequence(text: str) -> Consequence:
    """A consequence such as `set aside` or `rework from cleaning at most 2 times`.

    Raises:
        ValueError: It is none, or a rework does not say how many times.
    """
    words = " ".join(text.split())
    counted = _COUNTED.fullmatch(words)
    phrase, most = (counted[1], _times(counted[2])) if counted else (words, None)
    if most == 0:
        raise ValueError(f"{text!r} can never be taken: write once or more")
    if phrase.startswith("rework from "):
        step = phrase.removeprefix("rework from ").strip()
        if not STEP_ID.fullmatch(step):
            raise ValueError(f"{text!r} names no step: write rework from STEP at most 2 times")
        if most is None:
            raise ValueError(f"{text!r} could go on for ever: add `at most 2 times`")
        return Consequence(Act.REWORK, step, most, words)
    if phrase.startswith("send away to "):
        return Consequence(Act.AWAY, phrase.removeprefix("send away to ").strip(), most, words)
    act = _PLAIN_ACTS.get(phrase)
    if act is None:
        raise ValueError(f"{text!r} is no consequence: {_SAY_ACTS}")
    if most is not None and act is not Act.AGAIN:
        raise ValueError(f"{text!r} cannot be counted: write {phrase}")
    return Consequence(act, "", most, words)


def _times(text: str) -> int:
    return {"once": 1, "twice": 2}.get(text) or int(text.removesuffix(" times"))


def places(axes: dict[str, list[str]], times: int) -> tuple[str, ...]:
    """The places of a grid in reading order: `A 0°`, `A 45°`, …, `B 0°`.

    Args:
        axes: The names along each side of the grid, the slowest first; `angles` get their sign.
        times: How often each place is measured.

    Raises:
        ValueError: There are more than 200.
    """
    sides = [
        [f"{name.removesuffix('°')}°" if axis == "angles" else name for name in names]
        for axis, names in axes.items()
    ]
    if times > 1:
        sides.append([f"({count})" for count in range(1, times + 1)])
    if prod(map(len, sides)) > MOST_PLACES:
        raise ValueError(f"more than {MOST_PLACES} places to measure: split the step")
    return tuple(" ".join(names) for names in product(*sides)) if sides else ("",)


def name_of(step: str) -> str:
    """The default name of a step in formulas: its id with _ for -."""
    return step.replace("-", "_")


def id_from_words(text: str, words: int = 4) -> str:
    """An id made of the first words of a text, or empty where it has no plain letters."""
    words_found = re.findall(r"[a-z0-9]+", text.lower())[:words]
    while words_found and not words_found[0][0].isalpha():
        words_found = words_found[1:]
    return "-".join(words_found)
