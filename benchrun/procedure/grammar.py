"""Reads a formula's text into a small tree: the words, the signs, and what binds tighter.

From loosest to tightest: `or`, `and`, `not`, comparisons, `+ -`, `* /`, a leading sign, `**`.
Every node keeps the offset of its first character so that a message can point at it.
"""

import re
from collections.abc import Callable
from decimal import Decimal
from typing import TypeVar

from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.nodes import (
    Addition,
    Call,
    Compare,
    FormulaError,
    Join,
    Name,
    Negate,
    Node,
    Not,
    Number,
    Power,
    Words,
)
from benchrun.quantity import canonical

_N = TypeVar("_N", bound="Node")

MOST_TEXT = 400
MOST_NODES = 200
MOST_DEPTH = 30
MOST_POWER = 6

SPENT = "time of "
SINCE = "time since "
_TIMES = {"time_of": SPENT, "time_since": SINCE}
ROUND = "pass"
"""The name of the number of the pass that a part is in."""
ALL, BEFORE, LAST = "all", "before", "last"
_PASS_WORDS = frozenset({ALL, BEFORE, LAST})
_PASS_WORDS_OF_OTHERS = {"previous": BEFORE, "prev": BEFORE, "prior": BEFORE, "every": ALL}
CHOICE = "if"
AGGREGATES = frozenset({"sum", "mean", "least", "most", "spread", "count"})
_WORDS = frozenset({"and", "or", "not", "is"})
RESERVED = AGGREGATES | _WORDS | _TIMES.keys() | {ROUND, CHOICE}
_WRITTEN_OUT = {"&": "and", "|": "or", "!": "not"}
_SAME_SIGN = {
    "×": "*",
    "·": "*",
    "÷": "/",
    "−": "-",
    "–": "-",
    "^": "**",
    "≤": "<=",
    "≥": ">=",
    "≠": "!=",
}
_TOKEN = re.compile(
    r"""\s*(?:
      (?P<number>[0-9]+(?:\.[0-9]+)?)
    | (?P<text>"[^"]*"|'[^']*'|“[^”]*”)
    | (?P<name>[A-Za-z_][A-Za-z0-9_]*)
    | (?P<sign>\*\*|<=|>=|==|!=|[-+*/<>=(),.^×·÷−–≤≥≠])
    )""",
    re.VERBOSE,
)

_UNIT_LETTERS = r"[A-Za-zµμ°%ΩΩ²³]+[23²³]?"
_UNIT_WORD = re.compile(_UNIT_LETTERS)
_UNIT = re.compile(rf"\s*({_UNIT_LETTERS}(?:[ /.·-]?{_UNIT_LETTERS}){{0,3}})")


@lean_dataclass(frozen=True, slots=True)
class _Token:
    kind: str
    text: str
    at: int


def timed_step(name: str) -> str:
    """The step whose time a name of a formula means: of `time of soak` it is `soak`; else empty."""
    step = next((name.removeprefix(p) for p in _TIMES.values() if name.startswith(p)), "")
    return step.replace("_", "-")


def pass_name(name: str) -> tuple[str, str]:
    """Which passes a name of a formula means, and the name itself: `all film` is all, film."""
    word, _, rest = name.partition(" ")
    return (word, rest) if word in _PASS_WORDS and rest else ("", name)


def parse(text: str) -> Node:
    """Read a formula.

    Args:
        text: The formula as written, at most 400 characters.

    Returns:
        The tree.

    Raises:
        FormulaError: When it is no formula; the error knows where.
    """
    if len(text) > MOST_TEXT:
        raise FormulaError(f"formula of {len(text)} characters: at most {MOST_TEXT} are taken")
    return _Parser(text).whole()


def _tokens(text: str) -> list[_Token]:
    found: list[_Token] = []
    at = 0
    while at < len(text):
        match = _TOKEN.match(text, at)
        if match is None or match.lastgroup is None:
            rest = text[at:].lstrip()
            if not rest:
                break
            raise FormulaError(_odd_character(rest), len(text) - len(rest))
        kind = match.lastgroup
        piece, start, at = match.group(kind), match.start(kind), match.end()
        if kind == "sign":
            piece = _SAME_SIGN.get(piece, piece)
        elif kind == "name" and piece in _WORDS:
            kind = "sign"
        found.append(_Token(kind, piece, start))
        if kind == "number":
            unit, end = _unit_after(text, at)
            if unit:
                found.append(_Token("unit", unit, at))
            at = end
    return found


