"""Ready before a run begins: the conditions that were checked, the tools counted out."""

from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.procedure.route import Procedure
from benchrun.run.entries import ToolCount
from benchrun.shop.people import Person
from benchrun.text import listed, shown


@lean_dataclass(frozen=True, slots=True)
class Condition:
    """A condition before the start that somebody found to be so.

    Attributes:
        says: The condition, as the procedure says it.
        who: Who checked it, by the name in the log.
        utc: When.
    """

    says: str
    who: str
    utc: str


@lean_dataclass(frozen=True, slots=True)
class Readied:
    """Everything that was checked and counted before a run begins.

    Attributes:
        conditions: The conditions, in the order in which they were checked.
        tools_out: The tools that were counted out.
    """

    conditions: tuple[Condition, ...] = ()
    tools_out: tuple[ToolCount, ...] = ()

    def lacks(self, procedure: Procedure) -> str:
        """The lack that stands against a begin, in words; empty where there is none."""
        checked = {one.says for one in self.conditions}
        for one in procedure.needs.before_start:
            if one not in checked:
                return shown(one, 200)
        counted = {one.tool for one in self.tools_out}
        missing = [one.tool for one in procedure.needs.counted if one.tool not in counted]
        return shown(f"count the tools out: {listed(missing, most=12)}", 200) if missing else ""


def all_ready(procedure: Procedure, person: Person, at: Moment) -> Readied:
    """All conditions so and the tools out as they are needed: for what is played, not worked."""
    needs = procedure.needs
    return Readied(
        tuple(Condition(one, person.id, at.utc) for one in needs.before_start),
        tuple(ToolCount(one.tool, one.number, person.id, at.utc) for one in needs.counted),
    )
