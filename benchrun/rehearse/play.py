"""Playing a script: first offers by themselves, and the lines of `then` one after the other."""

import re
import shutil
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import field, replace
from pathlib import Path
from typing import Final

from benchrun.carried_runs import runs_that_carried_out
from benchrun.dialogue.acts import command_at_once
from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.part_names import part_names
from benchrun.procedure.load import load
from benchrun.procedure.marked import Items, Map
from benchrun.procedure.phrases import time_span
from benchrun.procedure.route import Guard, Hold, Inspect, Procedure, Reading, Step, Tail
from benchrun.rehearse.bench import AS_SCRIPTED, RehearsalBench
from benchrun.rehearse.deeds import ScriptedDeeds, notice_ended
from benchrun.rehearse.script import Script, ScriptLine, Words, read_script
from benchrun.rehearse.throwaway import throwaway
from benchrun.run import commands as c
from benchrun.run.commands import Refusal
from benchrun.run.decide import unfinished
from benchrun.run.offers import Deed, Offer, offers
from benchrun.run.state import Question, Run
from benchrun.session import Kept, Reply, Session
from benchrun.shop.folder import shipped
from benchrun.text import listed, shown

USUAL_MS: Final = 60_000
AT_ONCE_MS: Final = 1_000
MOST_ACTS: Final = 20_000
_PASS: Final = re.compile(r"pass [1-9][0-9]{0,2}")
_PROCEDURE: Final = re.compile(r"^procedure:", re.MULTILINE)
_AT_STEP: Final = (Deed.BEGIN, Deed.DO, Deed.PUT_IN, Deed.TELL, Deed.LATE, Deed.ANSWER)


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
    loaded = load(procedure)
    script = script_for(loaded, answers)
    if out.exists() and (not out.is_dir() or any(out.iterdir())):
        raise BenchrunError(f"{shown(str(out), 200)} is there already: name a new folder")
    session = played(loaded, script, out)
    run = session.run
    ending = "closed" if run.ended else "left open"
    return f"{loaded.id}, {script.path}: {ending} after {run.n} entries, in {shown(str(out), 200)}"


def script_for(procedure: Procedure, answers: Path) -> Script:
    """Read a script that must fit a procedure.

    Raises:
        BenchrunError: It cannot be read, rehearses another one, or names a step that is not there.
    """
    script = read_script(answers)
    if script.procedure != procedure.id:
        raise BenchrunError(
            f"{script.name} rehearses {script.procedure}, not {procedure.id}: give its own answers"
        )
    route = procedure.route
    forks = {op.key for op in route.ops if isinstance(op, Guard | Tail)}
    for key, name, place in script.steps:
        if name not in route.steps and (key != "answers" or name not in forks):
            raise BenchrunError(f"{place}: {procedure.id} has no step {shown(name, 40)!r}")
    lines = {line.text for line in route.close_lines}
    for text in script.not_done:
        if text not in lines:
            raise BenchrunError(f"{script.name}: the close has no line {shown(text, 80)!r}")
    return script


def played(procedure: Procedure, script: Script, out: Path | None) -> Session:
    """Play a script to its end; the session that it leaves behind.

    Args:
        procedure: The procedure.
        script: A script that fits it.
        out: Where the run's folder is copied to, also where the script fails; None keeps nothing.

    Raises:
        BenchrunError: The rules refuse something, or a query has no answer; says when and where.
    """
    with throwaway("rehearsal") as folder:
        bench = RehearsalBench(folder / "shop", procedure, script)
        player = Player(bench, script)
        try:
            player.play()
        except BenchrunError as error:
            kept = f"; the log until then is in {shown(str(out), 200)}" if out else ""
            raise BenchrunError(f"{error.message} - {player.whereabouts()}{kept}") from None
        finally:
            player.leave()
            if out is not None:
                if out.exists():
                    out.rmdir()
                shutil.copytree(bench.session.folder.path, out)
        return bench.session


