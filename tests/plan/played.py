"""Evenings played forward through the real rules, in virtual time, with times drawn by luck.

Runs live in memory alone: what is given is decided and folded as at the bench. Everything is
invented.
"""

import datetime as dt
import random
from pathlib import Path

from benchrun.dialogue.acts import command_at_once
from benchrun.moment import Moment
from benchrun.plan.evening import Ahead, done_at, plan_evening
from benchrun.plan.pieces import RunAhead
from benchrun.procedure.load import load_bytes
from benchrun.procedure.route import Dwell
from benchrun.record.clock import VirtualClock
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Hand, Refusal
from benchrun.run.course import Course
from benchrun.run.decide import decide
from benchrun.run.fold import fold
from benchrun.run.offers import Deed, offers
from benchrun.run.state import Ask, Run, Status
from benchrun.shop.hours import Hours, week_of
from benchrun.shop.vessels import ShopVessel
from benchrun.text import slug

MINUTE = 60_000
NINETY = 1.2815515655446004  # the standard normal distribution's, scipy.stats.norm.ppf(0.9)
HOURS = "Tue Thu 19:00-22:30, Sat 9:00-16:00"
HEAD = """\
procedure: {id}
title: {id}
revision: 1
status: draft
scope: Invented.
batch: {{part: arm, at most: 9}}
vessels:
  tub: {{title: tub, holds: 4}}
  cabinet: {{title: cabinet, holds: 12, heated: yes}}
stages:
  - stage: All
    steps:
"""
COAT = """\
      - do: Brush on coat {n}.
        id: coat-{n}
        window:
          after: {after}
          {least}most: {most}
          late:
            - first: [{{do: "{words}", id: again-{n}}}]
              at most: 9
            - go on
"""
LOOK = "      - {do: Look at the film., id: film, window: {after: coat-2, least: 24 h}}\n"


def coat(n, after, most, words, least=""):
    return COAT.format(n=n, after=after, most=most, words=words, least=least)


COATS = (
    coat(1, "look", "4 h", "Rub it bright again.")
    + coat(2, "coat-1", "24 h", "Scuff the coat.", "least: 2 h\n          ")
    + LOOK
)
ETCH = (
    HEAD.format(id="etch-and-coat")
    + """\
      - {do: Knock off and mask., id: mask}
      - dwell: Keep it wet.
        id: etch
        in: tub
        least: 15 min
        most: 25 min
        late: [go on]
      - do: Rinse it.
        id: rinse
      - dwell: Dry it.
        id: dry
        in: cabinet
        least: 1 h
        most: 150 min
        late: [go on]
      - {do: Look at the metal., id: look}
"""
    + COATS
)
PAINT = HEAD.format(id="paint") + "      - {do: Look at the metal., id: look}\n" + COATS
PRESS = (
    HEAD.format(id="press")
    + """\
      - {do: Measure the seat., id: seat}
      - dwell: Warm it.
        id: warm
        in: cabinet
        least: 35 min
        most: 60 min
        late: [go on]
      - {do: Press it in., id: press, window: {after: warm, most: 5 min, late: [go on]}}
      - {do: Feel for a gap., id: gap, window: {after: press, least: 2 h}}
"""
)


class World:
    """A shop with three runs on a Tuesday evening."""

    def __init__(self, luck, batches=((ETCH, 3), (PAINT, 2), (PRESS, 1))):
        self.clock = VirtualClock("2026-12-01T19:00:00.000Z", up_ms=3_600_000, name="played")
        self.luck, self.missed = luck, 0
        self.hours = Hours(week_of(HOURS))
        self.runs, self.names = {}, {}
        self.vessels = (
            ShopVessel("tub", "tub", (), 4, "", "", ""),
            ShopVessel("cabinet", "cabinet", (), 12, "", "", ""),
        )
        for number, (text, count) in enumerate(batches):
            procedure = load_bytes(text.encode(), "played.yaml")
            run = Run(Course(procedure.route))
            parts = tuple(e.PartSpec(f"{procedure.id} {at + 1}") for at in range(count))
            name = f"run-{number}"
            self.runs[name] = (procedure.id, run)
            self.names[name] = procedure.id
            self.give(name, c.Open(parts, {}))
        self.ends = {}

    @property
    def now(self) -> Moment:
        return self.clock.now()

    def give(self, name, command):
        procedure, run = self.runs[name]
        data = decide(run, command, self.now, Hand("ada", "Ada"))
        if isinstance(data, Refusal):
            return data
        self.runs[name] = (procedure, fold(run, e.Entry(run.n, self.now, "ada", data)))
        return None

    def ahead(self, last=None):
        runs = [RunAhead(name, procedure, run) for name, (procedure, run) in self.runs.items()]
        return Ahead(
            runs, self.names, self.hours, self.vessels, Path("/nowhere"), last=last or {},
            zone=dt.UTC,
        )  # fmt: skip

    def offers(self):
        """What may be done, the most urgent of all runs first."""
        found = [
            (offer.urgency, name, offer)
            for name, (_, run) in self.runs.items()
            for offer in offers(run, self.now)
            if offer.deed is not Deed.CLOSE
        ]
        return [(name, offer) for _, name, offer in sorted(found, key=lambda one: one[:2])]

    def act(self, name, offer, parts):
        """Do what is offered, taking as long as luck will have it; whether it was done."""
        procedure, run = self.runs[name]
        seen = run.n - 1
        if offer.deed is Deed.ANSWER:
            question = offer.question
            self.missed += question.ask in (Ask.LATE, Ask.WINDOW, Ask.EARLY_OR_LATE)
            asked = {part: offer.questions[part] for part in parts if part in offer.questions}
            code = question.answers[0].code
            return self.give(name, c.Settle(parts, seen, asked, code, reason="late")) is None
        if offer.deed is Deed.LATE:
            self.missed += 1
        if offer.deed is Deed.WITNESS:
            self.wait(1)
            return self.give(name, c.EndNotice(parts, seen, e.NoticeEnd.RAN_OUT)) is None
        command = command_at_once(offer, parts, seen)
        if command is None:
            raise AssertionError(offer)
        if offer.deed is Deed.PUT_IN:
            self.wait(self.minutes(procedure, offer.step, len(parts)))
            return self.give(name, command) is None
        taken = 1 if offer.deed in (Deed.LIFT, Deed.LATE) else None
        self.wait(self.minutes(procedure, offer.step, len(parts)) if taken is None else taken)
        _, run = self.runs[name]
        done = self.give(name, command) is None
        self._note_ends()
        return done

    def minutes(self, procedure, step, count):
        takes = self.ahead().takes(procedure, step)
        far = self.luck.gauss(0, 1) / NINETY
        ratio = takes.high**far if far >= 0 else takes.low**-far
        return (takes.each * (1 if step.together else count) + takes.once) * ratio

    def wait(self, minutes):
        self.clock.wait(max(1000, round(minutes * MINUTE)))

    def _note_ends(self):
        for _, run in self.runs.values():
            for marker in run.each():
                if marker.status is Status.DONE and marker.part not in self.ends:
                    self.ends[marker.part] = self.now.utc_ms // MINUTE

    @property
    def done(self):
        return all(
            marker.status is Status.DONE for _, run in self.runs.values() for marker in run.each()
        )

    def open_until(self):
        """When the shop closes, waiting for the next opening while it is shut."""
        opening = self.hours.next_opening(self.now.utc_ms, dt.UTC)
        if opening.since_ms > self.now.utc_ms:
            self.clock.wait(opening.since_ms - self.now.utc_ms)
        return opening.until_ms


