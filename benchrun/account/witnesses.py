"""Walks through a log for its witness points: who was told when, who came, or that nobody did."""

from dataclasses import replace

from benchrun.account.act_facts import WitnessFacts
from benchrun.account.facts import RunFacts
from benchrun.account.walker import Around, Takers
from benchrun.procedure.route import Procedure
from benchrun.run import entries as e
from benchrun.run.state import Run


def witness_words(end: e.NoticeEnd, name: str, behalf: str) -> str:
    """How a witness point ended."""
    who = f"{name}, for {behalf}" if behalf else name
    match end:
        case e.NoticeEnd.CAME:
            return f"witnessed by {who}"
        case e.NoticeEnd.NOT_COMING:
            return f"nobody comes, word from {who}"
    return "the notice ran out, nobody came"


class WitnessWalk:
    """Takes entry after entry and adds every witness point to the facts."""

    def __init__(self, procedure: Procedure, facts: RunFacts, around: Around) -> None:
        self._around = around
        self._steps = procedure.route.steps
        self._facts = facts

    @property
    def takes(self) -> Takers:
        """The ways in which it takes entries."""
        return {
            e.Told: self._told,
            e.Witnessed: self._ended,
            e.Retracted: self._taken_back,
        }

    def _told(self, entry: e.Entry, data: e.Told) -> None:
        step = self._steps[data.step]
        least = data.each.get(data.parts[0], e.NOTHING).least
        self._facts.witnesses.append(
            WitnessFacts(
                entry.n,
                entry.at.utc,
                entry.by,
                step.id,
                step.number,
                step.text,
                data.parts,
                least,
            )
        )

    def _ended(self, entry: e.Entry, data: e.Witnessed) -> None:
        """End the notice for these parts; those that wait on keep a row of their own."""
        before = self._around.before
        found: list[WitnessFacts] = []
        for one in self._facts.witnesses:
            now = tuple(part for part in one.parts if part in data.parts)
            now = tuple(part for part in now if _load(before, part) == one.n)
            if one.end or one.taken_back or not now:
                found.append(one)
                continue
            said = witness_words(data.end, data.name, data.behalf)
            found.append(
                replace(
                    one,
                    parts=now,
                    n_end=entry.n,
                    ended=entry.at.utc,
                    ended_by=entry.by,
                    end=data.end.value,
                    name=data.name,
                    behalf=data.behalf,
                    words="; ".join((said, *data.flags)),
                )
            )
            left = tuple(part for part in one.parts if part not in now)
            found += [replace(one, parts=left)] if left else []
        self._facts.witnesses[:] = found

    def _taken_back(self, _: e.Entry, data: e.Retracted) -> None:
        self._facts.witnesses[:] = [_without(one, data.of) for one in self._facts.witnesses]


def _without(one: WitnessFacts, of: int) -> WitnessFacts:
    """A witness point once an entry was taken back."""
    if one.n == of:
        return replace(one, taken_back=True)
    if one.n_end != of:
        return one
    return replace(one, n_end=None, ended="", ended_by="", end="", name="", behalf="", words="")


def _load(run: Run, part: str) -> int | None:
    soak = run.markers[part].soak
    return soak.load if soak else None
