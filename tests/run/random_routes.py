"""Random procedures for the random runs: routes laid out as the loader lays them (all invented)."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cache

from benchrun.procedure.formula import Formula, parse_formula
from benchrun.procedure.parameter import (
    TIME,
    Constant,
    FindingTable,
    FormulaParameter,
    Parameter,
    ReadingTable,
    time_constant,
)
from benchrun.procedure.route import (
    Act,
    Consequence,
    Detail,
    Detour,
    Dwell,
    End,
    Finding,
    Guard,
    Head,
    Hold,
    Inspect,
    Kind,
    Load,
    Op,
    PlainDo,
    Reading,
    Route,
    Step,
    StepOp,
    Tail,
    Vessel,
    Window,
    WorkOut,
)

MINUTE = 60_000
KINDS = {
    PlainDo: Kind.DO,
    Dwell: Kind.DWELL,
    Reading: Kind.READING,
    Inspect: Kind.INSPECT,
    Hold: Kind.HOLD,
    WorkOut: Kind.WORK_OUT,
}
VESSELS = {
    "tub": Vessel("tub", "etching tub", 3),
    "oven": Vessel("oven", "oven", None),
    "rack": Vessel("rack", "rack", 2),
}


@cache
def formula(text: str) -> Formula:
    """A formula, read once."""
    return parse_formula(text)


@cache
def limit(text: str, key: str) -> Parameter:
    """A limit in mm, as the loader makes it."""
    read = formula(text)
    if read.reads:
        return FormulaParameter((key,), text, "mm", "", read)
    return Constant((key,), text, "mm", "", read.value({}, "mm"))


Pick = Callable[[int], int]


@dataclass(slots=True)
class Laying:
    """Lays one route; `pick(n)` chooses a number from 0 below n."""

    pick: Pick
    ops: list[Op] = field(default_factory=list)
    within: list[tuple[int, ...]] = field(default_factory=list)
    steps: dict[str, Step] = field(default_factory=dict)
    index: dict[str, int] = field(default_factory=dict)
    readings: list[str] = field(default_factory=list)
    findings: list[str] = field(default_factory=list)
    grids: set[str] = field(default_factory=set)
    heads: tuple[int, ...] = ()
    named: int = 0
    load: str = ""
    loads: dict[str, Load] = field(default_factory=dict)

    def fresh(self, letter: str) -> str:
        """A name that nothing has yet."""
        self.named += 1
        return f"{letter}{self.named}"

    def route(self) -> Route:
        """Lay a whole route."""
        for _ in range(2 + self.pick(5)):
            self.item(0)
        if self.pick(2):
            self.step(Hold(role="", says="checked", other=bool(self.pick(2))), together=True)
        self.add(End())
        return self.laid()

    def laid(self) -> Route:
        """The route as it stands."""
        ops, within = tuple(self.ops), tuple(self.within)
        return Route(ops, within, self.steps, self.index, dict(VESSELS), loads=self.loads)

    def add(self, op: Op) -> int:
        """Add an op."""
        self.ops.append(op)
        self.within.append(self.heads)
        return len(self.ops) - 1

    def item(self, depth: int) -> None:
        """Lay one item: a step or a block."""
        sort = self.pick(14 if depth < 2 else 7)
        if sort < 7:
            self.simple(sort, windowed=True)
        elif sort < 9:
            self.guarded(depth)
        elif sort < 11:
            self.repeated(depth)
        elif sort < 13:
            self.loaded(depth)
        else:
            key = f"free-{len(self.ops)}"
            for _ in range(2 + self.pick(2)):
                self.simple(self.pick(3), any_order=key)

    def simple(
        self, sort: int, *, windowed: bool = False, ahead: str = "", **more: str | bool
    ) -> Step:
        """Lay a step of a kind."""
        together = not self.pick(3) and not self.load
        if sort == 0 and not self.pick(6) and not ahead and not more:
            return self.carried_out(together, windowed)
        if sort in (5, 6):
            return self.dwell(together and not self.pick(2), windowed)
        makes = (self._do, self._reading, self._inspect, self._reading, self._work_out)
        detail, together = makes[sort](together)
        return self.step(detail, together=together, windowed=windowed, ahead_of=ahead, **more)

    def step(
        self, detail: Detail, *, together: bool, windowed: bool = False, **more: object
    ) -> Step:
        """Put a step on the route; its window and its detour stand before it."""
        name = getattr(detail, "name", "") or self.fresh("s")
        number = len(self.steps) + 1
        step = Step(name, number, "stage", KINDS[type(detail)], f"Do {name}.", detail, together)
        step = replace(step, load=self.load)
        step = replace(step, **more)
        if windowed and not self.pick(2) and self._sources():
            step = replace(step, window=self._window(step))
        self.steps[name] = replace(step, number=len(self.steps) + 1)
        self.index[name] = len(self.ops)
        places = detail.places if isinstance(detail, Reading) else ("",)
        for place in places:
            self.add(StepOp(self.steps[name], place))
        if isinstance(detail, Reading | WorkOut) and detail.unit == "mm":
            self.readings.append(name)
            if len(places) > 1:
                self.grids.add(name)
        elif isinstance(detail, Inspect):
            self.findings.append(name)
        return self.steps[name]

    def _sources(self) -> list[str]:
        return [name for name, step in self.steps.items() if not step.ahead_of]

    def _window(self, step: Step) -> Window:
        sources = self._sources()
        after = sources[-1 - self.pick(min(3, len(sources)))]
        if step.id and self.heads and not self.pick(3):
            # From the end of this very step in the pass before, as between two coats.
            after = step.id
        least = (None, 2, 5)[self.pick(3)]
        most = (None, 8, 20)[self.pick(3)]
        if least is None and most is None:
            most = 8
        late: list[Consequence] = []
        if most is not None and self.pick(2):
            times = 1 + self.pick(2)
            at = self.add(Detour(f"late-{step.id}", step.id, 0, times))
            first = self._detour_steps()
            self.ops[at] = Detour(f"late-{step.id}", step.id, len(self.ops), times)
            late.append(Consequence(Act.DETOUR, first, times, f"first {first}"))
        if most is not None and not self.pick(3):
            late += self._ways()
        ends = (self._time(least, "least"), self._time(most, "most"))
        room = not step.load and not getattr(step.detail, "vessel", "")
        return Window((after,), *ends, tuple(late), room or bool(self.pick(2)))

    def _time(self, minutes: int | None, key: str) -> Parameter | None:
        """A length of time in one of its forms, about as long as that."""
        if minutes is None:
            return None
        plain = [name for name in self.readings if name not in self.grids]
        where, sort = (key,), self.pick(6)
        if plain and sort == 0:
            rows = ((Decimal(2), Decimal(30 * minutes)), (Decimal(18), Decimal(80 * minutes)))
            name = plain[self.pick(len(plain))]
            return ReadingTable(where, "by", TIME, "", name, "mm", rows, TIME)
        if self.findings and sort == 1:
            name = self.findings[self.pick(len(self.findings))]
            given = {"good": minutes, "fair": minutes + 1, "bad": 2 * minutes}
            rows = {word: time_constant(where, m * MINUTE, "").value for word, m in given.items()}
            return FindingTable(where, "by", TIME, "", name, rows)
        if plain and sort == 2:
            name = plain[self.pick(len(plain))]
            text = f"{name} / 10 mm * {minutes} min"
            return FormulaParameter(where, text, TIME, "", formula(text))
        return time_constant(where, minutes * MINUTE, f"{minutes} min")

    def _detour_steps(self) -> str:
        sort = self.pick(4)
        guard = self.add(Guard(f"if-{len(self.ops)}", self._condition(), 0)) if not sort else None
        first = self.simple(0)
        if guard is not None:
            op = self.ops[guard]
            assert isinstance(op, Guard)
            self.ops[guard] = replace(op, past=len(self.ops))
        if sort == 1:
            self.simple(2)
        return first.id

    def _ways(self) -> tuple[Consequence, ...]:
        """Some consequences of a judgement; rework goes back to an earlier step, counted."""
        found: list[Consequence] = []
        back = [name for name in self._sources() if not self.steps[name].any_order]
        for _ in range(self.pick(3)):
            sort = self.pick(7)
            if sort == 0 and back:
                to, most = back[self.pick(len(back))], 1 + self.pick(2)
                found.append(Consequence(Act.REWORK, to, most, f"rework from {to}"))
            elif sort == 1:
                found.append(Consequence(Act.AWAY, "grinder", None, "send away to grinder"))
            elif sort in (2, 3):
                found.append(Consequence((Act.SCRAP, Act.STOP)[sort - 2]))
            elif sort == 4:
                found.append(Consequence(Act.GO_ON))
            elif sort == 5:
                found.append(Consequence(Act.AGAIN, "", 2, "again"))
            else:
                found.append(Consequence(Act.ASIDE))
        return tuple(found)

    def _do(self, together: bool) -> tuple[Detail, bool]:
        return PlainDo(), together

    def _reading(self, together: bool) -> tuple[Detail, bool]:
        name = self.fresh("r")
        low = (None, "5 mm", self._limit_text())[self.pick(3)]
        high = (None, "15 mm")[self.pick(2)]
        places = ("", "A", "B")[1:] if not self.pick(4) else ("",)
        limits = [
            None if text is None else limit(text, key)
            for text, key in ((low, "low"), (high, "high"))
        ]
        shared = not together and not self.load and not self.pick(4)
        inside = self._ways() if not self.pick(4) and (low or high) else ()
        detail = Reading(
            name, "mm", *limits, places, outside=self._ways(), one_for_all=shared, inside=inside
        )
        return detail, together

    def _limit_text(self) -> str:
        plain = [name for name in self.readings if name not in self.grids]
        return f"{plain[self.pick(len(plain))]} - 3 mm" if plain else "4 mm"

    def _inspect(self, together: bool) -> tuple[Detail, bool]:
        found = (
            Finding("good", (Consequence(Act.GO_ON),)),
            Finding("fair", self._ways() or (Consequence(Act.GO_ON),)),
            Finding("bad", (*self._ways(), Consequence(Act.SCRAP))),
        )
        return Inspect(self.fresh("f"), found), together

    def _time_sum(self, together: bool) -> tuple[Detail, bool]:
        """How long a dwell took, or how long it is since a step."""
        step = self.steps[self._sources()[self.pick(len(self._sources()))]]
        of = "time_of" if isinstance(step.detail, Dwell) and self.pick(3) else "time_since"
        text = f"{of}({step.id})"
        text = f"most({text})" if together or self.load else text
        high = Constant(("high",), "8 min", "min", "", formula("8 min").value({}, "min"))
        limit_high = high if self.pick(2) else None
        ways = self._ways()
        detail = WorkOut(self.fresh("t"), "min", formula(text), None, limit_high, outside=ways)
        return detail, together

    def _work_out(self, together: bool) -> tuple[Detail, bool]:
        if self._sources() and not self.pick(3):
            return self._time_sum(together)
        if not self.readings:
            return PlainDo(), together
        name = self.readings[self.pick(len(self.readings))]
        grid = together or bool(self.load) or name in self.grids
        text = f"least({name}) + 1 mm" if grid else f"{name} * 2 - 4 mm"
        if not grid and len(self.readings) > 1 and not self.pick(2):
            other = self.readings[self.pick(len(self.readings))]
            text = f"{name} + mean({other})" if other in self.grids else f"{name} + {other}"
        high = limit("30 mm", "high") if self.pick(2) else None
        detail = WorkOut(self.fresh("w"), "mm", formula(text), None, high, outside=self._ways())
        return detail, together

    def dwell(self, together: bool, windowed: bool) -> Step:
        """Lay a dwell, and what may be done meanwhile."""
        least = self._time((None, 3, 6)[self.pick(3)], "least")
        most = self._time((None, 10)[self.pick(2)], "most")
        vessel, place = (("tub", ""), ("tub", ""), ("oven", ""), ("", "plater"))[self.pick(4)]
        if self.load:
            vessel = place = ""
        detail = Dwell(
            vessel,
            place,
            least,
            most,
            self._time(7, "aim") if not self.pick(4) else None,
            self._time(4, "every") if not self.pick(3) else None,
            "keep it wet",
            self._ways(),
            self._ways(),
            not self.pick(3),
        )
        step = self.step(detail, together=together, windowed=windowed)
        if not place and not self.pick(3):
            self.simple(self.pick(3), ahead=step.id, before_out=True)
        if not self.pick(2):
            left_out = not self.pick(3)
            for _ in range(1 + self.pick(2)):
                self.simple(self.pick(3), ahead=step.id, left_out=left_out)
        return step

    def _condition(self) -> Formula:
        plain = [name for name in self.readings if name not in self.grids]
        if self.findings and self.pick(2):
            return formula(f'{self.findings[self.pick(len(self.findings))]} is "good"')
        if plain:
            return formula(f"{plain[self.pick(len(plain))]} > 10 mm")
        return formula("1 mm > 0 mm")

    def guarded(self, depth: int) -> None:
        """Lay steps under a condition."""
        at = self.add(Guard(f"if-{len(self.ops)}", self._condition(), 0))
        for _ in range(1 + self.pick(2)):
            self.item(depth + 1)
        op = self.ops[at]
        assert isinstance(op, Guard)
        self.ops[at] = replace(op, past=len(self.ops))

    def carried_out(self, together: bool, windowed: bool) -> Step:
        """Lay another procedure, carried out in a run of its own, and what it found."""
        step = self.step(
            PlainDo(),
            together=together,
            windowed=windowed,
            carries_out="other",
            carries_revision=1,
            carries_values=(("depth", "mm"), ("found", "finding")),
        )
        self.readings.append(f"{step.id}.depth")
        return step

    def loaded(self, depth: int) -> None:
        """Lay the steps of a load, in one of several vessels."""
        if self.load:
            self.simple(0)
            return
        key = f"load-{len(self.ops)}"
        vessels = (("oven",), ("tub",), ("rack",), ("oven", "tub"), ("rack", "tub"))[self.pick(5)]
        self.load, first = key, len(self.ops)
        if self.pick(2):
            self.item(2)
        self.dwell(together=False, windowed=True)
        for _ in range(self.pick(3)):
            self.item(depth + 1)
        if not self.pick(3):
            self.step(Hold(role="", says="the load is good"), together=False)
        self.load = ""
        self.loads[key] = Load(key, key, vessels, first, len(self.ops))

    def repeated(self, depth: int) -> None:
        """Lay a repeat; one step of it stands under no condition."""
        key = f"again-{len(self.ops)}"
        head = self.add(Head(key, key, 0))
        outer, self.heads = self.heads, (*self.heads, head)
        kinds = (0, 1, 2, 5)
        self.simple(kinds[self.pick(4)], windowed=True)
        if self.pick(2):
            self.item(depth + 1)
        least = 1 + self.pick(2)
        most, until = (None if self.pick(2) else least + self.pick(2)), self._condition()
        tail = Tail(key, head, least, most, until if self.pick(4) else None)
        at = self.add(tail)
        self.ops[head] = Head(key, key, at)
        self.heads = outer


def random_route(pick: Pick) -> Route:
    """A random route."""
    return Laying(pick).route()
