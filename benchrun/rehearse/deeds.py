"""The lines of a script's `then`, one function for each thing that can happen."""

from collections.abc import Callable, Iterable, Mapping
from typing import Protocol

from benchrun.errors import BenchrunError
from benchrun.procedure.marked import Items, Map
from benchrun.procedure.phrases import time_span
from benchrun.procedure.route import Hold, Inspect, Reading, Step
from benchrun.rehearse.bench import RehearsalBench
from benchrun.rehearse.script import ScriptLine, tags_of
from benchrun.run import commands as c
from benchrun.run.commands import Command
from benchrun.run.entries import Did, NoticeEnd, PartSpec
from benchrun.run.offers import Deed, Offer, offers
from benchrun.run.state import Marker, Run
from benchrun.session import Reply


class Doer(Protocol):
    """Whoever does a step with what the script gives for it."""

    def do(self, step: Step, parts: tuple[str, ...], reason: str, vessel: str = "") -> Reply:
        """Do a step."""


class ScriptedDeeds:
    """Carries out lines on a bench."""

    def __init__(self, bench: RehearsalBench) -> None:
        self._bench = bench
        self._commands: Mapping[str, Callable[[ScriptLine], Command]] = {
            "put in": self._put_in,
            "lift": lambda x: c.Lift(self._which(x), self._seen, x.text("reason"), _ago(x)),
            "tell": lambda x: c.Tell(x.named, self._at_step(x), self._seen, x.text("reason")),
            "witness": lambda x: notice_ended(self._which(x), self._seen, x.more.get),
            "tend": lambda x: c.Tend(self._which(x), self._seen),
            "begin": lambda x: c.Begin(x.named, self._at_step(x), self._seen, x.text("reason")),
            "leave out": lambda x: c.Skip(x.named, self._at_step(x), self._seen, x.text("reason")),
            "raise": lambda x: c.Raise(x.tags(), self._seen, x.named),
            "settle": lambda x: c.FindLate(x.named, self._at_step(x), self._seen),
            "answer": self._answer,
            "aside": lambda x: self._put(x, "aside"),
            "scrap": lambda x: self._put(x, "scrap"),
            "into play": lambda x: self._put(x, "play"),
            "back to": lambda x: c.Put(x.tags(), self._seen, x.named, x.text("reason")),
            "got back": lambda x: c.GetBack(self._which(x), self._seen, x.text("reason")),
            "add": self._add,
            "correct": self._correct,
            "take back": self._take_back,
            "stop": lambda x: c.Stop(x.named),
            "resume": lambda x: c.Resume(x.text("reason")),
            "note": lambda x: c.KeepNote(x.named, x.text("at"), x.tags()),
            "lesson": lambda x: c.KeepLesson(x.named, x.text("at")),
        }
        self._acts: Mapping[str, Callable[[ScriptLine], None]] = {
            "hand over": self._hand_over,
            "wait": lambda x: self._bench.clock.wait(_ms(x)),
            "sleep": lambda x: self._bench.clock.sleep(_ms(x)),
            "restart": self._restart,
            "set clock": self._set_clock,
            "clock in step": lambda x: self._bench.clock.set_sync(x.named == "yes"),
            "come back": lambda x: self._bench.come_back(),
            "expect": self._expect,
        }

    def play(self, line: ScriptLine, doer: Doer) -> Reply | None:
        """Carry out one line; a command's reply, or None where there is none."""
        if line.act in self._acts:
            self._acts[line.act](line)
            self._bench.session.tick().result()
            return None
        if line.act == "do":
            return self._do(line, doer)
        if line.act == "waive":
            return self._waive(line)
        if line.act == "close":
            return self._bench.close(
                {part: line.text("reason") for part in self._run.parts if line.text("reason")}
            )
        return self._bench.send(self._commands[line.act](line))

    @property
    def _run(self) -> Run:
        return self._bench.session.run

    @property
    def _seen(self) -> int:
        return self._run.n - 1

    def _step(self, line: ScriptLine, name: str) -> Step:
        step = self._run.route.steps.get(name)
        if step is None:
            raise BenchrunError(f"{line.place}: the procedure has no step {name!r}")
        return step

    def _which(self, line: ScriptLine) -> tuple[str, ...]:
        return tags_of(line.what, line.place)

    def _at_step(self, line: ScriptLine) -> tuple[str, ...]:
        """The parts named, or all that stand at the step."""
        named = line.tags()
        return named or tuple(m.part for m in self._run.each() if self._stands(m, line.named))

    def _stands(self, marker: Marker, step: str) -> bool:
        op = self._run.route.step_at(marker.index)
        return marker.free and op is not None and op.step.id == step

    def _put_in(self, line: ScriptLine) -> Command:
        parts, reason = self._at_step(line), line.text("reason")
        vessel = line.text("in")
        self._bench.begin_first(self._step(line, line.named), parts, reason, vessel)
        return c.PutIn(line.named, parts, self._seen, reason, _ago(line), vessel=vessel)

    def _put(self, line: ScriptLine, to: str) -> Command:
        return c.Put(self._which(line), self._seen, to, line.text("reason"))

    def _do(self, line: ScriptLine, doer: Doer) -> Reply:
        step, parts = self._step(line, line.named), self._at_step(line)
        gives, reason = line.more.get("give", line.more.get("find")), line.text("reason")
        if gives is None and "seen" not in line.more:
            return doer.do(step, parts, reason, line.text("in"))
        given = "" if gives is None else str(gives)
        refused = None if "seen" in line.more else self._bench.begin_first(step, parts, reason)
        if refused is not None:
            return refused
        seen = line.number("seen", self._seen)
        if isinstance(step.detail, Hold):
            raise BenchrunError(f"{line.place}: a hold is given nothing, it is signed")
        typed = given if isinstance(step.detail, Reading) else ""
        finding = given if isinstance(step.detail, Inspect) else ""
        tool = self._bench.tool(step, parts[0], typed, line.text("with")) if parts else None
        vessel = line.text("in")
        command = c.Do(step.id, parts, seen, typed, finding, tool, reason, vessel=vessel)
        return self._bench.send(command)

    def _waive(self, line: ScriptLine) -> Reply:
        step, parts = self._step(line, line.named), self._at_step(line)
        if not isinstance(step.detail, Hold):
            raise BenchrunError(f"{line.place}: only a hold can be waived")
        command = c.Do(step.id, parts, self._seen, reason=line.text("reason"), waives=True)
        return self._bench.hold(command, step.detail)

    def _answer(self, line: ScriptLine) -> Command:
        why = line.text("question")
        asked = {m.part: _asked(m, why) for m in self._run.each()}
        parts = line.tags() or tuple(part for part, question in asked.items() if question)
        questions = {part: asked.get(part, "") for part in parts}
        return c.Settle(parts, self._seen, questions, line.named, line.text("reason"))

    def _add(self, line: ScriptLine) -> Command:
        waited = line.text("waited for", "yes") == "yes"
        spec = PartSpec(line.named, line.number("size", 1), kind=line.text("kind"))
        return c.Add(spec, line.text("at"), waited, line.text("reason"))

    def _correct(self, line: ScriptLine) -> Command:
        what = line.what
        if isinstance(what, Map) and isinstance(what.get("name"), str):
            return self._correct_name(line, what)
        if not isinstance(what, Map) or not isinstance(what.get("step"), str):
            raise BenchrunError(f"{line.place}: correct: {{step: …, part: …, to: …}} is needed")
        step, part = self._step(line, str(what["step"])), str(what.get("part", ""))
        to, place = str(what.get("to", "")), str(what.get("place", ""))
        n = self._last(step.id, part, place)
        finding = to if isinstance(step.detail, Inspect) else ""
        typed = "" if finding else to
        return c.Correct(n, part, line.text("reason"), typed, finding, place)

    def _correct_name(self, line: ScriptLine, what: Map) -> Command:
        """Correct what no step wrote: a figure, or the kind of a part."""
        name, part, to = (str(what.get(key, "")) for key in ("name", "part", "to"))
        figure = self._run.figures.get(name)
        if figure is not None:
            return c.Correct(figure.n, "", line.text("reason"), to, place=name)
        marker = self._run.markers.get(part)
        value = marker.values.get((name, "")) if marker is not None else None
        n = -1 if value is None else value.n
        return c.Correct(n, part, line.text("reason"), to, to, name)

    def _last(self, step: str, part: str, place: str) -> int:
        """The last entry that wrote a value of a part at a step."""
        for entry in reversed(self._bench.session.entries):
            data = entry.data
            if not isinstance(data, Did) or part not in data.parts:
                continue
            if (data.step, data.place) == (step, place):
                return entry.n
        return -1

    def _take_back(self, line: ScriptLine) -> Command:
        if line.named in ("", "last"):
            of = max(m.last for m in self._run.each())
        elif line.named.isascii() and line.named.isdigit():
            of = int(line.named)
        else:
            raise BenchrunError(f"{line.place}: take back: last, or the number of an entry")
        return c.Retract(of, self._seen, line.text("reason"))

    def _hand_over(self, line: ScriptLine) -> None:
        try:
            self._bench.hand_over(line.named)
        except BenchrunError as error:
            raise BenchrunError(f"{line.place}: {error.message}") from None

    def _set_clock(self, line: ScriptLine) -> None:
        self._bench.clock.step(_signed_ms(line))

    def _restart(self, line: ScriptLine) -> None:
        self._bench.clock.reboot(_ms(line), line.text("clock", "right") == "right")

    def _expect(self, line: ScriptLine) -> None:
        if not isinstance(line.what, Map):
            raise BenchrunError(f"{line.place}: expect: {{part: words}} is needed")
        for part, wanted in line.what.items():
            words = wanted if isinstance(wanted, Items) else [wanted]
            for word in words:
                if str(word) not in self.facts(part):
                    facts = ", ".join(sorted(self.facts(part)))
                    raise BenchrunError(f"{line.place}: {part}: {word!s} is not so; {facts}")

    def facts(self, part: str) -> frozenset[str]:
        """The state of a part, in the words that `expect` uses; of `run`, of the whole run."""
        run = self._run
        offered = _offered(offers(run, self._bench.session.now()), part)
        if part == "run":
            return frozenset({"stopped" if run.stopped else "going", "closed"[: 9 * run.ended]})
        marker = run.markers.get(part)
        if marker is None:
            return frozenset({"not there"})
        op = run.route.step_at(marker.index)
        found = {marker.status.value, f"questions {len(marker.questions)}"}
        end = marker.index + 1 == len(run.route.ops)
        found |= {f"at {op.step.id}"} if op else {"at the end" if end else "at a fork"}
        found |= {f"asked {question.ask.value}" for question in marker.questions}
        found |= {f"in {marker.soak.step}"} if marker.soak else {"in nothing"}
        found |= {f"load in {marker.load.vessel}"} if marker.load else {"of no load"}
        found |= {f"{step} × {len(made)}" for step, made in marker.coats.items()}
        found |= {f"pass {'.'.join(map(str, marker.passes))}"} if marker.passes else set()
        found |= {f"counted {edge} × {n}" for edge, n in marker.counts.items()}
        found |= {
            f"{v.name} = {v.number if v.number is not None else v.word}"
            for v in marker.values.values()
        }
        found |= {f"no {step} window" for step in run.route.steps if step not in marker.windows}
        return frozenset(found | offered | {f"{step} window" for step in marker.windows})


