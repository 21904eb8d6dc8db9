"""The characteristics of the parts against their limits, by which rule, with which instruments."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Final

from benchrun.account.facts import RunFacts
from benchrun.account.rounding import limit_shown, uncertainty_shown
from benchrun.account.value_facts import LimitOrigin, ReadingFacts
from benchrun.lean_dataclass import lean_dataclass
from benchrun.part_names import part_names
from benchrun.quantity import limits_words, unit_words
from benchrun.report.doc import Block, Cell, Para, Section, Table, table_of
from benchrun.report.room import height_of
from benchrun.report.wording import job_parts_words
from benchrun.text import count, listed
from benchrun.wording import unfit_words

RULE: Final = (
    "Decision rule (ISO 14253-1, guarded by the whole expanded uncertainty U, k = 2): inside when "
    "the value with its U lies within the limits, outside when it lies wholly beyond one, in doubt "
    "between. A value equal to its limit meets it. Where no U is known, the value alone is "
    "compared."
)
_LEAST_ROWS: Final = 1
_MOST_SINGLE: Final = 40  # rows of the annex, before parts that came out alike share one
ALL_OF_THEM: Final = "Every characteristic against its limits"
LIMITS: Final = "Was it in limits"
"""The heading of the characteristics on the front."""
_WORST: Final = ("outside", "in doubt", "inside")
_MARKS: Final = {"outside": "bad", "in doubt": "doubt"}


@lean_dataclass(frozen=True, slots=True)
class Characteristic:
    """A characteristic of one part or of several alike, with its values as they stand.

    Attributes:
        number: Which run of the job it is of, from 1.
        readings: One value a place and part, the last that was taken there.
    """

    number: int
    run: RunFacts
    parts: tuple[str, ...]
    readings: tuple[ReadingFacts, ...]

    @property
    def verdict(self) -> str:
        """The worst verdict of its values."""
        said = {reading.verdict for reading in self.readings}
        return next((verdict for verdict in _WORST if verdict in said), "")


def standing(run: RunFacts) -> list[ReadingFacts]:
    """The values of a run's characteristics as they stand: of each place the last one taken."""
    last = {
        (reading.part, reading.step, reading.place): reading
        for reading in run.readings
        if reading.characteristic and not reading.taken_back
    }
    return list(last.values())


def characteristics(runs: Sequence[RunFacts]) -> list[Characteristic]:
    """Every characteristic of every part, in the order in which they were measured."""
    single: list[Characteristic] = []
    for number, run in enumerate(runs, 1):
        groups: dict[tuple[int, str], list[ReadingFacts]] = {}
        for reading in standing(run):
            groups.setdefault((reading.number, reading.part), []).append(reading)
        single += [
            Characteristic(number, run, (part,), tuple(readings))
            for (_, part), readings in sorted(groups.items(), key=lambda item: item[0][0])
        ]
    return single


def _joined(single: Sequence[Characteristic]) -> list[Characteristic]:
    alike: dict[tuple[str, int, str, str], list[Characteristic]] = {}
    for one in single:
        first = one.readings[0]
        alone = "" if one.verdict == "inside" else one.parts[0]
        alike.setdefault((one.run.run, first.number, one.verdict, alone), []).append(one)
    return [
        Characteristic(
            group[0].number,
            group[0].run,
            tuple(part for one in group for part in one.parts),
            tuple(reading for one in group for reading in one.readings),
        )
        for group in alike.values()
    ]


def conformity_section(runs: Sequence[RunFacts], room: float) -> Section:
    """Was it in limits: the characteristics, the rule, the instruments.

    Where not every row has room, parts that came out alike share one; where these have none
    either, those that are not inside stand here first, and the annex has them all.

    Args:
        runs: Over all of these.
        room: The height that there is on the front, in points.
    """
    single = characteristics(runs)
    if not single:
        words = "No characteristic of a part was measured against limits."
        return Section(LIMITS, (Para(words), *_instruments(runs, some=True)))
    joined = _joined(single)
    worst_first = sorted(joined, key=lambda one: _WORST.index(one.verdict or "inside"))
    fewer = [worst_first[:rows] for rows in range(len(joined) - 1, _LEAST_ROWS - 1, -1)]
    sections = (_told(runs, single, here) for here in (single, joined, *fewer))
    section = next(sections)
    while height_of(section) > room:
        smaller = next(sections, None)
        if smaller is None:
            break
        section = smaller
    return section


