"""Walks through a log for its dwells: what was in where, for how long, against least and most."""

from dataclasses import replace

from benchrun.account.act_facts import DwellFacts, TendFacts
from benchrun.account.facts import RunFacts
from benchrun.procedure.route import Dwell, Procedure
from benchrun.run import entries as e
from benchrun.run.course import constant_ms
from benchrun.run.state import Run
from benchrun.wording import grouped


class DwellWalk:
    """Takes entry after entry and adds every load to the facts."""

    def __init__(self, procedure: Procedure, facts: RunFacts) -> None:
        self._procedure = procedure
        self._facts = facts
        self._limits: dict[int, list[tuple[int, int | None, int | None]]] = {}
        self._past = 0  # so many of the facts' dwells, from the first, have ended

    def take(self, before: Run, entry: e.Entry, after: Run) -> None:
        """Take the next entry with the run before and after it."""
        data = entry.data
        if isinstance(data, e.WentIn):
            self._began(entry, data)
        elif isinstance(data, e.CameOut):
            self._ended(before, entry, data)
        elif isinstance(data, e.Tended):
            loads = {_load(before, part) for part in data.parts}
            tending = TendFacts(entry.n, entry.at.utc, entry.by)
            for dwell in self._open():
                if dwell.n_in in loads:
                    _tend(dwell, (*dwell.tendings, tending))
        elif isinstance(data, e.Corrected):
            self._relimited(after, entry, data)
        elif isinstance(data, e.Retracted):
            self._taken_back(data)

    def _open(self) -> list[DwellFacts]:
        dwells = self._facts.dwells
        while self._past < len(dwells) and not _is_open(dwells[self._past]):
            self._past += 1
        return [dwell for dwell in dwells[self._past :] if _is_open(dwell)]

    def _began(self, entry: e.Entry, data: e.WentIn) -> None:
        step = self._procedure.route.steps[data.step]
        detail = step.detail
        if not isinstance(detail, Dwell):
            return
        limits = {
            part: f"{outcome.least}/{outcome.most}"
            for part in data.parts
            for outcome in (data.each.get(part, e.NOTHING),)
        }
        for _, parts in grouped(limits):
            outcome = data.each.get(parts[0], e.NOTHING)
            self._facts.dwells.append(
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

    def _where(self, detail: Dwell, vessel: str) -> str:
        known = self._procedure.route.vessels.get(vessel or detail.vessel)
        return known.title if known else detail.place or vessel

    def _ended(self, before: Run, entry: e.Entry, data: e.CameOut) -> None:
        loads = {_load(before, part) for part in data.parts}
        for dwell in self._open():
            if dwell.n_in not in loads:
                continue
            lifted = tuple(
                p for p in dwell.parts if p in data.parts and _load(before, p) == dwell.n_in
            )
            if not lifted:
                continue
            left = tuple(p for p in dwell.parts if p not in lifted)
            outcome = data.each.get(lifted[0], e.NOTHING)
            ended = replace(
                dwell,
                n_out=entry.n,
                parts=lifted,
                ended=entry.at.utc,
                least=outcome.least if outcome.least is not None else dwell.least,
                most=outcome.most if outcome.most is not None else dwell.most,
                proven=outcome.proven,
                possible=outcome.possible,
                verdict=outcome.verdict,
            )
            dwells = self._facts.dwells
            at = next(n for n in range(self._past, len(dwells)) if dwells[n] is dwell)
            rest = [replace(dwell, parts=left)] if left else []
            self._facts.dwells[at : at + 1] = [ended, *rest]

    def _relimited(self, after: Run, entry: e.Entry, data: e.Corrected) -> None:
        for part, outcome in data.each.items():
            if outcome.verdict == "limits":
                for dwell in self._open():
                    if part in dwell.parts and dwell.n_in == _load(after, part):
                        before = (dwell.n_in, dwell.least, dwell.most)
                        self._limits.setdefault(entry.n, []).append(before)
                        dwell.least, dwell.most = outcome.least, outcome.most

    def _taken_back(self, data: e.Retracted) -> None:
        """A start taken back never was; an end taken back leaves the load in.

        A correction taken back gives the limits that were before it.
        """
        # A load of several parts has a row for each: the first is from before the correction.
        for n_in, least, most in reversed(self._limits.pop(data.of, [])):
            for dwell in self._open():
                if dwell.n_in == n_in:
                    dwell.least, dwell.most = least, most
        for at, dwell in enumerate(self._facts.dwells):
            _tend(dwell, tuple(one for one in dwell.tendings if one.n != data.of))
            if dwell.n_in == data.of:
                dwell.taken_back = True
            elif dwell.n_out == data.of:
                self._facts.dwells[at] = replace(
                    dwell, n_out=None, ended="", proven=None, possible=None, verdict=""
                )
        self._past = 0


def _tend(dwell: DwellFacts, tendings: tuple[TendFacts, ...]) -> None:
    dwell.tendings, dwell.tended = tendings, len(tendings)


def _is_open(dwell: DwellFacts) -> bool:
    return dwell.n_out is None and not dwell.taken_back


def _load(run: Run, part: str) -> int | None:
    soak = run.markers[part].soak
    return soak.load if soak else None
