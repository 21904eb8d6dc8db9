"""Carrying out a run line by line: the dialogue read out, and what is typed handed back."""

import re
from collections.abc import Hashable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from benchrun.alarms.dark import dark_ahead
from benchrun.dialogue import lookups, notes
from benchrun.dialogue.acts import act
from benchrun.dialogue.conversation import converse
from benchrun.dialogue.hand import critical_words, offer_key
from benchrun.dialogue.prompts import BACK, Choose, ReadingPrompt
from benchrun.dialogue.situation import resumed_words
from benchrun.dialogue.step_notes import step_notes, turn_words
from benchrun.dialogue.supplies import use_words, uses_in_hand
from benchrun.dialogue.turns import Destination, Flow, OpenPage, Say, Send, Sign
from benchrun.dialogue.work import Work
from benchrun.lean_dataclass import lean_dataclass
from benchrun.part_names import part_names
from benchrun.plain.books import tell_books
from benchrun.plain.face import PlainFace
from benchrun.plain.hearing import WAITS, Hearing
from benchrun.plain.lookups import PlainLookups
from benchrun.plain.run_speech import RunSpeech
from benchrun.plain.talk import Talk, nothing
from benchrun.procedure.route import Reading, Step
from benchrun.run import entries as e
from benchrun.run.offers import Deed, Offer
from benchrun.run.sums import sums_of
from benchrun.session import Reply, Sitting
from benchrun.shop.personal import personal_settings_path, unlocked_ms
from benchrun.shop.settings import hours_of
from benchrun.text import count

HELP = (
    "Enter does the first line. A number does that line. 0 says why.",
    "N . does line N for some parts. + walks the lines. * writes something down. - leaves.",
    "/ looks something up: the log, the steps ahead, sums, past runs. ? says all of this again.",
    "! says first aid, at any question.",
)
FIRST_HELP: Final = "Enter does the first line. ! says first aid, ? says all keys."
HEARD: Final = "Enter goes on:"
_TIMES: Final = re.compile(r" \(too early, [^)]*\)|, due (in .*|now|since .*)|\(wait\) ")


