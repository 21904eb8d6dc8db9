"""Walks through a log for its values: readings, findings, sums, and how they were corrected."""

from collections.abc import Iterator, Mapping, Sequence
from copy import copy
from dataclasses import fields, replace
from itertools import groupby
from typing import Final

from benchrun import quantity
from benchrun.account.facts import RunFacts
from benchrun.account.limits import LimitOrigins
from benchrun.account.rounding import as_measured
from benchrun.account.value_facts import CorrectionFacts, FindingFacts, ReadingFacts, SumFacts
from benchrun.account.walker import Around, Takers
from benchrun.procedure.route import Inspect, Procedure, Reading, Step, WorkOut
from benchrun.run import entries as e
from benchrun.run.course import position_key
from benchrun.run.effects import act_index
from benchrun.run.state import Marker, Run
from benchrun.run.sums import drawn, filled_in
from benchrun.run.verdict import draw, limits, reads_of
from benchrun.wording import value_words

ValueId = tuple[int, str, str]
_BOOK_WORDS: Final = "; calibrated "
"""Stands in logs of earlier programs behind instruments of the shop's book, and no others."""


def given_words(given: e.Given) -> str:
    """A value as it was given: with its unit, and as typed where that differs."""
    words = value_words(given.number, given.unit, given.word)
    plain = given.typed.replace(" ", "")
    if given.number is None or not plain or plain in words.replace(" ", ""):
        return words
    return f"{words} (typed {given.typed})"