def _told(
    runs: Sequence[RunFacts], single: Sequence[Characteristic], here: Sequence[Characteristic]
) -> Section:
    """The section with some of the rows."""
    every = here is single
    left = sum(len(one.parts) for one in single) - sum(len(one.parts) for one in here)
    rest = f"The other {count(left, 'row')} are in the annex, {ALL_OF_THEM}." if left else ""
    more = [Para(rest)] if rest else []
    return Section(
        LIMITS,
        (
            _counted(single),
            _table(runs, here),
            *more,
            Para(RULE),
            *_instruments(runs, some=not every),
        ),
    )


def all_characteristics(runs: Sequence[RunFacts], front: Section) -> Section | None:
    """Every characteristic and instrument, where the front has no row for each.

    Of very many parts those that came out alike share a row: the readings stand part by part.

    Args:
        runs: Over all of these.
        front: What the front tells of them.
    """
    single = characteristics(runs)
    found = single if len(single) <= _MOST_SINGLE else _joined(single)
    told = next((len(block.rows) for block in front.blocks if isinstance(block, Table)), 0)
    if not found or told == len(found):
        return None
    blocks = (_table(runs, found), *_instruments(runs, some=False))
    return Section(ALL_OF_THEM, blocks)


def _counted(found: Sequence[Characteristic]) -> Para:
    said = []
    for verdict in reversed(_WORST):
        of = [reading for one in found for reading in one.readings if reading.verdict == verdict]
        if of:
            parts = dict.fromkeys(reading.part for reading in of)
            who = "" if verdict == "inside" else f" ({part_names(list(parts))})"
            said.append(f"{len(of)} {verdict}{who}")
    total = sum(len(one.readings) for one in found)
    worst = next(verdict for verdict in _WORST if any(one.verdict == verdict for one in found))
    if worst == "inside":
        return Para(f"All {count(total, 'value')} inside." if total > 1 else "The value is inside.")
    return Para(f"Of {count(total, 'value')}: {listed(said)}.", _MARKS[worst])


def _table(runs: Sequence[RunFacts], found: Sequence[Characteristic]) -> Table:
    rows = [
        (
            job_parts_words(one.parts, one.run, runs),
            _title(runs, one),
            _limits(one.readings),
            _values(one.readings),
            listed(list(dict.fromkeys(_instrument(reading) for reading in one.readings))),
            Cell(one.verdict, mark=_MARKS.get(one.verdict, "")),
        )
        for one in found
    ]
    heads = ("Part", "Characteristic", "Limits, and where from", "Value, U", "Instrument")
    return table_of((*heads, "Verdict"), rows)


def _title(runs: Sequence[RunFacts], one: Characteristic) -> str:
    first = one.readings[0]
    places = dict.fromkeys(reading.place for reading in one.readings)
    many = f" ({count(len(places), 'place')})" if len(places) > 1 else ""
    run = f"run {one.number}, " if len(runs) > 1 else ""
    return f"{run}{first.number}. {first.text.removesuffix('.')}{many}"


def _limits(readings: Sequence[ReadingFacts]) -> str:
    said = {
        limits_words(limit_shown(r.low, r.value), limit_shown(r.high, r.value), r.unit)
        for r in readings
    }
    words = said.pop() if len(said) == 1 else "limits of each part, see the annex"
    return f"{words}; {origin_words(readings[0].origins)}".removesuffix("; ")


def origin_words(origins: Sequence[LimitOrigin]) -> str:
    """Where limits come from, in words: `typed at step 1`, `low procedure (iso); high typed …`."""
    said = (
        one.words if one.of == "both" or len(origins) == 1 else f"{one.of} {one.words}"
        for one in origins
    )
    return "; ".join(said)


def _values(readings: Sequence[ReadingFacts]) -> str:
    ordered = sorted(readings, key=lambda reading: Decimal(reading.value))
    low, high = ordered[0].shown, ordered[-1].shown
    words = low if low == high else f"{low} to {high}"
    largest = max(readings, key=lambda reading: Decimal(reading.uncertainty or 0))
    reach = uncertainty_shown(largest.uncertainty)
    unit = unit_words(readings[0].unit)
    return f"{words} {unit}".strip() + (f", ± {reach}" if reach else "")