@lean_dataclass()
class PlainRun(PlainFace):
    """One run on the plain face.

    Args:
        talk: Speaks and listens.
        session: The run.

    Attributes:
        goes_to: The folder of the run that is gone on with when this one is left; None: none.
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
        self._said: set[str] = set()
        self._unsaid = 0
        self._hearing = Hearing()
        self._measured: dict[str, set[str]] = {}
        self._speech = RunSpeech(self.work, self._hearing)
        self._left = False
        self.goes_to: Path | None = None
        self._named: tuple[str, ...] = ()
        self._series: tuple[str, tuple[str, ...]] = ("", ())
        self._follows = False

    def carry_on(self, *, resumed: bool = False) -> None:
        """Offer and do until the run is closed or left.

        Args:
            resumed: Whether it goes on from earlier, which one line tells.
        """
        if resumed:
            self.talk.say(resumed_words(self.work))
        self.talk.say(FIRST_HELP)
        self.talk.speak = self._speak_of_clocks
        before, self.talk.first_aid = self.talk.first_aid, self._first_aid
        try:
            self._work_on()
        finally:
            self.talk.speak, self.talk.first_aid = nothing, before
        if self.session.run.ended:
            self.talk.say(f"Its record: {self.session.folder.path}")
            self.talk.say("Past runs, on the board, checks it, reads it, hands it over.")

    def _first_aid(self) -> None:
        session = self.session
        self.say_first_aid(session.shop, [(session.procedure.title, session.folder.procedure)])

    def _work_on(self) -> None:
        while not self.session.run.ended and not self._left:
            self.session.tick().result()
            self._tell_trouble()
            self.work.tidy()
            if not self._warn():
                return
            self._tell()
            answer = self.talk.ask_while(">", self._speak)
            if answer == BACK:
                return
            if answer == "?":
                self._tell_again()
            else:
                self._follow(answer)

    def say(self, words: Say) -> None:
        """Say words; parts that were named a moment ago are not named again."""
        entries = self.session.entries
        about = (tuple(getattr(entry.data, "parts", ())) for entry in reversed(entries))
        named = next(filter(None, about), ()) == self._named
        text = words.heard if words.heard and named else words.text
        self.talk.say(text)
        self._hearing.hear([text], self.session.now().up_ms)

    def whose(self, parts: Sequence[str]) -> str:
        """Parts in few words."""
        return part_names(parts, self.session.run.parts)

    def unheard(self, prompt: ReadingPrompt, lines: Sequence[str]) -> Sequence[str]:
        """Of the lines said before a reading is typed those that were not heard at this step."""
        self._named = tuple(prompt.parts)
        if prompt.step.id not in self._measured:
            self._measured = {prompt.step.id: set()}
        known = self._measured[prompt.step.id]
        new = [line for line in lines if line not in known]
        known.update(lines)
        self._hearing.hear(new, self.session.now().up_ms)
        return new

    def news_of(self, prompt: Choose, lines: Sequence[str]) -> Sequence[str]:
        """Of the lines of a choice those that were not said at the one before of a series."""
        (title, known), self._series = self._series, (prompt.title, tuple(lines))
        same = _unnumbered(title) == _unnumbered(prompt.title)
        self._follows = same and title != prompt.title
        return [line for line in lines if line not in known] if self._follows else lines

    def title_of(self, prompt: Choose) -> str:
        """The matter of a choice, unless the line that was taken has just said it."""
        title = super().title_of(prompt)
        if self._follows:
            return title.rpartition(", ")[2].capitalize()
        told = any(line.rstrip(".:").endswith(f": {title}") for line in self._told)
        return "Which" if told else title

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
        """Look the log or the books up, or leave."""
        match place.place:
            case Destination.BOARD:
                self._left = True
            case Destination.RUN:
                self._left, self.goes_to = True, place.run
            case Destination.LOG:
                self._lookups.log()
            case Destination.BOOKS:
                tell_books(self, self.session.shop, self.session.now())

    def _speak(self) -> tuple[Sequence[str], float | None]:
        """The clocks that came to another stage while nobody typed, with what is first now."""
        lines, wait = self._speech.news()
        if not lines or not self._told or self._offer_lines() == self._told:
            return list(map(self._speech.brief, lines)), wait
        first = self._speech.of_first()
        at = next((place for place, line in enumerate(lines) if first and first in line), None)
        said = list(map(self._speech.brief, lines))
        before = self._told
        fresh = self._fresh_offers()
        if WAITS in self._told[0] and _timeless(self._told[0]) == _timeless(before[0]):
            fresh = fresh[1:]  # it waits as before, and its clock tells until when
        elif at is not None:
            # The clock's own sentence says what the first line is: it takes the line's place.
            said[at] = f"1 {said[at]}"
            fresh = fresh[1:]
        if self.work.now.index:
            fresh += [f"In hand: {self._offer_words(self.work.now.index)}"]
        return [*said, *fresh], wait

    def _speak_of_clocks(self) -> tuple[Sequence[str], float | None]:
        """The clocks that came to another stage while a question waits for its answer."""
        lines, wait = self._speech.news(calls_only=True)
        return list(map(self._speech.brief, lines)), wait

    def _tell_again(self) -> None:
        """Say the keys, the clocks and what is on offer once more."""
        for line in HELP:
            self.talk.say(line)
        self._told = ()
        self._said.clear()
        self._speech.forget()
        self._hearing.forget()
        self._measured.clear()

    def _warn(self) -> bool:
        """Say each new caution of the step in hand by itself, then its lessons.

        Returns:
            Whether the run goes on: `-` leaves it.
        """
        while self._offer_lines() != self._told and (step := self._step_ahead()) is not None:
            caution = self._hearing.new_caution(step)
            up_ms = self.work.now.at.up_ms
            if caution is not None:
                lines = [self._hearing.in_full(caution, up_ms)]
            else:
                lines = list(self._hearing.new_lessons(self._lookups.lessons(step)))
                if not lines:
                    return True
            for line in lines:
                self.talk.say(line)
            self._hearing.hear((), up_ms, long=True)
            while answer := self.talk.ask(HEARD):
                if answer == BACK:
                    return False
                self.talk.say("This comes first; - leaves the run.")
            self.session.tick().result()
            self.work.tidy()
        return True

    def _step_ahead(self) -> Step | None:
        """The step in hand, where it is to be done now."""
        offer = self.work.now.offer
        ready = offer is not None and offer.ready and offer.deed is not Deed.ANSWER
        return self.work.step if ready else None

    def _tell(self) -> None:
        """Say what is on offer where that has changed, with what must be known before."""
        uses = self._uses()
        turn = self._turn()
        # A pass that is made leaves the same lines on offer, and is another piece of work.
        if (self._offer_lines(), uses, turn) == (self._told, self._used, self._turned):
            self._take_offers()  # the same words, at another place of the same part
            return
        self._turned = turn
        self._used = uses
        self.talk.say()
        step = self._step_ahead()
        if step is not None:
            self._tell_step(step)
        for line in self._fresh_offers():
            self.talk.say(line)

    def _fresh_offers(self) -> list[str]:
        """The lines on offer that are worth hearing; their numbers mean these from now on.

        The first is what Enter does. Of the others only what is new is worth hearing again, and of
        what waits the clock's own sentence tells when; its number is said once it can be done.
        """
        first, *rest = self._take_offers() or ("",)
        can_be = [line for line in rest if WAITS not in line]
        self._said &= {_timeless(line) for line in (first, *can_be)}
        new = [line for line in can_be if _timeless(line) not in self._said]
        lines = [self._speech.brief(line) for line in (first, *new)]
        if new and not self._hearing.has_room(lines):
            more = f"And {count(len(new), 'more line')}: / 7."
            lines = lines[:1]
            if len(new) != self._unsaid and self._hearing.has_room([*lines, more]):
                lines, self._unsaid = [*lines, more], len(new)
            new = []
        else:
            self._unsaid = 0
        self._said |= {_timeless(line) for line in (first, *new) if WAITS not in line}
        self._hearing.hear(lines, self.work.now.at.up_ms)
        return lines

    def _shown(self) -> Choose:
        """The offers, the most urgent first, from the line that they were turned to."""
        offers = lookups.work_prompt(self.work)
        first = self._offers.first if self._offers.first < len(offers.options) else 0
        return replace(offers, first=first)

    def _offer_lines(self) -> tuple[str, ...]:
        """The lines on offer."""
        shown = self._shown()
        lines = [
            f"{number} {f'{WAITS} ' if option.beside else ''}{option.words}"
            for number, option in shown.shown
        ]
        return (*lines, *([f"9 {shown.more}"] if shown.more else []))

    def _offer_words(self, place: int) -> str:
        return self._speech.brief(lookups.work_prompt(self.work).options[place].words)

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
        """The things to know before the step in hand is done; its cautions were said in full."""
        for words in self._hearing.named(step, self.work.now.at.up_ms):
            self.talk.say(words)
        self._tell_notes(step)
        offer = self.work.now.offer
        critical = critical_words(offer) if offer else ""
        begun = isinstance(self.session.entries[-1].data, e.Begun)
        if critical and not (begun and self._told):  # that it is begun was said with its entry
            self.talk.say(f"CRITICAL. {critical}")
        if step.drawing:
            self.talk.say(f"DRAWING. {step.drawing}: 0 leads to it.")
        self._lookups.tell_past(step)
        if self.session.books.trouble:
            self.talk.say(self.session.books.trouble)
        if offer is not None and offer.deed is not Deed.LIFT:
            for words in self._used:
                self.talk.say(words)
            self._hearing.hear(self._used, self.work.now.at.up_ms)
        hours = hours_of(self.session.shop)
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

    def _sums(self, step: Step) -> Sequence[tuple[str, str]]:
        """The sums of a step, for whom and how."""
        return list(sums_of(self.session.run, step.id, self.work.parts, self.session.now()))

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
                self.read([": ".join(filter(None, one)) for one in self._sums(self.work.step)])
                self.read(self._lookups.past_lessons(self.work.step))
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
            return
        while offer is not None:
            self._named = self.work.parts
            if not self._converse(act(self.work)):
                self.work.let_go()
                return
            before, offer = offer, self.work.now.offer
            if offer is None or not self._goes_on(before, offer):
                return

    def _goes_on(self, before: Offer, offer: Offer) -> bool:
        """Whether what is first now is the same reading at the next place, or of the next part."""
        step = offer.step
        if step is None or step != before.step or not isinstance(step.detail, Reading):
            return False
        same = offer.deed is before.deed is Deed.DO
        return same and offer.ready and not (self.work.now.index or offer.figures)

    def _walk(self) -> None:
        said, offer = self.work.walk(1), self.work.now.index
        self.talk.say(said or f"In hand: {self._offer_words(offer)}")

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


def _unnumbered(title: str) -> str:
    """A title without its numbers, such as that of one line among several."""
    return re.sub(r"\d+", "", title)


def _timeless(line: str) -> str:
    """A line on offer without the times that go on by themselves."""
    return _TIMES.sub("", line).lstrip("0123456789 ")
