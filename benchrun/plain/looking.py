"""Looking something up on the plain face: the log, what lies ahead, sums, past runs."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from benchrun.account.entry_words import EntryWords
from benchrun.errors import BenchrunError
from benchrun.plain.talk import Talk
from benchrun.procedure.route import Reading, Step
from benchrun.run.clocks import LoadClock, loads
from benchrun.run.offers import Offer
from benchrun.run.state import Run
from benchrun.run.strengths import strength_words
from benchrun.run.supply_use import using_words
from benchrun.session import Session
from benchrun.text import count, listed, span

AT_ONCE: Final = 20
"""How many lines are said before it is asked whether to go on."""
LAST: Final = 6
"""How many entries of the log are said where no words are looked for."""


@dataclass(frozen=True, slots=True)
class Looking:
    """Answers what is looked up; nothing is recorded by it.

    Args:
        talk: Speaks and listens.
        session: The run.
    """

    talk: Talk
    session: Session

    def ask(self, found: Sequence[Offer]) -> None:
        """Say what can be looked up, and look one thing up.

        Args:
            found: What is on offer; its first step is the one in hand.
        """
        step = next((offer.step for offer in found if offer.step is not None), None)
        ways: dict[str, Callable[[], None]] = {
            "parts: who stands where": self._parts,
            "procedure: read ahead": lambda: self._ahead(step),
            "log: the last entries, or words": self._log,
            "sums of the shop": self._sums,
            "clocks: all that run": self._clocks,
            "supplies: what must be at hand, what was used": self._supplies,
            "past runs: step times": lambda: self._past(""),
        }
        if step is not None and isinstance(step.detail, Reading):
            ways["past runs: values of this reading"] = lambda: self._past(step.id)
        at = self.talk.choose("Look up:", list(ways))
        if at is not None:
            list(ways.values())[at]()

    def _read(self, lines: Sequence[str]) -> None:
        """Say lines, a page at a time."""
        for place, line in enumerate(lines):
            if place and place % AT_ONCE == 0:
                more = f"{len(lines) - place} more. Enter says them, - is enough:"
                if self.talk.ask(more) == "-":
                    return
            self.talk.say(line)

    def _parts(self) -> None:
        run = self.session.run
        lines = []
        for marker in run.each():
            op = run.route.step_at(marker.index)
            where = f", step {op.step.number}" if op else ""
            lines.append(f"  {marker.part}: {marker.status.value}{where}")
            lines += [f"    to be settled: {one.says}" for one in marker.questions]
        self._read(lines)

    def _ahead(self, here: Step | None) -> None:
        """Every step from the one in hand on, with its stage and its cautions in short."""
        lines, stage = [], ""
        for step in self.session.run.route.steps.values():
            if here is not None and step.number < here.number:
                continue
            if step.stage != stage:
                stage = step.stage
                lines.append(stage)
            lines.append(f"  {step.number}. {step.text}")
            lines += [f"    {one.signal.value.upper()}. {one.hazard}" for one in step.cautions]
        self._read(lines)

    def _log(self) -> None:
        words = self.talk.ask("Words to look for (only Enter says the last entries):")
        telling = EntryWords(self.session.procedure, self.session.entries)
        entries = self.session.entries if words else self.session.entries[-LAST:]
        lines: list[str] = []
        found = 0
        for entry in entries:
            rows = list(telling.rows(entry))
            if words.casefold() in " ".join([*telling.words(entry), entry.by]).casefold():
                found += 1
                lines += rows
        self._read([f"  {row}" for row in lines])
        if words:
            self.talk.say(f"{count(found, 'entry', 'entries')} with “{words}”.")

    def _sums(self) -> None:
        """Do one sum; what the run has measured under a name that the sum asks for is offered."""
        from benchrun.shopmath import CALCS
        from benchrun.shopmath.words import report

        calcs = list(CALCS.values())
        names = [f"{one.name.replace('_', ' ')}: {one.purpose}" for one in calcs]
        at = self.talk.choose("Which sum:", names)
        if at is None:
            return
        calc, measured = calcs[at], _measured(self.session.run)
        given = {}
        for one in calc.entries:
            offered = measured.get(one.name) or one.default or ""
            unit = f", {one.unit}" if one.unit else ""
            asked = f"{one.meaning}{unit} (only Enter: {offered or 'left out'}):"
            given[one.name] = self.talk.ask(asked) or offered
        try:
            result = calc.read_out({name: text for name, text in given.items() if text})
        except BenchrunError as error:
            self.talk.say(error.message)
            return
        self._read(report(calc, result).splitlines())

    def _clocks(self) -> None:
        clocks = loads(self.session.run, self.session.now())
        self._read([clock_words(clock) for clock in clocks] or ["No clock is running."])

    def _supplies(self) -> None:
        self._read([*self._needs(), "What this run used:", *(self._used() or ["  nothing so far"])])

    def _needs(self) -> Iterator[str]:
        procedure = self.session.procedure
        needs = procedure.needs
        for label, texts in (
            ("Protection", needs.protection),
            ("Tools", needs.tools),
            ("Instruments", tuple(one.name for one in needs.instruments)),
            ("Supplies", needs.supplies),
            ("First aid", procedure.first_aid),
        ):
            if texts:
                yield f"{label}:"
                yield from (f"  {text}" for text in texts)

    def _used(self) -> list[str]:
        lines = []
        used = self.session.run.used
        read = strength_words(self.session.run.route, self.session.entries)
        for n in sorted({*used, *read}):
            lines += [f"  entry {n}: {read[n]}"] if n in read else []
            uses = used.get(n, ())
            for use, words in zip(uses, using_words(uses), strict=True):
                tin = f" from {use.name}" if use.name else ", which the shop's books do not keep"
                lines.append(f"  entry {n}: {words}{tin}")
        return lines

    def _past(self, reading: str) -> None:
        """Answers over all runs of the shop: of a reading, or of the times of the steps."""
        from benchrun.history.command import Question, run_history

        question = Question(self.session.procedure.id, reading, times=not reading)
        try:
            told, skipped = run_history(self.session.shop.path, question)
        except BenchrunError as error:
            self.talk.say(error.message)
            return
        self._read([*skipped.splitlines(), *told.splitlines()])


def _measured(run: Run) -> dict[str, str]:
    """The newest value under each name, as text with its unit."""
    values = [value for marker in run.each() for value in marker.values.values()]
    return {
        value.name: f"{value.number} {value.unit}".strip()
        for value in sorted(values, key=lambda one: one.n)
        if value.number is not None
    }


def clock_words(clock: LoadClock) -> str:
    """Say how a load stands: what is in, how long, its limits, its state in words."""
    words = [span(clock.spent.proven_ms)]
    words += [f"least {span(clock.least)}"] if clock.least is not None else []
    words += [f"most {span(clock.most)}"] if clock.most is not None else []
    return f"CLOCK {clock.step.text} {listed(clock.parts)}: {', '.join(words)}, {clock.state}"
