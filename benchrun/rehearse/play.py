"""Playing a script: first offers by themselves, and the lines of `then` one after the other."""

import shutil
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

from benchrun.dialogue.acts import command_at_once
from benchrun.errors import BenchrunError
from benchrun.procedure.load import load
from benchrun.procedure.marked import Items, Map
from benchrun.procedure.phrases import time_span
from benchrun.procedure.route import Hold, Inspect, Reading, Step
from benchrun.rehearse.bench import RehearsalBench
from benchrun.rehearse.deeds import ScriptedDeeds
from benchrun.rehearse.script import Script, ScriptLine, Words, read_script
from benchrun.rehearse.throwaway import throwaway
from benchrun.run import commands as c
from benchrun.run.commands import Refusal
from benchrun.run.decide import unfinished
from benchrun.run.offers import Deed, Offer, offers
from benchrun.run.state import Run
from benchrun.session import Kept, Reply
from benchrun.shop.folder import shipped
from benchrun.text import shown

USUAL_MS: Final = 60_000
MOST_ACTS: Final = 20_000
_AS_SCRIPTED: Final = "as the script says"


def rehearse(procedure: Path, answers: Path, out: Path) -> str:
    """Rehearse a procedure by a script; `out` becomes the run's folder.

    Args:
        procedure: The procedure's file.
        answers: The script's file.
        out: A folder that is not there yet, or empty.

    Returns:
        A line that says how it ended.

    Raises:
        BenchrunError: The script cannot be read, asks for what the rules refuse, or leaves a
            question without an answer.
    """
    script = read_script(answers)
    loaded = load(procedure)
    if script.procedure != loaded.id:
        raise BenchrunError(
            f"{script.name} rehearses {script.procedure}, not {loaded.id}: give its own answers"
        )
    for step, place in script.steps:
        if step not in loaded.route.steps:
            raise BenchrunError(f"{place}: {loaded.id} has no step {shown(step, 40)!r}")
    if out.exists() and (not out.is_dir() or any(out.iterdir())):
        raise BenchrunError(f"{shown(str(out), 200)} is there already: name a new folder")
    with throwaway("rehearsal") as folder:
        bench = RehearsalBench(folder / "shop", loaded, script)
        player = Player(bench, script)
        try:
            player.play()
        finally:
            player.leave()
        if out.exists():
            out.rmdir()
        shutil.copytree(bench.session.folder.path, out)
    run = bench.session.run
    ending = "closed" if run.ended else "left open"
    return f"{loaded.id}, {script.path}: {ending} after {run.n} entries, in {shown(str(out), 200)}"


