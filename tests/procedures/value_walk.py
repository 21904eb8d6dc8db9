"""Parts that go a procedure on values alone: no log, no clock, thousands of ways in a second."""

import random
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from typing import TypeVar

from benchrun.procedure.formula import FormulaError, Missing
from benchrun.procedure.grammar import BEFORE, ROUND, pass_name
from benchrun.procedure.parameter import FindingTable, Parameter, Undetermined
from benchrun.procedure.route import (
    Act,
    Consequence,
    Detour,
    Dwell,
    End,
    Figure,
    Guard,
    Head,
    Inspect,
    Procedure,
    Reading,
    Step,
    Tail,
    WorkOut,
)
from benchrun.quantity import Measure, dimension
from benchrun.run.state import Value
from benchrun.run.verdict import judge_value, knowns, limits

PART = "part"
_MOST_STEPS = 1500
_FINE = Decimal("0.000001")
_USUAL = {"temperature": Decimal(20), "percentage": Decimal(50)}


Choice = Decimal | str | bool
Drawn = TypeVar("Drawn", Decimal, str, bool)
Decided = tuple[str, int]
Limit = tuple[str, str, str]


@dataclass(frozen=True)
class Ended:
    """Why a part was out of play: at which step, what that rests on, how far outside it was."""

    step: str
    names: frozenset[str]
    far: Decimal = Decimal(0)