def notice_ended(parts: tuple[str, ...], seen: int, given: Callable[[str], object]) -> c.EndNotice:
    """The command that ends a witness point by what a script gives; nothing: the notice ran out.

    Args:
        parts: For which parts.
        seen: The last entry that was seen.
        given: What stands under a key: `came`, `not coming`, `for`.
    """
    behalf = str(given("for") or "")
    for end in (NoticeEnd.CAME, NoticeEnd.NOT_COMING):
        name = given(end.value)
        if name is not None:
            return c.EndNotice(parts, seen, end, str(name), behalf)
    return c.EndNotice(parts, seen, NoticeEnd.RAN_OUT)


def _offered(found: Iterable[Offer], part: str) -> set[str]:
    """The offers to a part: `may do coat`, `waits: too soon, 5 min to go`."""
    mine = [offer for offer in found if part in offer.parts and offer.deed is not Deed.CLOSE]
    ready = {
        f"may {offer.deed.value}{f' {offer.step.id}' if offer.step else ''}"
        for offer in mine
        if offer.ready
    }
    return ready | {f"waits: {offer.why}" for offer in mine if not offer.ready}


def _ms(line: ScriptLine) -> int:
    return _span(line, line.named)


def _signed_ms(line: ScriptLine) -> int:
    text = line.named.strip()
    sign = -1 if text.startswith("-") else 1
    return sign * _span(line, text.lstrip("+- "))


def _ago(line: ScriptLine) -> int:
    text = line.text("ago")
    return _span(line, text) if text else 0


def _span(line: ScriptLine, text: str) -> int:
    try:
        return time_span(text)
    except ValueError as error:
        raise BenchrunError(f"{line.place}: {error}") from None


def _asked(marker: Marker, why: str) -> str:
    """The first open question of a part, or the first that was asked for a reason; else empty."""
    return next((q.id for q in marker.questions if not why or q.ask.value == why), "")
