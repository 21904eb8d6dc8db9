"""The bench of a rehearsal: a throw-away shop, a virtual clock, and a session between them."""

import secrets
from collections.abc import Mapping
from pathlib import Path

from benchrun.enrol import enrol, new_shop
from benchrun.errors import BenchrunError
from benchrun.procedure.route import Hold, Procedure
from benchrun.record.clock import VirtualClock
from benchrun.rehearse.script import Script
from benchrun.run import commands as c
from benchrun.run.commands import Command, Refusal
from benchrun.session import Reply, Session, begin, closing_statement, take_up
from benchrun.shop.people import ROLES, Person


class RehearsalBench:
    """Carries out commands of a script; a command that must be signed is signed.

    Attributes:
        clock: Moves only when the script says so.
        session: The run.
    """

    def __init__(self, folder: Path, procedure: Procedure, script: Script) -> None:
        self.clock = VirtualClock(script.begins, name=f"rehearsal-{secrets.token_hex(3)}")
        self._shop = new_shop(folder, "Rehearsal", self.clock.now())
        self._word = secrets.token_hex(8)
        roles = _roles(procedure)
        self._people: Mapping[str, Person] = {
            key: enrol(self._shop, name, self.clock.now(), passphrase=self._word, roles=roles)
            for key, name in script.people.items()
        }
        self.session: Session = begin(
            self._shop,
            procedure,
            script.parts,
            self._people["first"],
            self.clock,
            conditions=procedure.needs.before_start,
            more={"rehearsal": f"{script.procedure}: {script.path}"},
        )

    def send(self, command: Command) -> Reply:
        """Give a command and wait until it is kept or refused."""
        return self.session.send(command).result()

    def hold(self, command: c.Do, detail: Hold) -> Reply:
        """Sign a hold, by the other person where it must be another."""
        worked = self.session.person
        if detail.other:
            self.session.hand_over(self._other(worked))
        reply = self.session.sign(command, self._word).result()
        self.session.hand_over(worked)
        return reply

    def close(self, reasons: Mapping[str, str]) -> Reply:
        """Close the run and sign it."""
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

    def _other(self, person: Person) -> Person:
        return next(one for one in self._people.values() if one.id != person.id)


def _roles(procedure: Procedure) -> tuple[str, ...]:
    asked = {step.who for step in procedure.route.steps.values() if step.who}
    holds = (step.detail for step in procedure.route.steps.values())
    asked |= {detail.role for detail in holds if isinstance(detail, Hold) and detail.role}
    return tuple(sorted(asked | set(ROLES)))


def refused(reply: Reply) -> Refusal | None:
    """The refusal, if a reply is one."""
    return reply if isinstance(reply, Refusal) else None
