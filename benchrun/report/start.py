"""The part of a report that tells what was checked and counted before and behind the work."""

from collections.abc import Sequence

from benchrun.account.act_facts import ToolFacts
from benchrun.account.facts import RunFacts
from benchrun.report.doc import Block, Cell, Para, Section, Under, table_of
from benchrun.text import count, listed
from benchrun.wording import minute_words


def start_section(facts: RunFacts) -> Section | None:
    """The conditions with who and when, the tools out and back with what is missing."""
    blocks: list[Block] = []
    if facts.checked:
        rows = [
            (
                one.says,
                facts.name_of(one.by) if one.by else "",
                minute_words(one.utc) if one.utc else "",
            )
            for one in facts.checked
        ]
        blocks += [Under("Checked before the start")]
        blocks += [table_of(("Condition", "Who", "When"), rows)]
    if facts.not_kept:
        blocks += [Under("At hand")]
        blocks += [Para(f"{listed(facts.not_kept).capitalize()}: not kept in this shop's books.")]
    if facts.tools:
        blocks += [Under("Tools out and back", tools_back_words(facts))]
        blocks += [_tools(facts, facts.tools)]
    return Section("Before the start, and tools", tuple(blocks)) if blocks else None


def tools_back_words(facts: RunFacts) -> str:
    """How many tools are missing, in words; empty where all are back."""
    away = [tool for tool in facts.tools if tool.back is None]
    if away:
        return "not counted back" if facts.closed else "not counted back yet"
    lacking = sum(tool.missing for tool in facts.tools)
    return f"{count(lacking, 'tool')} missing" if lacking else ""


def _tools(facts: RunFacts, tools: Sequence[ToolFacts]) -> Block:
    rows = []
    for tool in tools:
        back = "not counted" if tool.back is None else str(tool.back)
        by = f"{facts.name_of(tool.back_by)} {minute_words(tool.back_utc)}" if tool.n else ""
        why = f" ({tool.reason})" if tool.reason else ""
        missing = Cell(f"{tool.missing} missing{why}", mark="bad") if tool.missing else ""
        rows.append(
            (
                tool.tool,
                str(tool.out),
                f"{facts.name_of(tool.out_by)} {minute_words(tool.out_utc)}",
                Cell(back, mark="doubt" if tool.back is None and facts.closed else ""),
                by,
                missing,
            )
        )
    return table_of(("Tool", "Out", "By", "Back", "By", "Missing"), rows, (1, 3))
