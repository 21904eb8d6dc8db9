"""Walks through a log for its dwells: what was in where, for how long, against least and most."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from benchrun.account.act_facts import DwellFacts, TendFacts
from benchrun.account.facts import RunFacts
from benchrun.account.walker import Around, Takers
from benchrun.procedure.route import Dwell, Procedure
from benchrun.run import entries as e
from benchrun.run.course import constant_ms
from benchrun.run.state import Run
from benchrun.wording import grouped


class DwellWalk:
    """Takes entry after entry and adds every load to the facts."""

    def __init__(self, procedure: Procedure, facts: RunFacts, around: Around) -> None:
        self._procedure = procedure
        self._facts = facts
        self._around = around
        self._limits: dict[int, list[tuple[int, int | None, int | None]]] = {}
        self._loads: dict[int, list[DwellFacts]] = {}  # the rows of each load, by `n_in`

    @property
    def takes(self) -> Takers:
        """The ways in which it takes entries."""
        return {
            e.WentIn: self._began,
            e.CameOut: self._ended,
            e.Tended: self._tended,
            e.Corrected: self._relimited,
            e.Retracted: self._taken_back,
        }

    def _open(self, loads: Iterable[int | None]) -> list[DwellFacts]:
        """The rows of loads of which parts are still in."""
        return [
            dwell
            for load in dict.fromkeys(loads)
            if load is not None
            for dwell in self._loads.get(load, ())
            if dwell.n_out is None and not dwell.taken_back
        ]

    def _tended(self, entry: e.Entry, data: e.Tended) -> None:
        tending = TendFacts(entry.n, entry.at.utc, entry.by)
        before = self._around.before
        for dwell in self._open(_load(before, part) for part in data.parts):
            _tend(dwell, (*dwell.tendings, tending))

    def _began(self, entry: e.Entry, data: e.WentIn) -> None:
        step = self._procedure.route.steps[data.step]
        detail = step.detail
        if not isinstance(detail, Dwell):
            return
        rows = self._loads[entry.n] = []
        for parts in _alike(data):
            outcome = data.each.get(parts[0], e.NOTHING)
            rows.append(
                DwellFacts(
                    entry.n,
                    None,
                    step.id,
                    step.number,
                    step.text,
                    parts,
                    self._where(detail, data.vessel),
                    entry.at.utc,
                    "",
                    outcome.least,
                    outcome.most,
                    outcome.aim if outcome.aim is not None else constant_ms(detail.aim),
                )
            )
        self._facts.dwells += rows

    def _where(self, detail: Dwell, vessel: str) -> str:
        known = self._procedure.route.vessels.get(vessel or detail.vessel)
        return known.title if known else detail.place or vessel

    def _ended(self, entry: e.Entry, data: e.CameOut) -> None:
        loads = {part: _load(self._around.before, part) for part in data.parts}
        for dwell in self._open(loads.values()):
            load = dwell.n_in
            lifted = tuple([part for part in dwell.parts if loads.get(part) == load])
            if not lifted:
                continue
            if len(lifted) < len(dwell.parts):
                self._leave(dwell, tuple([part for part in dwell.parts if part not in lifted]))
            outcome = data.each.get(lifted[0], e.NOTHING)
            dwell.n_out, dwell.parts, dwell.ended = entry.n, lifted, entry.at.utc
            dwell.least = outcome.least if outcome.least is not None else dwell.least
            dwell.most = outcome.most if outcome.most is not None else dwell.most
            dwell.proven, dwell.possible = outcome.proven, outcome.possible
            dwell.verdict = outcome.verdict

    def _leave(self, dwell: DwellFacts, parts: tuple[str, ...]) -> None:
        """Give the parts of a load that stay in a row of their own, right behind it."""
        dwells, rest = self._facts.dwells, replace(dwell, parts=parts)
        at = next(n for n in reversed(range(len(dwells))) if dwells[n] is dwell)
        dwells.insert(at + 1, rest)
        self._loads[dwell.n_in].append(rest)

    def _relimited(self, entry: e.Entry, data: e.Corrected) -> None:
        for part, outcome in data.each.items():
            if outcome.verdict == "limits":
                for dwell in self._open([_load(self._around.after, part)]):
                    if part in dwell.parts:
                        before = (dwell.n_in, dwell.least, dwell.most)
                        self._limits.setdefault(entry.n, []).append(before)
                        dwell.least, dwell.most = outcome.least, outcome.most

    def _taken_back(self, _: e.Entry, data: e.Retracted) -> None:
        """A start taken back never was; an end taken back leaves the load in.

        A correction taken back gives the limits that were before it.
        """
        # A load of several parts has a row for each: the first is from before the correction.
        for n_in, least, most in reversed(self._limits.pop(data.of, [])):
            for dwell in self._open([n_in]):
                dwell.least, dwell.most = least, most
        for dwell in self._facts.dwells:
            _tend(dwell, tuple(one for one in dwell.tendings if one.n != data.of))
            if dwell.n_in == data.of:
                dwell.taken_back = True
            elif dwell.n_out == data.of:
                dwell.n_out, dwell.ended, dwell.verdict = None, "", ""
                dwell.proven = dwell.possible = None


def _tend(dwell: DwellFacts, tendings: tuple[TendFacts, ...]) -> None:
    dwell.tendings, dwell.tended = tendings, len(tendings)


def _alike(data: e.WentIn) -> Iterator[tuple[str, ...]]:
    """The parts of a load, those of the same limits together."""
    if len(data.parts) == 1:
        yield data.parts
        return
    outcomes = {part: data.each.get(part, e.NOTHING) for part in data.parts}
    limits = {part: f"{one.least}/{one.most}" for part, one in outcomes.items()}
    for _, parts in grouped(limits):
        yield parts


def _load(run: Run, part: str) -> int | None:
    soak = run.markers[part].soak
    return soak.load if soak else None
