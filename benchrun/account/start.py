"""Before a run began: the conditions that were checked, the tools that went out and came back."""

from collections.abc import Iterator
from dataclasses import replace

from benchrun.account.act_facts import ConditionFacts, ToolFacts
from benchrun.account.facts import RunFacts
from benchrun.account.walker import Takers
from benchrun.run import entries as e


def conditions_of(about: object) -> tuple[ConditionFacts, ...]:
    """The conditions that a first line holds; older ones give the words alone."""
    rows = about if isinstance(about, list) else []
    return tuple(_condition(one) for one in rows)


def _condition(row: object) -> ConditionFacts:
    if not isinstance(row, dict):
        return ConditionFacts(str(row))
    return ConditionFacts(*(str(row.get(key, "")) for key in ("says", "who", "utc")))


class ToolWalk:
    """Takes entry after entry and adds the tools to the facts."""

    def __init__(self, facts: RunFacts) -> None:
        self._tools = facts.tools
        self._out: tuple[ToolFacts, ...] = ()
        self._back: list[e.Entry] = []

    @property
    def takes(self) -> Takers:
        """The ways in which it takes entries."""
        return {
            e.Opened: self._opened,
            e.Did: self._counted_back,
            e.CountedBack: self._counted_back,
            e.Retracted: self._taken_back,
        }

    def _opened(self, entry: e.Entry, data: e.Opened) -> None:
        self._out = tuple(
            ToolFacts(one.tool, one.number, one.who or entry.by, one.utc or entry.at.utc)
            for one in data.tools_out
        )
        self._tools[:] = self._counted()

    def _counted_back(self, entry: e.Entry, data: e.Did | e.CountedBack) -> None:
        if data.tools_back:
            self._back.append(entry)
            self._tools[:] = self._counted()

    def _taken_back(self, _: e.Entry, data: e.Retracted) -> None:
        """A count that was taken back never was."""
        self._back = [one for one in self._back if one.n != data.of]
        self._tools[:] = self._counted()

    def _counted(self) -> Iterator[ToolFacts]:
        """Each tool, as it was counted back last."""
        last = self._back[-1] if self._back else None
        data = last.data if last is not None else None
        back = data.tools_back if isinstance(data, (e.Did, e.CountedBack)) else ()
        numbers = {one.tool: one.number for one in back}
        for tool in self._out:
            number = numbers.get(tool.tool)
            if last is None or number is None or not isinstance(data, (e.Did, e.CountedBack)):
                yield tool
                continue
            missing = max(0, tool.out - number)
            yield replace(
                tool,
                back=number,
                back_by=last.by,
                back_utc=last.at.utc,
                missing=missing,
                n=last.n,
                reason=data.reason if missing else "",
            )