@dataclass
class Walk:
    """One part on its way, by chance.

    Attributes:
        faults: What is wrong, in words.
        judged: How many limits were looked at, each at, under and over.
        worked: How many values were worked out.
        tried: Which limits: step, side, and the row where a table by a finding gives it.
        decided: What was chosen, by what and the how-manyth time; what is given is not drawn.
        writes: Under which name what was chosen is known.
        times: How often each was asked so far.
        furthest: How far along the route the part came.
        ended: Why it came no further.
    """

    procedure: Procedure
    chance: random.Random
    faults: list[str] = field(default_factory=list)
    judged: int = 0
    worked: int = 0
    values: dict[tuple[str, str], Value] = field(default_factory=dict)
    earlier: dict[str, list[Value]] = field(default_factory=dict)
    passes: list[int] = field(default_factory=list)
    written: set[str] = field(default_factory=set)
    tried: set[Limit] = field(default_factory=set)
    decided: dict[Decided, Choice] = field(default_factory=dict)
    writes: dict[Decided, str] = field(default_factory=dict)
    times: Counter[str] = field(default_factory=Counter)
    furthest: int = 0
    ended: Ended | None = None

    def go(self) -> None:
        """Go from the first step until the end, or until the part is out of play."""
        route = self.procedure.route
        self._begin()
        index = 0
        for _ in range(_MOST_STEPS):
            op = route.ops[index]
            self.furthest = max(self.furthest, index)
            match op:
                case End():
                    return
                case Guard():
                    index = index + 1 if self._holds(op.condition, op.key) else op.past
                case Detour():
                    past = self._choose(f"late at {op.step}", lambda: self.chance.random() < 0.8)
                    index = op.past if past else index + 1
                case Head():
                    self.passes.append(1)
                    index += 1
                case Tail():
                    index = self._round(op, index)
                case _:
                    if not self._step(op.step, op.place):
                        return
                    index += 1

    def _choose(self, what: str, draw: Callable[[], Drawn], name: str = "") -> Drawn:
        """What was decided already at this choice, or what chance says now."""
        key = (what, self.times[what])
        self.times[what] += 1
        self.writes[key] = name
        if key not in self.decided:
            self.decided[key] = draw()
        return self.decided[key]

    def _figure(self, figure: Figure) -> Decimal:
        if figure.low is None or figure.high is None:
            return _USUAL.get(dimension(figure.unit), Decimal(10))
        return figure.low + (figure.high - figure.low) * self._share()

    def _begin(self) -> None:
        route = self.procedure.route
        for figure in route.figures.values():
            number = self._choose(
                figure.name, lambda figure=figure: self._figure(figure), figure.name
            )
            self._keep(Value(0, "", "", figure.name, "", number, figure.unit, "", "", ()))
        if route.kinds:
            kind = route.kinds[self._choose("kind", lambda: self.chance.choice([*route.kinds]))]
            self._keep(Value(0, PART, "", "kind", "", None, "", kind.id, "", ()))
            for name, value in kind.values.items():
                word = value if isinstance(value, str) else ""
                number = None if isinstance(value, str) else value.value
                unit = "" if isinstance(value, str) else value.unit
                self._keep(Value(0, PART, "", name, "", number, unit, word, "", ()))

    def _keep(self, value: Value) -> None:
        before = self.values.pop((value.name, value.place), None)
        if before is not None:
            self.earlier.setdefault(value.name, []).append(before)
        self.values[value.name, value.place] = value
        self.written.add(value.name)

    def _drawn(self, names: frozenset[str]) -> list[Value]:
        found = []
        for spoken in names:
            word, name = pass_name(spoken)
            if spoken == ROUND:
                number = Decimal(self.passes[-1] if self.passes else 1)
                found.append(Value(0, PART, "", ROUND, "", number, "", "", "", ()))
                continue
            now = [value for value in self.values.values() if value.name == name]
            old = self.earlier.get(name, [])
            every = (
                now if not word or word == "last" else old[-1:] if word == "before" else old + now
            )
            found += [
                Value(v.n, v.part, v.step, spoken, v.place, v.number, v.unit, v.word, "", v.where)
                for v in every
            ]
        return found

    def _share(self) -> Decimal:
        return self.chance.choice([Decimal(x) / 10 for x in (0, 0, 1, 3, 5, 7, 9, 10, 10)])

    def _told(self, names: frozenset[str]) -> bool:
        """Whether all names were written by a step or stand in the header: none by another run."""
        plain = {pass_name(name)[1] for name in names} - {ROUND}
        return all("." not in name and not name.startswith("time") for name in plain)

    def _known(self, names: frozenset[str]) -> bool:
        """Whether all names have a value by now, also those that speak of an earlier pass."""
        for word, name in map(pass_name, names - {ROUND}):
            if name not in (self.earlier if word == BEFORE else self.written):
                return False
        return True

    def _holds(self, condition: "object", key: str) -> bool:
        reads = condition.reads  # type: ignore[attr-defined]
        try:
            result = condition.value(knowns(self._drawn(reads)))  # type: ignore[attr-defined]
        except (Missing, FormulaError) as error:
            if self._told(reads) and self._known(reads):
                self.faults.append(f"{key}: cannot be decided: {error}")
            return self._choose(key, lambda: self.chance.random() < 0.5)
        return bool(result)

    def _round(self, op: Tail, index: int) -> int:
        done = self.passes[-1]
        most = op.most if op.most is not None else op.least + 4
        leave = done >= op.least and (
            op.until is None or done >= most or self._holds(op.until, op.key)
        )
        if leave:
            self.passes.pop()
            return index + 1
        self.passes[-1] += 1
        return op.head + 1

    def _step(self, step: Step, place: str) -> bool:
        """Do a step; whether the part goes on."""
        detail = step.detail
        self._times(step)
        if isinstance(detail, Inspect):
            word = self._choose(step.id, lambda: self._found(detail), detail.name)
            finding = next(one for one in detail.findings if one.name == word)
            self._keep(Value(1, PART, step.id, detail.name, "", None, "", finding.name, "", ()))
            return self._on(finding.consequences) or self._end(step, frozenset({detail.name}))
        if isinstance(detail, Reading):
            return self._reading(step, detail, place)
        if isinstance(detail, WorkOut):
            return self._work_out(step, detail)
        return True

    def _found(self, detail: Inspect) -> str:
        on = [finding for finding in detail.findings if self._on(finding.consequences)]
        straight = on if on and self.chance.random() < 0.97 else detail.findings
        return self.chance.choice(straight).name

    def _end(self, step: Step, names: frozenset[str], far: Decimal = Decimal(0)) -> bool:
        self.ended = Ended(step.id, names, far)
        return False

    def _on(self, ways: tuple[Consequence, ...]) -> bool:
        return any(way.act is Act.GO_ON for way in ways)

    def _times(self, step: Step) -> None:
        """Every length of time of a step can be worked out."""
        times: list[Parameter | None] = []
        if isinstance(step.detail, Dwell):
            times += [step.detail.least, step.detail.most]
        if step.window is not None:
            times += [step.window.least, step.window.most]
        for time in times:
            if time is not None and self._told(time.reads) and self._known(time.reads):
                try:
                    time.milliseconds(knowns(self._drawn(time.reads)))
                except Undetermined as error:
                    self.faults.append(f"{step.id}: no time at {self._said(time.reads)}: {error}")

    def _limits(self, step: Step, detail: Reading | WorkOut) -> tuple[Decimal | None, ...] | None:
        """The limits, each looked at: at it inside, one step under or over outside."""
        reads = frozenset[str]().union(*(x.reads for x in (detail.low, detail.high) if x))
        if not self._known(reads) or not self._told(reads):
            return None
        drawn = self._drawn(reads)
        both = limits(detail, drawn)
        if both is None:
            self.faults.append(f"{step.id}: no limit at {self._said(reads)}")
            return None
        low, high = both
        if low is not None and high is not None and low + 2 * _FINE > high and low != high:
            return both  # nothing is inside then: the ways of `outside` are looked at elsewhere
        tick = resolution_of(detail)
        for side, limit, out in (("low", low, -tick), ("high", high, tick)):
            if limit is None:
                continue
            self.judged += 1
            given = detail.low if side == "low" else detail.high
            for word in self._rows(given):
                self.tried.add((step.id, side, word))
            # A quotient has more places than anybody reads: the last value inside it is at it.
            inward = ROUND_CEILING if limit is low else ROUND_FLOOR
            exact = low == high or abs(_exponent(limit)) < 9
            last = limit if exact else limit.quantize(_FINE, inward)
            at = judge_value(detail, last, Decimal(0), drawn).ruling
            over = judge_value(detail, last + out, Decimal(0), drawn).ruling
            if (at, over) != ("inside", "outside"):
                self.faults.append(f"{step.id}: at {limit} {at}, one step on {over}")
        return both

    def _rows(self, given: Parameter | None) -> list[str]:
        """The row of a table by a finding that gives a limit now; one empty word for any other."""
        if not isinstance(given, FindingTable):
            return [""]
        return [v.word for v in self._drawn(given.reads) if v.word]

    def _reading(self, step: Step, detail: Reading, place: str) -> bool:
        known = self._limits(step, detail)
        low, high = known if known is not None else (None, None)
        number = self._choose(
            f"{step.id} {place}", lambda: self._number(detail, place, low, high), detail.name
        )
        inside = (low is None or number >= low) and (high is None or number <= high)
        unit = detail.unit
        self._keep(Value(1, PART, step.id, detail.name, place, number, unit, "", "", ()))
        if inside or self._on(detail.outside):
            return True
        return self._end(step, _reads(detail) | {detail.name}, _outside(number, low, high))

    def _number(
        self, detail: Reading, place: str, low: Decimal | None, high: Decimal | None
    ) -> Decimal:
        beside = [v.number for v in self._drawn(frozenset({detail.name})) if v.place != place]
        if beside and beside[-1] is not None and self.chance.random() < 0.9:
            return beside[-1]  # places of one part are mostly alike
        return self._value(detail, low, high)

    def _value(self, detail: Reading, low: Decimal | None, high: Decimal | None) -> Decimal:
        chance, tick = self.chance, resolution_of(detail)
        usual = _USUAL.get(dimension(detail.unit), Decimal(10))
        if low is not None and high is not None:
            number = low + max(high - low, Decimal(0)) * self._share()
        elif low is not None:
            number = low + chance.choice([Decimal(0), tick, abs(low) / 5 + tick * 20, usual])
        elif high is not None:
            number = high - chance.choice([Decimal(0), tick, abs(high) / 5])
            number = number if detail.below_zero else max(number, Decimal(0))
        else:
            number = usual * chance.choice([Decimal(0), Decimal("0.5"), Decimal(1), Decimal(3)])
        return number if detail.unit else number.to_integral_value()

    def _work_out(self, step: Step, detail: WorkOut) -> bool:
        reads = detail.formula.reads
        if not self._told(reads) or not self._known(reads):
            return True
        drawn = self._drawn(reads)
        if any(value.absent for value in drawn):
            return True
        try:
            result = detail.formula.value(knowns(drawn), detail.unit)
        except (Missing, FormulaError) as error:
            self.faults.append(f"{step.id}: no value at {self._said(reads)}: {error}")
            return self._end(step, reads)
        assert isinstance(result, Measure), step.id
        number = result.to(detail.unit) if detail.unit else result.value
        self.worked += 1
        self._keep(Value(1, PART, step.id, detail.name, "", number, detail.unit, "", "", ()))
        if detail.low is None and detail.high is None:
            return True
        known = self._limits(step, detail)
        values = [*self._drawn(reads | _reads(detail))]
        ruling = judge_value(detail, number, Decimal(0), values).ruling
        if ruling == "in doubt":
            self.faults.append(f"{step.id}: in doubt at {self._said(_reads(detail))}")
        if ruling == "inside" or self._on(detail.outside):
            return True
        low, high = known if known is not None else (None, None)
        return self._end(step, reads | _reads(detail), _outside(number, low, high))

    def _said(self, names: frozenset[str]) -> str:
        return ", ".join(
            f"{v.name} {v.number if v.number is not None else v.word}" for v in self._drawn(names)
        )[:300]


def _exponent(number: Decimal) -> int:
    exponent = number.as_tuple().exponent
    return exponent if isinstance(exponent, int) else 0


def _reads(detail: Reading | WorkOut) -> frozenset[str]:
    return frozenset[str]().union(*(x.reads for x in (detail.low, detail.high) if x))


def resolution_of(detail: Reading | WorkOut) -> Decimal:
    """One step of the instrument where that is known, else a thousandth; 1 of a count."""
    resolution = getattr(detail, "resolution", None)
    if resolution is not None:
        number = getattr(resolution, "value", resolution)
        if isinstance(number, Decimal) and number > 0:
            return number
    return Decimal(1) if not detail.unit else Decimal("0.001")


def _outside(number: Decimal, low: Decimal | None, high: Decimal | None) -> Decimal:
    """How far outside its limits a value is."""
    under = Decimal(0) if low is None else low - number
    over = Decimal(0) if high is None else number - high
    return max(under, over, Decimal(0))


def walks(procedure: Procedure, count: int, seed: int = 0) -> Iterator[Walk]:
    """So many parts that went a procedure by chance, always the same ones for a seed."""
    for number in range(count):
        walk = Walk(procedure, random.Random(f"{procedure.id} {seed} {number}"))
        walk.go()
        yield walk
