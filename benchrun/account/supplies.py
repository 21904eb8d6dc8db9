"""The supplies of a run: how much of which lot each act used, for which parts."""

from benchrun.account.facts import RunFacts, SupplyFacts
from benchrun.procedure.route import Procedure
from benchrun.run import entries as e
from benchrun.run.state import Run


class SupplyWalk:
    """Takes entry after entry; `finish` adds what each act used, as it stands at last."""

    def __init__(self, procedure: Procedure, facts: RunFacts) -> None:
        self._steps = procedure.route.steps
        self._facts = facts
        self._acts: list[tuple[e.Entry, e.Did | e.WentIn]] = []

    def take(self, entry: e.Entry) -> None:
        """Take the next entry."""
        if isinstance(entry.data, e.Did | e.WentIn) and entry.data.uses:
            self._acts.append((entry, entry.data))

    def finish(self, run: Run) -> None:
        """Add the supplies to the facts.

        Args:
            run: What the log folds to; what was taken back is not among what it used.
        """
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