class ReadingWalk:
    """Takes entry after entry; `finish` completes what needs the values as they stand at last."""

    def __init__(self, procedure: Procedure, facts: RunFacts, around: Around) -> None:
        self._procedure = procedure
        self._facts = facts
        self._around = around
        self._giving = {
            step.id: step
            for step in procedure.route.steps.values()
            if isinstance(step.detail, (Inspect, Reading, WorkOut))
        }
        self._waiting: list[tuple[e.Entry, e.Did, Step, list[Marker]]] = []
        self._identity: dict[str, str] = {}
        self._values: dict[ValueId, ReadingFacts | FindingFacts] = {}
        self._about: dict[tuple[str, str], ReadingFacts] = {}
        self._worked: list[e.Entry] = []
        self._before: dict[int, dict[ValueId, ReadingFacts | FindingFacts]] = {}
        self._logged: dict[ValueId, tuple[Step, Reading | WorkOut, tuple[e.Origin, ...]]] = {}
        self._finest: dict[tuple[int, str], tuple[str, ...]] = {}

    @property
    def takes(self) -> Takers:
        """The ways in which it takes entries."""
        return {
            e.Opened: self._opened,
            e.Added: self._added,
            e.Did: self._did,
            e.Corrected: self._corrected,
            e.Retracted: self._retracted,
        }

    def _opened(self, _: e.Entry, data: e.Opened) -> None:
        self._identity.update({spec.part: spec.identity for spec in data.parts})

    def _added(self, _: e.Entry, data: e.Added) -> None:
        self._identity[data.part.part] = data.part.identity

    def finish(self, *, to_sign: bool) -> None:
        """Write down readings, findings and sums.

        Args:
            to_sign: Whether only readings and findings are asked for, without words for a report.
        """
        self._write_down()
        values = self._values.values()
        self._facts.readings = [one for one in values if isinstance(one, ReadingFacts)]
        self._facts.findings = [one for one in values if isinstance(one, FindingFacts)]
        if to_sign:
            return
        origins = LimitOrigins(self._procedure, self._facts.figures)
        for reading in self._facts.readings:
            reading.origins = origins.of(*self._logged[reading.n, reading.part, reading.place])
            reading.shown = as_measured(reading, self._finest.get((reading.n, reading.part), ()))
        self._facts.sums = [one for entry in self._worked for one in self._sums(entry)]

    def _did(self, entry: e.Entry, data: e.Did) -> None:
        step = self._giving.get(data.step)
        if step is not None:
            markers = self._around.before.markers
            self._waiting.append((entry, data, step, [markers[part] for part in data.parts]))

    def _write_down(self) -> None:
        """Make facts of what was measured or found, which wait until somebody asks for them."""
        for entry, data, step, markers in self._waiting:
            self._values_of(entry, data, step, markers)
        self._waiting.clear()

    def _values_of(
        self, entry: e.Entry, data: e.Did, step: Step, markers: Sequence[Marker]
    ) -> None:
        detail, course = step.detail, self._around.after.course
        for part, marker in zip(data.parts, markers, strict=True):
            given = data.each.get(part, e.NOTHING).value
            if given is None:
                continue
            key = (entry.n, part, data.place)
            if isinstance(detail, Inspect):
                self._values[key] = _finding(entry, step, detail, part, given)
            elif isinstance(detail, (Reading, WorkOut)):
                reading = self._reading(entry, data, step, detail, part)
                self._values[key] = reading
                self._logged[key] = (step, detail, data.each[part].origins)
                index = act_index(course, marker, step.id)
                depth = len(course.route.within[index])
                self._about[part, position_key(index, marker.passes[:depth])] = reading
        if isinstance(detail, WorkOut):
            self._worked.append(entry)
            for part in data.parts:
                self._finest[entry.n, part] = tuple(
                    used.number
                    for used in data.inputs
                    if used.number and used.unit == detail.unit and used.part in ("", part)
                )

    def _reading(
        self, entry: e.Entry, data: e.Did, step: Step, detail: Reading | WorkOut, part: str
    ) -> ReadingFacts:
        outcome = data.each[part]
        given = outcome.value or e.Given()
        number, tool = given.number or "", data.tool or e.Tool("")
        instrument = tool.name or (detail.instrument if isinstance(detail, Reading) else "")
        return ReadingFacts(
            entry.n,
            entry.at.utc,
            entry.by,
            part,
            self._identity.get(part, ""),
            step.id,
            step.number,
            step.text,
            detail.name,
            data.place,
            step.kind.value,
            given.typed,
            number,
            given.unit,
            outcome.low,
            outcome.high,
            outcome.verdict,
            number,
            outcome.verdict,
            instrument,
            given.doubt or tool.uncertainty,
            batch=step.shared,
            characteristic=detail.characteristic,
            named=bool(tool.calibrated) or _BOOK_WORDS in tool.about,
            about=tool.about,
            calibrated=tool.calibrated,
            until=tool.until,
            resolution=tool.resolution,
            misgivings=tool.misgivings,
            reason=data.reason,
        )

    def _retracted(self, entry: e.Entry, data: e.Retracted) -> None:
        self._write_down()
        for (n, part, _), value in self._values.items():
            if n == data.of and part in data.parts:
                value.taken_back = True
        # A correction that was a mistake: every value is again what it was before it.
        for key, before in self._before.pop(data.of, {}).items():
            for field in fields(before):
                setattr(self._values[key], field.name, getattr(before, field.name))
        self._facts.corrections[:] = [
            replace(correction, taken_back=entry.n) if correction.n == data.of else correction
            for correction in self._facts.corrections
        ]

    def _corrected(self, entry: e.Entry, data: e.Corrected) -> None:
        self._write_down()
        self._before[entry.n] = {key: copy(value) for key, value in self._values.items()}
        for part, outcome in data.each.items():
            for ruling in outcome.rulings:
                judged = self._about.get((part, ruling.about))
                if judged is not None:
                    judged.verdict = ruling.today
            # The value that was put right first, then what follows from it.
            for revision in sorted(outcome.revised, key=lambda r: r.n != data.of):
                self._revise(entry, data, revision)
        self._relimit(self._around.after, data)

    def _revise(self, entry: e.Entry, data: e.Corrected, revision: e.Revision) -> None:
        value = self._values.get((revision.n, revision.part, revision.place))
        now = revision.word if isinstance(value, FindingFacts) else revision.number
        if value is None or now is None or value.corrected_by == entry.n:
            return
        itself = (revision.n, revision.part) == (data.of, data.part)
        was = value.found if isinstance(value, FindingFacts) else value.value
        unit = value.unit if isinstance(value, ReadingFacts) else ""
        if isinstance(value, FindingFacts):
            value.found = now
        else:
            value.value = now
            value.typed = data.given.typed if itself else value.typed
        value.corrected_by = entry.n
        value.correction = (
            data.reason if itself else f"follows from the correction in entry {entry.n}"
        )
        words = (was, now) if not unit else (value_words(was, unit), value_words(now, unit))
        self._facts.corrections.append(
            CorrectionFacts(
                entry.n,
                entry.at.utc,
                entry.by,
                revision.n,
                revision.part,
                value.number,
                value.name,
                revision.place,
                *words,
                value.correction,
            )
        )

    def _relimit(self, after: Run, data: e.Corrected) -> None:
        """Limits that were worked out from a corrected value are others now."""
        for part in data.parts:
            marker = after.markers[part]
            for value in marker.values.values():
                known = self._values.get(value.id)
                step = self._procedure.route.steps.get(value.step)
                detail = step.detail if step else None
                if not isinstance(known, ReadingFacts):
                    continue
                if not isinstance(detail, (Reading, WorkOut)):
                    continue
                reads = reads_of(detail.low, detail.high)
                both = limits(detail, (value, *draw(marker, reads - {detail.name})))
                if both is not None:
                    known.low, known.high = ("" if b is None else quantity.plain(b) for b in both)

    def _sums(self, entry: e.Entry) -> Iterator[SumFacts]:
        data = entry.data
        if not isinstance(data, e.Did):
            return
        step = self._procedure.route.steps[data.step]
        detail = step.detail
        if not isinstance(detail, WorkOut):
            return
        rows = []
        for part in data.parts:
            value = self._values.get((entry.n, part, data.place))
            if not isinstance(value, ReadingFacts) or value.taken_back:
                continue
            own = [value for value in data.inputs if step.gathers or value.part == part]
            filled = filled_in(detail.formula.text, self._numbers(own))
            result = f"{value.shown} {quantity.unit_words(value.unit)}".strip()
            was = "" if value.first == value.value else value_words(value.first, value.unit)
            rows.append((part, (filled, result, was, value.verdict)))
        for (filled, result, was, verdict), group in groupby(rows, key=lambda row: row[1]):
            yield SumFacts(
                entry.n,
                step.number,
                step.text,
                detail.name,
                tuple(part for part, _ in group),
                detail.formula.text,
                filled,
                result,
                was,
                verdict,
                step.source,
            )

    def _numbers(self, inputs: list[e.Input]) -> Mapping[str, str]:
        by_name: dict[str, list[tuple[str, str]]] = {}
        for used in inputs:
            value = self._values.get((used.n, used.part, used.place))
            if isinstance(value, ReadingFacts):
                by_name.setdefault(used.name, []).append((value.value, value.unit))
            elif isinstance(value, FindingFacts):
                by_name.setdefault(used.name, []).append((f'"{value.found}"', ""))
            else:
                by_name.setdefault(used.name, []).append(
                    (used.number or f'"{used.word}"', used.unit)
                )
        return {name: drawn(values, name) for name, values in by_name.items()}


def _finding(
    entry: e.Entry, step: Step, detail: Inspect, part: str, given: e.Given
) -> FindingFacts:
    return FindingFacts(
        entry.n,
        entry.at.utc,
        entry.by,
        part,
        step.id,
        step.number,
        step.text,
        detail.name,
        given.word,
        given.word,
    )
