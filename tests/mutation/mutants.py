"""Mutants of a module: the same source with one small thing wrong, one at a time.

A mutant that no test notices (it *survives*) shows a rule that nothing holds. The mutated package
lies in a folder of its own and is found before the one at work; the tests are the ones at work.
"""

import ast
import os
import random
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from copy import deepcopy
from dataclasses import dataclass
from functools import partial
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LONGEST_S = 240  # a mutant that makes the tests run on for ever is noticed too
SWAPS = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.And: ast.Or,
    ast.Or: ast.And,
}


@dataclass(frozen=True)
class Mutant:
    """One module with one thing wrong.

    Attributes:
        path: The module, below the root.
        line: Where it was changed.
        was, now: The changed expression or statement before and after, as source.
        source: The whole module.
    """

    path: str
    line: int
    was: str
    now: str
    source: str

    def __str__(self) -> str:
        return f"{self.path}:{self.line}  {self.was[:70]}  ->  {self.now[:70]}"


def mutants(path: Path) -> list[Mutant]:
    """All mutants of a module."""
    tree = ast.parse(path.read_text("utf-8"))
    made = []
    for at, node in enumerate(ast.walk(tree)):
        for which, _ in enumerate(_changes(node)):
            copy = deepcopy(tree)
            changed = list(ast.walk(copy))[at]
            was = ast.unparse(changed).partition("\n")[0]
            _changes(changed)[which]()
            ast.fix_missing_locations(copy)
            now = ast.unparse(changed).partition("\n")[0]
            source, name = ast.unparse(copy), path.relative_to(ROOT).as_posix()
            made.append(Mutant(name, getattr(node, "lineno", 0), was, now, source))
    return made


def _changes(node: ast.AST) -> list[Callable[[], None]]:
    """What may be made wrong of a node, each a call that does it."""
    make = CHANGES.get(type(node))
    return list(make(node)) if make else []


def _of_compare(node: ast.AST) -> Iterator[Callable[[], None]]:
    for at, op in enumerate(node.ops):
        if type(op) in SWAPS:
            yield partial(node.ops.__setitem__, at, SWAPS[type(op)]())


def _of_operator(node: ast.AST) -> Iterator[Callable[[], None]]:
    if type(node.op) in SWAPS:
        yield partial(setattr, node, "op", SWAPS[type(node.op)]())


def _of_test(node: ast.AST) -> Iterator[Callable[[], None]]:
    yield partial(setattr, node, "test", ast.UnaryOp(ast.Not(), node.test))


def _of_return(node: ast.AST) -> Iterator[Callable[[], None]]:
    nothing = isinstance(node.value, ast.Constant) and node.value.value is None
    if node.value is not None and not nothing:
        yield partial(setattr, node, "value", ast.Constant(None))


def _of_number(node: ast.AST) -> Iterator[Callable[[], None]]:
    if type(node.value) is int:
        yield partial(setattr, node, "value", node.value + 1)


def _of_body(node: ast.AST) -> Iterator[Callable[[], None]]:
    for at, statement in enumerate(node.body):
        call = isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Call)
        if call or isinstance(statement, ast.AugAssign):
            yield partial(node.body.__setitem__, at, ast.Pass())


CHANGES = {
    ast.Compare: _of_compare,
    ast.BoolOp: _of_operator,
    ast.BinOp: _of_operator,
    ast.If: _of_test,
    ast.IfExp: _of_test,
    ast.Return: _of_return,
    ast.Constant: _of_number,
    ast.FunctionDef: _of_body,
    ast.For: _of_body,
}


def noticed(mutant: Mutant | None, tests: Sequence[str], place: Path) -> bool:
    """Whether the tests fail on a mutant; None is the package as it is.

    Args:
        mutant: The mutant.
        tests: The tests, below the root.
        place: A folder for the mutated package.
    """
    package = place / "benchrun"
    if not package.exists():
        without = shutil.ignore_patterns("__pycache__")
        shutil.copytree(ROOT / "benchrun", package, ignore=without)
    path = place / mutant.path if mutant else None
    if path and mutant:
        path.write_text(mutant.source, "utf-8")
    run = [sys.executable, "-P", "-m", "pytest", "-x", "-q", "-n", "0", "-p", "no:cacheprovider"]
    environ = {**os.environ, "PYTHONPATH": str(place), "PYTHONDONTWRITEBYTECODE": "1"}
    try:
        done = subprocess.run(
            [*run, *tests], cwd=ROOT, env=environ, capture_output=True, timeout=LONGEST_S
        )
    except subprocess.TimeoutExpired:
        return True
    finally:
        if path and mutant:
            shutil.copyfile(ROOT / mutant.path, path)
    return done.returncode != 0


def survivors(
    modules: Sequence[Path], tests: Sequence[str], place: Path, seconds: float, seed: int
) -> tuple[list[Mutant], int]:
    """Mutants that no test notices, out of as many as the time allows.

    Args:
        modules: What is mutated.
        tests: The tests that should notice, below the root.
        place: A folder for the mutated package.
        seconds: How long to go on.
        seed: Which mutants come first.

    Returns:
        The survivors, and how many mutants were tried.
    """
    every = [one for module in modules for one in mutants(module)]
    random.Random(seed).shuffle(every)
    lived, tried, until = [], 0, time.monotonic() + seconds
    for mutant in every:
        if time.monotonic() > until:
            break
        tried += 1
        if not noticed(mutant, tests, place):
            lived.append(mutant)
    return lived, tried