@lean_dataclass(slots=True)
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

    def whereabouts(self) -> str:
        """The time in the rehearsal, and where each part stands then."""
        now, run = self.bench.session.now(), self._run
        places: dict[str, list[str]] = {}
        for marker in run.each():
            op = run.route.step_at(marker.index)
            places.setdefault(op.step.id if op else "a fork", []).append(marker.part)
        stand = listed([f"{part_names(parts)} at {step}" for step, parts in places.items()])
        return f"{now.utc[:16].replace('T', ' ')} in the rehearsal, {stand}"

    def leave(self) -> None:
        """Leave the run, and those that were played beside it."""
        for other in self.others.values():
            other.leave()
        self.bench.session.leave()

    def _other(self, line: ScriptLine) -> None:
        """Play another script in the same shop and time, to its next `leave` or its end."""
        if line.named not in self.others:
            script = read_script(self.script.home / line.named)
            place = _procedure_of(script)
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
                _as_expected(line, reply, self._run)
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
        takes = AT_ONCE_MS if offer.deed is Deed.BEGIN else takes
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
            if offer.deed is Deed.WITNESS and self._comes(offer):
                self._good(self._act(offer, {}))
                return
            if offer.deed is Deed.LIFT and not offer.ready and self._wanted(offer) is not None:
                left = self._left(offer)
                if left is not None and left <= 0:
                    self._good(self.bench.send(c.Lift(offer.parts, self._run.n - 1)))
                    return

    def _comes(self, offer: Offer) -> bool:
        """Whether the script says that somebody comes, or sends word, before the notice is over."""
        given = self.script.given.get(offer.step.id) if offer.step else None
        return not offer.ready and isinstance(given, Map)

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
        if step is not None and offer.figures:
            self.bench.type_figures(step.id)
            offer, seen = replace(offer, figures=()), self._run.n - 1
        if offer.deed is Deed.WITNESS and step is not None:
            return self.bench.send(self._witness(step, offer.parts))
        command = command_at_once(offer, offer.parts, seen)
        if command is None:
            raise BenchrunError(f"{self.script.name}: {offer.deed.value} asks something")
        return self.bench.send(command)

    def _witness(self, step: Step, parts: tuple[str, ...]) -> c.EndNotice:
        """How a witness point ends: as the script says, else the notice runs out."""
        given = self.script.given.get(step.id)
        words = {key: str(value) for key, value in given.items()} if isinstance(given, Map) else {}
        return notice_ended(parts, self._run.n - 1, words.get)

    def do(self, step: Step, parts: tuple[str, ...], reason: str, vessel: str = "") -> Reply:
        """Do a step with what the script gives for it."""
        self.bench.type_figures(step.id)
        refused = self.bench.begin_first(step, parts, reason, vessel)
        if refused is not None:
            return refused
        seen = self._run.n - 1
        command = c.Do(step.id, parts, seen, reason=reason, vessel=vessel)
        if step.carries_out:
            return self._carried_out(step, command)
        if step.counts_back:
            return self._counted_back(command)
        match step.detail:
            case Hold() as detail:
                return self.bench.hold(command, detail)
            case Reading():
                parts = parts if step.shared else parts[:1]
                typed = self._reading(step, parts[0])
                tool = self.bench.tool(step, parts[0], typed)
                if tool is not None and tool.misgivings:
                    command = replace(command, reason=reason or AS_SCRIPTED)
                return self.bench.send(replace(command, parts=parts, typed=typed, tool=tool))
            case Inspect() as detail:
                return self._inspect(step, detail, command)
        return self.bench.send(command)

    def _carried_out(self, step: Step, command: c.Do) -> Reply:
        """Name the newest run of the shop that carried the procedure out, where there is one."""
        runs = runs_that_carried_out(self.bench.session.shop, step, command.parts)
        if not runs:
            reason = command.reason or AS_SCRIPTED
            return self.bench.send(replace(command, reason=reason))
        held = tuple(part for part in command.parts if part in runs[0].parts)
        return self.bench.send(replace(command, parts=held, carried=runs[0]))

    def _counted_back(self, command: c.Do) -> Reply:
        back, short = self.bench.tools_back()
        reason = command.reason or short
        return self.bench.send(replace(command, tools_back=back, reason=reason))

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
        while isinstance(given, Map):
            by_pass = bool(given) and all(map(_PASS.fullmatch, given))
            given = self._of_pass(given, part) if by_pass else given.get(part)
        if given is None:
            raise BenchrunError(
                f"{self.script.name}: step {step.id} of {part} has nothing under `given`"
            )
        return given

    def _of_pass(self, given: Map, part: str) -> Words:
        """The words given for the pass of a part; for one beyond those named, as for the last."""
        passes = self._run.markers[part].passes
        counts = sorted(int(key.removeprefix("pass ")) for key in given)
        here = [count for count in counts if count <= (passes[-1] if passes else 1)]
        return given[f"pass {here[-1] if here else counts[0]}"]

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
        name = self._asked_by(question, step)
        code = self._code(name, question, used)
        if question.answer(code) is None:
            # The procedure does not let it follow: it is a deviation, as at the bench.
            put = c.Put(offer.parts, self._run.n - 1, code, reason=AS_SCRIPTED)
            return self.bench.send(put)
        settle = c.Settle(offer.parts, self._run.n - 1, offer.questions, code, reason=AS_SCRIPTED)
        return self.bench.send(settle)

    def _code(self, name: str, question: Question, used: dict[str, int]) -> str:
        """The answer that the script gives to a query; of a list, the next one."""
        codes = self.script.answers.get(name)
        takes = ", ".join(answer.code for answer in question.answers)
        if codes is None:
            raise BenchrunError(
                f"{self.script.name}: no answer under `answers` for {name}: "
                f"{question.says} It takes {takes}"
            )
        count = used.get(name, 0)
        used[name] = count + 1
        code = codes[min(count, len(codes) - 1)] if isinstance(codes, Items) else codes
        if str(code) != "aside" and question.answer(str(code)) is None:
            raise BenchrunError(
                f"{self.script.name}: {name} does not take {shown(str(code), 40)!r}; it takes "
                f"{takes}"
            )
        return str(code)

    def _asked_by(self, question: Question, step: Step) -> str:
        """The name under which a query is answered: that of its repeat or choice, or of its step.

        One that was given no name is answered under its step, and so is one that the script does
        not name.
        """
        op = self._run.route.ops[question.index]
        if not isinstance(op, Guard | Tail):
            return step.id
        answers = self.script.answers
        named = isinstance(op, Tail) and step.id not in answers
        return op.key if named or op.key in answers else step.id

    def _good(self, reply: Reply) -> None:
        if isinstance(reply, Refusal):
            raise BenchrunError(f"{self.script.name}: refused: {reply.text}")


