"""Who reads a log: what an entry means is told in one place, and all others take facts from it."""

import ast
from collections.abc import Iterator
from pathlib import Path

import benchrun

HOUSE = Path(benchrun.__file__).parent
DOORS = {
    "benchrun.load_run": {"entry_of", "folded", "look_at_kept", "read_kept"},
    "benchrun.record.chain": {"Chain", "raw_lines", "read_log", "read_open"},
    "benchrun.record.follow": {"ReadAlong", "ReadOn"},
    "benchrun.record.line": {"decode", "read_log_line"},
    "benchrun.run.fold": {"fold"},
}
"""The functions and types through which lines of a log come, by their module."""
OPENERS = {"open_regular", "read_plain", "read_bytes", "read_text", "open"}
READERS = {
    "account/": "tells what the entries of a log mean",
    "load_run.py": "makes entries of lines, and folds them",
    "record/": "keeps the lines and proves them, knowing no meaning",
    "shop_repair.py": "asks whether another window writes a log, and reads no line of it",
    "session/": "writes the log and folds what it writes",
    "verify/": "decides every entry again",
    "kept_runs.py": "holds what a run folds to as long as its files do not change",
    "carried_runs.py": "takes over what a run that carried a procedure out came to",
    "board/left_away.py": "takes where parts are from the state that a closed run folds to",
    "report/due.py": "takes the clocks from the state that an open run folds to",
    "report/command.py": "copies the lines as they are into the report for machines",
    "history/index.py": "hands raw lines to the account, from where it stopped the last time",
    "history/lessons.py": "finds the few lines that are lessons without reading the others",
    "plan/runs_to_come.py": "folds the begin of a run that is only planned, and no log",
    "dialogue/batch_tags.py": "offers the tags that the first line of the last run names",
    "dialogue/revisions.py": "names the revision that the first line of the last run followed",
}
"""The modules and rooms that may, each with the reason."""


def reads(tree: ast.Module) -> Iterator[str]:
    """How a module comes by lines of a log."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            yield from (a.name for a in node.names if a.name in DOORS.get(node.module or "", ()))
        elif isinstance(node, ast.Attribute) and node.attr == "lines" and _is_read(node.value):
            yield "read().lines"
        elif isinstance(node, ast.Call) and _opens_log(node):
            yield "opens the log"


def _is_read(node: ast.expr) -> bool:
    called = isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
    return called and node.func.attr == "read"


def _opens_log(call: ast.Call) -> bool:
    """Whether a call opens `….log`, given to it or called on."""
    name = call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
    whom = call.func.value if isinstance(call.func, ast.Attribute) else None
    logs = [node for node in (whom, *call.args) if getattr(node, "attr", "") == "log"]
    return name in OPENERS and bool(logs)


def reader_of(path: str) -> str:
    return next((who for who in READERS if path == who or path.startswith(who)), "")


def test_only_those_with_a_reason_read_a_log():
    found = {
        path.relative_to(HOUSE).as_posix(): sorted(set(reads(ast.parse(path.read_text("utf-8")))))
        for path in HOUSE.rglob("*.py")
    }
    reading = {path: how for path, how in found.items() if how}
    assert {path: how for path, how in reading.items() if not reader_of(path)} == {}
    needless = READERS.keys() - {reader_of(path) for path in reading}
    assert not needless, "a reason that nobody needs any more"


def test_the_doors_are_where_the_list_says():
    for module, names in DOORS.items():
        path = HOUSE.parent / f"{module.replace('.', '/')}.py"
        tree = ast.parse(path.read_text("utf-8"))
        assert names <= {getattr(node, "name", "") for node in tree.body}, module


def test_each_way_to_a_log_is_seen():
    ways = (
        "from benchrun.load_run import read_kept",
        "from benchrun.run.fold import fold",
        "lines = folder.read().lines",
        "with open_regular(folder.log) as file: pass",
        "text = folder.log.read_text('utf-8')",
    )
    assert all(list(reads(ast.parse(way))) for way in ways)
    assert not list(reads(ast.parse("from benchrun.load_run import kept_procedure")))
