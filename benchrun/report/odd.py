"""Walks through a log for what was done otherwise than written, and for what is not proven."""

from collections.abc import Iterator

from benchrun.moment import Moment
from benchrun.procedure.route import Procedure
from benchrun.report.asked import answer_words, question_of
from benchrun.report.facts import OddFacts, RunFacts
from benchrun.run import entries as e
from benchrun.run.state import Run
from benchrun.run.verdict import EARLY, EARLY_OR_LATE, LATE, PERHAPS_EARLY, PERHAPS_LATE
from benchrun.shopmath.accepting import DOUBT
from benchrun.text import listed, span
from benchrun.wording import elapsed_words, grouped

_DOUBTFUL = frozenset({DOUBT, PERHAPS_EARLY, PERHAPS_LATE, EARLY_OR_LATE})
_LEFT = {"aside": "set aside", "scrap": "scrapped", "play": "taken back into play"}


class OddWalk:
    """Takes entry after entry and adds deviations and doubts to the facts."""

    def __init__(self, procedure: Procedure, facts: RunFacts) -> None:
        self._steps = procedure.route.steps
        self._facts = facts
        self._last: Moment | None = None
        self._unsynced = False

    def take(self, before: Run, entry: e.Entry, after: Run) -> None:
        """Take the next entry with the run before and after it."""
        del after
        for parts, what, reason in self._deviations(before, entry.data):
            self._facts.deviations.append(self._odd(entry, parts, what, reason))
        for what in self._clock(entry.at):
            odd = OddFacts(entry.n, entry.at.utc, entry.by, (), None, what)
            self._facts.doubts.append(odd)
        for parts, what in self._doubts(entry.data):
            self._facts.doubts.append(self._odd(entry, parts, what, ""))
        self._last = entry.at

    def _odd(self, entry: e.Entry, parts: tuple[str, ...], what: str, reason: str) -> OddFacts:
        step = self._steps.get(getattr(entry.data, "step", ""))
        number = step.number if step else None
        return OddFacts(entry.n, entry.at.utc, entry.by, parts, number, what, reason)

    def _deviations(self, before: Run, data: e.Data) -> Iterator[tuple[tuple[str, ...], str, str]]:
        match data:
            case e.Skipped():
                yield data.parts, "left out", data.reason
            case e.Added():
                how = f"joined at step {self._number(data.step)}" if data.step else "joined late"
                yield (data.part.part,), how, data.reason
            case e.Moved():
                yield (
                    data.parts,
                    _LEFT.get(data.to, f"put back to step {self._number(data.to)}"),
                    (data.reason),
                )
            case e.Retracted():
                yield data.parts, f"entry {data.of} taken back as a mis-tap", data.reason
            case e.Stopped():
                yield (), "run stopped", data.reason
            case e.Answered() if data.reason:
                answer = answer_words(data, question_of(before, data), self._steps)
                yield data.parts, f"question settled: {answer}", data.reason
            case e.Closed():
                for reason, parts in grouped(data.reasons):
                    yield parts, "closed though not done", reason
            case e.Did() | e.WentIn() | e.CameOut():
                yield from self._otherwise(data)

    def _number(self, step: str) -> object:
        known = self._steps.get(step)
        return known.number if known else step

    def _otherwise(
        self, data: e.Did | e.WentIn | e.CameOut
    ) -> Iterator[tuple[tuple[str, ...], str, str]]:
        words = []
        if not isinstance(data, e.CameOut):
            words += [f"without {listed(data.without, most=40)}"] if data.without else []
            words += data.flags
            words += [f"{one.name} {'; it '.join(one.misgivings)}" for one in data.uses
                      if one.misgivings]  # fmt: skip
        soon = tuple(p for p, o in data.each.items() if o.verdict == "too soon")
        words += [f"sooner than allowed: {listed(soon, most=40)}"] if soon else []
        if isinstance(data, e.CameOut):
            off = {p: o.verdict for p, o in data.each.items() if o.verdict in (EARLY, LATE)}
            alike = len(set(off.values())) == 1 and len(off) == len(data.parts)
            words += [
                f"lifted {said}" if alike else f"lifted {said}: {listed(parts, most=40)}"
                for said, parts in grouped(off)
            ]
        if words or data.reason:
            yield data.parts, "; ".join(words) or "otherwise than written", data.reason

    def _doubts(self, data: e.Data) -> Iterator[tuple[tuple[str, ...], str]]:
        if isinstance(data, e.Did):
            doubtful = tuple(p for p, o in data.each.items() if o.verdict in _DOUBTFUL)
            if doubtful:
                yield doubtful, "the instrument cannot decide between inside and outside"
        elif isinstance(data, e.CameOut):
            yield from _loose(data)
        elif isinstance(data, e.Recovered):
            for one in data.files:
                yield (), f"{one.file} was set aside when the log was opened, {one.bytes} bytes"
        if isinstance(data, e.WentIn | e.CameOut) and data.ago:
            yield data.parts, f"entered {span(data.ago)} after the event, as far as is known"

    def _clock(self, at: Moment) -> Iterator[str]:
        """What the clocks leave open: restarts, a clock that was set, one that is not in step."""
        last = self._last
        if not at.sync and not self._unsynced:
            yield "from here on the wall clock is not known to be in step"
        elif at.sync and self._unsynced:
            yield "from here on the wall clock is in step again"
        self._unsynced = not at.sync
        if not at.knows_boot and (last is None or last.knows_boot):
            yield "from here on times across a sleep or a restart rest on the wall clock alone"
        if last is None:
            return
        if at.boot != last.boot:
            what = "machine was restarted" if at.knows_boot else "program was started again"
            yield f"the {what}; times across it rest on the wall clock"
        else:
            step = (at.utc_ms - last.utc_ms) - (at.up_ms - last.up_ms)
            if abs(step) > 2000 + abs(at.up_ms - last.up_ms) // 2000:
                yield f"the wall clock was set by {step / 1000:+.0f} s"


def _loose(data: e.CameOut) -> Iterator[tuple[tuple[str, ...], str]]:
    words = {
        part: f"{one.verdict}: {elapsed_words(one.proven, one.possible)}"
        for part, one in data.each.items()
        if one.proven is not None
        and (one.possible is None or span(one.possible) != span(one.proven))
    }
    for said, parts in grouped(words):
        yield parts, said