@dataclass(slots=True)
class Player:
    """Plays one script on one bench."""

    bench: RehearsalBench
    script: Script
    acts: int = 0
    others: dict[str, "Player"] = field(default_factory=dict)
    rest: Iterator[None] | None = None

    def play(self) -> None:
        """Play the script to its end."""
        for _ in self._lines():
            continue  # what is left is taken up again at once

    def leave(self) -> None:
        """Leave the run, and those that were played beside it."""
        for other in self.others.values():
            other.leave()
        self.bench.session.leave()

    def _other(self, line: ScriptLine) -> None:
        """Play another script in the same shop and time, to its next `leave` or its end."""
        if line.named not in self.others:
            script = read_script(self.script.home / line.named)
            own = self.script.home / f"{script.procedure}.yaml"
            place = own if own.is_file() else shipped("procedures") / own.name
            self.others[line.named] = Player(self.bench.beside(load(place), script), script)
        other = self.others[line.named]
        other.rest = other.rest or other._lines()
        next(other.rest, None)

    def _lines(self) -> Iterator[None]:
        """Play line by line; what comes of it is nothing, but at `leave` it rests."""
        if not self.script.then:
            self._on("")
            return
        deeds = ScriptedDeeds(self.bench)
        for line in self.script.then:
            if line.act == "to the end":
                self._on("")
            elif line.act == "leave":
                yield
            elif line.act == "other run":
                self._other(line)
            elif line.act == "to":
                if line.named not in self._run.route.steps:
                    raise BenchrunError(f"{line.place}: there is no step {line.named!r} to go to")
                self._on(line.named)
            else:
                reply = deeds.play(line, self)
                _as_expected(line, reply)
                if reply is not None:
                    self.bench.clock.wait(1000)

    @property
    def _run(self) -> Run:
        return self.bench.session.run

    def _on(self, until: str) -> None:
        """Take first offers until some part stands at a step, or until the run is closed."""
        used: dict[str, int] = {}
        while not self._run.ended:
            self.acts += 1
            if self.acts > MOST_ACTS:
                raise BenchrunError(f"{self.script.name}: the run does not come to an end")
            found = offers(self._run, self.bench.session.now())
            if until and any(_stands_ready(offer, until) for offer in found):
                return
            self._take(found, used)

    def _take(self, found: tuple[Offer, ...], used: dict[str, int]) -> None:
        ready = [offer for offer in found if offer.ready and not self._stays(offer)]
        if not ready and not any(offer.deed is not Deed.CLOSE for offer in found):
            self._good(self.bench.close(_reasons(self._run, self.script)))
            return
        if not ready:
            self._wait(found)
            return
        offer = ready[0]
        self._good(self._act(offer, used))
        takes = self.script.takes.get(offer.step.id) if offer.step else None
        self.bench.clock.wait(USUAL_MS if takes is None else takes)
        self.bench.session.tick().result()

    def _wait(self, found: tuple[Offer, ...]) -> None:
        waits = [offer.wait_ms for offer in found if offer.wait_ms is not None]
        stays = [self._left(offer) for offer in found if offer.deed is Deed.LIFT]
        ends = [ms for ms in (*waits, *stays) if ms is not None and ms > 0]
        if not ends:
            said = "; ".join(f"{o.deed.value}: {o.why}" for o in found) or "nothing"
            raise BenchrunError(f"{self.script.name}: nothing can be done: {shown(said, 300)}")
        self.bench.clock.wait(min(ends))
        self.bench.session.tick().result()
        self._lift_due()

    def _lift_due(self) -> None:
        """Lift what the script wants out early, or what comes back from where it was sent."""
        for offer in offers(self._run, self.bench.session.now()):
            if offer.deed is Deed.LIFT and not offer.ready and self._wanted(offer) is not None:
                left = self._left(offer)
                if left is not None and left <= 0:
                    self._good(self.bench.send(c.Lift(offer.parts, self._run.n - 1)))
                    return

    def _wanted(self, offer: Offer) -> int | None:
        text = self.script.given.get(offer.step.id) if offer.step else None
        return time_span(text) if isinstance(text, str) else None

    def _left(self, offer: Offer) -> int | None:
        wanted, clock = self._wanted(offer), offer.clock
        if clock is None:
            return None
        if wanted is None:
            return max(0, clock.to_least) if offer.ready else None
        return wanted - clock.spent.proven_ms

    def _stays(self, offer: Offer) -> bool:
        """Whether the script wants parts to stay in a vessel for longer."""
        if offer.deed is not Deed.LIFT:
            return False
        left = self._left(offer)
        return left is not None and left > 0

    def _act(self, offer: Offer, used: dict[str, int]) -> Reply:
        seen, step = self._run.n - 1, offer.step
        if offer.deed is Deed.CLOSE:
            return self.bench.close(_reasons(self._run, self.script))
        if offer.deed is Deed.ANSWER:
            return self._answer(offer, used)
        if offer.deed is Deed.DO and step is not None:
            return self.do(step, offer.parts, "")
        command = command_at_once(offer, offer.parts, seen)
        if command is None:
            raise BenchrunError(f"{self.script.name}: {offer.deed.value} asks something")
        return self.bench.send(command)

    def do(self, step: Step, parts: tuple[str, ...], reason: str, vessel: str = "") -> Reply:
        """Do a step with what the script gives for it."""
        seen = self._run.n - 1
        command = c.Do(step.id, parts, seen, reason=reason, sure=True, vessel=vessel)
        match step.detail:
            case Hold() as detail:
                return self.bench.hold(command, detail)
            case Reading():
                parts = parts if step.shared else parts[:1]
                typed = self._reading(step, parts[0])
                tool = self.bench.tool(step, parts[0], typed)
                if tool is not None and tool.misgivings:
                    command = replace(command, reason=reason or _AS_SCRIPTED)
                return self.bench.send(replace(command, parts=parts, typed=typed, tool=tool))
            case Inspect() as detail:
                return self._inspect(step, detail, command)
        return self.bench.send(command)

    def _reading(self, step: Step, part: str) -> str:
        given = self._given(step, part)
        marker = self._run.markers[part]
        ops = self._run.course.ops_of(step.id)
        at = marker.index if marker.index in ops else ops[0]
        if isinstance(given, Items):
            # As many as there are places is once round them; more go on with the next time.
            place, times = at - ops[0], self._seen(step, part) // len(ops)
            rounds = max(1, len(given) // len(ops))
            given = given[min(min(times, rounds - 1) * len(ops) + place, len(given) - 1)]
        if not isinstance(given, str):
            raise BenchrunError(f"{self.script.name}: `given` for {step.id} needs a reading")
        return given

    def _given(self, step: Step, part: str) -> Words:
        given = self.script.given.get(step.id)
        if isinstance(given, Map):
            given = given.get(part)
        if given is None:
            raise BenchrunError(
                f"{self.script.name}: step {step.id} of {part} has nothing under `given`"
            )
        return given

    def _inspect(self, step: Step, detail: Inspect, command: c.Do) -> Reply:
        if step.id not in self.script.given:
            found = dict.fromkeys(command.parts, detail.findings[0].name)
        else:
            found = {part: self._found(step, part) for part in command.parts}
        first = found[command.parts[0]]
        parts = tuple(part for part in command.parts if found[part] == first)
        return self.bench.send(replace(command, parts=parts, finding=first))

    def _found(self, step: Step, part: str) -> str:
        """The finding at an inspection; of a list, one more each time the part is looked at."""
        given = self._given(step, part)
        if isinstance(given, Items):
            given = given[min(self._seen(step, part), len(given) - 1)]
        return str(given)

    def _seen(self, step: Step, part: str) -> int:
        """How often a part did a step already, each place counted."""
        return sum(
            1
            for entry in self.bench.session.entries
            if entry.kind == "do"
            and getattr(entry.data, "step", "") == step.id
            and part in getattr(entry.data, "parts", ())
        )

    def _answer(self, offer: Offer, used: dict[str, int]) -> Reply:
        question, step = offer.question, offer.step
        if question is None or step is None:
            raise BenchrunError(f"{self.script.name}: a question without words")
        codes = self.script.answers.get(step.id)
        if codes is None:
            takes = ", ".join(answer.code for answer in question.answers)
            raise BenchrunError(
                f"{self.script.name}: no answer under `answers` for {step.id}: "
                f"{question.says} It takes {takes}"
            )
        count = used.get(step.id, 0)
        used[step.id] = count + 1
        code = codes[min(count, len(codes) - 1)] if isinstance(codes, Items) else codes
        return self.bench.send(
            c.Settle(
                offer.parts,
                self._run.n - 1,
                offer.questions,
                str(code),
                reason=_AS_SCRIPTED,
            )
        )

    def _good(self, reply: Reply) -> None:
        if isinstance(reply, Refusal):
            raise BenchrunError(f"{self.script.name}: refused: {reply.text}")


def _reasons(run: Run, script: Script) -> Mapping[str, str]:
    return {part: script.reasons.get(part, "") for part in unfinished(run)}


def _stands_ready(offer: Offer, step: str) -> bool:
    at = offer.step is not None and offer.step.id == step
    return at and offer.deed in (Deed.DO, Deed.PUT_IN, Deed.LATE, Deed.ANSWER)


def _as_expected(line: ScriptLine, reply: Reply | None) -> None:
    words = line.text("refused")
    if isinstance(reply, Refusal):
        if not words:
            raise BenchrunError(f"{line.place}: refused: {reply.text}")
        if words.lower() not in reply.text.lower():
            raise BenchrunError(
                f"{line.place}: refused in other words than {shown(words, 80)!r}: {reply.text}"
            )
    elif words and isinstance(reply, Kept):
        raise BenchrunError(f"{line.place}: this was taken; it should be refused: {words}")
