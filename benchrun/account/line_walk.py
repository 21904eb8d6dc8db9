"""The account of a log that is not folded, for whoever reads very many: the same facts, sooner.

Folding a log costs more than reading it. What an index over all runs keeps of a run stands in its
lines as it is; only entries that deviate or ask something are read as entries. That its facts are
those of the walk through fold is held by a test over all rehearsals.
"""

from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal, InvalidOperation
from typing import Any, Final

from benchrun.account.deviations import deviations_in, may_tell
from benchrun.account.facts import RemarkFacts
from benchrun.account.questions import AskedFacts, answer_words, asked_in, settled_by
from benchrun.load_run import entry_of
from benchrun.procedure.route import Act, Dwell, Step
from benchrun.record.line import Line
from benchrun.run.entries import Answered
from benchrun.shopmath.accepting import verdict_of

SITTING_MS: Final = 2 * 3_600_000
"""A gap that is longer than this is a break, not the time that a step took."""

IN_PLAY: Final = "in play"
_BREAKS: Final = frozenset({"stop", "resume"})
# Written down or done in passing: the work in hand goes on, and so does its time.
_IN_PASSING: Final = frozenset({"beat", "seal", "note", "photo", "lesson", "tend"})
_STATING: Final = frozenset({"do", "close"})
_STATES: Final = {"aside": "set aside", "scrap": "scrap", "play": IN_PLAY}

Data = Mapping[str, Any]
Parts = tuple[str, ...]


LineValue = tuple[str, str | None, str, str, str, str, str, str, bool]
"""One value of one part, as its line holds it: part, number, word, unit, low, high, verdict, doubt,
and whether an instrument showed it. A mere tuple, since an index takes millions."""


def states(kind: str, data: Data) -> bool:
    """Whether a line states something that counts when the next one signs it."""
    return kind in _STATING and bool(data.get("says"))