def _procedure_of(script: Script) -> Path:
    """The procedure that a script rehearses: the one beside it, or else the one that ships.

    Scripts are named after their procedures, so that a file of that name may be a script itself.
    """
    own = script.home / f"{script.procedure}.yaml"
    with suppress(OSError, UnicodeError):
        if _PROCEDURE.search(own.read_text(encoding="utf-8")):
            return own
    return shipped("procedures") / own.name


def _reasons(run: Run, script: Script) -> Mapping[str, str]:
    return {part: script.reasons.get(part, "") for part in unfinished(run)}


def _takes(line: ScriptLine, run: Run) -> str:
    """The answers that open queries would take, where an answer was refused."""
    if line.act != "answer":
        return ""
    asked = {
        f"{question.step} takes {', '.join(answer.code for answer in question.answers)}"
        for marker in run.each()
        for question in marker.questions
    }
    return f" {'; '.join(sorted(asked)) or 'no query is open'}"


def _stands_ready(offer: Offer, step: str) -> bool:
    at = offer.step is not None and offer.step.id == step
    return at and offer.deed in _AT_STEP


def _as_expected(line: ScriptLine, reply: Reply | None, run: Run) -> None:
    words = line.text("refused")
    if isinstance(reply, Refusal):
        if not words:
            raise BenchrunError(f"{line.place}: refused: {reply.text}{_takes(line, run)}")
        if words.lower() not in reply.text.lower():
            raise BenchrunError(
                f"{line.place}: refused in other words than {shown(words, 80)!r}: {reply.text}"
            )
    elif words and isinstance(reply, Kept):
        raise BenchrunError(f"{line.place}: this was taken; it should be refused: {words}")
