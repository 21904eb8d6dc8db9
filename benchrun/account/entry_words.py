"""The words of an entry of a log: what was done to which part, by whom, with what."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from benchrun import quantity
from benchrun.account.deviations import deviations_in
from benchrun.account.facts import RemarkFacts
from benchrun.account.figures import document_words, figure_lines
from benchrun.account.known_hands import KnownHands
from benchrun.account.lone_entries import (
    ALONE,
    closed_words,
    counts_words,
    opened_words,
    readied_words,
)
from benchrun.account.papers import key_words, remark_words
from benchrun.account.questions import AskedFacts, answer_words, asked_in, settled_by
from benchrun.account.readings import given_words
from benchrun.account.witnesses import witness_words
from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.procedure.route import Dwell, Procedure, Step
from benchrun.record.identity import STATION
from benchrun.run import entries as e
from benchrun.run.corrections import Amended, Change, Key, figure_given, used_value
from benchrun.run.state import Ask
from benchrun.text import shown, span
from benchrun.wording import (
    elapsed_words,
    grouped,
    misgivings_words,
    ruling_words,
    time_limits,
)

_TOLD_BY_VALUE = frozenset(
    {Ask.FINDING, Ask.OUTSIDE, Ask.DOUBT, Ask.INSIDE, Ask.EARLY, Ask.LATE, Ask.EARLY_OR_LATE}
)
"""The value that these ask about, with its verdict, is told in the same entry."""

_Act = e.CountedBack | e.Did | e.WentIn | e.CameOut | e.Told | e.Witnessed


def utc_words(at: Moment) -> str:
    """A moment by its day and minute in UTC."""
    return f"{at.utc[:10]} {at.utc[11:16]} UTC"


class EntryWords:
    """Words entries one after the other.

    Args:
        procedure: What was followed.
        entries: The log as far as it is known: what was corrected or taken back, what was asked.
        when: Says a moment in words.
        checked: What checking the signatures came to; None where nobody did.
    """

    def __init__(
        self,
        procedure: Procedure,
        entries: Sequence[e.Entry] = (),
        when: Callable[[Moment], str] = utc_words,
        checked: Mapping[str, Any] | None = None,
    ) -> None:
        self.procedure = procedure
        self._when = when
        self._checked = checked
        self._amended = Amended()
        self._asked: dict[str, AskedFacts] = {}
        self._read = 0
        self._day = ""
        self._spell = ("", "")
        self._known = KnownHands()
        self._unsigned: frozenset[int] = frozenset()
        self.read(entries)

    def read(self, entries: Sequence[e.Entry]) -> None:
        """Take the entries of the log that came since the last reading."""
        self._amended.read(entries)
        self._unsigned = e.unsigned(entries)
        for entry in entries[self._read :]:
            self._known.take(entry)
            self._asked |= {
                question.id: question for question in asked_in(entry.data, self._step_of)
            }
        self._read = len(entries)

    def rows(self, entry: e.Entry) -> Iterator[str]:
        """The lines that tell of an entry."""
        day, clock = entry.at.utc[:10], entry.at.utc[11:19]
        if day != self._day:
            self._day = day
            yield f"-- {day} (UTC)"
        first = True
        spell = self.spell(entry)
        for text in self.words(entry):
            if spell[0] and spell != self._spell:
                self._spell = spell
                yield f"-- {shown(spell[0], 60)}, {spell[1]}"
            stamp = f"{entry.n:>4} {clock} {shown(entry.by, 14):<14}" if first else " " * 28
            yield f"{stamp} {shown(text, 4000)}".rstrip()
            first = False

    def spell(self, entry: e.Entry) -> tuple[str, str]:
        """Who made an entry, and how they were known; empty for the station."""
        return ("", "") if entry.by == STATION else (entry.by, self._known.words(entry.n))

    def words(self, entry: e.Entry, *, brief: bool = False) -> Iterator[str]:
        """The words of an entry, a line each.

        Args:
            entry: The entry.
            brief: Say of a query about the value in the same entry only that it is open, and of the
                start nothing that was checked or counted.
        """
        data = entry.data
        remarks = list(deviations_in(entry, self._step_of, self._asked.get))
        match data:
            case e.CountedBack() | e.Did() | e.WentIn() | e.CameOut() | e.Told() | e.Witnessed():
                yield from self._act(entry, data)
                yield from (f"  deviation: {remark.words}" for remark in remarks)
            case e.Opened() | e.Added() | e.Figured():
                yield from self._known_from_here(entry.n, data, remarks, brief=brief)
            case e.Corrected():
                yield from self._correction(entry, data)
            case e.Answered():
                answer = answer_words(data, self._asked.get(settled_by(data)))
                yield f"{part_names(data.parts)}: query answered: {answer}"
            case e.Closed() | e.Signed():
                yield from self._statement(entry.n, data, remarks)
            case _ if remarks:
                yield from (self._remark(remark) for remark in remarks)
            case _:
                yield from ALONE.get(type(data), lambda _: ())(data)
        if entry.n in self._unsigned:
            yield "  NOT SIGNED: it counts for nothing"
        taken_back = self._amended.taken_back(entry.n)
        if taken_back is not None:
            yield f"  UNDONE {self._by(taken_back)}"
        reason = getattr(data, "reason", "")
        if reason and not isinstance(data, e.Corrected):
            yield f"  reason: {reason}"
        yield from self._asks(data, brief=brief)

    def _statement(
        self, n: int, data: e.Closed | e.Signed, remarks: Sequence[RemarkFacts]
    ) -> Iterator[str]:
        if isinstance(data, e.Closed):
            yield from closed_words(data, remarks)
        else:
            yield f"signed by {data.who}{self._key(n, data.who)}"

    def _key(self, n: int, who: str) -> str:
        return "" if self._checked is None else key_words(self._checked, n, who)

    def _known_from_here(
        self,
        n: int,
        data: e.Opened | e.Added | e.Figured,
        remarks: Sequence[RemarkFacts],
        *,
        brief: bool,
    ) -> Iterator[str]:
        """Who is in the run from an entry on, of which kind, in which pair; what figures it has."""
        if isinstance(data, e.Figured):
            yield from self._figure(n, data.figure)
            return
        if isinstance(data, e.Opened):
            yield from opened_words(data)
            yield from () if brief else readied_words(data)
        yield from (self._remark(remark) for remark in remarks)
        yield from self._kinds(data.parts if isinstance(data, e.Opened) else (data.part,))
        for spec in data.figures if isinstance(data, e.Opened) else ():
            yield from (f"  {line}" for line in self._figure(n, spec))

    def _figure(self, n: int, spec: e.FigureSpec) -> Iterator[str]:
        known = self.procedure.route.figures.get(spec.name)
        value = self._value((n, "", spec.name), figure_given(spec))
        yield from figure_lines(spec, known.ask if known is not None else "", value)

    def _kinds(self, parts: Sequence[e.PartSpec]) -> Iterator[str]:
        """Which parts are of which kind, and which make a pair."""
        for kind in self.procedure.route.kinds.values():
            of_kind = tuple(spec.part for spec in parts if spec.kind == kind.id)
            if of_kind:
                yield f"  {kind.title}: {part_names(of_kind)}"
        pairs: dict[str, list[str]] = {}
        for spec in parts:
            if spec.pair:
                pairs.setdefault(spec.pair, []).append(spec.part)
        if pairs:
            yield f"  pairs: {'; '.join(' with '.join(tags) for tags in pairs.values())}"

    def _remark(self, remark: RemarkFacts) -> str:
        who = f"{part_names(remark.parts)}: " if remark.parts else ""
        step = self._step_of(remark.step)
        return f"{who}{remark.words}" + (f": {step.number}. {step.text}" if step else "")

    def _step_of(self, step: str) -> Step | None:
        return self.procedure.route.steps.get(step)

    def _step(self, step: str) -> str:
        known = self._step_of(step)
        return f"{known.number}. {known.text}" if known else step

    def _act(self, entry: e.Entry, data: _Act) -> Iterator[str]:
        if isinstance(data, e.CountedBack):
            yield f"tools back: {counts_words(data.tools_back)}"
            return
        if isinstance(data, (e.Told, e.Witnessed)):
            yield from self._witness(data)
            return
        yield f"{part_names(data.parts)}{self._moved(data)}: {self._step(data.step)}"
        yield from self._load(data)
        if isinstance(data, e.Did) and data.tools_back:
            yield f"  back: {counts_words(data.tools_back)}"
        if isinstance(data, e.Did) and data.tool:
            about = misgivings_words(data.tool.about, data.tool.misgivings)
            yield f"  with {data.tool.name}: {about}"
        if not isinstance(data, e.CameOut):
            yield from (f"  {words}" for words in self._used(entry, data.uses))
        if isinstance(data, e.Did) and data.says:
            yield f"  to be signed: {data.says}"
            yield from (f"  signed over {remark_words(one)}" for one in data.remarks)
        for part in data.parts:
            text = self._outcome(entry, data, part, data.each.get(part, e.NOTHING))
            if text:
                yield f"  {part}: {text}"

    def _witness(self, data: e.Told | e.Witnessed) -> Iterator[str]:
        """Who was told, or who came; the notice is one for all parts."""
        outcome = data.each.get(data.parts[0], e.NOTHING)
        if isinstance(data, e.Told):
            notice = f", notice {span(outcome.least)}" if outcome.least is not None else ""
            yield f"{part_names(data.parts)} told{notice}: {self._step(data.step)}"
            return
        said = witness_words(data.end, data.name, data.behalf)
        yield f"{part_names(data.parts)}: {self._step(data.step)}"
        after = elapsed_words(outcome.proven, outcome.possible)
        yield f"  {said}, {after} after they were told"
        yield from (f"  {flag}" for flag in data.flags)

    def _moved(self, data: e.Did | e.WentIn | e.CameOut) -> str:
        """Where parts went in or came out of; of a dwell on the bench that it began or ended."""
        if isinstance(data, e.Did):
            return ""
        step = self._step_of(data.step)
        detail = step.detail if step is not None else None
        own = (detail.vessel, detail.place) if isinstance(detail, Dwell) else ("", "")
        vessel = self.procedure.route.vessels.get(getattr(data, "vessel", "") or own[0])
        went_in = isinstance(data, e.WentIn)
        if vessel is not None:
            return f" into {vessel.title}" if went_in else f" out of {vessel.title}"
        if own[1]:
            return f" to {own[1]}" if went_in else f" back from {own[1]}"
        return " begun" if went_in else " ended"

    def _load(self, data: e.Did | e.WentIn | e.CameOut) -> Iterator[str]:
        """Which vessel a load has, and which steps are left out as a dwell ends."""
        step = self._step_of(data.step)
        if isinstance(data, e.CameOut):
            undone = {part: ", ".join(outcome.undone) for part, outcome in data.each.items()}
            for steps, parts in grouped({part: ids for part, ids in undone.items() if ids}):
                names = "; ".join(self._step(one) for one in steps.split(", "))
                yield f"  {part_names(parts)}: skipped, as the dwell is over: {names}"
        elif isinstance(data, e.Did) and data.carried is not None:
            there = data.carried
            yield f"  carried out in {there.run}, {there.procedure} revision {there.revision}"
            yield f"  its last line has the SHA-256 {there.head}"
        elif isinstance(data, e.Did) and data.set_up is not None:
            yield f"  done for this sitting in entry {data.set_up}, and still so"
        if not isinstance(data, e.CameOut) and data.vessel and step is not None and step.load:
            vessel = self.procedure.route.vessels.get(data.vessel)
            load = self.procedure.route.loads[step.load]
            yield f"  {load.title}: in the {vessel.title if vessel else data.vessel}"

    def _used(self, entry: e.Entry, uses: tuple[e.Use, ...]) -> Iterator[str]:
        for use in uses:
            tin = misgivings_words(f"{use.name}: {use.about}", use.misgivings)
            where = f" from {tin}" if use.name else " (not in the stock book)"
            amount = self._value((entry.n, "", use.supply), used_value(use))
            verb = "gave back" if use.back else "used"
            yield f"{verb} {amount} of {use.supply}{where}"

    def _outcome(self, entry: e.Entry, data: Any, part: str, outcome: e.Outcome) -> str:
        words = []
        place = getattr(data, "place", "")
        key = (entry.n, part, place)
        verdict = outcome.verdict if outcome.value is None or not outcome.value.word else ""
        if outcome.value is not None:
            words.append(f"{place} {self._value(key, outcome.value, verdict)}".strip())
        if verdict and not any(self._amended.changes(key)):
            words.append(ruling_words(verdict))
        unit = outcome.value.unit if outcome.value else ""
        if limits := quantity.limits_words(outcome.low or "", outcome.high or "", unit):
            words.append(f"limits {limits}")
        since = self._amended.relimited(key)
        if since is not None:
            now = quantity.limits_words(since[1].low, since[1].high, unit)
            ruled = ruling_words(since[1].verdict)
            words.append(f"{ruled} the limits since entry {since[0].n}, {now}")
        carried = getattr(data, "carried", None)
        there = carried.parts.get(part) if carried is not None else None
        if there is not None:
            words += [f"{there.result} there"]
            words += [f"{name} {given_words(given)}" for name, given in there.values.items()]
        if outcome.proven is not None:
            told_late = bool(getattr(data, "ago", 0))
            bounds = (outcome.least, outcome.most)
            words.append(
                elapsed_words(outcome.proven, outcome.possible, told_late=told_late, beside=bounds)
            )
        return ", ".join([*words, *filter(None, [time_limits(outcome.least, outcome.most)])])

    def _value(self, key: Key, given: e.Given, verdict: str = "") -> str:
        """A value as it stands, with each that it was before, by whom it was changed and why."""
        words = [given_words(self._amended.stands(key) or given)]
        for change in self._amended.changes(key):
            was = given_words(change.was)
            if change.was == given and verdict:
                was += f", {verdict}"
            words.append(self._changed(change, was))
        return " ".join(words)

    def _changed(self, change: Change, was: str) -> str:
        how = "corrected" if change.itself else "follows from a correction"
        if change.taken_back is not None:
            now = given_words(change.now)
            back = f"that was undone {self._by(change.taken_back)}"
            return f"({how} to {now} {self._by(change.by)}; {back})"
        return f"(was {was}; {how} {self._by(change.by)})"

    def _by(self, entry: e.Entry) -> str:
        """By whom and when something was changed, in which entry and why."""
        reason = getattr(entry.data, "reason", "")
        said = f": {reason}" if reason else ""
        return f"by {entry.by}, {self._when(entry.at)}, in entry {entry.n}{said}"

    def _correction(self, entry: e.Entry, data: e.Corrected) -> Iterator[str]:
        change = self._amended.change_by(entry)
        was = f", was {given_words(change.was)}" if change else ""
        whose = f"{data.part} {data.place}".strip()
        yield f"entry {data.of} of {whose} corrected to {given_words(data.given)}{was}"
        yield f"  reason: {data.reason}"
        if data.document or data.page:
            yield f"  by {document_words(data.document, data.page)}"
        for part, outcome in data.each.items():
            for revision in outcome.revised:
                if (revision.n, revision.part) != (data.of, data.part):
                    now = revision.number or revision.word
                    yield f"  {part}: entry {revision.n} is now {now}"

    def _asks(self, data: e.Data, *, brief: bool) -> Iterator[str]:
        each: Mapping[str, e.Outcome] = getattr(data, "each", {})
        for part, outcome in each.items():
            for question in outcome.asks:
                told = brief and question.ask in _TOLD_BY_VALUE
                yield f"  {part}: query open" if told else f"  {part}: query: {question.says}"