def _unit_after(text: str, at: int) -> tuple[str, int]:
    """The unit that follows a number, the longest that is one, and where it ends."""
    match = _UNIT.match(text, at)
    if match is None:
        return "", at
    ends = [match.start(1) + cut.end() for cut in _UNIT_WORD.finditer(match.group(1))]
    for end in reversed(ends):
        unit = canonical(text[match.start(1) : end])
        if unit:
            return unit, end
    return "", at


def _odd_character(rest: str) -> str:
    if rest[0] in "\"'“":
        return f"quotation mark {rest[0]} is never closed"
    if rest[0].isdigit() or rest[0] == ".":
        return f"number not understood at {rest[:12]!r}: write digits with a decimal point"
    said = f"character {rest[0]!r} has no meaning in a formula"
    return f"{said}: write {_WRITTEN_OUT[rest[0]]}" if rest[0] in _WRITTEN_OUT else said


class _Parser:
    """One pass over the tokens, a method for each level of binding."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._tokens = _tokens(text)
        self._next = 0
        self._nodes = 0
        self._depth = 0

    def whole(self) -> Node:
        if not self._tokens:
            raise FormulaError("formula is empty")
        node = self._either()
        left = self._peek()
        if left is not None:
            raise FormulaError(self._leftover(left), left.at)
        return node

    def _leftover(self, token: _Token) -> str:
        if token.text == "=":
            return "a single = compares nothing here: write == (or `is` for a finding)"
        if token.text == ",":
            return "a comma goes between arguments only: write decimals with a point"
        before = self._tokens[self._next - 1]
        if token.kind == "name" and before.kind == "number":
            return f"unit {token.text!r} is not known: the guide lists all that are"
        if token.kind == before.kind == "name" and self._after_is(self._next - 1):
            rest = self._text[before.at :].split(" and ")[0].split(" or ")[0].rstrip(") ")
            return f'a finding goes in quotation marks: write "{rest}"'
        if token.kind == "name" and before.text in _PASS_WORDS_OF_OTHERS:
            word = _PASS_WORDS_OF_OTHERS[before.text]
            return f"{before.text!r} names no pass of a repeat: write {word} {token.text}"
        return f"a sign such as + or < is missing before {token.text!r}"

    def _after_is(self, index: int) -> bool:
        """Whether `is` or `is not` stands before a token."""
        words = [token.text for token in self._tokens[max(0, index - 2) : index]]
        return words[-1:] == ["is"] or words == ["is", "not"]

    def _peek(self) -> _Token | None:
        return self._tokens[self._next] if self._next < len(self._tokens) else None

    def _take(self, *signs: str) -> _Token | None:
        token = self._peek()
        if token is None or token.kind != "sign" or token.text not in signs:
            return None
        self._next += 1
        return token

    def _need(self, sign: str, why: str) -> _Token:
        token = self._take(sign)
        if token is None:
            found = self._peek()
            at = found.at if found else len(self._text)
            if found is not None and found.kind == "name":
                raise FormulaError(self._leftover(found), at)
            raise FormulaError(f"{sign!r} is missing {why}", at)
        return token

    def _made(self, node: _N) -> _N:
        self._nodes += 1
        if self._nodes > MOST_NODES:
            raise FormulaError(f"formula has more than {MOST_NODES} parts: split it", node.at)
        return node

    def _down(self) -> None:
        self._depth += 1
        if self._depth > MOST_DEPTH:
            found = self._peek()
            raise FormulaError(
                f"formula is nested more than {MOST_DEPTH} deep: split it", found.at if found else 0
            )

    def _either(self) -> Node:
        self._down()
        node = self._joined("or", self._all)
        self._depth -= 1
        return node

    def _all(self) -> Node:
        return self._joined("and", self._negation)

    def _joined(self, word: str, part: Callable[[], Node]) -> Node:
        parts = [part()]
        while self._take(word):
            parts.append(part())
        return parts[0] if len(parts) == 1 else self._made(Join(parts[0].at, word, tuple(parts)))

    def _negation(self) -> Node:
        token = self._take("not")
        if token is None:
            return self._comparison()
        self._down()
        node = self._made(Not(token.at, self._negation()))
        self._depth -= 1
        return node

    def _comparison(self) -> Node:
        first = self._sum()
        rest: list[tuple[str, Node]] = []
        while token := self._take("<", "<=", ">", ">=", "==", "!=", "is"):
            sign = {"is": "=="}.get(token.text, token.text)
            if token.text == "is" and self._take("not"):
                sign = "!="
            rest.append((sign, self._sum()))
        return self._made(Compare(first.at, first, tuple(rest))) if rest else first

    def _sum(self) -> Node:
        left = self._product()
        while token := self._take("+", "-"):
            left = self._made(Addition(token.at, token.text, left, self._product()))
        return left

    def _product(self) -> Node:
        left = self._signed()
        while token := self._take("*", "/"):
            left = self._made(Addition(token.at, token.text, left, self._signed()))
        return left

    def _signed(self) -> Node:
        token = self._take("+", "-")
        if token is None:
            return self._power()
        self._down()
        operand = self._signed()
        self._depth -= 1
        if token.text == "+":
            return operand
        if isinstance(operand, Number):
            return Number(token.at, -operand.value, operand.unit)
        return self._made(Negate(token.at, operand))

    def _power(self) -> Node:
        base = self._atom()
        token = self._take("**")
        if token is None:
            return base
        minus = self._take("-")
        found = self._peek()
        whole = found is not None and found.kind == "number" and found.text.isdigit()
        if found is None or not whole or len(found.text) > 1 or int(found.text) > MOST_POWER:
            raise FormulaError(
                f"power is not a whole number up to {MOST_POWER}", found.at if found else token.at
            )
        self._next += 1
        follower = self._peek()
        if follower is not None and (follower.kind == "unit" or follower.text == "**"):
            raise FormulaError("a power is one plain number: use brackets", follower.at)
        return self._made(Power(token.at, base, -int(found.text) if minus else int(found.text)))

    def _atom(self) -> Node:
        token = self._peek()
        if token is None:
            raise FormulaError("formula ends where a value is needed", len(self._text))
        if self._take("("):
            node = self._either()
            self._need(")", f"to close the bracket at column {token.at + 1}")
            return node
        self._next += 1
        if token.kind == "number":
            return self._number(token)
        if token.kind == "text":
            return self._made(Words(token.at, token.text[1:-1]))
        if token.kind == "name":
            of = self._peek()
            if token.text in _PASS_WORDS and of is not None and of.kind == "name":
                self._next += 1
                return self._name(of, f"{token.text} ", token.at)
            return self._call(token) if self._take("(") else self._name(token, "", token.at)
        raise FormulaError(f"a value is missing before {token.text!r}", token.at)

    def _name(self, token: _Token, word: str, at: int) -> Node:
        """A name, or after a point what another procedure found: `last crack_check.depth`."""
        if not self._take("."):
            return self._made(Name(at, f"{word}{token.text}"))
        found = self._peek()
        if found is None or found.kind != "name":
            raise FormulaError(f"a name is missing after {token.text}.", token.at)
        self._next += 1
        return self._made(Name(at, f"{word}{token.text}.{found.text}"))

    def _number(self, token: _Token) -> Node:
        unit = self._peek()
        if unit is None or unit.kind != "unit":
            return self._made(Number(token.at, Decimal(token.text), ""))
        self._next += 1
        return self._made(Number(token.at, Decimal(token.text), unit.text))

    def _call(self, name: _Token) -> Node:
        args: list[Node] = []
        named: list[tuple[str, Node]] = []
        if not self._take(")"):
            while True:
                self._argument(args, named)
                if not self._take(","):
                    break
            self._need(")", f"to close {name.text}(")
        if name.text in _TIMES:
            return self._time(name, args)
        if name.text in AGGREGATES and (named or not args):
            raise FormulaError(
                f"{name.text} takes one or more values, such as {name.text}(bore)", name.at
            )
        if name.text == CHOICE and (named or len(args) != 3):
            raise FormulaError(
                "if takes a condition and two values: if(film > 30 µm, 1, 2)", name.at
            )
        output = ""
        if name.text not in AGGREGATES | {CHOICE} and self._take("."):
            found = self._peek()
            if found is None or found.kind != "name":
                raise FormulaError(f"the output of {name.text} is missing after the dot", name.at)
            self._next += 1
            output = found.text
        return self._made(Call(name.at, name.text, tuple(args), tuple(named), output))

    def _time(self, name: _Token, args: list[Node]) -> Node:
        """The length of time of a step, as a name that no reading can have."""
        step = args[0] if len(args) == 1 else None
        if not isinstance(step, Name):
            raise FormulaError(
                f"{name.text} takes one step by its id with _ for -: {name.text}(soak)", name.at
            )
        return self._made(Name(name.at, f"{_TIMES[name.text]}{step.name}"))

    def _argument(self, args: list[Node], named: list[tuple[str, Node]]) -> None:
        token = self._peek()
        after = self._tokens[self._next + 1 : self._next + 2]
        if token is not None and token.kind == "name" and after and after[0].text == "=":
            self._next += 2
            if any(token.text == name for name, _ in named):
                raise FormulaError(f"{token.text} is given twice", token.at)
            named.append((token.text, self._either()))
            return
        if named:
            raise FormulaError(
                "values without a name go before those with one", token.at if token else 0
            )
        args.append(self._either())
