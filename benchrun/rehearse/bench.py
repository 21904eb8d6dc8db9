"""The bench of a rehearsal: a throw-away shop, a virtual clock, and a session between them."""

import datetime as dt
import json
import secrets
import shutil
from collections.abc import Mapping
from dataclasses import replace
from itertools import chain
from pathlib import Path
from typing import Final

from benchrun.board import in_the_way
from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.procedure.marked import Map
from benchrun.procedure.route import Hold, Procedure, Reading, Step
from benchrun.procedure.steps import TOOLS_COUNTED
from benchrun.record.clock import VirtualClock
from benchrun.rehearse.script import Script
from benchrun.run import commands as c
from benchrun.run.close_lines import lines_to_tick
from benchrun.run.commands import Command, Refusal, Want
from benchrun.run.effects import Unfit
from benchrun.run.entries import FigureSpec, Tool, ToolCount
from benchrun.run.holds import hold_from
from benchrun.run.run_figures import missing_figures
from benchrun.run.start_checks import not_begun
from benchrun.run.tool_counts import missing_tools, tools_to_count
from benchrun.session import Reply, Session, all_ready, begin, closing_statement, take_up
from benchrun.shop.amounts import day_of
from benchrun.shop.books import read_books
from benchrun.shop.folder import Shop
from benchrun.shop.instruments import INSTRUMENTS, read_instruments
from benchrun.shop.parts import PARTS
from benchrun.shop.people import ROLES, Person
from benchrun.shop.supplies import SUPPLIES
from benchrun.shop.vessels import VESSELS
from benchrun.shop_use.figures import figures_in_books, job_of
from benchrun.shop_use.instruments import Instruments, Kit, tool_for_step
from benchrun.shop_use.readiness import shortages
from benchrun.signing_keys import change_settings, enrol, hand_of, new_shop
from benchrun.text import shown, slug

_ALONE = "nobody else works here"
AS_SCRIPTED: Final = "as the script says"
"""The reason that a rehearsal gives where the rules ask for one."""


