"""The list under a signature: what the record holds of its parts since they were last signed for.

Deviations, times that were not kept, values outside, doubts that stand, open questions; and beside
each of these the words of the statement that it contradicts.
"""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from enum import Enum, auto
from typing import Final

from benchrun.account.facts import RunFacts
from benchrun.account.value_facts import ReadingFacts
from benchrun.account.walk import AccountWalk, facts_of
from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.route import Hold, Procedure, Step
from benchrun.quantity import limits_words
from benchrun.run import entries as e
from benchrun.run.state import Ask
from benchrun.run.verdict import IN_TIME
from benchrun.shopmath.accepting import OUTSIDE
from benchrun.wording import value_words

_LEFT: Final = frozenset({"scrap", "set aside"})
_BY_TIME: Final = frozenset({Ask.EARLY, Ask.LATE, Ask.EARLY_OR_LATE, Ask.WINDOW})
_FELL: Final = frozenset({"withdrawn", "undone"})


class _Sort(Enum):
    """The sort of a row: which words of a statement it contradicts."""

    TIME = auto()
    SIZE = auto()
    OPEN = auto()
    OTHERWISE = auto()


_CONTRADICTS: Final = {
    _Sort.TIME: r"with?in (?:its|their|the) (?:own )?times?|(?:in|on) time|in (?:its|their) time",
    _Sort.SIZE: r"(?:with?in|inside|to) (?:its|their|the|all) (?:limits?|sizes?|tolerances?)"
    r"|with?in limits|to size",
    _Sort.OPEN: r"nothing (?:is )?(?:left )?open|no (?:open )?(?:questions?|doubts?)",
    _Sort.OTHERWISE: r"as (?:it is )?written|as the procedure says|without (?:a |any )?deviations?"
    r"|nothing (?:was )?left out|every step",
}


@lean_dataclass(frozen=True, slots=True)
class _Row:
    n: int
    sort: _Sort
    what: str
    parts: tuple[str, ...]


def signing_list(facts: RunFacts, parts: Sequence[str], says: str) -> tuple[e.Remark, ...]:
    """The list under a signature: first what the words contradict, each in the order of the log.

    Args:
        facts: The account of the run up to the signature.
        parts: The parts that are signed for.
        says: The words that are signed.
    """
    signed = dict.fromkeys(parts, -1)
    for one in facts.signatures:
        signed.update({part: one.n for part in one.parts if part in signed})
    left = {one.part for one in facts.parts if one.status in _LEFT}
    told: list[e.Remark] = []
    for row in sorted(_grouped(_rows(facts)), key=lambda row: row.n):
        # A doubt of the clock is about everybody. The order is the batch's, as a log that is read
        # again gives what came of an entry in the order of the alphabet.
        of = frozenset(row.parts or parts)
        mine = tuple(part for part in parts if part in of and row.n > signed[part])
        if mine:
            against = "" if set(mine) <= left else _contradicted(row.sort, says)
            told.append(e.Remark(row.n, row.what, mine if row.parts else (), against))
    return tuple(sorted(told, key=lambda remark: not remark.against))


def signing_list_of(
    procedure: Procedure, entries: Iterable[e.Entry], parts: Sequence[str], says: str
) -> tuple[e.Remark, ...]:
    """The list under a signature that would follow these entries."""
    return signing_list(facts_of(procedure, entries, to_sign=True), parts, says)


def lacking_remarks(walk: AccountWalk, data: e.Did | e.Closed) -> tuple[e.Remark, ...]:
    """The rows of the list under a signature that a statement of the log does not name.

    Another program may word a row otherwise: which entry it is of, and which parts, must be there.

    Args:
        walk: The account of the run up to the statement.
        data: The statement; an act that states nothing lacks nothing.
    """
    if not data.says:
        return ()
    parts, says = walk.run.parts, data.says
    if isinstance(data, e.Did):
        step = walk.run.route.steps[data.step]
        parts, says = data.parts, statement_of(step)
    named = Counter((one.of, one.parts) for one in data.remarks)
    lacking = []
    for row in signing_list(walk.finish(), parts, says):
        if named[row.of, row.parts]:
            named[row.of, row.parts] -= 1
        else:
            lacking.append(row)
    return tuple(lacking)


def statement_of(step: Step) -> str:
    """The words that a hold is signed with."""
    return step.detail.says if isinstance(step.detail, Hold) else step.text


def _contradicted(sort: _Sort, says: str) -> str:
    found = re.search(rf"\b(?:{_CONTRADICTS[sort]})\b", says, re.IGNORECASE)
    return found[0] if found else ""


def _rows(facts: RunFacts) -> Iterator[_Row]:
    off = {one.n_out for one in facts.dwells if one.verdict and one.verdict != IN_TIME}
    standing = _standing(facts.readings)
    for one in facts.deviations:
        why = f" ({one.reason})" if one.reason else ""
        step = f"step {one.number} " if one.number is not None else ""
        sort = _Sort.TIME if one.n in off else _Sort.OTHERWISE
        yield _Row(one.n, sort, f"{step}{one.words}{why}", one.parts)
    readings = {one.n for one in facts.readings}
    for doubt in facts.doubts:
        if doubt.n in readings and all(doubt.n != one.n for one in standing):
            continue  # measured again since
        sort = _Sort.TIME if doubt.n in off else _Sort.SIZE if doubt.n in readings else _Sort.OPEN
        yield _Row(doubt.n, sort, f"in doubt: {doubt.what}", doubt.parts)
    for value in standing:
        if value.verdict == OUTSIDE:
            yield _Row(value.n, _Sort.SIZE, _outside(value), (value.part,))
    for asked in facts.questions:
        if not asked.answer:
            yield _Row(asked.n, _Sort.OPEN, f"open question: {asked.says}", (asked.part,))
        elif asked.why == Ask.WINDOW and asked.answer not in _FELL:
            said = f"{asked.says.removesuffix('.')}: {asked.answer}"
            yield _Row(asked.n, _Sort.TIME, said, (asked.part,))


def _standing(readings: Iterable[ReadingFacts]) -> list[ReadingFacts]:
    """The value of each part at each place as it stands, the last that was read."""
    last = {(one.part, one.step, one.place): one for one in readings if not one.taken_back}
    return list(last.values())


def _outside(value: ReadingFacts) -> str:
    said = value_words(value.value, value.unit)
    limits = limits_words(value.low, value.high, value.unit)
    place = f" {value.place}" if value.place else ""
    return f"step {value.number}{place} {said}, outside {limits}"


def _grouped(rows: Iterable[_Row]) -> Iterator[_Row]:
    """The rows of several parts that say the same of one entry, as one."""
    same: dict[tuple[int, _Sort, str], list[str]] = {}
    for row in rows:
        same.setdefault((row.n, row.sort, row.what), []).extend(row.parts)
    for (n, sort, what), parts in same.items():
        yield _Row(n, sort, what, tuple(dict.fromkeys(parts)))
