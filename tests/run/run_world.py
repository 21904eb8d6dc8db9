"""A run in a world of its own: a true clock, machines that reboot, people who err, all checks."""

import json
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import run_checks
from random_routes import Pick

from benchrun.moment import Mark, Moment, utc_ms
from benchrun.procedure.route import Dwell, Hold, Inspect, Reading, Route, Step
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Command, Hand, Refusal
from benchrun.run.course import Course
from benchrun.run.decide import decide, unfinished
from benchrun.run.fold import fold
from benchrun.run.holds import hold_from
from benchrun.run.offers import Deed, Offer, offers
from benchrun.run.run_figures import missing_figures
from benchrun.run.state import GO_ON, Marker, Run, Status
from benchrun.run.tool_counts import tools_to_count
from benchrun.run.witnessing import notice_left, waits_for_witness

PEOPLE = (Hand("ann", "Ann", frozenset({"smith"})), Hand("bo", "Bo"))
SIGNER = Hand("cy", "Cy", frozenset({"smith"}))
EPOCH_MS = 1_770_000_000_000


def entry_of(line):
    """An entry from a line of a log."""
    at = line["at"]
    moment = Moment(utc_ms(at["utc"]), at["up_ms"], at["boot"], at["sync"])
    return e.Entry(line["n"], moment, line["by"], e.read_data(line["kind"], line["data"]))


@dataclass(slots=True)
class TrueClock:
    """True time, and what a machine makes of it."""

    true_ms: int = 0
    boot: int = 0
    began: list[int] = field(default_factory=lambda: [-90_000])
    error_ms: int = 0
    sync: bool = True

    def now(self) -> Moment:
        """The moment as the machine tells it."""
        wall = EPOCH_MS + self.true_ms + (0 if self.sync else self.error_ms)
        return Moment(wall, self.true_ms - self.began[self.boot], f"boot-{self.boot}", self.sync)

    def true_of(self, mark: Mark) -> int:
        """The true time of a mark."""
        return self.began[int(mark.boot.removeprefix("boot-"))] + mark.up_ms

    def reboot(self, off_ms: int) -> None:
        """Another boot, with the power off for a time."""
        self.true_ms += off_ms
        self.began.append(self.true_ms)
        self.boot = len(self.began) - 1

    def other_machine(self) -> None:
        """Go on at a machine that has been up for longer, or back at an older boot."""
        if self.boot and not self.boot % 2:
            self.boot -= 1
        else:
            self.began.append(self.true_ms - 3_600_000)
            self.boot = len(self.began) - 1


