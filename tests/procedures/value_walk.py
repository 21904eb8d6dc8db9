"""Parts that go a procedure on values alone: no log, no clock, thousands of ways in a second."""

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from benchrun.procedure.formula import FormulaError, Missing
from benchrun.procedure.grammar import ROUND, pass_name
from benchrun.procedure.parameter import Parameter, Undetermined
from benchrun.procedure.route import (
    Act,
    Consequence,
    Detour,
    Dwell,
    End,
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


@dataclass
class Walk:
    """One part on its way, by chance.

    Attributes:
        faults: What is wrong, in words.
        judged: How many limits were looked at, each at, under and over.
        worked: How many values were worked out.
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

    def go(self) -> None:
        """Go from the first step until the end, or until the part is out of play."""
        route = self.procedure.route
        self._begin()
        index = 0
        for _ in range(_MOST_STEPS):
            op = route.ops[index]
            match op:
                case End():
                    return
                case Guard():
                    index = index + 1 if self._holds(op.condition, op.key) else op.past
                case Detour():
                    index = op.past if self.chance.random() < 0.8 else index + 1
                case Head():
                    self.passes.append(1)
                    index += 1
                case Tail():
                    index = self._round(op, index)
                case _:
                    if not self._step(op.step, op.place):
                        return
                    index += 1

    def _begin(self) -> None:
        route = self.procedure.route
        for figure in route.figures.values():
            low, high = figure.low, figure.high
            if low is None or high is None:
                number = _USUAL.get(dimension(figure.unit), Decimal(10))
            else:
                number = low + (high - low) * self._share()
            self._keep(Value(0, "", "", figure.name, "", number, figure.unit, "", "", ()))
        if route.kinds:
            kind = self.chance.choice(list(route.kinds.values()))
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

    def _holds(self, condition: "object", key: str) -> bool:
        reads = condition.reads  # type: ignore[attr-defined]
        try:
            result = condition.value(knowns(self._drawn(reads)))  # type: ignore[attr-defined]
        except (Missing, FormulaError) as error:
            if self._told(reads) and reads <= self.written:
                self.faults.append(f"{key}: cannot be decided: {error}")
            return self.chance.random() < 0.5
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
            on = [finding for finding in detail.findings if self._on(finding.consequences)]
            straight = on if on and self.chance.random() < 0.97 else detail.findings
            finding = self.chance.choice(straight)
            self._keep(Value(1, PART, step.id, detail.name, "", None, "", finding.name, "", ()))
            return self._on(finding.consequences)
        if isinstance(detail, Reading):
            return self._reading(step, detail, place)
        if isinstance(detail, WorkOut):
            return self._work_out(step, detail)
        return True

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
            if time is not None and self._told(time.reads) and time.reads <= self.written:
                try:
                    time.milliseconds(knowns(self._drawn(time.reads)))
                except Undetermined as error:
                    self.faults.append(f"{step.id}: no time at {self._said(time.reads)}: {error}")

    def _limits(self, step: Step, detail: Reading | WorkOut) -> tuple[Decimal | None, ...] | None:
        """The limits, each looked at: at it inside, one step under or over outside."""
        reads = frozenset[str]().union(*(x.reads for x in (detail.low, detail.high) if x))
        if not reads <= self.written or not self._told(reads):
            return None
        drawn = self._drawn(reads)
        both = limits(detail, drawn)
        if both is None:
            self.faults.append(f"{step.id}: no limit at {self._said(reads)}")
            return None
        low, high = both
        if low is not None and high is not None and low > high:
            return None  # nothing is inside then: the ways of `outside` are looked at elsewhere
        tick = resolution_of(detail)
        for limit, out in ((low, -tick), (high, tick)):
            if limit is None:
                continue
            self.judged += 1
            # A quotient has more places than anybody reads: the last value inside it is at it.
            inward = ROUND_CEILING if limit is low else ROUND_FLOOR
            last = limit if abs(_exponent(limit)) < 9 else limit.quantize(_FINE, inward)
            at = judge_value(detail, last, Decimal(0), drawn).ruling
            over = judge_value(detail, last + out, Decimal(0), drawn).ruling
            if (at, over) != ("inside", "outside"):
                self.faults.append(f"{step.id}: at {limit} {at}, one step on {over}")
        return both

    def _reading(self, step: Step, detail: Reading, place: str) -> bool:
        known = self._limits(step, detail)
        low, high = known if known is not None else (None, None)
        number, inside = self._value(detail, low, high)
        beside = [v.number for v in self._drawn(frozenset({detail.name})) if v.place != place]
        if beside and beside[-1] is not None and self.chance.random() < 0.9:
            number = beside[-1]  # places of one part are mostly alike
            inside = (low is None or number >= low) and (high is None or number <= high)
        unit = detail.unit
        self._keep(Value(1, PART, step.id, detail.name, place, number, unit, "", "", ()))
        return inside or self._on(detail.outside)

    def _value(
        self, detail: Reading, low: Decimal | None, high: Decimal | None
    ) -> tuple[Decimal, bool]:
        chance, tick = self.chance, resolution_of(detail)
        usual = _USUAL.get(dimension(detail.unit), Decimal(10))
        if low is not None and high is not None and low > high:
            return low, False
        if low is not None and high is not None:
            number = low + (high - low) * self._share()
        elif low is not None:
            number = low + chance.choice([Decimal(0), tick, abs(low) / 5 + tick * 20, usual])
        elif high is not None:
            number = high - chance.choice([Decimal(0), tick, abs(high) / 5])
            number = number if detail.below_zero else max(number, Decimal(0))
        else:
            number = usual * chance.choice([Decimal(0), Decimal("0.5"), Decimal(1), Decimal(3)])
        if not detail.unit:
            number = number.to_integral_value()
        inside = (low is None or number >= low) and (high is None or number <= high)
        return number, inside

    def _work_out(self, step: Step, detail: WorkOut) -> bool:
        reads = detail.formula.reads
        if not self._told(reads) or not reads <= self.written | {ROUND}:
            return True
        drawn = self._drawn(reads)
        if any(value.absent for value in drawn):
            return True
        try:
            result = detail.formula.value(knowns(drawn), detail.unit)
        except (Missing, FormulaError) as error:
            self.faults.append(f"{step.id}: no value at {self._said(reads)}: {error}")
            return False
        assert isinstance(result, Measure), step.id
        number = result.to(detail.unit) if detail.unit else result.value
        self.worked += 1
        self._keep(Value(1, PART, step.id, detail.name, "", number, detail.unit, "", "", ()))
        if detail.low is None and detail.high is None:
            return True
        self._limits(step, detail)
        values = [*self._drawn(reads | _reads(detail))]
        ruling = judge_value(detail, number, Decimal(0), values).ruling
        if ruling == "in doubt":
            self.faults.append(f"{step.id}: in doubt at {self._said(_reads(detail))}")
        return ruling == "inside" or self._on(detail.outside)

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


def walks(procedure: Procedure, count: int, seed: int = 0) -> Iterator[Walk]:
    """So many parts that went a procedure by chance, always the same ones for a seed."""
    for number in range(count):
        walk = Walk(procedure, random.Random(f"{procedure.id} {seed} {number}"))
        walk.go()
        yield walk
