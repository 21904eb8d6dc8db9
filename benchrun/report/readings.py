"""The sections on what was measured: readings with plots, findings, dwells, rounds, sums."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import groupby

from benchrun.account.act_facts import DwellFacts
from benchrun.account.facts import RunFacts
from benchrun.account.rounding import limit_shown, uncertainty_shown
from benchrun.account.value_facts import FindingFacts, ReadingFacts, SumFacts
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
    measured = [reading for reading in facts.readings if reading.source == "reading"]
    for number, rows in groupby(sorted(measured, key=lambda r: r.number), key=lambda r: r.number):
        blocks += _reading_block(facts, number, list(rows))
    if not blocks:
        blocks.append(Para("Nothing was measured."))
    return Section("Readings against their limits", tuple(blocks))


Row = tuple[tuple[str, ...], int, tuple[ReadingFacts, ...]]


def _reading_rows(readings: Sequence[ReadingFacts]) -> list[Row]:
    """Readings by part and occasion; a value read once for several parts is one row."""
    occasions: dict[tuple[str, str], int] = {}
    by_step: dict[tuple[str, int], list[ReadingFacts]] = {}
    for reading in readings:
        seen = occasions[reading.part, reading.place] = (
            occasions.get((reading.part, reading.place), 0) + 1
        )
        by_step.setdefault((reading.part, seen), []).append(reading)
    joined: dict[object, Row] = {}
    for (part, seen), group in by_step.items():
        shared = all(reading.batch for reading in group)
        values = tuple((r.n, r.place, r.value, r.low, r.high, r.verdict) for r in group)
        key = values if shared else (part, seen)
        parts = joined[key][0] if key in joined else ()
        joined[key] = ((*parts, part), seen, tuple(group))
    return list(joined.values())


def _reading_block(
    facts: RunFacts, number: int, readings: Sequence[ReadingFacts]
) -> Iterator[Block]:
    first = readings[0]
    rows = _reading_rows(readings)
    places = tuple(dict.fromkeys(reading.place for reading in readings))
    limits = {_limits(r) for r in readings}
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
    reach = f"{uncertainty_shown(reading.uncertainty)} {unit_words(reading.unit)}".strip()
    return f"{reading.instrument} ± {reach}".strip()


def _limits(reading: ReadingFacts) -> str:
    """Limits with no more digits than a value can be judged by."""
    low, high = (limit_shown(limit, reading.value) for limit in (reading.low, reading.high))
    return limits_words(low, high, reading.unit)


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
    table_rows = []
    for parts, seen, group in rows:
        by_place = {reading.place: reading for reading in group}
        cells: list[Cell | str] = [_row_label(facts, parts, seen)]
        cells += [_value_cell(by_place.get(place), with_unit=not named) for place in places]
        last = group[-1]
        cells += [_limits(last)] if own_limits else []
        cells += [_verdict_cell(group), minute_words(last.utc), facts.name_of(last.by)]
        table_rows.append(cells)
    return table_of(columns, table_rows, range(1, 1 + len(places)))


def _value_cell(reading: ReadingFacts | None, *, with_unit: bool) -> Cell:
    if reading is None:
        return Cell("")
    unit = reading.unit if with_unit else ""
    words = f"{reading.shown} {unit_words(unit)}".strip()
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
    if all(reading.taken_back for reading in group):
        return Cell("undone", mark="gone")
    valid = [reading for reading in group if not reading.taken_back]
    worst = min((reading.verdict for reading in valid), key=_rank)
    before = min((reading.first_verdict for reading in valid), key=_rank)
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
        for (word, was, gone), group in _found(list(step)):
            text = f"{number}. {group[0].text}" if first else ""
            first = False
            who = parts_words((finding.part for finding in group), (p.part for p in facts.parts))
            said = f"{word} (undone)" if gone else word
            rows.append([text, Cell(said, was, "gone" if gone else ""), who, _days(group)])
    if not rows:
        return None
    return Section("What was found", (table_of(("Looked at", "Found", "Parts", "When"), rows),))


Found = tuple[tuple[str, str, bool], list[FindingFacts]]


def _found(findings: Sequence[FindingFacts]) -> list[Found]:
    alike: dict[tuple[str, str, bool, int], list[FindingFacts]] = {}
    seen: dict[str, int] = {}
    for finding in findings:
        time = seen[finding.part] = seen.get(finding.part, 0) + 1
        was = finding.first if finding.first != finding.found else ""
        alike.setdefault((finding.found, was, finding.taken_back, time), []).append(finding)
    return [((word, was, gone), group) for (word, was, gone, _), group in alike.items()]


def _days(group: Sequence[FindingFacts]) -> str:
    first, last = minute_words(group[0].utc), minute_words(group[-1].utc)
    return first if first[:10] == last[:10] else f"{first} to {last}"


def dwells_section(facts: RunFacts) -> Section | None:
    """Dwells on a time line with least and most, a block a step."""
    blocks: list[Block] = []
    ordered = sorted(facts.dwells, key=lambda d: (d.number, d.n_in))
    for number, step in groupby(ordered, key=lambda d: d.number):
        group = list(step)
        bounds = {time_limits(dwell.least, dwell.most) for dwell in group}
        note = bounds.copy().pop() if len(bounds) == 1 else ""
        where = ", ".join(dict.fromkeys(dwell.where for dwell in group if dwell.where))
        blocks.append(Under(f"{number}. {group[0].text}", "; ".join(w for w in (where, note) if w)))
        drawn = [_spell(facts, dwell) for dwell in group if not dwell.taken_back]
        for start in range(0, len(drawn), MOST_ROWS):
            title = f"{group[0].text} Time in, least and most."
            svg = spells_plot(drawn[start : start + MOST_ROWS], title, drawn)
            blocks += [Plot(svg)] if svg else []
        blocks.append(_dwell_table(facts, group, own_bounds=len(bounds) > 1))
    return Section("Dwells and times away", tuple(blocks)) if blocks else None


def _spell(facts: RunFacts, dwell: DwellFacts) -> Spell:
    label = f"{clock(dwell.began)[:5]} {parts_words(dwell.parts, (p.part for p in facts.parts))}"
    return Spell(label, dwell.proven, dwell.possible, dwell.least, dwell.most, dwell.verdict)


def _dwell_table(facts: RunFacts, group: Sequence[DwellFacts], *, own_bounds: bool) -> Block:
    tended = any(dwell.tended for dwell in group)
    columns = ["Load", "In", "Out", "Time in"]
    columns += ["Limits"] if own_bounds else []
    columns += ["Tended"] if tended else []
    rows = []
    for dwell in group:
        gone = "gone" if dwell.taken_back else ""
        cells: list[Cell | str] = [
            Cell(parts_words(dwell.parts, (p.part for p in facts.parts)), mark=gone),
            _stamp(dwell.began),
            "still in" if dwell.n_out is None else _stamp(dwell.ended),
            elapsed_words(dwell.proven, dwell.possible, beside=(dwell.least, dwell.most)),
        ]
        cells += [time_limits(dwell.least, dwell.most)] if own_bounds else []
        cells += [_tended(facts, dwell)] if tended else []
        verdict = "undone" if dwell.taken_back else dwell.verdict or "no limits"
        verdict = verdict if dwell.n_out is not None or dwell.taken_back else ""
        rows.append([*cells, Cell(verdict, mark=gone or verdict_mark(dwell.verdict))])
    return table_of([*columns, "Verdict"], rows)


def _tended(facts: RunFacts, dwell: DwellFacts) -> str:
    """How often a load was tended, then when, by whom: `2 times: Ada Brook 10:02, 10:04`."""
    if not dwell.tendings:
        return "not tended"
    by_whom = groupby(dwell.tendings, key=lambda one: facts.name_of(one.by))
    told = (f"{name} {', '.join(clock(one.utc)[:5] for one in own)}" for name, own in by_whom)
    return f"{count(len(dwell.tendings), 'time')}: {'; '.join(told)}"


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
                parts_words(round_facts.parts, (p.part for p in facts.parts)),
                str(len(round_facts.rounds)),
                "; ".join(
                    f"{minute_words(utc)} {facts.name_of(by)}" for utc, by in round_facts.rounds
                ),
            )
            for round_facts in group
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
    limits = {(r.n, r.part): _limits(r) for r in facts.readings if r.source != "reading"}
    rows = []
    for sum_facts in group:
        who = parts_words(sum_facts.parts, (p.part for p in facts.parts))
        result = Cell(sum_facts.result, sum_facts.was, verdict_mark(sum_facts.verdict))
        verdict = Cell(sum_facts.verdict or "no limits", mark=verdict_mark(sum_facts.verdict))
        own = grouped({part: limits.get((sum_facts.n, part), "") for part in sum_facts.parts})
        rows.append((who, sum_facts.filled, result, "; ".join(w for w, _ in own), verdict))
    return table_of(("Parts", "Numbers put in", "Result", "Limits", "Verdict"), rows, (2,))