def fitting(world, name, offer, parts):
    """As many parts as go into the vessel of an offer together."""
    detail = offer.step.detail if offer.step else None
    if offer.deed is Deed.PUT_IN and isinstance(detail, Dwell) and detail.vessel:
        run = world.runs[name][1]
        inside = sum(marker.soak is not None for marker in run.each())
        return parts[: max(0, run.route.vessels[detail.vessel].capacity - inside)]
    return parts


def play_next_step(world, most=2000):
    """Somebody who always takes the next step while the shop is open."""
    for _ in range(most):
        if world.done:
            return
        world.open_until()
        for name, offer in world.offers():
            parts = fitting(world, name, offer, offer.parts)
            if offer.ready and parts and world.act(name, offer, parts):
                break
        else:
            world.wait(5)
    raise AssertionError("does not come to an end")


def play_plan(world, most=4000):
    """Somebody who does what the plan says, which is made anew after each entry."""
    last = {}
    for _ in range(most):
        if world.done:
            return
        world.open_until()
        evening = plan_evening(world.ahead(last), world.now, rounds=0, ranges=False)
        last = evening.begins()
        if not _began(world, evening):
            coming = min(
                (start - world.now.utc_ms // MINUTE for start in evening.plan.starts.values()),
                default=5,
            )
            world.wait(min(max(1, coming), 5))
    raise AssertionError("does not come to an end")


def _began(world, evening):
    minute = world.now.utc_ms // MINUTE
    ready = [(name, offer) for name, offer in world.offers() if offer.ready]
    for name, offer in ready:  # what a window that closed asks for is seen to at its train
        if offer.deed is Deed.ANSWER and world.act(name, offer, offer.parts):
            return True
    for train, start in sorted(evening.plan.starts.items(), key=lambda item: (item[1], item[0])):
        if start > minute:
            return False
        wanted = set(evening.work.parts[train])
        run = evening.workload.by_id[train].run
        for name, offer in ready:
            parts = tuple(part for part in offer.parts if part in wanted)
            if name == run and parts and _belongs(evening, train, offer):
                parts = fitting(world, name, offer, parts)
                if parts and world.act(name, offer, parts):
                    return True
    return False


def _belongs(evening, train, offer):
    steps = {step.id for step in evening.work.steps[train]}
    return offer.step is None or offer.deed is Deed.LATE or offer.step.id in steps or (
        train in evening.plan.late
    )  # fmt: skip


def told_days(world):
    """The days between which each part is told to be done, by a plan made at the beginning."""
    evening = plan_evening(world.ahead(), world.now, rounds=20)
    ends = done_at(evening.work, evening.workload, evening.plan)
    return {
        part: (
            _day(min(end, evening.quick.get(part, end))),
            _day(max(end, evening.slow.get(part, end))),
        )
        for part, end in ends.items()
    }


def _day(minute):
    return dt.datetime.fromtimestamp(minute * 60, dt.UTC).date()


def courses(count, batches):
    """So many courses: windows missed by the plan and by the next step, ends inside what was told.

    Returns:
        Windows missed by the plan and by always taking the next step, then how many parts, and how
        many last parts, were done on a day that was told.
    """
    by_plan = by_next = parts = lasts = 0
    for seed in range(count):
        planned = World(random.Random(seed), batches)
        told = told_days(planned)
        play_plan(planned)
        inside = {
            part: told[slug(part)][0] <= _day(end) <= told[slug(part)][1]
            for part, end in planned.ends.items()
        }
        last = max(planned.ends, key=planned.ends.get)
        first_told, last_told = (max(days[at] for days in told.values()) for at in (0, 1))
        parts += sum(inside.values())
        lasts += first_told <= _day(planned.ends[last]) <= last_told
        by_plan += planned.missed
        other = World(random.Random(seed), batches)
        play_next_step(other)
        by_next += other.missed
    return by_plan, by_next, parts, lasts
