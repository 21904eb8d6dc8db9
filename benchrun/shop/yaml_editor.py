"""Changing one value of a YAML file and leaving every other byte of it as it stands.

The text is edited where the value stands, then read again: unless it now says exactly what it said
before, with the one change, the edit is refused. So comments, order, quotation marks and blanks
survive, and a shape that these few cuts do not suit is left to a person's own editor.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final, TypeAlias

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.marked import Unreadable
from benchrun.shop.book_row import page_of
from benchrun.shop.yaml_text import EOL, block_item, flow, key_text

Plain: TypeAlias = "str | Sequence[Plain] | Mapping[str, Plain]"
"""A value of a file: a text, a list, or a map."""

Path = tuple[str | int, ...]
"""Where a value stands: keys, and numbers of items from 0."""

_BLOCK: Final = frozenset("|>")


def with_value(text: str, path: Path, value: Plain) -> str:
    """The text with one value set; its key is added at the end of its map where it is missing.

    Args:
        text: A file that `procedure.yamlread` takes, or nothing.
        path: Where; the last part is a key.
        value: The new value.

    Raises:
        BenchrunError: The file cannot take it, or the value holds what cannot be written down.
    """
    page = _Page(text)
    inside, key = page.node(path[:-1]), str(path[-1])
    pair = page.pair(inside, key)
    if pair is None:
        new = page.with_key(inside, key, f" {flow(value)}")
    elif page.blank(pair[1]):
        at = page.after_colon(pair[0])
        new = f"{text[:at]} {flow(value)}{text[at:]}"
    else:
        start = pair[1].start_mark.index
        new = f"{text[:start]}{flow(value)}{text[page.end(pair[1]) :]}"
    return _proven(text, new, path, value, append=False)


def with_item(text: str, path: Path, item: Plain) -> str:
    """The text with one more item at the end of a list, which is begun where it is missing.

    Args:
        text: A file that `procedure.yamlread` takes, or nothing.
        path: Where the list is.
        item: The item; in a list of the file's own top level a map is written one key a line.

    Raises:
        BenchrunError: The file cannot take it, or the item holds what cannot be written down.
    """
    page = _Page(text)
    inside, key = page.node(path[:-1]), str(path[-1])
    pair = page.pair(inside, key)
    wide = len(path) == 1
    if pair is None:
        new = page.with_new_list(inside, key, item, wide=wide)
    elif page.blank(pair[1]) or (pair[1].id == "sequence" and not pair[1].value):
        new = page.with_first_item(inside, pair, item, wide=wide)
    elif pair[1].id != "sequence":
        raise BenchrunError(f"{key[:40]!r} holds no list: put that right in an editor first")
    else:
        new = page.with_next_item(pair[1], item, wide=wide)
    return _proven(text, new, path, item, append=True)


def without_items(
    text: str, path: Path, numbers: Sequence[int], instead: "Plain | None" = None
) -> tuple[str, tuple[int, ...]]:
    """The text without some items of a list; an item with a comment beside it stays.

    Args:
        text: A file that `procedure.yamlread` takes.
        path: Where the list is.
        numbers: Which items, from 0; the last one of a list on one line stays.
        instead: What stands in the place of the first of them.

    Returns:
        The text, and the numbers of the items that are gone from it.
    """
    page = _Page(text)
    pair = page.pair(page.node(path[:-1]), str(path[-1]))
    if pair is None or pair[1].id != "sequence":
        return text, ()
    spans = {n: span for n in numbers if (span := page.span(pair[1], n)) is not None}
    for n in sorted(spans, reverse=True):
        start, end = spans[n]
        new = "" if instead is None or n != min(spans) else page.again(pair[1], n, instead)
        text = text[:start] + new + text[end:]
    return text, tuple(sorted(spans))


@lean_dataclass(slots=True)
class _Node:
    """A value of a file, and where it stands.

    Attributes:
        id: What it is: scalar, sequence or mapping.
        value: Its text, its items, or its pairs of key and value.
        style: The quotation mark of a text, or the sign of a block; None for a plain one.
        flow_style: Whether a list or a map stands in brackets.
    """

    id: str
    value: Any
    style: str | None
    flow_style: bool
    start_mark: Any
    end_mark: Any


def _tree(text: str) -> _Node | None:
    """The values of a text: by libyaml where it is there and reads as the reader in Python does."""
    from ruamel.yaml import YAML
    from ruamel.yaml.error import YAMLError

    from benchrun.procedure.yamlread import quick_events

    quick = quick_events(text)
    if quick is not None:
        try:
            return _built(quick)
        except YAMLError:
            pass
    return _built(YAML(typ="safe", pure=True).parse(text))


def _built(events: Iterable[Any]) -> _Node | None:
    """The tree that events tell."""
    root: _Node | None = None
    opened: list[_Node] = []
    for event in events:
        kind = type(event).__name__.removesuffix("Event")
        if kind in ("MappingEnd", "SequenceEnd"):
            node = opened.pop()
            node.end_mark = event.end_mark
            if node.id == "mapping":
                node.value = list(zip(node.value[::2], node.value[1::2], strict=True))
        if kind not in ("Scalar", "MappingStart", "SequenceStart"):
            continue
        what = kind.removesuffix("Start").lower()
        style = (event.style or None) if what == "scalar" else None
        value = event.value if what == "scalar" else []
        flow_style = what != "scalar" and bool(event.flow_style)
        node = _Node(what, value, style, flow_style, event.start_mark, event.end_mark)
        if opened:
            opened[-1].value.append(node)
        root = root or node
        if what != "scalar":
            opened.append(node)
    return root


class _Page:
    """A text with the tree of its values, each of which knows where it stands."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.root: Any = _tree(text) if text.strip() else None
        self.eol = "\r\n" if "\r\n" in text else EOL

    def node(self, path: Path) -> Any:
        here = self.root
        for part in path:
            if isinstance(part, int):
                here = here.value[part]
            else:
                pair = self.pair(here, part)
                if pair is None:
                    raise BenchrunError(f"there is no {part!r} in the file to add to")
                here = pair[1]
        return here

    def pair(self, inside: Any, key: str) -> tuple[Any, Any] | None:
        if inside is None:
            return None
        return next((pair for pair in inside.value if pair[0].value == key), None)

    def blank(self, node: Any) -> bool:
        return node.id == "scalar" and node.style is None and node.value == ""

    def after_colon(self, key: Any) -> int:
        return self.text.index(":", key.end_mark.index) + 1

    def end(self, node: Any) -> Any:
        """Just past the last letter of a value, without the blanks and comments after it."""
        if node.id == "scalar" and node.style in _BLOCK:
            start, end = node.start_mark.index, node.end_mark.index
            return start + len(self.text[start:end].rstrip())
        if node.id == "scalar" or node.flow_style or not node.value:
            return node.end_mark.index
        if node.id == "sequence":
            return self.end(node.value[-1])
        key, value = node.value[-1]
        return self.after_colon(key) if self.blank(value) else self.end(value)

    def line_end(self, at: int) -> int:
        """The end of the line on which a letter stands, so that a comment there stays with it."""
        end = self.text.find(self.eol, at)
        return len(self.text.rstrip("\r\n")) if end < 0 else end

    def span(self, items: Any, number: int) -> tuple[int, int] | None:
        """From where to where an item of a list can be taken out; None where a comment is near."""
        node = items.value[number]
        start, end = node.start_mark.index, self.end(node)
        if items.flow_style:
            if number + 1 == len(items.value):
                return None
            end = items.value[number + 1].start_mark.index
        else:
            start = self.text.rfind("\n", 0, start) + 1
            stop = self.line_end(end)
            if self.text[end:stop].strip() or self.text[start:end].lstrip()[:1] != "-":
                return None
            end = min(stop + len(self.eol), len(self.text))
        return None if "#" in self.text[start:end] else (start, end)

    def again(self, items: Any, number: int, item: Plain) -> str:
        """An item as it is written in the place of another."""
        if items.flow_style:
            return f"{flow(item)}, "
        return block_item(item, items.start_mark.column, self.eol, wide=False) + self.eol

    def with_key(self, inside: Any, key: str, rest: str) -> str:
        """Add a key, and what follows its colon, at the end of a map."""
        name = key_text(key)
        if inside is None or not inside.value:
            if inside is not None and inside is not self.root:
                start, end = inside.start_mark.index, inside.end_mark.index
                return f"{self.text[:start]}{{{name}:{rest}}}{self.text[end:]}"
            head = self.text.rstrip()
            return f"{head}{self.eol if head else ''}{name}:{rest}{self.eol}"
        if inside.flow_style:
            last, value = inside.value[-1]
            at = last.end_mark.index if self.blank(value) else self.end(value)
            return f"{self.text[:at]}, {name}:{rest}{self.text[at:]}"
        indent = " " * inside.value[0][0].start_mark.column
        return self._line_added(self.end(inside), f"{indent}{name}:{rest}")

    def with_new_list(self, inside: Any, key: str, item: Plain, *, wide: bool) -> str:
        if inside is not None and inside.flow_style:
            return self.with_key(inside, key, f" [{flow(item)}]")
        column = inside.value[0][0].start_mark.column if inside and inside.value else 0
        rest = self.eol + block_item(item, column + 2, self.eol, wide=wide)
        return self.with_key(inside, key, rest)

    def with_first_item(
        self, inside: Any, pair: tuple[Any, Any], item: Plain, *, wide: bool
    ) -> str:
        key, value = pair
        if inside.flow_style:
            at = self.after_colon(key)
            end = at if self.blank(value) else value.end_mark.index
            return f"{self.text[:at]} [{flow(item)}]{self.text[end:]}"
        text, colon = self.text, self.after_colon(key)
        if not self.blank(value):  # an empty pair of brackets makes room for lines of its own
            text = text[: value.start_mark.index].rstrip() + text[value.end_mark.index :]
        at = text.find(self.eol, colon)
        at = len(text) if at < 0 else at
        lines = block_item(item, key.start_mark.column + 2, self.eol, wide=wide)
        return f"{text[:at]}{self.eol}{lines}{text[at:] or self.eol}"

    def with_next_item(self, value: Any, item: Plain, *, wide: bool) -> str:
        at = self.end(value)
        if value.flow_style:
            last = self.end(value.value[-1])
            return f"{self.text[:last]}, {flow(item)}{self.text[last:]}"
        return self._line_added(at, block_item(item, value.start_mark.column, self.eol, wide=wide))

    def _line_added(self, at: int, line: str) -> str:
        end = self.line_end(at)
        rest = self.text[end:]
        return f"{self.text[:end]}{self.eol}{line}{rest or self.eol}"


def _proven(before: str, after: str, path: Path, value: Plain, *, append: bool) -> str:
    wanted = _copied(page_of(before.encode())) if _says_something(before) else {}
    here = wanted
    for part in path[:-1]:
        here = here[part]
    if append:
        here[path[-1]] = [*(here.get(path[-1]) or []), _copied(value)]
    else:
        here[path[-1]] = _copied(value)
    try:
        if page_of(after.encode()) == wanted:
            return after
    except Unreadable:
        pass  # told below: the text as it stands is untouched
    raise BenchrunError(
        f"{' '.join(str(part) for part in path)[:80]!r} cannot be changed without disturbing the "
        "lines around it: change it in an editor"
    )


def _says_something(text: str) -> bool:
    return any(line.strip() and not line.lstrip().startswith("#") for line in text.splitlines())


def _copied(value: Any) -> Any:
    if isinstance(value, str):
        return value
    if isinstance(value, Mapping):
        return {key: _copied(item) for key, item in value.items()}
    return [_copied(item) for item in value]
