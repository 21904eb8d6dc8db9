"""A run on the bench of a test: a procedure written in a few lines, commands in a few words."""

from pathlib import Path
from textwrap import dedent, indent
from typing import Any

from benchrun.moment import Moment
from benchrun.procedure.load import load
from benchrun.procedure.route import Route
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Command, Hand, Refusal
from benchrun.run.course import Course
from benchrun.run.decide import decide
from benchrun.run.fold import fold
from benchrun.run.offers import Deed, Offer, offers
from benchrun.run.state import Marker, Question, Run

ANN, BO = Hand("ann", "Ann", frozenset({"smith"})), Hand("bo", "Bo")
MINUTE = 60_000
EPOCH_MS = 1_770_000_000_000

_HEAD = """\
procedure: trial
title: Trial (invented, for tests)
revision: 1
scope: Invented, for tests only.
changes: {1: First.}
needs: NEEDS
batch: {part: arm}
vessels: {tub: {title: etching tub, holds: 2}, oven: {title: oven}}
stages:
  - stage: Trial
    steps:
"""


def route_of(folder: Path, steps: str, needs: str = "{}", head: str = "") -> Route:
    """The route of a procedure with these steps; `head` are more lines of its header."""
    path = folder / "trial.yaml"
    page = _HEAD.replace("NEEDS", needs).replace("stages:", f"{head}stages:")
    path.write_text(page + indent(dedent(steps), "      "), "utf-8")
    return load(path).route


class Trial:
    """A run that is told what to do.

    Attributes:
        minute: True time since the start, in minutes; set it to let time pass.
    """

    def __init__(
        self,
        folder: Path,
        steps: str,
        parts: str = "A B",
        needs: str = "{}",
        head: str = "",
        kind: str = "",
        about: dict[str, object] | None = None,
    ) -> None:
        self.minute: float = 0
        self.boot, self.began, self.sync, self.wrong = 1, 0.0, True, 0.0
        self.hand = ANN
        self.entries: list[e.Entry] = []
        self.run = Run(Course(route_of(folder, steps, needs, head)))
        specs = [one.split(":") for one in parts.split()]
        parts_of = (e.PartSpec(tag, *map(int, size), kind=kind) for tag, *size in specs)
        self.give(c.Open(tuple(parts_of), about or {}))

    @property
    def now(self) -> Moment:
        ms = round(self.minute * MINUTE)
        wall = EPOCH_MS + ms + round(self.wrong * MINUTE)
        return Moment(wall, ms - round(self.began * MINUTE), f"boot-{self.boot}", self.sync)

    def restart(self, *, off: float = 1, sync: bool = True) -> None:
        """Another boot of the machine."""
        self.minute += off
        self.boot, self.began, self.sync = self.boot + 1, self.minute, sync

    @property
    def seen(self) -> int:
        return self.run.n - 1

    def give(self, command: Command) -> Any:
        """What a command becomes: the data of its entry, or the refusal."""
        data = decide(self.run, command, self.now, self.hand)
        if not isinstance(data, Refusal):
            entry = e.Entry(self.run.n, self.now, self.hand.id, data)
            self.entries.append(entry)
            self.run = fold(self.run, entry)
        return data

    def good(self, command: Command) -> Any:
        """A command that must be taken."""
        data = self.give(command)
        assert not isinstance(data, Refusal), data.text
        return data

    def refused(self, command: Command) -> str:
        """The words of a command that must be refused."""
        data = self.give(command)
        assert isinstance(data, Refusal), data
        return data.text

    def do_of(self, step: str, parts: str, given: str = "", reason: str = "") -> c.Do:
        """The command of a do, a reading (a text with a unit) or an inspection."""
        kind = self.run.route.steps[step].kind.value
        typed, finding = (given, "") if kind == "reading" else ("", given)
        return c.Do(step, tuple(parts.split()), self.seen, typed, finding, None, reason)

    def do(self, step: str, parts: str, given: str = "", reason: str = "") -> Any:
        return self.good(self.do_of(step, parts, given, reason))

    def put_in(self, step: str, parts: str, reason: str = "", ago: float = 0) -> Any:
        ms = round(ago * MINUTE)
        return self.good(c.PutIn(step, tuple(parts.split()), self.seen, reason, ms))

    def lift(self, parts: str, reason: str = "", ago: float = 0) -> Any:
        return self.good(c.Lift(tuple(parts.split()), self.seen, reason, round(ago * MINUTE)))

    def put(self, parts: str, to: str, reason: str = "it must") -> Any:
        return self.good(c.Put(tuple(parts.split()), self.seen, to, reason))

    def skip(self, step: str, parts: str) -> Any:
        return self.good(c.Skip(step, tuple(parts.split()), self.seen, "not needed"))

    def answer_of(self, part: str, code: str, which: int = 0, reason: str = "so") -> c.Settle:
        question = self.questions(part)[which]
        return c.Settle((part,), self.seen, {part: question.id}, code, reason)

    def answer(self, part: str, code: str, which: int = 0) -> Any:
        return self.good(self.answer_of(part, code, which))

    def late(self, step: str, parts: str) -> Any:
        return self.good(c.FindLate(step, tuple(parts.split()), self.seen))

    def correct(self, step: str, part: str, to: str, place: str = "") -> Any:
        n = max(
            one.n
            for one in self.entries
            if isinstance(one.data, e.Did) and one.data.step == step and part in one.data.parts
        )
        reading = self.run.route.steps[step].kind.value == "reading"
        typed, finding = (to, "") if reading else ("", to)
        return self.good(c.Correct(n, part, "misread", typed, finding, place))

    def take_back(self, part: str, reason: str = "slipped") -> Any:
        return self.good(c.Retract(self.m(part).last, self.seen, reason))

    def m(self, part: str) -> Marker:
        """The marker of a part."""
        return self.run.markers[part]

    def at(self, part: str) -> str:
        """Where a part stands: `etch`, `coat 2` in pass 2, `fork`, `end`."""
        marker = self.m(part)
        op = self.run.route.step_at(marker.index)
        name = (
            op.step.id if op else "end" if marker.index + 1 == len(self.run.route.ops) else "fork"
        )
        return " ".join((name, *(".".join(map(str, marker.passes)),) * bool(marker.passes)))

    def questions(self, part: str) -> tuple[Question, ...]:
        return self.m(part).questions

    def codes(self, part: str, which: int = 0) -> list[str]:
        """What an open question takes."""
        return [answer.code for answer in self.questions(part)[which].answers]

    def value(self, part: str, name: str, place: str = "") -> str | None:
        """A value of a part as text."""
        value = self.m(part).values.get((name, place))
        return (
            None if value is None else str(value.number) if value.number is not None else value.word
        )

    def offers(self) -> tuple[Offer, ...]:
        return offers(self.run, self.now)

    def offered(self, deed: Deed, step: str = "") -> Offer:
        """The one offer of a deed at a step."""
        found = [
            o
            for o in self.offers()
            if o.deed is deed and (not step or (o.step and o.step.id == step))
        ]
        assert len(found) == 1, self.offers()
        return found[0]
