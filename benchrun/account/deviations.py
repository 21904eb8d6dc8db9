"""The deviations of a run, what was done as a deviation, and what is not proven."""

from collections.abc import Callable, Iterator, Mapping
from typing import Any, Final

from benchrun.account.facts import RemarkFacts, RunFacts
from benchrun.account.questions import AskedFacts, StepOf, answer_words, settled_by
from benchrun.account.walker import EVERY_KIND, Around, Takers
from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.procedure.route import Procedure, Reading
from benchrun.record.clock import NO_STEP_MS, wall_step_ms
from benchrun.run import entries as e
from benchrun.run.entry_builder import lists_no_instrument
from benchrun.run.holds import is_allowed
from benchrun.run.state import BOOKLESS_SINCE
from benchrun.run.verdict import (
    EARLY,
    EARLY_OR_LATE,
    IN_TIME,
    LATE,
    PERHAPS_EARLY,
    PERHAPS_LATE,
)
from benchrun.shopmath.accepting import DOUBT, INSIDE, OUTSIDE
from benchrun.text import listed, span
from benchrun.wording import CLOSE_LISTS, elapsed_words, grouped, ruling_words, unfit_words

_DOUBTFUL: Final = frozenset({DOUBT, PERHAPS_EARLY, PERHAPS_LATE, EARLY_OR_LATE})
_TOO_SOON: Final = "too soon"
_LEFT: Final = {"aside": "set aside", "scrap": "scrapped", "play": "returned to work"}
_ALWAYS: Final = frozenset({"skip", "add", "put", "retract", "stop", "answer", "close"})
_NEVER: Final = frozenset(
    {"beat", "seal", "sign", "note", "photo", "lesson", "tend", "recovered", "resume"}
)
BEGUN_ANYWAY: Final = "begun_anyway"
"""The key of the first entry under which unfit parts stand, each with `although` and `reason`."""
NO_BOOK: Final = "this shop keeps no instruments book: readings name no calibrated instrument"
_OFF: Final = frozenset({EARLY, LATE, _TOO_SOON})
_USUAL: Final = frozenset({"", IN_TIME, INSIDE, OUTSIDE})  # of these no deviation, no doubt tells

Found = tuple[tuple[str, ...], str, str]
AskedOf = Callable[[str], AskedFacts | None]


def may_tell(kind: str, data: Mapping[str, Any]) -> bool:
    """Whether an entry may be a deviation or ask something.

    A quick look for whoever reads very many logs: never no where `deviations_in` or `asked_in`
    find something.

    Args:
        kind: The entry's kind.
        data: What its line holds.
    """
    if kind in _ALWAYS:
        return True
    if kind in _NEVER:
        return False
    if BEGUN_ANYWAY in data:
        return True
    if "reason" in data or "without" in data or "flags" in data:
        return True
    for outcome in data.get("each", {}).values():
        if "asks" in outcome or outcome.get("verdict") in _OFF:
            return True
    return any("misgivings" in use for use in data["uses"]) if "uses" in data else False


def deviations_in(entry: e.Entry, step_of: StepOf, asked: AskedOf) -> Iterator[RemarkFacts]:
    """The deeds of an entry done as a deviation.

    Args:
        entry: The entry.
        step_of: The steps of the procedure by id.
        asked: The questions that were put before, by id.
    """
    data = entry.data
    found = [*_found(data, step_of, asked)]
    if not found:
        return
    about = getattr(data, "step", "")
    if isinstance(data, e.Answered):
        question = asked(settled_by(data))
        about = question.step if question else ""
    elif isinstance(data, e.Moved) and data.to not in _LEFT:
        about = data.to
    step = step_of(about)
    number = step.number if step else None
    of = data.of if isinstance(data, e.Retracted) else None
    for parts, what, reason in found:
        yield RemarkFacts(entry.n, entry.at.utc, entry.by, parts, number, what, reason, about, of)


def _found(data: e.Data, step_of: StepOf, asked: AskedOf) -> Iterator[Found]:
    match data:
        case e.Begun() | e.Did() | e.WentIn() | e.CameOut() | e.Told():
            yield from _otherwise(data)
        case e.Skipped():
            yield data.parts, "skipped", data.reason
        case e.Added():
            how = f"joined at {_step_words(data.step, step_of)}" if data.step else "joined late"
            yield (data.part.part,), how, data.reason
        case e.Moved():
            back = f"put back to {_step_words(data.to, step_of)}"
            yield data.parts, _LEFT.get(data.to, back), data.reason
        case e.Retracted():
            yield data.parts, "undone as a slip", data.reason
        case e.Answered() if data.reason:
            answer = answer_words(data, asked(settled_by(data)))
            yield data.parts, f"query answered: {answer}", data.reason
        case _:
            yield from _of_whole_run(data)


