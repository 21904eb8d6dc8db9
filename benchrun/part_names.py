"""Many tags in few words: `arm 1–3, clip-1/2, lever-l/r`."""

import re
from collections.abc import Sequence
from typing import Final

_NUMBERED: Final = re.compile(r"(.*\S[ -])(\w{1,3})")


def part_names(parts: Sequence[str], whole: Sequence[str] = ()) -> str:
    """Name parts in few words: ranges with a dash, others of one stem with a stroke between.

    Args:
        parts: The tags.
        whole: The batch; when all of more than two are meant, that is said instead.
    """
    if len(parts) > 2 and len(parts) == len(whole):
        return f"all {len(parts)}"
    stems: dict[str, list[str]] = {}
    for part in parts:
        match = _NUMBERED.fullmatch(part)
        stem, last = (match[1], match[2]) if match else (part, "")
        stems.setdefault(stem, []).append(last)
    return ", ".join(_told(stem, ends) for stem, ends in stems.items())


def _told(stem: str, ends: list[str]) -> str:
    if ends == [""]:
        return stem
    rows: list[list[str]] = []
    for end in filter(None, ends):
        if rows and _follows(rows[-1][-1], end):
            rows[-1].append(end)
        else:
            rows.append([end])
    told = [[f"{row[0]}–{row[-1]}"] if len(row) > 2 else row for row in rows]
    return stem + "/".join(end for row in told for end in row)


def _follows(before: str, end: str) -> bool:
    """Whether one number is the next after another."""
    return before.isdecimal() and end.isdecimal() and int(end) == int(before) + 1


def brief(parts: Sequence[str], room: int, whole: Sequence[str] = ()) -> str:
    """The same, counted where it would be wider than there is room."""
    words = part_names(parts, whole)
    return words if len(words) <= room else f"{len(parts)} parts"