class World:
    """Carries commands out on a run and checks the properties at every entry.

    Args:
        route: The procedure.
        sizes: The sizes of the parts.

    Attributes:
        begun: How many runs were begun in this process.
    """

    begun = 0

    def __init__(self, route: Route, sizes: Sequence[int]) -> None:
        World.begun += 1
        self.clock = TrueClock()
        self.course = Course(route)
        self.run = Run(self.course)
        self.entries: list[e.Entry] = []
        self.lines: list[str] = []
        self.hand = PEOPLE[0]
        self.last: Command | None = None
        specs = tuple(self.spec(n, size) for n, size in enumerate(sizes))
        known = self.course.figures_at_begin()
        figures = tuple(e.FigureSpec(name, self.figure_text(name, sum(sizes))) for name in known)
        counted = any(step.counts_back for step in route.steps.values())
        tools = (e.ToolCount("drift", 1), e.ToolCount("wedge", 2)) if counted else ()
        assert self.give(c.Open(specs, figures=figures, tools_out=tools)) is not None

    @property
    def seen(self) -> int:
        return self.run.n - 1

    def give(self, command: Command) -> e.Data | None:
        """Give a command; what it became, or None when it was refused."""
        run, at = self.run, self.clock.now()
        held = run_checks.content(run)
        decided = decide(run, command, at, self.hand)
        if isinstance(decided, Refusal):
            run_checks.refusal(decided)
            return None
        entry = e.Entry(run.n, at, self.hand.id, decided)
        self._keep(entry)
        assert run_checks.content(run) == held
        run_checks.entry(run, self.run, entry, self.hand)
        if isinstance(decided, e.Did | e.Closed) and decided.says and self.run.unsigned:
            before = self.run
            signed = decide(before, c.SignOff("ann@shop", "sig"), at, self.hand)
            assert isinstance(signed, e.Signed)
            self._keep(e.Entry(before.n, at, self.hand.id, signed))
            run_checks.changed_only(before, self.run, signed.parts)
        run_checks.twice(self.run, command, self.clock.now(), self.hand)
        run_checks.state(self.run)
        self.last = command
        return decided

    def _keep(self, entry: e.Entry) -> None:
        line = {"n": entry.n, "at": entry.at.as_data(), "by": entry.by, "kind": entry.kind}
        self.lines.append(json.dumps(line | {"data": e.data_of(entry.data)}))
        before, self.run = self.run, fold(self.run, entry)
        run_checks.met_the_last_hold(before, self.run, entry, self.hand)
        run_checks.begun_before(before, entry.data)
        self.entries.append(entry)

    def spec(self, n: int, size: int) -> e.PartSpec:
        """The part of a number; its kind, where there are any, follows from number and size."""
        kinds = tuple(self.course.route.kinds)
        return e.PartSpec(f"p{n}", size, kind=kinds[(n + size) % len(kinds)] if kinds else "")

    def figure_text(self, name: str, number: int) -> str:
        """What is typed for a figure; nothing, at times, where the run may go on without it."""
        figure = self.course.route.figures[name]
        if figure.optional and not number % 4:
            return ""
        return f"{1 + number % 19} {figure.unit}"

    def type_figures(self, step: Step, pick: Pick) -> None:
        """Type the figures that a step needs, as a face asks for them first."""
        for figure in missing_figures(self.run, self.run.route.index[step.id]):
            typed = self.figure_text(figure.name, pick(40))
            assert self.give(c.KeepFigure(e.FigureSpec(figure.name, typed))) is not None

    # -- what is on offer ---------------------------------------------------------------------

    def offered(self) -> tuple[Offer, ...]:
        """What is on offer now, checked."""
        found = offers(self.run, self.clock.now())
        run_checks.offered(self.run, found)
        return found

    def take(self, offer: Offer, parts: tuple[str, ...], pick: Pick, reason: str = "") -> None:
        """Take an offer, for some of its parts; one that is ready as it stands must be taken."""
        if offer.figures and offer.step is not None:
            self.type_figures(offer.step, pick)  # what is on offer then, the next look says
            return
        command = self.command_for(offer, parts, pick, reason)
        if command is None:
            return
        # A waiver is not what is offered: it wants a reason.
        other = isinstance(command, c.Settle) or (isinstance(command, c.Do) and command.waives)
        whole = parts == offer.parts and offer.ready and not other
        became = self.give(command)
        if whole and became is None:
            run_checks.refused_though_ready(self.run, command, self.clock.now(), self.hand)

    def command_for(
        self, offer: Offer, parts: tuple[str, ...], pick: Pick, reason: str = ""
    ) -> Command | None:
        """The command that takes an offer; a new load goes into the vessel that it is offered."""
        command = self._command_for(offer, parts, pick, reason)
        if isinstance(command, c.Do | c.PutIn | c.Tell) and offer.vessel and not offer.has_vessel:
            return replace(command, vessel=offer.vessel if pick(3) else "")
        return command

    def _command_for(
        self, offer: Offer, parts: tuple[str, ...], pick: Pick, reason: str
    ) -> Command | None:
        step = offer.step
        if offer.deed is Deed.WITNESS:
            return end_notice(self.run, parts, self.clock.now(), pick)
        match offer.deed:
            case Deed.LIFT:
                return c.Lift(parts, self.seen, reason)
            case Deed.TEND:
                return c.Tend(parts, self.seen)
            case Deed.ANSWER:
                return self.answer(offer, parts, pick)
            case Deed.GET_BACK:
                return c.GetBack(parts, self.seen)
            case Deed.RESUME:
                return c.Resume()
            case Deed.CLOSE:
                return None
        assert step is not None
        if offer.deed is Deed.LATE:
            return c.FindLate(step.id, parts, self.seen)
        starts = {Deed.BEGIN: c.Begin, Deed.TELL: c.Tell, Deed.PUT_IN: c.PutIn}
        if offer.deed in starts:
            return starts[offer.deed](step.id, parts, self.seen, reason)
        return self.do(step, parts, pick, reason)

    def answer(self, offer: Offer, parts: tuple[str, ...], pick: Pick) -> Command | None:
        """An answer to an offered question, any of those that it takes."""
        if offer.question is None:
            return None
        answers = offer.question.answers
        code = answers[pick(len(answers))].code if answers else GO_ON
        ids = {part: offer.questions[part] for part in parts}
        return c.Settle(parts, self.seen, ids, code, "because")

    def do(self, step: Step, parts: tuple[str, ...], pick: Pick, reason: str = "") -> Command:
        """A do of a step, with something given."""
        command = c.Do(step.id, parts, self.seen, reason=reason)
        if step.carries_out:
            return replace(command, carried=self.carried(step, parts, pick))
        if step.counts_back:
            lacking = bool(reason) and not pick(4)
            back = (replace(one, number=one.number - lacking) for one in self.run.tools_out)
            return replace(command, tools_back=tuple(back))
        match step.detail:
            case Reading():
                some = parts if step.shared else parts[:1]
                tool = e.Tool("bore gauge", "0.5") if not pick(4) else None
                return replace(command, parts=some, typed=f"{1 + pick(19)} mm", tool=tool)
            case Inspect():
                found = step.detail.findings[min(pick(5), 2) if pick(2) else 0]
                return replace(command, finding=found.name)
            case Hold() as hold:
                if pick(8):
                    self.hand = self._signer(hold, parts)
                return replace(command, reason=reason, waives=hold.waivable and not pick(8))
        return command

    def _signer(self, hold: Hold, parts: tuple[str, ...]) -> Hand:
        """Somebody who may sign a hold for these parts: somebody new where all have worked."""
        now = self.clock.now()
        new = Hand(f"dee{self.run.n}", "Dee", frozenset({hold.role} if hold.role else ()))
        return next(
            hand
            for hand in (*PEOPLE, SIGNER, new)
            if (not hold.role or hold.role in hand.roles)
            and all(
                hold_from(self.run, hold, part, now, hand) == 0
                for part in parts
                if part in self.run.markers
            )
        )

    def carried(self, step: Step, parts: tuple[str, ...], pick: Pick) -> e.Carried:
        """A run of the other procedure, in which parts were done or scrapped."""
        found = {"depth": e.Given("", str(1 + pick(19)), "mm"), "found": e.Given(word="good")}
        results = {
            part: e.CarriedPart("done" if pick(5) else "scrap", found if pick(6) else {})
            for part in parts
        }
        return e.Carried("a-run", step.carries_out, step.carries_revision, "0" * 64, results)

    # -- to the end ---------------------------------------------------------------------------

    def close(self) -> None:
        """From any state: lift what is in, then close with reasons. Both are always possible."""
        for marker in self.run.each():
            if marker.soak is not None:
                run_checks.can_be_lifted(self.run, marker, self.clock.now(), self.hand)
        held = [m for m in self.run.each() if m.soak is not None and m.status is not Status.AWAY]
        for marker in held:
            if waits_for_witness(self.run, marker.part):
                ended = c.EndNotice((marker.part,), self.seen, e.NoticeEnd.NOT_COMING, "Cy")
                assert self.give(ended) is not None
                continue
            assert self.give(c.Lift((marker.part,), self.seen, "closing")) is not None
        if tools_to_count(self.run):
            assert self.give(c.CountBack(self.run.tools_out)) is not None
        reasons = dict.fromkeys(unfinished(self.run), "another evening")
        assert self.give(c.Close(reasons, "I carried it out")) is not None
        assert self.run.ended
        self.read_again()

    def read_again(self) -> None:
        """Fold the log as read back from its lines, whole and cut down to each part."""
        read = [entry_of(json.loads(line)) for line in self.lines]
        again = Run(self.course)
        for entry in read:
            again = fold(again, entry)
        assert again == self.run
        assert [m.touched for m in again.each()] == [m.touched for m in self.run.each()]
        for part in self.run.parts:
            run_checks.cut_down(self.course, read, self.run.markers[part])

    def true_elapsed(self) -> None:
        """What is told of every running clock holds the truth."""
        now = self.clock.now()
        for marker in self.run.each():
            marks = [clock.most_from for clock in marker.windows.values()]
            marks += [clock.least_from for clock in marker.windows.values()]
            marks += list(marker.doers.values())
            if marker.soak is not None:
                marks.append(marker.soak.mark)
            for mark in marks:
                told = self.run.timeline.elapsed(mark, now)
                true = self.clock.true_ms - self.clock.true_of(mark)
                assert told.proven_ms <= true, (told, true)
                assert told.possible_ms is None or true <= told.possible_ms, (told, true)


def standing(run: Run, marker: Marker) -> Step | None:
    """The step at which a part stands."""
    op = run.route.step_at(marker.index)
    return op.step if op is not None else None


def is_dwell(step: Step) -> bool:
    """Whether a step is a dwell."""
    return isinstance(step.detail, Dwell)


def end_notice(run: Run, parts: tuple[str, ...], at: Moment, pick: Pick) -> c.EndNotice:
    """Somebody came, somebody sent word, or the notice ran out where it has."""
    soaks = [soak for part in parts if (soak := run.markers[part].soak) is not None]
    over = all(notice_left(run, soak, at) <= 0 for soak in soaks)
    ends = [*e.NoticeEnd][: 3 if over else 2]
    end = ends[pick(len(ends))]
    name = "" if end is e.NoticeEnd.RAN_OUT else "Cy"
    return c.EndNotice(parts, run.n - 1, end, name, "the club" if pick(2) else "")
