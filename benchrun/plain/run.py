"""Carrying out a run line by line: the dialogue read out, and what is typed handed back."""

from dataclasses import dataclass, replace

from benchrun.alarms.dark import dark_ahead
from benchrun.dialogue import lookups, notes
from benchrun.dialogue.acts import act
from benchrun.dialogue.conversation import converse
from benchrun.dialogue.prompts import BACK, Choose
from benchrun.dialogue.situation import load_words, resumed_words
from benchrun.dialogue.supplies import use_words, uses_in_hand
from benchrun.dialogue.turns import Destination, Flow, OpenPage, Send, Sign
from benchrun.dialogue.work import Work
from benchrun.plain.face import PlainFace
from benchrun.plain.lookups import PlainLookups
from benchrun.plain.talk import Talk
from benchrun.procedure.route import Step
from benchrun.run.clocks import loads
from benchrun.run.offers import Deed
from benchrun.run.sums import sums_of
from benchrun.session import Reply, Sitting
from benchrun.shop.personal import personal_settings_path, unlocked_ms
from benchrun.shop.settings import hours_of

HELP = (
    "Enter does the first line on offer. A number does that line. 0 says why.",
    "N . does line N for some parts. + walks the lines. * writes something down. - leaves.",
    "/ looks something up: the log, the steps ahead, sums, past runs.",
)


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
        self._left = False

    def carry_on(self, *, resumed: bool = False) -> None:
        """Offer and do until the run is closed or left.

        Args:
            resumed: Whether it goes on from earlier, which one line tells.
        """
        if resumed:
            self.talk.say(resumed_words(self.work))
        for line in HELP:
            self.talk.say(line)
        while not self.session.run.ended and not self._left:
            self.session.tick().result()
            self._tell_trouble()
            self.work.tidy()
            self._tell()
            answer = self.talk.ask(">")
            if answer == BACK:
                return
            self._follow(answer)
        if self.session.run.ended:
            self.talk.say(f"The run is closed. Its record: {self.session.folder.path}")

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
                self.talk.say("The books are told by benchrun supplies, instruments, and parts.")

    def _tell(self) -> None:
        self.talk.say()
        run = self.session.run
        for clock in loads(run, self.session.now()):
            self.talk.say(f"CLOCK {load_words(run, clock)}")
        offer, step = self.work.now.offer, self.work.step
        if offer is not None and offer.ready and step is not None and offer.deed is not Deed.ANSWER:
            self._tell_step(step)
        offers = lookups.work_prompt(self.work)
        first = self._offers.first if self._offers.first < len(offers.options) else 0
        self._offers = replace(offers, first=first)
        for number, option in self._offers.shown:
            self.talk.say(f"{number} {'(wait) ' if option.beside else ''}{option.words}")
        if self._offers.more:
            self.talk.say(f"9 {self._offers.more}")

    def _tell_step(self, step: Step) -> None:
        """The things to know before the step in hand is done."""
        for caution in step.cautions:
            signal = caution.signal.value.upper()
            words = f"{signal}. {caution.hazard} {caution.consequence} {caution.avoidance}"
            self.talk.say(words)
        self._lookups.tell_past(step)
        for whose, words in sums_of(self.session.run, step.id, self.work.parts, self.session.now()):
            self.talk.say(f"{whose}: {words}" if whose else words)
        if self.session.books.trouble:
            self.talk.say(self.session.books.trouble)
        for use in uses_in_hand(self.session, step, self.work.parts):
            self.talk.say(f"Uses {use_words(use)}")
        offer, hours = self.work.now.offer, hours_of(self.session.shop)
        if offer is not None:
            now = self.work.now
            for words in dark_ahead(now.run, offer, self.work.parts, hours, now.at):
                self.talk.say(f"DARK. {words}")

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
            self.talk.say(f"Nothing to do yet: {offer.why}. A number does a line all the same.")
        elif not self._converse(act(self.work)):
            self.work.let_go()

    def _walk(self) -> None:
        said, offer = self.work.walk(1), self.work.now.index
        self.talk.say(said or f"In hand: {lookups.work_prompt(self.work).options[offer].words}")

    def _takes(self, number: str) -> bool:
        """Take a line in hand by its number; whether there is one. Empty: what is in hand."""
        if not number:
            return True
        if number == "9" and self._offers.more:
            self._offers = self._offers.turned()
            return False
        place = self._offers.place(number)
        if place is not None:
            self.work.pin(self.work.now.offers[place])
        elif number.isascii() and number.isdigit():
            self.talk.say(f"There are lines 1 to {len(self._offers.shown)}.")
        else:
            self.talk.say("That is none of the keys. " + HELP[0])
        return place is not None
