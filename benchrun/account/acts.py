"""Walks through a log for the work: who did which step on which parts, and what each act used."""

from collections.abc import Mapping

from benchrun.account.act_facts import ActFacts, SupplyFacts
from benchrun.account.deviations import AskedOf
from benchrun.account.facts import RunFacts
from benchrun.account.questions import answer_words, settled_by
from benchrun.account.readings import given_words
from benchrun.account.walker import EVERY_KIND, Takers
from benchrun.account.witnesses import witness_words
from benchrun.procedure.route import Procedure
from benchrun.run import entries as e
from benchrun.run.state import Run
from benchrun.text import span
from benchrun.wording import elapsed_words, grouped, time_limits

# Told apart from the work: the machine's own lines, and what has its own place in a report.
_ELSEWHERE = (
    e.Beat,
    e.Sealed,
    e.Signed,
    e.Tended,
    e.Note,
    e.Photo,
    e.Lesson,
    e.Recovered,
)

_MOVED = {"aside": "Set aside", "scrap": "Scrapped", "play": "Returned to work"}
_PLAIN: Mapping[type, str] = {
    e.Opened: "Run opened",
    e.Figured: "Figure entered",
    e.Added: "Joined the run late",
    e.Answered: "Question answered",
    e.GotBack: "Back from away",
    e.Stopped: "Run stopped",
    e.Resumed: "Run resumed",
    e.Closed: "Run closed",
}


class ActWalk:
    """Takes entry after entry and adds what was done to the facts."""

    def __init__(self, procedure: Procedure, facts: RunFacts, asked: AskedOf) -> None:
        self._asked = asked
        self._steps = procedure.route.steps
        self._facts = facts

    @property
    def takes(self) -> Takers:
        """The ways in which it takes entries."""
        return {
            **{kind: self._take for kind in EVERY_KIND if kind not in _ELSEWHERE},
            e.Retracted: self._taken_back,
        }

    def _taken_back(self, entry: e.Entry, data: e.Retracted) -> None:
        for act in self._facts.acts:
            act.taken_back = act.taken_back or act.n == data.of
        self._take(entry, data)

    def _take(self, entry: e.Entry, data: e.Data) -> None:
        step = self._steps.get(getattr(data, "step", ""))
        self._facts.acts.append(
            ActFacts(
                entry.n,
                entry.at.utc,
                entry.by,
                entry.kind,
                step.id if step else "",
                step.number if step else None,
                step.stage if step else "",
                step.text if step else self._words(data),
                _parts(data),
                grouped(self._outcomes(data)),
                str(getattr(data, "reason", "")),
            )
        )

    def _outcomes(self, data: e.Data) -> Mapping[str, str]:
        if isinstance(data, e.Answered):
            answer = answer_words(data, self._asked(settled_by(data)))
            return dict.fromkeys(data.parts, answer)
        if isinstance(data, e.Begun):
            return dict.fromkeys(data.parts, "begun")
        each: Mapping[str, e.Outcome] = getattr(data, "each", {})
        words = {part: _outcome(data, part, each.get(part, e.NOTHING)) for part in _parts(data)}
        return {part: said for part, said in words.items() if said}

    def _words(self, data: e.Data) -> str:
        match data:
            case e.Moved():
                target = self._steps.get(data.to)
                if target:
                    return f"Put back to step {target.number}, {target.text}"
                return _MOVED.get(data.to, data.to)
            case e.Corrected():
                return f"Entry {data.of} of {data.part or data.place} corrected"
            case e.Retracted():
                return f"Entry {data.of} undone as a slip"
        return _PLAIN.get(type(data), data.KIND)


def _parts(data: e.Data) -> tuple[str, ...]:
    if isinstance(data, e.Opened):
        return tuple(spec.part for spec in data.parts)
    if isinstance(data, e.Added):
        return (data.part.part,)
    return tuple(getattr(data, "parts", ()))


def _outcome(data: e.Data, part: str, outcome: e.Outcome) -> str:
    if isinstance(data, e.Did):
        words = [f"{data.place}: " if data.place else ""]
        if outcome.value is not None:
            words.append(given_words(outcome.value))
            if not outcome.value.word and outcome.verdict:
                words.append(f", {outcome.verdict}")
        elif outcome.verdict:
            words.append(outcome.verdict)
        return "".join(words) if len(words) > 1 else ""
    if isinstance(data, e.WentIn):
        return ", ".join(w for w in ("in", time_limits(outcome.least, outcome.most)) if w)
    if isinstance(data, (e.Told, e.Witnessed)):
        return _notice(data, outcome)
    if isinstance(data, e.CameOut):
        return ", ".join(w for w in ("out", _spent(outcome), outcome.verdict) if w)
    if isinstance(data, e.Closed):
        return data.reasons.get(part, "")
    if isinstance(data, e.Asked):
        late = f", {span(outcome.proven)} since" if outcome.proven is not None else ""
        return f"{outcome.verdict}{late}" if outcome.verdict else data.says
    return ""


def _spent(outcome: e.Outcome) -> str:
    limits = (outcome.least, outcome.most)
    return elapsed_words(outcome.proven, outcome.possible, beside=limits)


def _notice(data: e.Told | e.Witnessed, outcome: e.Outcome) -> str:
    if isinstance(data, e.Told):
        return f"told, notice {span(outcome.least)}" if outcome.least is not None else "told"
    said = witness_words(data.end, data.name, data.behalf)
    return ", ".join((said, elapsed_words(outcome.proven, outcome.possible)))


class SupplyWalk:
    """Takes entry after entry; `finish` adds what each act used, as it stands at last."""

    def __init__(self, procedure: Procedure, facts: RunFacts) -> None:
        self._steps = procedure.route.steps
        self._facts = facts
        self._acts: list[tuple[e.Entry, e.Did | e.WentIn]] = []

    @property
    def takes(self) -> Takers:
        """The ways in which it takes entries."""
        return {e.Did: self._take, e.WentIn: self._take}

    def _take(self, entry: e.Entry, data: e.Did | e.WentIn) -> None:
        if data.uses:
            self._acts.append((entry, data))

    def finish(self, run: Run) -> None:
        """Add the supplies to the facts.

        Args:
            run: What the log folds to; what was taken back is not among what it used.
        """
        self._facts.supplies.clear()
        for entry, data in self._acts:
            step = self._steps[data.step]
            now = {use.supply: use for use in run.used.get(entry.n, ())}
            for first in data.uses:
                use = now.get(first.supply, first)
                self._facts.supplies.append(
                    SupplyFacts(
                        n=entry.n,
                        utc=entry.at.utc,
                        by=entry.by,
                        number=step.number,
                        text=step.text,
                        parts=data.parts,
                        supply=use.supply,
                        amount=use.amount,
                        unit=use.unit,
                        first=first.amount,
                        name=use.name,
                        about=use.about,
                        misgivings=use.misgivings,
                        back=use.back,
                        taken_back=first.supply not in now,
                    )
                )