class RehearsalBench:
    """Carries out commands of a script; a command that must be signed is signed.

    Attributes:
        clock: Moves only when the script says so.
        session: The run.
    """

    def __init__(self, folder: Path, procedure: Procedure, script: Script) -> None:
        self.clock = VirtualClock(script.begins, name=f"rehearsal-{secrets.token_hex(3)}")
        self._shop = new_shop(folder, "Rehearsal", self.clock.now())
        self._word = ""  # these keys are thrown away with their shop
        roles = _roles(procedure)
        self._people: Mapping[str, Person] = {
            key: enrol(self._shop, name, self.clock.now(), passphrase=None, roles=roles)
            for key, name in script.people.items()
            if key == "first" or not script.alone
        }
        if script.alone:
            self._shop = change_settings(self._shop, {"works alone": "yes"})
        if script.shop:
            _lay_files(self._shop, script.home / script.shop)
        if script.lacks is not None:
            _told_before(self._shop, procedure, script, self.clock.now())
        _lend_instruments(self._shop, procedure, self.clock.now())
        self._figures = script.figures
        self._not_done, self._given = script.not_done, script.given
        self._start(_begun(self._shop, procedure, script, self._people, self.clock))

    def _start(self, session: Session) -> None:
        """Take a run in hand, with the instruments of the shop."""
        self.session: Session = session
        self._instruments = Instruments(
            session.procedure, lambda: self.session.entries, Kit(self._shop)
        )

    def beside(self, procedure: Procedure, script: Script) -> "RehearsalBench":
        """Another run in the same shop and the same time, by the same people."""
        other = object.__new__(RehearsalBench)
        other.clock, other._shop = self.clock, self._shop
        other._word, other._people = self._word, self._people
        _lend_instruments(self._shop, procedure, self.clock.now())
        other._figures, other._not_done = script.figures, script.not_done
        other._given = script.given
        other._start(_begun(self._shop, procedure, script, self._people, self.clock))
        return other

    def send(self, command: Command) -> Reply:
        """Give a command and wait until it is kept or refused.

        A load that another run is in the way of is refused without a reason, as at the bench.
        """
        if isinstance(command, c.PutIn | c.Do) and not command.reason:
            crowded = self._in_the_way(command)
            if crowded:
                return Refusal(crowded, Want.REASON)
        if isinstance(command, c.Do | c.PutIn):
            self.type_figures(command.step)
        return self.session.send(command).result()

    def type_figures(self, step: str) -> None:
        """Type the figures that a step needs, as far as the script gives them."""
        run = self.session.run
        if step not in run.route.index:
            return
        # What follows the last place of a reading may rest on a figure that the first does not.
        needed = (missing_figures(run, op) for op in run.course.ops_of(step))
        for figure in dict.fromkeys(chain.from_iterable(needed)):
            given = self._figures.get(figure.name)
            if given is None:
                continue
            typed = given if isinstance(given, Map) else {"value": given}
            texts = {key: str(typed.get(key, "")) for key in ("value", "document", "page")}
            value = "" if texts["value"] == "none" else texts["value"]
            spec = FigureSpec(figure.name, value, document=texts["document"], page=texts["page"])
            reply = self.session.send(c.KeepFigure(spec)).result()
            if isinstance(reply, Refusal):
                raise BenchrunError(f"figure {figure.name}: {reply.text}")

    def begin_first(
        self, step: Step, parts: tuple[str, ...], reason: str, vessel: str = ""
    ) -> Refusal | None:
        """Enter the start of a step that cannot be undone, where that is still to be done."""
        run = self.session.run
        try:
            at = tuple(part for part in parts if not_begun(run, step, (part,)))
        except Unfit:
            return None  # they do not stand there: the act itself says so
        if not at:
            return None
        reply = self.send(c.Begin(step.id, at, run.n - 1, reason, vessel))
        return reply if isinstance(reply, Refusal) else None

    def _in_the_way(self, command: c.PutIn | c.Do) -> str:
        session = self.session
        return in_the_way(self._shop, session.folder.run, session.run, command)

    def tool(self, step: Step, part: str, typed: str, name: str = "") -> Tool | None:
        """The shop's instrument for a reading: the one named, else the likeliest that fits.

        Args:
            step: The reading's step.
            part: Which part is measured.
            typed: The reading.
            name: The instrument's id; empty where the script names none.

        Raises:
            BenchrunError: There is none of that id, or it measures something else.
        """
        now, run = self.clock.now(), self.session.run
        if name:
            procedure, books = self.session.procedure, read_books(self._shop)
            return tool_for_step(books, procedure, run, step.id, part, name, now, typed).tool
        fitted = self._instruments.fitted(run, step, part, now, typed)
        return fitted.tool if fitted else None

    def hold(self, command: c.Do, detail: Hold) -> Reply:
        """Sign a hold, by another person of the script where it must be another."""
        self.type_figures(command.step)
        if command.step == self.session.run.route.release:
            self.tick_lines()
        worked = self.session.person
        if worked is not None and not self._may_check(worked, command, detail):
            if len(self._people) > 1:
                self.session.hand_over(self._other(worked, command, detail))
            elif detail.waivable:
                command = replace(command, reason=command.reason or _ALONE, waives=True)
            else:
                self._sleep_on_it(worked, command, detail)
        reply = self.session.sign(command, self._word).result()
        self.session.hand_over(worked)
        return reply

    def tick_lines(self) -> None:
        """Tick each open line of the close as done, or not done where the script says why."""
        for line in lines_to_tick(self.session.run):
            reason = self._not_done.get(line.text, "")
            self.session.send(c.TickLine(line.sort, line.number, not reason, reason)).result()

    def tools_back(self) -> tuple[tuple[ToolCount, ...], str]:
        """The count of the tools that come back, and the reason where some are missing.

        As many as went out come back, where the script gives no other number.
        """
        given = self._given.get(TOOLS_COUNTED)
        told = given if isinstance(given, Map) else {}
        out = self.session.run.tools_out
        back = tuple(ToolCount(one.tool, int(str(told.get(one.tool, one.number)))) for one in out)
        return back, AS_SCRIPTED if missing_tools(self.session.run, back) else ""

    def close(self, reasons: Mapping[str, str]) -> Reply:
        """Close the run and sign it: tools counted back, each line of the close ticked before."""
        if tools_to_count(self.session.run):
            self.session.send(c.CountBack(*self.tools_back())).result()
        self.tick_lines()
        says = closing_statement(self.session.hand)
        return self.session.sign(c.Close(reasons, says), self._word).result()

    def hand_over(self, key: str) -> None:
        """Let another person of the script go on."""
        if key not in self._people:
            raise BenchrunError(f"the script has no person {key!r}: {', '.join(self._people)}")
        self.session.hand_over(self._people[key])

    def come_back(self) -> None:
        """Leave the run and take it up again, as after an evening."""
        person, folder = self.session.person, self.session.folder
        self.session.leave()
        self.session = take_up(self._shop, folder, person, self.clock)

    def _may_check(self, person: Person, command: c.Do, detail: Hold) -> bool:
        run, at, hand = self.session.run, self.clock.now(), hand_of(person)
        known = (part for part in command.parts if part in run.markers)
        return all(hold_from(run, detail, part, at, hand) == 0 for part in known)

    def _sleep_on_it(self, person: Person, command: c.Do, detail: Hold) -> None:
        """Let the time pass after which a person who works alone may check their own work."""
        run, hand = self.session.run, hand_of(person)
        waits = [hold_from(run, detail, part, self.clock.now(), hand) for part in command.parts]
        self.clock.wait(max((wait or 0 for wait in waits), default=0))
        self.session.tick().result()

    def _other(self, person: Person, command: c.Do, detail: Hold) -> Person:
        """Somebody else who may sign, or just somebody else, so that it is refused in words."""
        others = [one for one in self._people.values() if one.id != person.id]
        fit = (one for one in others if self._may_check(one, command, detail))
        return next(fit, others[0])


