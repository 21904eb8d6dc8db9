"""Carrying out a run line by line: the dialogue read out, and what is typed handed back."""

import re
from collections.abc import Hashable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Final

from benchrun.alarms.calls import CallingRun
from benchrun.alarms.dark import dark_ahead
from benchrun.alarms.speech import Speech
from benchrun.board import look
from benchrun.dialogue import lookups, notes
from benchrun.dialogue.acts import act
from benchrun.dialogue.conversation import converse
from benchrun.dialogue.hand import critical_words, offer_key
from benchrun.dialogue.prompts import BACK, Choose
from benchrun.dialogue.situation import resumed_words
from benchrun.dialogue.step_notes import step_notes, turn_words
from benchrun.dialogue.supplies import use_words, uses_in_hand
from benchrun.dialogue.turns import Destination, Flow, OpenPage, Send, Sign
from benchrun.dialogue.work import Work
from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.plain.books import tell_books
from benchrun.plain.face import PlainFace
from benchrun.plain.lookups import PlainLookups
from benchrun.plain.talk import Talk
from benchrun.procedure.route import Hazard, Step
from benchrun.run.offers import Deed
from benchrun.run.sums import sums_of
from benchrun.session import Reply, Sitting
from benchrun.shop.personal import personal_settings_path, unlocked_ms
from benchrun.shop.settings import hours_of

HELP = (
    "Enter does the first line on offer. A number does that line. 0 says why.",
    "N . does line N for some parts. + walks the lines. * writes something down. - leaves.",
    "/ looks something up: the log, the steps ahead, sums, past runs. ? says all of this again.",
    "! says first aid, at any question.",
)
LOOK_EVERY_MS: Final = 10_000
"""How often the other runs of the shop are looked at."""
MOST_WAIT_S: Final = 1.0
"""How long it waits at most before it looks at the clocks again."""
_TIMES: Final = re.compile(r" \(too early, [^)]*\)|, due (in .*|now|since .*)|\(wait\) ")