class LineWalk(ABC):
    """Takes line after line of one run; what it finds is kept by who inherits from it.

    Statements that nobody signed are left out by whoever gives the lines.

    Attributes:
        closed: Whether the run is closed.
        boot, up_ms: The boot clock at the last act, from which the next span counts; an empty boot
            means that a break lies between.
        asked: The questions that were put by the lines that were taken, by id.
    """

    def __init__(self, boot: str, up_ms: int, steps: Callable[[], Mapping[str, Step]]) -> None:
        self.closed = False
        self.boot, self.up_ms = boot, up_ms
        self.asked: dict[str, AskedFacts] = {}
        self._steps_of = steps
        self._steps: Mapping[str, Step] | None = None
        self._takes: Mapping[str, Callable[[Line, Data], None]] = {
            "open": self._opened,
            "add": self._added,
            "do": self._did,
            "in": self._in_or_out,
            "out": self._in_or_out,
            "answer": self._answered,
            "put": self._put,
            "got": self._got_back,
            "correct": self._corrected,
            "retract": self._retracted,
            "close": self._closes,
            "sign": self._signs,
        }

    @abstractmethod
    def keep_part(self, part: str, identity: str) -> None:
        """Keep a part of the run."""

    @abstractmethod
    def keep_state(self, n: int, parts: Sequence[str], status: str, reason: str) -> None:
        """Keep how parts stand from an entry on."""

    @abstractmethod
    def keep_values(
        self, line: Line, step: str, place: str, tool: str, values: Sequence[LineValue]
    ) -> None:
        """Keep the values of an entry; `tool` is empty where the line names none."""

    @abstractmethod
    def keep_span(self, line: Line, step: str, ms: int, acts: int) -> None:
        """Keep how long a step took for a number of acts."""

    @abstractmethod
    def keep_remark(self, line: Line, remark: RemarkFacts) -> None:
        """Keep a deviation."""

    @abstractmethod
    def keep_signature(self, line: Line, who: str, sshsig: str) -> None:
        """Keep whose signature a line holds; nobody has checked it here."""

    @abstractmethod
    def keep_decision(self, line: Line, parts: Sequence[str], step: str, answer: str) -> None:
        """Keep how a question about a step was answered for parts."""

    @abstractmethod
    def revise(self, n: int, revision: Data) -> None:
        """Put a value right, by entry `n`."""

    @abstractmethod
    def relimit(self, n: int, relimit: Data) -> None:
        """Give a value the limits that hold for it since entry `n`."""

    @abstractmethod
    def forget(self, n: int, parts: Sequence[str]) -> None:
        """Forget what an entry said that was a mis-tap; what it put right is as it was."""

    @abstractmethod
    def state_of(self, part: str) -> str:
        """How a part stands; empty where that is not known."""

    @abstractmethod
    def asked_before(self, question: str) -> AskedFacts | None:
        """A question that was put by a line before those that were taken here."""

    def take(self, line: Line) -> None:
        """Take the next line.

        Raises:
            ValueError, KeyError, TypeError, AttributeError: It has not the form of its kind.
        """
        take = self._takes.get(line.kind)
        if take is not None:
            take(line, line.data)
        if may_tell(line.kind, line.data):
            self._tell(line)
        if line.kind in _BREAKS or (line.kind == "seal" and line.data.get("why") == "suspend"):
            self.boot = ""
        elif line.kind not in _IN_PASSING:
            self.boot, self.up_ms = line.when["boot"], line.when["up_ms"]

    def _opened(self, line: Line, data: Data) -> None:
        for spec in data["parts"]:
            self._part(line, spec)

    def _added(self, line: Line, data: Data) -> None:
        self._part(line, data["part"])

    def _part(self, line: Line, spec: Data) -> None:
        part = str(spec["part"])
        self.keep_part(part, str(spec.get("identity", "")))
        self.keep_state(line.n, (part,), IN_PLAY, "")

    def _did(self, line: Line, data: Data) -> None:
        step, tool = str(data["step"]), data.get("tool", {})
        shown, uncertainty, values = not data.get("inputs"), tool.get("uncertainty", ""), []
        # Written out, without tuples in between: it is run for each value of thousands of runs.
        for part, outcome in data.get("each", {}).items():
            value = outcome.get("value")
            if value is not None:
                number, get, limit = value.get("number"), value.get, outcome.get
                values.append(
                    (
                        part,
                        number,
                        get("word", ""),
                        get("unit", ""),
                        limit("low", ""),
                        limit("high", ""),
                        limit("verdict", ""),
                        get("doubt") or uncertainty,
                        number is not None and shown,
                    )
                )
        if values:
            place, name = str(data.get("place", "")), str(tool.get("name", ""))
            self.keep_values(line, step, place, name, values)
        passed = line.when["up_ms"] - self.up_ms
        if "set_up" in data:
            return  # it was done before in this sitting: saying so is not the work
        if line.when["boot"] == self.boot and 0 < passed <= SITTING_MS:
            self.keep_span(line, step, passed, max(1, len(data.get("parts", ()))))

    def _in_or_out(self, line: Line, data: Data) -> None:
        step = str(data["step"])
        if line.kind == "out":
            proven = [o["proven"] for o in data.get("each", {}).values() if "proven" in o]
            if proven and not data.get("ago"):
                self.keep_span(line, step, max(proven), 1)
        known = self.step_of(step)
        if known is not None and isinstance(known.detail, Dwell) and known.detail.place:
            self.keep_state(line.n, data["parts"], "away" if line.kind == "in" else IN_PLAY, "")

    def _answered(self, line: Line, data: Data) -> None:
        code = str(data["code"])
        if code in _STATES or code.startswith(f"{Act.AWAY} "):
            reason = str(data.get("reason", ""))
            self.keep_state(line.n, data["parts"], _STATES.get(code, "away"), reason)

    def _got_back(self, line: Line, data: Data) -> None:
        self.keep_state(line.n, data["parts"], IN_PLAY, "")

    def _put(self, line: Line, data: Data) -> None:
        status, reason = _STATES.get(str(data["to"]), IN_PLAY), str(data.get("reason", ""))
        self.keep_state(line.n, data["parts"], status, reason)

    def _corrected(self, line: Line, data: Data) -> None:
        for outcome in data.get("each", {}).values():
            for revision in outcome.get("revised", ()):
                self.revise(line.n, revision)
            for relimit in outcome.get("relimited", ()):
                self.relimit(line.n, relimit)

    def _retracted(self, line: Line, data: Data) -> None:
        del line
        self.forget(int(data["of"]), data["parts"])

    def _closes(self, line: Line, data: Data) -> None:
        self.closed = True
        for part, reason in data.get("reasons", {}).items():
            status = self.state_of(str(part))
            said = status if status not in ("", IN_PLAY) else "not done"
            self.keep_state(line.n, (str(part),), said, str(reason))

    def _signs(self, line: Line, data: Data) -> None:
        self.keep_signature(line, str(data["who"]), str(data["sshsig"]))

    def _tell(self, line: Line) -> None:
        """Take what an entry asks, and what it says was done as a deviation."""
        entry = entry_of(line)
        self.asked |= {question.id: question for question in asked_in(entry.data, self.step_of)}
        for remark in deviations_in(entry, self.step_of, self._asked_of):
            self.keep_remark(line, remark)
        if isinstance(entry.data, Answered):
            asked = self._asked_of(settled_by(entry.data))
            if asked is not None:
                answer = answer_words(entry.data, asked)
                words = f"{answer}: {entry.data.reason}" if entry.data.reason else answer
                self.keep_decision(line, entry.data.parts, asked.step, words)

    def _asked_of(self, question: str) -> AskedFacts | None:
        if question not in self.asked:
            before = self.asked_before(question)
            if before is None:
                return None
            self.asked[question] = before
        return self.asked[question]

    def step_of(self, step: str) -> Step | None:
        """A step of the procedure that the run keeps, by its id."""
        if self._steps is None:
            self._steps = self._steps_of()
        return self._steps.get(step)


def revised_verdict(number: str, low: str, high: str, doubt: str) -> str:
    """The verdict on a corrected value by the limits that the log gives."""
    try:
        value, least, most = (Decimal(text) if text else None for text in (number, low, high))
        reach = Decimal(doubt or 0)
    except InvalidOperation:
        return ""
    return "" if value is None else verdict_of(value, least, most, reach)