def _begun(
    shop: Shop,
    procedure: Procedure,
    script: Script,
    people: Mapping[str, Person],
    clock: VirtualClock,
) -> Session:
    books = read_books(shop)
    job = script.job or job_of(books, script.parts)
    known, faults = figures_in_books(books, procedure, job)
    if faults:
        raise BenchrunError(f"{script.name}: {faults[0]}")
    return begin(
        shop,
        procedure,
        script.parts,
        people["first"],
        clock,
        readied=all_ready(procedure, people["first"], clock.now()),
        figures=known,
        job=job,
        more={"rehearsal": f"{script.procedure}: {script.path}"},
    )


def _lay_files(shop: Shop, folder: Path) -> None:
    """Lay the files of a shop that a script brings."""
    for form in (INSTRUMENTS, SUPPLIES, VESSELS, PARTS):
        if (folder / form.file).is_file():
            shutil.copy(folder / form.file, shop.path / form.file)


def _lend_instruments(shop: Shop, procedure: Procedure, now: Moment) -> None:
    """Lend a shop that has none of that name the instruments that a procedure reads with.

    They have no uncertainty: what a script says was read is exact, so that it may stand on a
    limit. Doubt is rehearsed with instruments of the script's own shop.
    """
    kept = read_instruments(shop).rows
    today = day_of(now)
    until = today + dt.timedelta(days=365)
    lent: dict[str, str] = {}
    for step in procedure.route.steps.values():
        detail = step.detail
        if isinstance(detail, Reading) and not any(row.called(detail.instrument) for row in kept):
            lent.setdefault(detail.instrument, detail.unit)
    lent.pop("", None)
    file = shop.path / INSTRUMENTS.file
    if lent and not kept:
        file.write_text(f"{INSTRUMENTS.head}instruments:\n", encoding="utf-8")
    with file.open("a", encoding="utf-8") as book:
        for name, unit in lent.items():
            book.write(
                f"  - {{id: {slug(name)}-0, name: {json.dumps(name)}, "
                f"range: {json.dumps(f'-100000 to 100000 {unit}'.strip())}, "
                f"uncertainty: {json.dumps(f'0 {unit}'.strip())}, "
                f"calibrated: {today}, until: {until}, by: lent for a rehearsal}}\n"
            )


def _told_before(shop: Shop, procedure: Procedure, script: Script, now: Moment) -> None:
    """Compare what the shop is told to lack before the start with what the script says."""
    found = shortages(read_books(shop), procedure, day_of(now), parts=len(script.parts))
    wanted = script.lacks or ()
    if len(found) != len(wanted) or any(w not in f for w, f in zip(wanted, found, strict=False)):
        told = "; ".join(found) or "nothing"
        raise BenchrunError(f"{script.name}: before the start this is lacking: {shown(told, 400)}")


def _roles(procedure: Procedure) -> tuple[str, ...]:
    asked = {step.who for step in procedure.route.steps.values() if step.who}
    holds = (step.detail for step in procedure.route.steps.values())
    asked |= {detail.role for detail in holds if isinstance(detail, Hold) and detail.role}
    return tuple(sorted(asked | set(ROLES)))


def refused(reply: Reply) -> Refusal | None:
    """The refusal, if a reply is one."""
    return reply if isinstance(reply, Refusal) else None