@dataclass
class PlainRun(PlainFace):
    """One run on the plain face.

    Args:
        talk: Speaks and listens.
        session: The run.
    """

    talk: Talk
    session: Sitting

    def __post_init__(self) -> None:
        self._trouble = ""
        self.work = Work(self.session)
        self.session.unlocked_ms = unlocked_ms(personal_settings_path())
        self._lookups = PlainLookups(self.talk, self.work)
        self._offers = Choose("Other work", ())
        self._told: tuple[str, ...] = ()
        self._offered: tuple[Hashable, ...] = ()
        self._used: tuple[str, ...] = ()
        self._noted: tuple[str, ...] = ("",)
        self._turned = ""
        self._warned: set[Hazard] = set()
        self._speech = Speech()
        self._left = False
        self._others: tuple[CallingRun, ...] = ()
        self._looked_ms = -LOOK_EVERY_MS

    def carry_on(self, *, resumed: bool = False) -> None:
        """Offer and do until the run is closed or left.

        Args:
            resumed: Whether it goes on from earlier, which one line tells.
        """
        if resumed:
            self.talk.say(resumed_words(self.work))
        for line in HELP:
            self.talk.say(line)
        before, self.talk.first_aid = self.talk.first_aid, self._first_aid
        try:
            self._work_on()
        finally:
            self.talk.first_aid = before
        if self.session.run.ended:
            self.talk.say(f"The run is closed. Its record: {self.session.folder.path}")

    def _first_aid(self) -> None:
        session = self.session
        self.say_first_aid(session.shop, [(session.procedure.title, session.folder.procedure)])

    def _work_on(self) -> None:
        while not self.session.run.ended and not self._left:
            self.session.tick().result()
            self._tell_trouble()
            self.work.tidy()
            self._tell()
            answer = self.talk.ask_while(">", self._speak)
            if answer == BACK:
                return
            if answer == "?":
                self._tell_again()
            else:
                self._follow(answer)

    def _tell_trouble(self) -> None:
        """Say once why nothing can be kept at the moment."""
        if self.session.trouble and self.session.trouble != self._trouble:
            self.talk.say(f"ALARM. {self.session.trouble}")
        self._trouble = self.session.trouble

    def give(self, command: Send | Sign) -> Reply:
        """Give a command; one that somebody else signs is given in that name alone."""
        session = self.session
        if isinstance(command, Send):
            return session.send(command.command).result()
        worker = session.person
        session.hand_over(command.person)
        try:
            return session.sign(command.command, command.passphrase).result()
        finally:
            session.hand_over(worker)

    def open(self, place: OpenPage) -> None:
        """Look the log or past runs up, or leave."""
        match place.place:
            case Destination.BOARD:
                self._left = True
            case Destination.LOG:
                self._lookups.log()
            case Destination.PAST:
                self._lookups.past()
            case Destination.BOOKS:
                tell_books(self, self.session.shop, self.session.now())

    def _speak(self) -> tuple[Sequence[str], float | None]:
        """The clocks that came to another stage while nobody typed, with what is first now."""
        session = self.session
        session.tick()
        its = CallingRun(session.folder.run, session.procedure.title, session.run)
        now = session.now()
        lines, wait = self._speech.news([its, *self._beside(now)], now, its.id)
        seconds = MOST_WAIT_S if wait is None else min(MOST_WAIT_S, wait / 1000)
        said = [*lines]
        if lines and self._told and self._offer_lines() != self._told:
            said += self._take_offers()
        return said, seconds

    def _beside(self, now: Moment) -> Sequence[CallingRun]:
        """The other open runs of the shop, looked at now and then."""
        if not 0 <= now.up_ms - self._looked_ms < LOOK_EVERY_MS:
            self._looked_ms = now.up_ms
            with suppress(BenchrunError, OSError):  # the board tells what cannot be read
                self._others = tuple(
                    CallingRun(one.id, one.title, one.run)
                    for one in look(self.session.shop, now).open_runs
                    if one.run is not None and one.id != self.session.folder.run
                )
        return self._others

    def _tell_again(self) -> None:
        """Say the keys, the clocks and what is on offer once more."""
        for line in HELP:
            self.talk.say(line)
        self._told, self._speech = (), Speech()
        self._warned.clear()

    def _tell(self) -> None:
        """Say what is on offer where that has changed, with what must be known before."""
        uses = self._uses()
        turn = self._turn()
        # A pass that is made leaves the same lines on offer, and is another piece of work.
        if (self._offer_lines(), uses, turn) == (self._told, self._used, self._turned):
            return
        self._turned = turn
        self._used = uses
        self.talk.say()
        offer, step = self.work.now.offer, self.work.step
        if offer is not None and offer.ready and step is not None and offer.deed is not Deed.ANSWER:
            self._tell_step(step)
        before = frozenset(_timeless(line) for line in self._told if "(wait)" not in line)
        first, *rest = self._take_offers() or ("",)
        # The first is what Enter does. Of the others only what is new is worth hearing again, and
        # of what waits the clock's own sentence tells when; its number is said once it can be done.
        told = [line for line in rest if "(wait)" not in line and _timeless(line) not in before]
        for line in (first, *told):
            self.talk.say(line)

    def _shown(self) -> Choose:
        """The offers, the most urgent first, from the line that they were turned to."""
        offers = lookups.work_prompt(self.work)
        first = self._offers.first if self._offers.first < len(offers.options) else 0
        return replace(offers, first=first)

    def _offer_lines(self) -> tuple[str, ...]:
        """The lines on offer."""
        shown = self._shown()
        lines = [
            f"{number} {'(wait) ' if option.beside else ''}{option.words}"
            for number, option in shown.shown
        ]
        return (*lines, *([f"9 {shown.more}"] if shown.more else []))

    def _take_offers(self) -> tuple[str, ...]:
        """The lines on offer; their numbers mean these from now on."""
        self._told, self._offers = self._offer_lines(), self._shown()
        self._offered = tuple(map(offer_key, self.work.now.offers))
        return self._told

    def _still(self, place: int) -> bool:
        """Whether a line is still the one that was said; if not, that is told."""
        now = self.work.now.offers
        same = place < min(len(now), len(self._offered)) and (
            offer_key(now[place]) == self._offered[place]
        )
        if not same:
            self._told = ()
            self.talk.say("What is on offer has changed. Nothing was done.")
        return same

    def _tell_step(self, step: Step) -> None:
        """The things to know before the step in hand is done; a caution is said in full once."""
        for caution in step.cautions:
            words = f"{caution.signal.value.upper()}. {caution.hazard}"
            if caution not in self._warned:
                words = f"{words} {caution.consequence} {caution.avoidance}"
            self._warned.add(caution)
            self.talk.say(words)
        self._tell_notes(step)
        critical = critical_words(self.work.now.offer) if self.work.now.offer else ""
        if critical:
            self.talk.say(f"CRITICAL. {critical}")
        if step.drawing:
            self.talk.say(f"DRAWING. {step.drawing}: 0 leads to it.")
        self._lookups.tell_past(step)
        for whose, words in sums_of(self.session.run, step.id, self.work.parts, self.session.now()):
            self.talk.say(f"{whose}: {words}" if whose else words)
        if self.session.books.trouble:
            self.talk.say(self.session.books.trouble)
        for words in self._used:
            self.talk.say(words)
        offer, hours = self.work.now.offer, hours_of(self.session.shop)
        if offer is not None:
            now = self.work.now
            for words in dark_ahead(now.run, offer, self.work.parts, hours, now.at):
                self.talk.say(f"DARK. {words}")

    def _turn(self) -> str:
        """Which pass the step in hand is at, and which place; empty where there is but one."""
        offer = self.work.now.offer
        return turn_words(self.session.run, offer) if offer is not None else ""

    def _tell_notes(self, step: Step) -> None:
        """Say once for as long as a step is in hand what stands beside it, and which pass it is."""
        run, offer = self.session.run, self.work.now.offer
        if offer is None:
            return
        notes = [f"{label.capitalize()}: {words}" for label, words in step_notes(run, offer)]
        turn = self._turn()
        said = (step.id, *notes, turn)
        if said == self._noted:
            return
        fresh = [note for note in notes if step.id != self._noted[0] or note not in self._noted]
        self._noted = said
        for words in (*fresh, *((f"Pass: {turn}",) if turn else ())):
            self.talk.say(words)

    def _uses(self) -> tuple[str, ...]:
        """The supplies that the step in hand uses, a line each."""
        step = self.work.step
        uses = uses_in_hand(self.session, step, self.work.parts) if step is not None else ()
        return tuple(f"Uses {use_words(use)}" for use in uses)

    def _follow(self, answer: str) -> None:
        flows = {"0": lookups.why, "*": notes.write_down, "/": lookups.look_up}
        if answer in flows:
            self._converse(flows[answer](self.work))
            if answer == "0" and self.work.step is not None:
                self._lookups.tell_lessons(self.work.step)
        elif answer == "+":
            self._walk()
        elif answer.endswith("."):
            if self._takes(answer.removesuffix(".").strip()):
                self._converse(lookups.choose_parts(self.work))
                self._act()
        elif self._takes(answer):
            self._act()

    def _converse(self, flow: Flow) -> bool:
        return converse(flow, self)

    def _act(self) -> None:
        """Do what is in hand; a line that was left without doing it is let go of again."""
        offer = self.work.now.offer
        if offer is not None and self.work.waits:
            self.talk.say(f"Nothing to do yet: {offer.why}. A number does a line anyway.")
        elif not self._converse(act(self.work)):
            self.work.let_go()

    def _walk(self) -> None:
        said, offer = self.work.walk(1), self.work.now.index
        self.talk.say(said or f"In hand: {lookups.work_prompt(self.work).options[offer].words}")

    def _takes(self, number: str) -> bool:
        """Take a line in hand by its number; whether there is one. Empty: what is in hand."""
        if not number:
            return self._still(self.work.now.index)
        if number == "9" and self._offers.more:
            self._offers = self._offers.turned()
            self._told = ()
            return False
        place = self._offers.place(number)
        if place is not None:
            if not self._still(place):
                return False
            self.work.pin(self.work.now.offers[place])
        elif number.isascii() and number.isdigit():
            self.talk.say(f"There are lines 1 to {len(self._offers.shown)}.")
        else:
            self.talk.say("That is none of the keys. " + HELP[0])
        return place is not None


def _timeless(line: str) -> str:
    """A line on offer without the times that go on by themselves."""
    return _TIMES.sub("", line).lstrip("0123456789 ")
