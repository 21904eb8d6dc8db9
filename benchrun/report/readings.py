"""The sections on what was measured: readings with plots, findings, dwells, rounds, sums."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import groupby

from benchrun.account.facts import DwellFacts, FindingFacts, ReadingFacts, RunFacts, SumFacts
from benchrun.quantity import limits_words, unit_words
from benchrun.report.doc import Block, Cell, Para, Plot, Section, Under, table_of
from benchrun.report.plots import MOST_ROWS, PlotLine, Point, Spell, readings_plot, spells_plot
from benchrun.report.wording import clock, parts_words
from benchrun.text import count
from benchrun.wording import elapsed_words, grouped, minute_words, time_limits, value_words

_LETTERS = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ%µ° "
_WORST = ("outside", "in doubt", "inside", "")
_MARKS = {"outside": "bad", "in doubt": "doubt", "early": "bad", "late": "bad"}


def verdict_mark(verdict: str) -> str:
    """How a verdict is marked."""
    return _MARKS.get(verdict, "doubt" if verdict.startswith("perhaps") else "")


def readings_section(facts: RunFacts) -> Section:
    """Readings against their limits, a block a step."""
    blocks: list[Block] = []
    measured = [one for one in facts.readings if one.source == "reading"]
    for number, rows in groupby(sorted(measured, key=lambda r: r.number), key=lambda r: r.number):
        blocks += _reading_block(facts, number, list(rows))
    if not blocks:
        blocks.append(Para("Nothing was measured."))
    return Section("Readings against their limits", tuple(blocks))


Row = tuple[tuple[str, ...], int, tuple[ReadingFacts, ...]]


def _reading_rows(readings: Sequence[ReadingFacts]) -> list[Row]:
    """Readings by part and occasion; a value read once for several parts is one row."""
    occasions: dict[tuple[str, str], int] = {}
    made: dict[tuple[str, int], list[ReadingFacts]] = {}
    for one in readings:
        seen = occasions[one.part, one.place] = occasions.get((one.part, one.place), 0) + 1
        made.setdefault((one.part, seen), []).append(one)
    joined: dict[object, Row] = {}
    for (part, seen), group in made.items():
        shared = all(one.batch for one in group)
        told = tuple((r.n, r.place, r.value, r.low, r.high, r.verdict) for r in group)
        key = told if shared else (part, seen)
        parts = joined[key][0] if key in joined else ()
        joined[key] = ((*parts, part), seen, tuple(group))
    return list(joined.values())


def _reading_block(
    facts: RunFacts, number: int, readings: Sequence[ReadingFacts]
) -> Iterator[Block]:
    first = readings[0]
    rows = _reading_rows(readings)
    places = tuple(dict.fromkeys(one.place for one in readings))
    limits = {limits_words(r.low, r.high, r.unit) for r in readings}
    instruments = {_instrument(r) for r in readings} - {""}
    notes = [f"limits {limits.copy().pop()}"] if len(limits) == 1 and limits != {""} else []
    notes += sorted(instruments)
    yield Under(f"{number}. {first.text}", "; ".join(notes))
    if _drawable(readings):
        yield from _plots(facts, rows, first)
    yield _reading_table(facts, rows, places, own_limits=len(limits) > 1)


def _drawable(readings: Sequence[ReadingFacts]) -> bool:
    """Whether a drawing says more than the table: not for counts that must come out even."""
    if all(r.low and r.low == r.high for r in readings):
        return False
    # A count without an upper limit is a number to read, not a place on a scale.
    many = len(readings) > 2 and readings[0].unit != ""
    return many or any(r.low and r.high for r in readings)


def _instrument(reading: ReadingFacts) -> str:
    if not reading.uncertainty:
        return reading.instrument
    return f"{reading.instrument} ± {value_words(reading.uncertainty, reading.unit)}".strip()


def _plots(facts: RunFacts, rows: Sequence[Row], first: ReadingFacts) -> Iterator[Plot]:
    lines = []
    for parts, seen, group in rows:
        valid = [r for r in group if not r.taken_back]
        if valid:
            label = _row_label(facts, parts, seen)
            points = tuple(_point(r) for r in valid)
            lines.append(PlotLine(label, points, _limit(valid[0].low), _limit(valid[0].high)))
    title = f"{first.text} Readings and limits."
    for start in range(0, len(lines), MOST_ROWS):
        some = lines[start : start + MOST_ROWS]
        yield Plot(readings_plot(some, unit_words(first.unit), title, lines))


def _point(reading: ReadingFacts) -> Point:
    was = Decimal(reading.first) if reading.first != reading.value else None
    reach = Decimal(reading.uncertainty or 0)
    return Point(Decimal(reading.value), reach, reading.verdict, was)


def _limit(text: str) -> Decimal | None:
    return Decimal(text) if text else None


def _row_label(facts: RunFacts, parts: Sequence[str], seen: int) -> str:
    who = parts_words(parts, (p.part for p in facts.parts))
    return who if seen == 1 else f"{who}, time {seen}"


def _reading_table(
    facts: RunFacts, rows: Sequence[Row], places: tuple[str, ...], *, own_limits: bool
) -> Block:
    named = places != ("",)
    columns = ["Part", *(places if named else ("Reading",))]
    columns += ["Limits"] if own_limits else []
    columns += ["Verdict", "When", "Who"]
    made = []
    for parts, seen, group in rows:
        by_place = {one.place: one for one in group}
        cells: list[Cell | str] = [_row_label(facts, parts, seen)]
        cells += [_value_cell(by_place.get(place), with_unit=not named) for place in places]
        last = group[-1]
        cells += [limits_words(last.low, last.high, last.unit)] if own_limits else []
        cells += [_verdict_cell(group), minute_words(last.utc), facts.name_of(last.by)]
        made.append(cells)
    return table_of(columns, made, range(1, 1 + len(places)))


def _value_cell(reading: ReadingFacts | None, *, with_unit: bool) -> Cell:
    if reading is None:
        return Cell("")
    unit = reading.unit if with_unit else ""
    words = value_words(reading.value, unit) if with_unit else reading.value
    was = ""
    if reading.first != reading.value:
        was = value_words(reading.first, unit) if with_unit else reading.first
    if with_unit and not _said(reading):
        words = f"{words} (typed {reading.typed})"
    mark = "gone" if reading.taken_back else verdict_mark(reading.verdict)
    return Cell(words, was, mark)


def _said(reading: ReadingFacts) -> bool:
    """Whether the text as typed says nothing that the value does not."""
    typed = reading.typed.rstrip(_LETTERS)
    return not typed or typed.replace(",", ".").lstrip("+") == reading.value


def _verdict_cell(group: Sequence[ReadingFacts]) -> Cell:
    if all(one.taken_back for one in group):
        return Cell("taken back", mark="gone")
    valid = [one for one in group if not one.taken_back]
    worst = min((one.verdict for one in valid), key=_rank)
    before = min((one.first_verdict for one in valid), key=_rank)
    words = worst or "no limits"
    return Cell(words, before if before != worst else "", verdict_mark(worst))


def _rank(verdict: str) -> int:
    return _WORST.index(verdict) if verdict in _WORST else 1


def findings_section(facts: RunFacts) -> Section | None:
    """The findings of inspections, a row a finding."""
    rows: list[list[Cell | str]] = []
    ordered = sorted(facts.findings, key=lambda f: f.number)
    for number, step in groupby(ordered, key=lambda f: f.number):
        first = True
        for (found, was, gone), group in _found(list(step)):
            text = f"{number}. {group[0].text}" if first else ""
            first = False
            who = parts_words((one.part for one in group), (p.part for p in facts.parts))
            said = f"{found} (taken back)" if gone else found
            rows.append([text, Cell(said, was, "gone" if gone else ""), who, _days(group)])
    if not rows:
        return None
    return Section("What was found", (table_of(("Looked at", "Found", "Parts", "When"), rows),))


Found = tuple[tuple[str, str, bool], list[FindingFacts]]


def _found(findings: Sequence[FindingFacts]) -> list[Found]:
    made: dict[tuple[str, str, bool, int], list[FindingFacts]] = {}
    seen: dict[str, int] = {}
    for one in findings:
        time = seen[one.part] = seen.get(one.part, 0) + 1
        was = one.first if one.first != one.found else ""
        made.setdefault((one.found, was, one.taken_back, time), []).append(one)
    return [((found, was, gone), group) for (found, was, gone, _), group in made.items()]


def _days(group: Sequence[FindingFacts]) -> str:
    first, last = minute_words(group[0].utc), minute_words(group[-1].utc)
    return first if first[:10] == last[:10] else f"{first} to {last}"


def dwells_section(facts: RunFacts) -> Section | None:
    """Dwells on a time line with least and most, a block a step."""
    blocks: list[Block] = []
    ordered = sorted(facts.dwells, key=lambda d: (d.number, d.n_in))
    for number, step in groupby(ordered, key=lambda d: d.number):
        group = list(step)
        bounds = {time_limits(one.least, one.most) for one in group}
        note = bounds.copy().pop() if len(bounds) == 1 else ""
        where = ", ".join(dict.fromkeys(one.where for one in group if one.where))
        blocks.append(Under(f"{number}. {group[0].text}", "; ".join(w for w in (where, note) if w)))
        drawn = [_spell(facts, one) for one in group if not one.taken_back]
        for start in range(0, len(drawn), MOST_ROWS):
            title = f"{group[0].text} Time in, least and most."
            svg = spells_plot(drawn[start : start + MOST_ROWS], title, drawn)
            blocks += [Plot(svg)] if svg else []
        blocks.append(_dwell_table(facts, group, own_bounds=len(bounds) > 1))
    return Section("Dwells and times away", tuple(blocks)) if blocks else None


def _spell(facts: RunFacts, one: DwellFacts) -> Spell:
    label = f"{clock(one.began)[:5]} {parts_words(one.parts, (p.part for p in facts.parts))}"
    return Spell(label, one.proven, one.possible, one.least, one.most, one.verdict)


def _dwell_table(facts: RunFacts, group: Sequence[DwellFacts], *, own_bounds: bool) -> Block:
    tended = any(one.tended for one in group)
    columns = ["Load", "In", "Out", "Time in"]
    columns += ["Limits"] if own_bounds else []
    columns += ["Tended"] if tended else []
    rows = []
    for one in group:
        gone = "gone" if one.taken_back else ""
        cells: list[Cell | str] = [
            Cell(parts_words(one.parts, (p.part for p in facts.parts)), mark=gone),
            _stamp(one.began),
            "still in" if one.n_out is None else _stamp(one.ended),
            elapsed_words(one.proven, one.possible),
        ]
        cells += [time_limits(one.least, one.most)] if own_bounds else []
        cells += [count(one.tended, "time")] if tended else []
        verdict = "taken back" if one.taken_back else one.verdict or "no limits"
        verdict = verdict if one.n_out is not None or one.taken_back else ""
        rows.append([*cells, Cell(verdict, mark=gone or verdict_mark(one.verdict))])
    return table_of([*columns, "Verdict"], rows)


def _stamp(utc: str) -> str:
    return f"{utc[:10]} {clock(utc)}"


def rounds_section(facts: RunFacts) -> Section | None:
    """Coats and other rounds, part by part."""
    blocks: list[Block] = []
    ordered = sorted(facts.repeats, key=lambda r: r.number)
    for _, step in groupby(ordered, key=lambda r: (r.number, r.title)):
        group = list(step)
        blocks.append(Under(group[0].title, f"step {group[0].number}, {group[0].text}"))
        rows = [
            (
                parts_words(one.parts, (p.part for p in facts.parts)),
                str(len(one.rounds)),
                "; ".join(f"{minute_words(utc)} {facts.name_of(by)}" for utc, by in one.rounds),
            )
            for one in group
        ]
        blocks.append(table_of(("Parts", "Number", "When and who"), rows, (1,)))
    return Section("Coats and other rounds, part by part", tuple(blocks)) if blocks else None


def sums_section(facts: RunFacts) -> Section | None:
    """The sums, with the numbers put in."""
    blocks: list[Block] = []
    ordered = sorted(facts.sums, key=lambda s: (s.number, s.n))
    for number, step in groupby(ordered, key=lambda s: s.number):
        group = list(step)
        source = group[0].source
        blocks.append(Under(f"{number}. {group[0].text}", f"source: {source}" if source else ""))
        blocks.append(Para(f"{group[0].name} = {group[0].formula}"))
        blocks.append(_sum_table(facts, group))
    return Section("Sums, with the numbers put in", tuple(blocks)) if blocks else None


def _sum_table(facts: RunFacts, group: Sequence[SumFacts]) -> Block:
    limits = {
        (r.n, r.part): limits_words(r.low, r.high, r.unit)
        for r in facts.readings
        if r.source != "reading"
    }
    rows = []
    for one in group:
        who = parts_words(one.parts, (p.part for p in facts.parts))
        result = Cell(one.result, one.was, verdict_mark(one.verdict))
        verdict = Cell(one.verdict or "no limits", mark=verdict_mark(one.verdict))
        own = grouped({part: limits.get((one.n, part), "") for part in one.parts})
        rows.append((who, one.filled, result, "; ".join(w for w, _ in own), verdict))
    return table_of(("Parts", "Numbers put in", "Result", "Limits", "Verdict"), rows, (2,))