def _instrument(reading: ReadingFacts) -> str:
    if reading.source != "reading":
        return "worked out"
    if reading.named:
        return reading.instrument
    return f"{reading.instrument}, not identified" if reading.instrument else "not named"


def _instruments(runs: Sequence[RunFacts], *, some: bool) -> Iterator[Block]:
    """Each instrument with its calibration, as its book said on the day of the reading.

    Args:
        runs: Over all of these.
        some: Only those that were not fit, where there are many.
    """
    used: dict[tuple[str, str], ReadingFacts] = {}
    for run in runs:
        for reading in run.readings:
            if reading.named and reading.characteristic:
                used.setdefault((reading.instrument, reading.calibrated), reading)
    rows = [
        (
            reading.instrument,
            _about(reading),
            reading.calibrated or "see its words",
            Cell(reading.until, mark="bad" if _overdue(reading) else ""),
            Cell(_fitness(reading), mark="doubt" if reading.misgivings else ""),
        )
        for reading in used.values()
        if not some or len(used) <= _FEW_TOOLS or reading.misgivings
    ]
    if rows:
        heads = ("Instrument", "What it is", "Calibrated", "Good until", "On the day")
        yield table_of(heads, rows)


def _about(reading: ReadingFacts) -> str:
    kept = [word for word in reading.about.split("; ") if not word.startswith(_CALIBRATION)]
    return "; ".join(kept)


_FEW_TOOLS: Final = 3
_CALIBRATION: Final = ("calibrated ", "good until ")


def _overdue(reading: ReadingFacts) -> bool:
    return bool(reading.until) and reading.until < reading.utc[:10]


def _fitness(reading: ReadingFacts) -> str:
    return "; ".join(reading.misgivings) or "fit"


def book_words(runs: Sequence[RunFacts]) -> Iterator[Para]:
    """The sentence for the front where a shop keeps no instruments book behind its readings."""
    bare = [
        reading
        for run in runs
        if "instruments" in run.not_kept
        for reading in run.readings
        if reading.source == "reading" and not reading.named and not reading.taken_back
    ]
    if bare:
        yield Para(
            f"This shop keeps no instruments book: {_readings_of(bare)} without an instrument "
            "that could be followed, and no calibration is shown.",
            "doubt",
        )


def instrument_doubts(runs: Sequence[RunFacts]) -> Iterator[str]:
    """The reasons to doubt an instrument, a sentence each, over all readings of some runs."""
    readings = [r for run in runs for r in run.readings if not r.taken_back]
    unnamed: dict[str, list[ReadingFacts]] = {}
    unfit: dict[str, list[ReadingFacts]] = {}
    for reading in readings:
        if reading.source == "reading" and reading.instrument and not reading.named:
            unnamed.setdefault(reading.instrument, []).append(reading)
        if reading.misgivings:
            words = unfit_words(reading.instrument, reading.misgivings)
            unfit.setdefault(words, []).append(reading)
    for words, of in unfit.items():
        why = f"; reason given: {of[0].reason}" if of[0].reason else ""
        yield f"{words}: {_readings_of(of)}{why}."
    for name, of in unnamed.items():
        yield (
            f"Which {name} was used is not known for {_readings_of(of)}: its calibration is not "
            "shown."
        )
    blind = [
        r
        for r in readings
        if r.characteristic and r.source == "reading" and r.verdict and not r.uncertainty
    ]
    if blind:
        yield f"No uncertainty is known for {_readings_of(blind)}: each value alone was compared."


def _readings_of(readings: Sequence[ReadingFacts]) -> str:
    parts = part_names(list(dict.fromkeys(reading.part for reading in readings)))
    entries = {(reading.n, reading.place) for reading in readings}
    return f"{count(len(entries), 'reading')} of {parts}"


def typed_limits(runs: Sequence[RunFacts]) -> str:
    """How many values were judged by limits that somebody typed, in a sentence; empty for none."""
    typed = [
        reading
        for run in runs
        for reading in standing(run)
        if any(origin.kind == "typed" for origin in reading.origins)
    ]
    if not typed:
        return ""
    return (
        f"The limits of {count(len(typed), 'value')} rest on numbers that were typed at the "
        "beginning of the work; no document is kept with them."
    )
