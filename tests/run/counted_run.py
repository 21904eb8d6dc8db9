"""A run with tools counted out, given commands one after the other."""

from pathlib import Path

from benchrun.procedure.load import load
from benchrun.record.clock import VirtualClock
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Hand, Refusal
from benchrun.run.course import Course
from benchrun.run.decide import decide
from benchrun.run.fold import fold
from benchrun.run.state import Run

PAGE = Path(__file__).parents[1] / "rehearse" / "procedures" / "count-tools.yaml"
ANN = Hand("ann", "Ann Bench")
OUT = (
    e.ToolCount("press plate", 1, "ann", "2026-11-29T09:00:00.000Z"),
    e.ToolCount("drift", 2, "ann", "2026-11-29T09:00:00.000Z"),
)


def counted(plates, drifts):
    return (e.ToolCount("press plate", plates), e.ToolCount("drift", drifts))


class Bench:
    def __init__(self, out=OUT, about=()):
        self.procedure, self.clock = load(PAGE), VirtualClock("2026-11-29T09:01:00.000Z")
        self.run, self.entries = Run(Course(self.procedure.route)), []
        self.good(c.Open((e.PartSpec("a"),), dict(about), (), out))

    def give(self, command):
        data = decide(self.run, command, self.clock.now(), ANN)
        if not isinstance(data, Refusal):
            entry = e.Entry(self.run.n, self.clock.now(), ANN.id, data)
            self.entries.append(entry)
            self.run = fold(self.run, entry)
        return data

    def good(self, command):
        data = self.give(command)
        assert not isinstance(data, Refusal), data.text
        return data

    def to_the_count(self):
        for step in ("wipe-plate", "oil-bush", "press"):
            self.good(c.Do(step, ("a",), self.run.n - 1))
        return self

    def back(self, plates, drifts, reason=""):
        counts = counted(plates, drifts)
        return c.Do("tools-counted", ("a",), self.run.n - 1, reason=reason, tools_back=counts)