def _of_whole_run(data: e.Data) -> Iterator[Found]:
    match data:
        case e.Doubted():
            for text in data.findings:
                yield (), f"gone on although {text}", data.reason
        case e.Opened():
            yield from _begun_anyway(data.about.get(BEGUN_ANYWAY))
        case e.CountedBack():
            for text in data.flags:
                yield (), text, data.reason
        case e.Ticked() if not data.done:
            words = data.text.removesuffix(".")
            yield (
                (),
                f"not done when asked, {CLOSE_LISTS.get(data.sort, data.sort)}: {words}",
                data.reason,
            )
        case e.Stopped():
            yield (), "run stopped", data.reason
        case e.Closed():
            for reason, parts in grouped(data.reasons):
                yield parts, "closed though not done", reason


def _begun_anyway(unfit: object) -> Iterator[Found]:
    """Parts that were begun although they were scrapped, away or in another run."""
    for tag, known in unfit.items() if isinstance(unfit, Mapping) else ():
        if isinstance(known, Mapping):
            why, reason = str(known.get("although", "")), str(known.get("reason", ""))
            yield (str(tag),), f"begun although {why}", reason


def _step_words(step: str, step_of: StepOf) -> str:
    known = step_of(step)
    return f"step {known.number if known else step}"


def _otherwise(data: e.Begun | e.Did | e.WentIn | e.CameOut | e.Told) -> Iterator[Found]:
    words = [] if isinstance(data, e.CameOut) else [*_of_start(data)]
    soon = tuple([part for part, outcome in data.each.items() if outcome.verdict == _TOO_SOON])
    if soon:
        words.append(f"sooner than allowed: {listed(soon, most=40)}")
    if isinstance(data, e.CameOut):
        off = {part: o.verdict for part, o in data.each.items() if o.verdict in (EARLY, LATE)}
        alike = len(set(off.values())) == 1 and len(off) == len(data.parts)
        for said, parts in grouped(off) if off else ():
            words.append(f"taken out {said}" if alike else f"taken out {said}: {part_names(parts)}")
    if words or data.reason:
        yield data.parts, "; ".join(words) or "needed a reason", data.reason


def _of_start(data: e.Begun | e.Did | e.WentIn | e.Told) -> Iterator[str]:
    """The words on how a step was begun otherwise, and with what."""
    if isinstance(data, e.Begun):
        yield from data.flags
        return
    if data.without:
        yield f"without {listed(data.without, most=40)}"
    for flag in data.flags:
        if not is_allowed(flag):
            yield flag
    for use in data.uses if isinstance(data, (e.Did, e.WentIn)) else ():
        if use.misgivings:
            yield f"{use.supply}, {unfit_words(use.name, use.misgivings)}"
    if isinstance(data, e.Did) and data.tool is not None and data.tool.misgivings:
        yield unfit_words(data.tool.name, data.tool.misgivings)


def correction_in(entry: e.Entry, data: e.Corrected) -> RemarkFacts:
    """That an entry put a value right: no deviation, but something that a reader should know."""
    what = f"entry {data.of} corrected"
    return RemarkFacts(entry.n, entry.at.utc, entry.by, (data.part,), None, what, data.reason)


