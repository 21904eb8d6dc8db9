"""A run of 60 parts over 400 steps for the timings (invented)."""

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal

from benchrun.moment import Moment
from benchrun.procedure.formula import parse_formula
from benchrun.procedure.parameter import Constant, time_constant
from benchrun.procedure.route import (
    Act,
    Consequence,
    Dwell,
    End,
    Finding,
    Guard,
    Head,
    Inspect,
    Kind,
    Op,
    PlainDo,
    Reading,
    Route,
    Step,
    StepOp,
    Tail,
    Vessel,
    Window,
)
from benchrun.quantity import read
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Command, Hand, Refusal
from benchrun.run.course import Course
from benchrun.run.decide import decide
from benchrun.run.fold import fold
from benchrun.run.offers import Deed, Offer, offers
from benchrun.run.state import Run

PARTS, STEPS = 60, 400
HAND = Hand("ann", "Ann")
EPOCH_MS = 1_770_000_000_000


def route_of_400_steps() -> Route:
    """Eight steps of all sorts, fifty times over: readings, dwells, findings, repeats, windows."""
    ops: list[Op] = []
    within: list[tuple[int, ...]] = []
    steps: dict[str, Step] = {}
    index: dict[str, int] = {}

    def add(op: Op, heads: tuple[int, ...] = ()) -> int:
        ops.append(op)
        within.append(heads)
        return len(ops) - 1

    def step(name: str, detail: object, kind: Kind, heads: tuple[int, ...] = (), **more) -> None:
        steps[name] = Step(name, len(steps) + 1, "stage", kind, f"Do {name}.", detail, **more)
        index[name] = add(StepOp(steps[name]), heads)

    go_on = (Consequence(Act.GO_ON),)
    findings = (Finding("sound", go_on), Finding("cracked", (Consequence(Act.SCRAP),)))
    limit = Constant(("low",), "10 mm", "mm", "", read("10 mm", "mm"))
    least = time_constant(("least",), 600_000, "10 min")
    most = time_constant(("most",), 1_200_000, "20 min")
    day = time_constant(("window", "most"), 86_400_000, "1 d")
    for block in range(STEPS // 8):
        name = f"b{block}"
        step(f"{name}-clean", PlainDo(), Kind.DO)
        step(f"{name}-bore", Reading(f"bore_{block}", "mm", limit, None), Kind.READING)
        step(f"{name}-look", Inspect(f"look_{block}", findings), Kind.INSPECT)
        guard = add(Guard(f"{name}-if", parse_formula(f"bore_{block} > 30 mm"), 0))
        step(f"{name}-rub", PlainDo(), Kind.DO)
        ops[guard] = Guard(f"{name}-if", parse_formula(f"bore_{block} > 30 mm"), len(ops))
        step(f"{name}-etch", Dwell("tub", least=least, most=most), Kind.DWELL)
        head = add(Head(f"{name}-coats", "Coat", 0))
        window = Window((f"{name}-etch",), None, day)
        step(f"{name}-coat", PlainDo(), Kind.DO, (head,), window=window)
        step(f"{name}-wipe", PlainDo(), Kind.DO, (head,))
        tail = add(Tail(f"{name}-coats", head, 2, None, None), (head,))
        ops[head] = Head(f"{name}-coats", "Coat", tail)
        step(f"{name}-rinse", PlainDo(), Kind.DO, together=block % 10 == 9)
    add(End())
    vessels = {"tub": Vessel("tub", "etching tub", 24)}
    return Route(tuple(ops), tuple(within), steps, index, vessels)


@dataclass(slots=True)
class Bench:
    """A run that goes on by offers, one or a few parts at a time."""

    run: Run
    minute: int
    chance: random.Random
    told: list[Command] = field(default_factory=list)
    first: e.Entry | None = None

    @classmethod
    def begin(cls) -> "Bench":
        """A fresh run with its first entry."""
        bench = cls(Run(Course(route_of_400_steps())), 0, random.Random(7))
        bench.first = bench.keep(c.Open(tuple(e.PartSpec(f"arm {n}") for n in range(PARTS))))
        return bench

    @property
    def now(self) -> Moment:
        return Moment(EPOCH_MS + self.minute * 20_000, 60_000 + self.minute * 20_000, "b", True)

    def keep(self, command: Command) -> e.Entry | None:
        """Decide and fold a command."""
        data = decide(self.run, command, self.now, HAND)
        if isinstance(data, Refusal):
            return None
        entry = e.Entry(self.run.n, self.now, HAND.id, data)
        self.run = fold(self.run, entry)
        self.told = [command]
        return entry

    def entries(self) -> Iterator[e.Entry]:
        """Entries without end until every part is done: one part an entry, mostly."""
        while True:
            self.minute += 1
            found = [o for o in offers(self.run, self.now) if o.ready]
            if not found:
                continue
            offer = found[self.chance.randrange(min(3, len(found)))]
            if offer.deed is Deed.CLOSE:
                return
            entry = self.keep(self.command(offer))
            if entry is not None:
                yield entry

    def command(self, offer: Offer) -> Command:
        """The command for one part of an offer, or for all of a step done together."""
        seen, step = self.run.n - 1, offer.step
        assert step is not None
        parts = offer.parts
        if not step.together:
            parts = (parts[self.chance.randrange(len(parts))],)
        match offer.deed:
            case Deed.LIFT:
                return c.Lift(parts, seen)
            case Deed.PUT_IN:
                return c.PutIn(step.id, parts, seen)
            case Deed.LATE:
                return c.FindLate(step.id, parts, seen)
            case Deed.ANSWER:
                code = offer.question.answers[-1].code if offer.question else ""
                return c.Settle(parts, seen, {p: offer.questions[p] for p in parts}, code, "so")
        typed = f"{Decimal(self.chance.randrange(1100, 4000)) / 100} mm"
        return c.Do(step.id, parts, seen, typed, "sound")
