"""Folds lessons into a procedure file by inserting text: comments and layout stay as they are.

The file is never written anew from its data. What was inserted is proven: the file is read again,
and everything but the lessons, the revision and its change line must be as it was.
"""

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.load import load_bytes
from benchrun.procedure.route import Procedure, Step
from benchrun.text import shown

# A node of the parser's tree: its classes declare none of the attributes that they carry.
Node = Any
_LINE_END: Final = re.compile(r"[^\n]*")


@lean_dataclass(frozen=True, slots=True)
class _Insert:
    at: int
    text: str
    to: int


def folded_in(content: bytes, name: str, lessons: Sequence[tuple[str, str]], change: str) -> bytes:
    """A procedure file with lessons on their steps, as its next revision.

    Args:
        content: The file.
        name: What messages call it.
        lessons: Pairs of step id and text.
        change: What the new revision says it changed.

    Raises:
        BenchrunError: A step is not there, or the file is laid out so that the text cannot be
            inserted without touching something else.
    """
    before = load_bytes(content, name)
    text = content.decode("utf-8-sig")
    for step_id, lesson in lessons:
        step = before.route.steps.get(step_id)
        if step is None:
            raise BenchrunError(f"{name}: there is no step {shown(step_id, 60)!r} to fold it into")
        text = _inserted(text, _lesson_insert(text, step, lesson))
    text = _inserted(text, _change_insert(text, before.revision + 1, change))
    text = _inserted(text, _revision_insert(text, before.revision + 1))
    mark = b"\xef\xbb\xbf" if content.startswith(b"\xef\xbb\xbf") else b""
    after = mark + text.encode("utf-8")
    _prove(before, load_bytes(after, name), name, lessons)
    return after


def _prove(
    before: Procedure, after: Procedure, name: str, lessons: Sequence[tuple[str, str]]
) -> None:
    wanted = dict(before.route.steps)
    for step_id, lesson in lessons:
        step = wanted[step_id]
        wanted[step_id] = replace(step, lessons=(*step.lessons, shown(lesson)))
    same = all(
        getattr(before, key) == getattr(after, key)
        for key in ("id", "title", "status", "scope", "batch", "needs", "hazards", "sources")
    )
    steps = {key: _plain(step) for key, step in wanted.items()}
    if not same or steps != {key: _plain(step) for key, step in after.route.steps.items()}:
        raise BenchrunError(
            f"{name}: the lesson cannot be folded in without touching something else: "
            "add it under `lessons` of the step by hand"
        )


def _plain(step: Step) -> tuple[object, ...]:
    return (step.lessons, replace(step, lessons=()))


def _composed(text: str) -> Node:
    from ruamel.yaml import YAML

    return YAML(typ="safe", pure=True).compose(text)


def _inserted(text: str, insert: _Insert) -> str:
    return text[: insert.at] + insert.text + text[insert.to :]


def _quoted(text: str) -> str:
    return '"' + shown(text).replace("\\", "\\\\").replace('"', '\\"') + '"'


def _lesson_insert(text: str, step: Step, lesson: str) -> _Insert:
    node = _step_node(_composed(text), step)
    if node is None:
        raise BenchrunError(
            f"step {step.number}, {step.id}, is none that the file writes as a step of its own (a "
            "choice, or the release at the close): retire its lesson, or write it where it helps"
        )
    values = _values(node)
    held = values.get("lessons")
    if held is not None:
        return _into_list(text, held, _quoted(lesson))
    if node.flow_style:
        end = node.end_mark.index - 1
        return _Insert(end, f", lessons: [{_quoted(lesson)}]", end)
    return _after(text, node, f"lessons: [{_quoted(lesson)}]")


def _values(node: Node) -> dict[str, Node]:
    return {key.value: value for key, value in node.value}


def _step_node(node: Node, step: Step) -> Node | None:
    """The map of a step: by its id, or by its words where it has no id of its own."""
    kind = type(node).__name__
    if kind == "MappingNode":
        values: dict[str, Node] = {key.value: value for key, value in node.value}
        said = values.get("id")
        words = values.get(step.kind.value)
        if words is not None and (
            said.value == step.id if said is not None else words.value == step.text
        ):
            return node
        children = [value for _, value in node.value]
    elif kind == "SequenceNode":
        children = list(node.value)
    else:
        return None
    for child in children:
        below = _step_node(child, step)
        if below is not None:
            return below
    return None


def _into_list(text: str, held: Node, quoted: str) -> _Insert:
    if type(held).__name__ != "SequenceNode" or not held.value:
        raise BenchrunError("`lessons` of the step is no list: add the lesson by hand")
    if held.flow_style:
        end = _end(text, held.value[-1])
        return _Insert(end, f", {quoted}", end)
    first = held.value[0]
    column = text.rfind("-", 0, first.start_mark.index) - _line_start(text, first.start_mark.index)
    end = _line_end(text, _end(text, held.value[-1]))
    return _Insert(end, f"{_eol(text)}{' ' * column}- {quoted}", end)


def _after(text: str, node: Node, line: str) -> _Insert:
    """A further key of a map, on the line after its last one."""
    column = node.value[0][0].start_mark.column
    end = _line_end(text, _end(text, node))
    return _Insert(end, f"{_eol(text)}{' ' * column}{line}", end)


def _end(text: str, node: Node) -> int:
    """Where the text of a value ends; the parser's own mark of a block is where the next begins."""
    if type(node).__name__ == "ScalarNode":
        end: int = node.end_mark.index
        return len(text[:end].rstrip()) if node.style in ("|", ">") else end
    if node.flow_style or not node.value:
        flow_end: int = node.end_mark.index
        return flow_end
    last = node.value[-1]
    return _end(text, last[1] if isinstance(last, tuple) else last)


def _eol(text: str) -> str:
    return "\r\n" if "\r\n" in text else "\n"


def _line_start(text: str, at: int) -> int:
    return text.rfind("\n", 0, at) + 1


def _line_end(text: str, at: int) -> int:
    """The end of the line, before a carriage return; a comment behind a value stays with it."""
    match = _LINE_END.match(text, at)
    end = match.end() if match else at
    return end - 1 if text[end - 1 : end] == "\r" else end


def _change_insert(text: str, revision: int, change: str) -> _Insert:
    top = _composed(text)
    held = _values(top).get("changes")
    row = f"{revision}: {_quoted(change)}"
    if held is None:
        end = _line_end(text, _values(top)["revision"].end_mark.index)
        return _Insert(end, f"{_eol(text)}changes: {{{row}}}", end)
    if type(held).__name__ != "MappingNode" or not held.value:
        raise BenchrunError("`changes` is no map: add what the new revision changes by hand")
    if held.flow_style:
        end = _end(text, held.value[-1][1])
        return _Insert(end, f", {row}", end)
    return _after(text, held, row)


def _revision_insert(text: str, revision: int) -> _Insert:
    node = _values(_composed(text))["revision"]
    return _Insert(node.start_mark.index, str(revision), node.end_mark.index)