class DeviationWalk:
    """Takes entry after entry and adds deviations and doubts to the facts."""

    def __init__(
        self, procedure: Procedure, facts: RunFacts, around: Around, asked: AskedOf
    ) -> None:
        self._procedure = procedure
        self._step_of = procedure.route.steps.get
        self._facts = facts
        self._around = around
        self._asked = asked
        self._bookless = False

    @property
    def takes(self) -> Takers:
        """The ways in which it takes entries."""
        return {
            **dict.fromkeys(EVERY_KIND, self._take),
            e.Opened: self._opened,
            e.Sealed: self._sealed,
            e.Retracted: self._taken_back,
            e.Did: self._acted,
            e.WentIn: self._acted,
            e.CameOut: self._acted,
            e.Beat: self._look_at_clocks,
            e.Signed: self._look_at_clocks,
        }

    def _take(self, entry: e.Entry, data: e.Data) -> None:
        self._facts.deviations += deviations_in(entry, self._step_of, self._asked)
        self._look_at_clocks(entry, data)
        for parts, what in _doubts(data):
            step = self._step_of(getattr(data, "step", ""))
            number, about = (step.number, step.id) if step else (None, "")
            self._facts.doubts.append(
                RemarkFacts(entry.n, entry.at.utc, entry.by, parts, number, what, "", about)
            )

    def _acted(self, entry: e.Entry, data: e.Did | e.WentIn | e.CameOut) -> None:
        if _as_usual(data):
            self._look_at_clocks(entry, data)
        else:
            self._take(entry, data)

    def _opened(self, entry: e.Entry, data: e.Opened) -> None:
        self._take(entry, data)
        self._bookless = _is_bookless(data, self._procedure)
        self._tell_bookless(entry, data.about.get("format"))

    def _sealed(self, entry: e.Entry, data: e.Sealed) -> None:
        self._look_at_clocks(entry, data)
        self._tell_bookless(entry, data.format)

    def _taken_back(self, entry: e.Entry, data: e.Retracted) -> None:
        """Forget what an entry did otherwise that is taken back."""
        kept = [deviation for deviation in self._facts.deviations if deviation.n != data.of]
        self._facts.deviations[:] = kept
        self._take(entry, data)

    def _tell_bookless(self, entry: e.Entry, number: object) -> None:
        """Tell once where readings no longer say each that the shop lists no instrument.

        That is from the opening on, or from where a later program resumed an older log.
        """
        if self._bookless and isinstance(number, int) and number >= BOOKLESS_SINCE:
            self._bookless = False
            self._doubt(entry, NO_BOOK)

    def _doubt(self, entry: e.Entry, what: str) -> None:
        self._facts.doubts.append(RemarkFacts(entry.n, entry.at.utc, entry.by, (), None, what))

    def _look_at_clocks(self, entry: e.Entry, _: e.Data) -> None:
        at, before = entry.at, self._around.last
        last = before.at if before is not None else None
        # As they are between most entries, one boot and both clocks alike: nothing to tell.
        if (
            last is None
            or at.boot != last.boot
            or at.sync is not last.sync
            or abs(at.utc_ms - last.utc_ms - at.up_ms + last.up_ms) > NO_STEP_MS
        ):
            for what in self._clock(at, last):
                self._doubt(entry, what)

    @staticmethod
    def _clock(at: Moment, last: Moment | None) -> Iterator[str]:
        """Doubts left by the clocks: restarts, a clock that was set, one that is not in step."""
        unsynced = last is not None and not last.sync
        if not at.sync and not unsynced:
            yield "from here on no time service sets the wall clock: times of day may be wrong"
        elif at.sync and unsynced:
            yield "from here on a time service sets the wall clock again"
        if not at.knows_boot and (last is None or last.knows_boot):
            yield "from here on times across a sleep or a restart rest on the wall clock alone"
        if last is None:
            return
        if at.boot != last.boot:
            what = "machine was restarted" if at.knows_boot else "program was started again"
            yield f"the {what}; times across it rest on the wall clock"
        else:
            step = wall_step_ms(last, at)
            if step:
                yield f"the wall clock was set by {step / 1000:+.0f} s"


def _as_usual(data: e.Did | e.WentIn | e.CameOut) -> bool:
    """Whether neither `deviations_in` nor `_doubts` can find anything in an act; a quick look."""
    if data.reason or data.flags:
        return False
    if isinstance(data, e.Did):
        if data.without or data.uses or (data.tool is not None and data.tool.misgivings):
            return False
    elif data.ago or (isinstance(data, e.WentIn) and (data.without or data.uses)):
        return False
    for outcome in data.each.values():
        if outcome.verdict not in _USUAL or outcome.possible != outcome.proven:
            return False
    return True


def _is_bookless(opened: e.Opened, procedure: Procedure) -> bool:
    """Whether readings want calibrated instruments in a shop whose book lists none."""
    details = (step.detail for step in procedure.route.steps.values())
    wants = any(isinstance(detail, Reading) and detail.calibrated for detail in details)
    return wants and lists_no_instrument(opened.about)


def _doubts(data: e.Data) -> Iterator[tuple[tuple[str, ...], str]]:
    if isinstance(data, e.Did):
        doubtful = tuple(
            [part for part, outcome in data.each.items() if outcome.verdict in _DOUBTFUL]
        )
        if doubtful:
            yield doubtful, "the instrument cannot decide between inside and outside"
    elif isinstance(data, e.CameOut):
        yield from _uncertain(data)
    elif isinstance(data, e.Witnessed):
        for flag in data.flags:
            yield data.parts, flag
    elif isinstance(data, e.Recovered):
        for file in data.files:
            yield (), f"{file.file} was set aside when the log was opened, {file.bytes} bytes"
    if isinstance(data, (e.WentIn, e.CameOut)) and data.ago:
        yield data.parts, f"entered {span(data.ago)} after the event, as far as is known"


def _uncertain(data: e.CameOut) -> Iterator[tuple[tuple[str, ...], str]]:
    told_late = bool(data.ago)
    words = {
        part: f"{ruling_words(outcome.verdict)}: "
        f"{elapsed_words(outcome.proven, outcome.possible, told_late=told_late)}"
        for part, outcome in data.each.items()
        if outcome.proven is not None
        and outcome.possible != outcome.proven
        and (outcome.possible is None or span(outcome.possible) != span(outcome.proven))
    }
    for said, parts in grouped(words):
        yield parts, said
