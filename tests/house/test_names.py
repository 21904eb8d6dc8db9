"""One name means one thing in the house, modules are nouns, docstrings say what is returned."""

import ast
import re
from collections import defaultdict
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import benchrun

HOUSE = Path(benchrun.__file__).parent
COMMANDS = HOUSE / "cli"
"""A command's function has the command's name, whatever the room that does the work calls it."""
TWICE: dict[str, str] = {}
"""Names that may be defined twice, each with the reason."""
NO_NOUN = re.compile(
    "about|above|after|along|around|aside|asked|at|before|behind|beside|between|by|clocked|"
    "collecting|counted|doing|enrolled|fitting|from|given|in|in_hand|into|kept|made|making|"
    "measured|odd|of|on|onward|over|planned|seeing|standing|supplied|taken|taking|telling|tidy|"
    "to|told|under|upon|with|worked"
)
"""Participles, prepositions and riddles, which nobody would look for."""


@cache
def modules() -> dict[Path, ast.Module]:
    return {path: ast.parse(path.read_text("utf-8")) for path in sorted(HOUSE.rglob("*.py"))}


def public_definitions(tree: ast.Module) -> Iterator[str]:
    for node in tree.body:
        defines = isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef)
        if defines and not node.name.startswith("_"):
            yield node.name


def texts(tree: ast.Module) -> Iterator[tuple[int, str]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            yield node.lineno, str(node.value.value)


def test_a_public_name_is_defined_once():
    places = defaultdict(list)
    for path, tree in modules().items():
        if COMMANDS not in path.parents:
            for name in public_definitions(tree):
                places[name].append(str(path.relative_to(HOUSE)))
    twice = {name: where for name, where in places.items() if len(where) > 1}
    assert {name: where for name, where in twice.items() if name not in TWICE} == {}
    assert TWICE.keys() <= twice.keys(), "an exception that nobody needs any more"


def test_a_module_is_named_by_a_noun():
    names = {path: path.parent.name if path.stem == "__init__" else path.stem for path in modules()}
    assert [
        str(path.relative_to(HOUSE)) for path, name in names.items() if NO_NOUN.fullmatch(name)
    ] == []


def test_no_docstring_begins_with_what():
    begun = [
        f"{path.relative_to(HOUSE)}:{line}"
        for path, tree in modules().items()
        for line, text in texts(tree)
        if text.startswith("What ")
    ]
    assert begun == []
