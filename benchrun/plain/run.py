"""Carrying out a run line by line."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, cast

from benchrun.account.entry_words import EntryWords
from benchrun.board import in_the_way, offer_words
from benchrun.errors import BenchrunError
from benchrun.pictures.files import MayTell
from benchrun.plain.amend import Amend
from benchrun.plain.looking import Looking, clock_words
from benchrun.plain.measuring import Measuring
from benchrun.plain.past import Past
from benchrun.plain.talk import Talk
from benchrun.plain.tins import Tins
from benchrun.procedure.ghs import code_lines
from benchrun.procedure.route import Hold, Inspect, Reading, Step
from benchrun.run import commands as c
from benchrun.run.clocks import loads
from benchrun.run.commands import Command, Refusal, Want
from benchrun.run.decide import unfinished
from benchrun.run.offers import Deed, Offer, offers
from benchrun.run.sums import sums_of
from benchrun.session import Reply, Session, closing_statement
from benchrun.shop.people import Person

HELP = (
    "Enter does the first line on offer. A number does that line. 0 says why.",
    "N . does line N for some parts. * writes something down. - leaves.",
    "/ looks something up: the log, the steps ahead, sums, past runs.",
)


PHOTO_WAYS = (
    "the newest picture of the watched folder, since this run began",
    "a file, by its path",
    "the newest picture of the watched folder, whatever its age",
    "the newest picture as it is: the copy tells where it was taken",
    "a file as it is: the copy tells where it was taken",
)


@dataclass
class PlainRun:
    """One run on the plain face.

    Args:
        talk: Speaks and listens.
        session: The run.
        people: Who may take over or sign.
    """

    talk: Talk
    session: Session
    people: tuple[Person, ...] = ()

    def __post_init__(self) -> None:
        self._past = Past(self.talk, self.session)
        self._amend = Amend(self.talk, self.session, self._send)
        self._measuring = Measuring(self.talk, self.session)
        self._looking = Looking(self.talk, self.session)
        self._tins = Tins(self.talk, self.session)

    def carry_on(self) -> None:
        """Offer and do until the run is closed or left."""
        for line in HELP:
            self.talk.say(line)
        while not self.session.run.ended:
            self.session.tick()
            found = offers(self.session.run, self.session.now())
            self._tell(found)
            answer = self.talk.ask(">")
            if answer == "-":
                return
            self._follow(answer, found)
        self.talk.say(f"The run is closed. Its record: {self.session.folder.path}")

    def _tell(self, found: tuple[Offer, ...]) -> None:
        self.talk.say()
        for clock in loads(self.session.run, self.session.now()):
            self.talk.say(clock_words(clock))
        first = next((offer for offer in found if offer.ready), None)
        if first is not None and first.step is not None and first.deed is not Deed.ANSWER:
            for caution in first.step.cautions:
                self.talk.say(
                    f"{caution.signal.value.upper()}. {caution.hazard} {caution.consequence} "
                    f"{caution.avoidance}"
                )
            self._past.tell(first.step)
            for whose, words in sums_of(self.session.run, first.step.id, first.parts):
                self.talk.say(f"{whose}: {words}" if whose else words)
            if self.session.books.trouble:
                self.talk.say(self.session.books.trouble)
            self._tins.tell(first.step, first.parts)
        for number, offer in enumerate(found, 1):
            mark = "" if offer.ready else "(wait) "
            self.talk.say(f"{number} {mark}{offer_words(self.session.run, offer)}")

    def _follow(self, answer: str, found: tuple[Offer, ...]) -> None:
        some = answer.endswith(".")
        number = answer.removesuffix(".").strip()
        if answer == "0":
            self._why(found)
        elif answer == "*":
            self._write(found)
        elif answer == "/":
            self._looking.ask(found)
        elif number == "" or (number.isascii() and number.isdigit()):
            chosen = self._chosen(number, found)
            if chosen is not None:
                self._act(self._some(chosen) if some else chosen)
        else:
            self.talk.say("That is none of the keys. " + HELP[0])

    def _chosen(self, number: str, found: tuple[Offer, ...]) -> Offer | None:
        if not number:
            first = next((offer for offer in found if offer.ready), None)
            if first is None:
                self.talk.say("Nothing is ready yet. A number does a line all the same.")
            return first
        if 1 <= int(number) <= len(found):
            return found[int(number) - 1]
        self.talk.say(f"There are lines 1 to {len(found)}.")
        return None

    def _some(self, offer: Offer) -> Offer:
        for number, part in enumerate(offer.parts, 1):
            self.talk.say(f"  {number} {part}")
        words = self.talk.ask("Which, by number:").replace(",", " ").split()
        picked = [int(w) for w in words if w.isascii() and w.isdigit()]
        parts = tuple(p for n, p in enumerate(offer.parts, 1) if n in picked)
        return replace(offer, parts=parts) if parts else offer

    def _act(self, offer: Offer) -> None:
        seen, step = self.session.run.n - 1, offer.step
        match offer.deed:
            case Deed.LIFT:
                self._send(c.Lift(offer.parts, seen))
            case Deed.TEND:
                self._send(c.Tend(offer.parts, seen))
            case Deed.RESUME:
                self._send(c.Resume())
            case Deed.GET_BACK:
                self._send(c.GetBack(offer.parts, seen))
            case Deed.CLOSE:
                self._close()
            case Deed.ANSWER:
                self._answer(offer)
            case _:
                if step is not None:
                    self._begin(offer, step, seen)

    def _begin(self, offer: Offer, step: Step, seen: int) -> None:
        if offer.deed is Deed.LATE:
            self._send(c.FindLate(step.id, offer.parts, seen))
            return
        self._tins.ask(step, offer.parts)
        if offer.deed is Deed.PUT_IN:
            self._put_in(c.PutIn(step.id, offer.parts, seen))
        else:
            self._do(offer, step, c.Do(step.id, offer.parts, seen))

    def _put_in(self, command: c.PutIn) -> None:
        session = self.session
        crowded = in_the_way(session.shop, session.folder.run, session.run, command)
        if crowded:
            reason = self.talk.ask(f"{crowded}. In all the same, and why (only Enter leaves it):")
            if not reason:
                return
            command = replace(command, reason=reason)
        self._send(command)

    def _do(self, offer: Offer, step: Step, command: c.Do) -> None:
        match step.detail:
            case Reading() as detail:
                taken = self._measuring.take(offer, step, detail)
                if taken is not None:
                    self._send(taken)
            case Inspect(findings=findings):
                at = self.talk.choose("What was found:", [one.name for one in findings])
                if at is not None:
                    self._send(replace(command, finding=findings[at].name))
            case Hold(says=says, role=role):
                self.talk.say(f"To be signed: {says or step.text}")
                self._sign(command, role)
            case _:
                self._send(command)

    def _sign(self, command: c.Do | c.Close, role: str = "") -> None:
        able = [one for one in self.people if not role or role in one.roles]
        worked = self.session.person
        if len(able) > 1:
            at = self.talk.choose("Who signs:", [one.name for one in able])
            if at is None:
                return
            self.session.hand_over(able[at])
        if isinstance(command, c.Close):
            command = replace(command, says=closing_statement(self.session.hand))
        word = self.talk.ask_secret(f"Passphrase of {self.session.person.name}:")
        self._with_reason(command, lambda one: self.session.sign(_signable(one), word).result())
        if not self.session.run.ended:
            self.session.hand_over(worked)

    def _close(self) -> None:
        reasons: Mapping[str, str] = {
            part: self.talk.ask(f"{part} is not done, because:")
            for part in unfinished(self.session.run)
        }
        self._sign(c.Close(reasons))

    def _answer(self, offer: Offer) -> None:
        question = offer.question
        if question is None:
            return
        self.talk.say(question.says)
        at = self.talk.choose("Answer:", [one.text for one in question.answers])
        if at is not None:
            code = question.answers[at].code
            seen = self.session.run.n - 1
            self._send(c.Settle(offer.parts, seen, offer.questions, code))

    def _send(self, command: Command) -> bool:
        return self._with_reason(command, lambda one: self.session.send(one).result())

    def _with_reason(self, command: Command, give: Callable[[Command], Reply]) -> bool:
        """Give a command; where it lacks a reason or a second word, ask and give it again.

        Returns:
            Whether it was kept in the end.
        """
        reply = give(command)
        while isinstance(reply, Refusal):
            self.talk.say(reply.text)
            if reply.want is Want.REASON and hasattr(command, "reason"):
                reason = self.talk.ask("Reason (only Enter leaves it):")
                if not reason:
                    return False
                command = _because(command, reason)
            elif reply.want is Want.SURE and isinstance(command, c.Do):
                if self.talk.ask("1 does it, only Enter leaves it:") != "1":
                    return False
                command = replace(command, sure=True)
            else:
                return False
            reply = give(command)
        telling = EntryWords(self.session.procedure, self.session.entries)
        for entry in reply.entries[:1]:
            words = (one.strip().removesuffix(".") for one in telling.words(entry))
            self.talk.say(f"recorded, entry {entry.n}: {'; '.join(words)}")
        return True

    def _why(self, found: tuple[Offer, ...]) -> None:
        step = next((offer.step for offer in found if offer.step is not None), None)
        if step is None:
            self.talk.say("No step is on offer.")
            return
        self.talk.say(f"{step.number}. {step.text} ({step.kind.value}, {step.stage})")
        if step.why:
            self.talk.say(f"Why: {step.why}")
        for caution in step.cautions:
            for line in code_lines(caution):
                self.talk.say(f"{caution.signal.value.upper()}: {line}")
        for lesson in self._past.lessons(step):
            self.talk.say(f"Lesson: {lesson}")
        if step.source:
            self.talk.say(f"Source: {step.source}")

    def _write(self, found: tuple[Offer, ...]) -> None:
        what = self.talk.choose(
            "Write down:",
            (
                "note",
                "lesson",
                "mis-tap",
                "hand over",
                "stop the run",
                "photo",
                "correct a value",
                "done otherwise",
            ),
        )
        step = next((offer.step.id for offer in found if offer.step is not None), "")
        if what == 0:
            self._send(c.KeepNote(self.talk.ask("Note:"), step))
        elif what == 1:
            self._send(c.KeepLesson(self.talk.ask("Lesson:"), step))
        elif what == 2:
            self._amend.mis_tap()
        elif what == 3:
            at = self.talk.choose("Who goes on:", [one.name for one in self.people])
            if at is not None:
                self.session.hand_over(self.people[at])
        elif what == 4:
            self._send(c.Stop(self.talk.ask("Why it is stopped:")))
        elif what == 5:
            self._photo(step)
        elif what == 6:
            self._amend.correct()
        elif what == 7:
            self._amend.otherwise(found)

    def _photo(self, step: str) -> None:
        """Keep a picture of a step; the position that it tells stays behind unless asked for."""
        way = self.talk.choose("Photo:", PHOTO_WAYS)
        if way is None:
            return
        source = None
        if way in (1, 4):
            typed = self.talk.ask("The picture's file:")
            if not typed:
                return
            source = Path(typed)
        command = self._copied(source, step, way)
        if command is not None and self._send(command):
            self.talk.say(f"{command.text} is kept, {command.position.words}.")

    def _copied(
        self, source: Path | None, step: str, way: int, *, unsure: bool = False
    ) -> c.KeepPhoto | None:
        as_it_is = way in (3, 4)
        try:
            return self.session.copy_photo(
                source, step, any_age=way == 2, keep_position=as_it_is, unsure=unsure
            )
        except MayTell as error:
            self.talk.say(f"{error.message}.")
            if self.talk.ask("Keep it all the same (1 for yes):") == "1":
                return self._copied(source, step, way, unsure=True)
        except BenchrunError as error:
            self.talk.say(error.message)
        return None


def _because(command: Command, reason: str) -> Command:
    """The same command with a reason; those that can want one have the field."""
    because: Command = replace(cast(Any, command), reason=reason)
    return because


def _signable(command: Command) -> c.Do | c.Close:
    if isinstance(command, c.Do | c.Close):
        return command
    raise TypeError("only a hold or the close is signed")
