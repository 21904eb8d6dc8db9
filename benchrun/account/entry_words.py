"""The record of a run in plain text: what was done to which part, when, by whom, with what."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from benchrun import quantity
from benchrun.load_run import folded, read_kept
from benchrun.moment import Moment
from benchrun.procedure.route import Procedure
from benchrun.record.chain import PRINTED_BY, WHERE
from benchrun.record.folder import RunFolder
from benchrun.run import entries as e
from benchrun.run.corrections import Amended, Change, Key, used
from benchrun.run.state import Run, Status
from benchrun.text import listed, shown, span
from benchrun.wording import elapsed_words, misgivings_words, ruling_words, time_limits

_WIDTH = 100


def show(folder: RunFolder) -> str:
    """The whole record as text.

    Raises:
        BenchrunError: The log or the copy of the procedure is damaged.
        ValueError: The log does not fit the procedure.
    """
    procedure, entries = read_kept(folder)
    telling = EntryWords(procedure)
    telling.amended.read(entries)
    rows = list(_head(procedure, entries[0]))
    for entry in entries:
        rows += telling.rows(entry)
    rows += ["", *_parts(folded(procedure, entries))]
    return "\n".join(rows)


def _head(procedure: Procedure, opened: e.Entry) -> Iterator[str]:
    about: Mapping[str, Any] = opened.data.about if isinstance(opened.data, e.Opened) else {}
    yield shown(f"{procedure.title}, revision {procedure.revision}", _WIDTH)
    yield f"run {shown(str(about.get('run', '?')), 80)}, {shown(str(about.get('shop', '')), 60)}"
    if about.get("rehearsal"):
        yield f"REHEARSAL, not work: {shown(str(about['rehearsal']), 80)}"
    for who, person in dict(about.get("people") or {}).items():
        name = person.get("name", who) if isinstance(person, dict) else who
        yield f"  {shown(str(who), 30)} is {shown(str(name), 60)}"
    yield from _at_hand(about.get("at_hand"))
    yield f"{WHERE}; {PRINTED_BY} prints it."
    yield ""


def _at_hand(kept: object) -> Iterator[str]:
    """What the shop had for the run on the day it was begun: instruments, tins and baths."""
    found = kept if isinstance(kept, dict) else {}
    for key in ("instruments", "supplies"):
        rows = found.get(key)
        for name, about in rows.items() if isinstance(rows, dict) else ():
            yield f"  had {shown(str(name), 30)}: {shown(str(about), 300)}"


def utc_words(at: Moment) -> str:
    """A moment by its day and minute in UTC."""
    return f"{at.utc[:10]} {at.utc[11:16]} UTC"


@dataclass(slots=True)
class EntryWords:
    """Tells entries one after the other.

    Attributes:
        amended: What was corrected or taken back, as far as it was read.
        when: Says a moment in words.
    """

    procedure: Procedure
    amended: Amended = field(default_factory=Amended)
    when: Callable[[Moment], str] = utc_words
    day: str = ""

    def rows(self, entry: e.Entry) -> Iterator[str]:
        """The lines that tell of an entry."""
        day, clock = entry.at.utc[:10], entry.at.utc[11:19]
        if day != self.day:
            self.day = day
            yield f"-- {day} (UTC)"
        first = True
        for text in self.words(entry):
            stamp = f"{entry.n:>4} {clock} {shown(entry.by, 14):<14}" if first else " " * 28
            yield f"{stamp} {shown(text, 4000)}".rstrip()
            first = False

    def words(self, entry: e.Entry) -> Iterator[str]:
        """What an entry says, a line each."""
        data = entry.data
        match data:
            case e.Did() | e.WentIn() | e.CameOut():
                yield from self._act(entry, data)
            case e.Opened(parts):
                yield f"opened with {listed(tuple(spec.part for spec in parts), most=40)}"
            case e.Corrected():
                yield from self._correction(entry, data)
            case e.Answered():
                yield from self._answer(data)
            case _:
                yield from self._other(data)
        taken_back = self.amended.taken_back(entry.n)
        if taken_back is not None:
            yield f"  TAKEN BACK {self._by(taken_back)}"
        reason = getattr(data, "reason", "")
        if reason and not isinstance(data, e.Stopped | e.Corrected):
            yield f"  reason: {reason}"
        yield from self._asks(data)

    def _step(self, step: str) -> str:
        known = self.procedure.route.steps.get(step)
        return f"{known.number}. {known.text}" if known else step

    def _act(self, entry: e.Entry, data: e.Did | e.WentIn | e.CameOut) -> Iterator[str]:
        verb = {"in": "in: ", "out": "out: "}.get(data.KIND, "")
        yield f"{listed(data.parts, most=40)}: {verb}{self._step(data.step)}"
        if isinstance(data, e.Did) and data.tool:
            about = misgivings_words(data.tool.about, data.tool.misgivings)
            yield f"  with {data.tool.name}: {about}"
        if not isinstance(data, e.CameOut):
            yield from (f"  {words}" for words in self._used(entry, data.uses))
        if isinstance(data, e.Did) and data.says:
            yield f"  to be signed: {data.says}"
        for part in data.parts:
            text = self._outcome(entry, data, part, data.each.get(part, e.Outcome()))
            if text:
                yield f"  {part}: {text}"
        without = () if isinstance(data, e.CameOut) else data.without
        if without:
            yield f"  without {listed(without)}"

    def _used(self, entry: e.Entry, uses: tuple[e.Use, ...]) -> Iterator[str]:
        for use in uses:
            tin = misgivings_words(f"{use.name}: {use.about}", use.misgivings)
            where = f" from {tin}" if use.name else ", which the shop's book does not keep"
            amount = self._value((entry.n, "", use.supply), used(use))
            verb = "gave back" if use.back else "used"
            yield f"{verb} {amount} of {use.supply}{where}"

    def _outcome(self, entry: e.Entry, data: Any, part: str, outcome: e.Outcome) -> str:
        words = []
        place = getattr(data, "place", "")
        key = (entry.n, part, place)
        verdict = outcome.verdict if outcome.value is None or not outcome.value.word else ""
        if outcome.value is not None:
            words.append(f"{place} {self._value(key, outcome.value, verdict)}".strip())
        if verdict and not any(self.amended.changes(key)):
            words.append(ruling_words(verdict))
        unit = outcome.value.unit if outcome.value else ""
        if limits := quantity.limits_words(outcome.low or "", outcome.high or "", unit):
            words.append(f"limits {limits}")
        if outcome.proven is not None:
            told_late = bool(getattr(data, "ago", 0))
            words.append(elapsed_words(outcome.proven, outcome.possible, told_late=told_late))
        return ", ".join([*words, *filter(None, [time_limits(outcome.least, outcome.most)])])

    def _value(self, key: Key, given: e.Given, verdict: str = "") -> str:
        """A value as it stands, with each that it was before, by whom it was changed and why."""
        words = [given_words(self.amended.stands(key) or given)]
        for change in self.amended.changes(key):
            was = given_words(change.was)
            if change.was == given and verdict:
                was += f", {verdict}"
            words.append(self._changed(change, was))
        return " ".join(words)

    def _changed(self, change: Change, was: str) -> str:
        how = "corrected" if change.itself else "follows from a correction"
        if change.taken_back is not None:
            now = given_words(change.now)
            back = f"that was taken back {self._by(change.taken_back)}"
            return f"({how} to {now} {self._by(change.by)}; {back})"
        return f"(was {was}; {how} {self._by(change.by)})"

    def _by(self, entry: e.Entry) -> str:
        """By whom and when something was changed, in which entry and why."""
        reason = getattr(entry.data, "reason", "")
        said = f": {reason}" if reason else ""
        return f"by {entry.by}, {self.when(entry.at)}, in entry {entry.n}{said}"

    def _correction(self, entry: e.Entry, data: e.Corrected) -> Iterator[str]:
        change = self.amended.change_by(entry)
        was = f", was {given_words(change.was)}" if change else ""
        whose = f"{data.part} {data.place}".strip()
        yield f"entry {data.of} of {whose} corrected to {given_words(data.given)}{was}"
        yield f"  reason: {data.reason}"
        for part, outcome in data.each.items():
            for revision in outcome.revised:
                if (revision.n, revision.part) != (data.of, data.part):
                    now = revision.number or revision.word
                    yield f"  {part}: entry {revision.n} is now {now}"

    def _answer(self, data: e.Answered) -> Iterator[str]:
        yield f"{listed(data.parts, most=40)}: answered: {self._settled(data.code)}"

    def _settled(self, code: str) -> str:
        """An answer by its code, in words."""
        act, _, to = code.partition(" ")
        step = self.procedure.route.steps.get(to) if act == "rework" else None
        if step is not None:
            return f"back to step {step.number}"
        return {"again": "do it again", "aside": "set aside"}.get(code, code)

    def _other(self, data: e.Data) -> Iterator[str]:
        parts = getattr(data, "parts", ())
        who = listed(parts, most=40) if parts else ""
        match data:
            case e.Added():
                yield f"{data.part.part} joined" + (
                    f" at {self._step(data.step)}" * bool(data.step)
                )
            case e.Tended():
                yield f"{who}: tended"
            case e.Skipped():
                yield f"{who}: left out: {self._step(data.step)}"
            case e.Moved():
                yield f"{who}: put {self._step(data.to)}"
            case e.Retracted():
                yield f"{who}: entry {data.of} taken back"
            case e.Note() | e.Lesson():
                yield f"{data.KIND}: {data.text}"
            case e.Closed():
                yield f"closed. {data.says}"
                yield from (f"  {part} not done: {why}" for part, why in data.reasons.items())
            case _:
                yield from self._kept(data)

    def _kept(self, data: e.Data) -> Iterator[str]:
        match data:
            case e.GotBack():
                yield f"{listed(data.parts, most=40)}: back again"
            case e.Stopped():
                yield f"stopped: {data.reason}"
            case e.Resumed():
                yield "resumed"
            case e.Signed():
                yield f"signed by {data.who}"
            case e.Sealed():
                yield f"sealed by {data.who}: {data.why}"
            case e.Photo():
                yield f"photo {data.file} {data.text}"
                if data.position.words:
                    yield f"  {data.position.words}"
            case _:
                yield from _machine(data)

    def _asks(self, data: e.Data) -> Iterator[str]:
        each: Mapping[str, e.Outcome] = getattr(data, "each", {})
        for part, outcome in each.items():
            for question in outcome.asks:
                yield f"  {part}, question: {question.says}"


def _machine(data: e.Data) -> Iterator[str]:
    """What the machine itself had to say: sleep, clock steps, fragments; nothing of mere beats."""
    match data:
        case e.Beat():
            if data.slept:
                yield f"the machine slept for {span(data.slept)}"
            if data.stepped:
                yield f"the wall clock was set by {data.stepped / 1000:+.0f} s"
        case e.Recovered():
            for one in data.files:
                yield f"set aside when opened: {one.file}, {one.bytes} bytes"


def given_words(given: e.Given) -> str:
    """A value as it was given: with its unit, and as typed where that differs."""
    if given.number is None:
        return given.word
    text = quantity.in_words(given_number(given), given.unit)
    plain = given.typed.replace(" ", "")
    return text if not plain or plain in text.replace(" ", "") else f"{text} (typed {given.typed})"


def given_number(given: e.Given) -> Any:
    """The number of a value."""
    from decimal import Decimal

    return Decimal(given.number or 0)


def _parts(run: Run) -> Iterator[str]:
    yield "PARTS"
    for marker in run.each():
        coats = [f"{step} {len(made)} times" for step, made in marker.coats.items()]
        op = run.route.step_at(marker.index)
        here = marker.status in (Status.PLAY, Status.AWAY, Status.ASIDE) and op is not None
        stands = f"at step {op.step.number}" if here and op else ""
        words = [marker.status.value, stands, *coats, *(q.says for q in marker.questions)]
        yield f"  {shown(marker.part, 24):<24} {shown(', '.join(w for w in words if w), 200)}"
    if run.stopped:
        yield f"  stopped: {shown(run.stopped, 200)}"
