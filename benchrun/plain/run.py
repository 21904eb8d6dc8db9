"""Carrying out a run line by line: the dialogue read out, and what is typed handed back."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from benchrun.dialogue import lookups, notes
from benchrun.dialogue.acts import act
from benchrun.dialogue.conversation import converse
from benchrun.dialogue.prompts import BACK, Choose
from benchrun.dialogue.put_in import put_in_notes
from benchrun.dialogue.run_prompts import SAME, ReadingPrompt
from benchrun.dialogue.situation import TOLD_AT, resumed_words
from benchrun.dialogue.turns import Destination, Flow, OpenPage, Say, Send, Sign
from benchrun.dialogue.work import Work
from benchrun.lean_dataclass import lean_dataclass
from benchrun.part_names import part_names
from benchrun.plain.books import tell_books
from benchrun.plain.face import HEARD, REST, PlainFace
from benchrun.plain.hearing import Hearing
from benchrun.plain.log_lines import local_time
from benchrun.plain.lookups import PlainLookups
from benchrun.plain.offer_lines import OfferLines
from benchrun.plain.run_speech import RunSpeech
from benchrun.plain.step_lines import StepLines
from benchrun.plain.talk import Talk, nothing
from benchrun.procedure.route import Reading, Step
from benchrun.run.offers import Deed, Offer
from benchrun.run.sums import sums_of
from benchrun.session import Reply, Sitting
from benchrun.shop.personal import personal_settings_path, unlocked_ms
from benchrun.text import heard_s

HELP = (
    "Enter does the first line. A number does that line. 0 says why.",
    "N . does line N for some parts. + walks the lines. * writes something down. - leaves.",
    "/ looks something up: the log, the steps ahead, sums, past runs. ? says all of this again.",
    "! says first aid, at any question.",
)
FIRST_HELP: Final = "Enter does the first line. ? says all keys, ! first aid."
LITTLE_S: Final = 1.0
"""So much longer than one listens an act may be before an Enter is asked for between."""
RESUMED_HELP: Final = "? says all keys, ! first aid."
"""The same behind the words that a run is resumed with."""


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
        self.work = Work(self.session, lambda at: local_time(at, self.session.now()))
        self.session.unlocked_ms = unlocked_ms(personal_settings_path())
        self._lookups = PlainLookups(self.talk, self.work)
        self._hearing = Hearing()
        self._measured: dict[str, set[str]] = {}
        self._speech = RunSpeech(self.work, self._hearing)
        self._lines = OfferLines(self.work, self._hearing, self._speech)
        self._steps = StepLines(self.work, self._hearing, self._lookups)
        self._helped = self._left = self._follows = self._resumed = False
        self.goes_to: Path | None = None
        self._named: tuple[str, ...] = ()
        self._series: tuple[str, tuple[str, ...]] = ("", ())

    def carry_on(self, *, resumed: bool = False) -> None:
        """Offer and do until the run is closed or left.

        Args:
            resumed: Whether it goes on from earlier, which one line tells.
        """
        self._resumed = resumed
        if resumed:
            self.talk.say(resumed_words(self.work).removesuffix(TOLD_AT))
        self.talk.speak = self._speak_of_clocks
        before, self.talk.first_aid = self.talk.first_aid, self._first_aid
        try:
            self._work_on()
        finally:
            self.talk.speak, self.talk.first_aid = nothing, before
        if self.session.run.ended:
            self.talk.say(f"Its record: run {self.session.folder.run}")
            self.talk.say("Past runs checks it, reads it, hands it over.")

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
            self._asked = None
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
        super().say(replace(words, text=text))
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
        # How many still wait is no news; limits that are others now are.
        means = {one: _unnumbered(one) if one.startswith(SAME) else one for one in lines}
        new = [line for line in lines if means[line] not in known]
        known.update(means.values())
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
        told = any(line.rstrip(".:").endswith(f": {title}") for line in self._lines.told)
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
        before = self._lines.told
        said = self._lines.after_clocks(lines)
        if self._lines.told != before and self.work.now.index:
            said += [f"In hand: {self._lines.words(self.work.now.index)}"]
        return said, wait

    def _speak_of_clocks(self) -> tuple[Sequence[str], float | None]:
        """The clocks that came to another stage while a question waits for its answer."""
        lines, wait = self._speech.news(calls_only=True)
        return list(map(self._speech.brief, lines)), wait

    def _tell_again(self) -> None:
        """Say the keys, the clocks and what is on offer once more."""
        self._lines.forget()
        self._speech.forget()
        self._hearing.forget()
        self._measured.clear()
        if self.read_slowly(HELP):
            self._pause_before(*self._lines.lines()[:1])

    def _warn(self) -> bool:
        """Say each new caution of the step in hand by itself, then its lessons.

        Returns:
            Whether the run goes on: `-` leaves it.
        """
        while not self._lines.same and (step := self._steps.ahead) is not None:
            caution = self._hearing.new_caution(step)
            up_ms = self.work.now.at.up_ms
            room = self.talk.listens_s - self.talk.said_s - heard_s([HEARD])
            if caution is not None:
                lines = [self._hearing.in_full(caution, up_ms)]
            else:
                lines = list(self._hearing.new_lessons(self._lookups.lessons(step), room))
                if not lines:
                    return True
            self._say_lines(lines)
            self._hearing.hear((), up_ms, long=True)
            while answer := self.talk.ask(HEARD):
                if answer == BACK:
                    return False
                again = answer == REST
                self._say_lines(lines if again else ["This comes first; - leaves the run."])
            self.session.tick().result()
            self.work.tidy()
        return True

    def _say_lines(self, lines: Iterable[str]) -> None:
        for line in lines:
            self.talk.say(line)

    def _tell(self) -> None:
        """Say what is on offer where that has changed, with what must be known before."""
        changed = self._steps.changed()
        if not changed and self._lines.same_but_for_times:
            self._lines.take()  # the same words, at another place of the same part, or later
            return
        self.talk.say()
        if not self._helped:
            self._helped = True
            words = RESUMED_HELP if self._resumed else FIRST_HELP
            self.talk.say(words)
            self._hearing.hear([words], self.session.now().up_ms)
        step, told = self._steps.ahead, bool(self._lines.told)
        before = list(self._steps.before(step, told=told)) if step is not None else []
        fresh = self._lines.fresh()
        if self.talk.said_s + heard_s([*before, *fresh]) > self.talk.listens_s + LITTLE_S:
            self._pause_before(*before, *fresh)
        self._say_lines([*before, *fresh])

    def _still(self, place: int) -> bool:
        """Whether a line is still the one that was said; if not, that is told."""
        same = self._lines.still(place)
        if not same:
            self._lines.told = ()
            self.talk.say("What is on offer has changed. Nothing was done.")
        return same

    def _sums(self, step: Step) -> Sequence[tuple[str, str]]:
        """The sums of a step, for whom and how."""
        return list(sums_of(self.session.run, step.id, self.work.parts, self.session.now()))

    def _follow(self, answer: str) -> None:
        flows = {"0": lookups.why, "*": notes.write_down, "/": lookups.look_up}
        if answer in flows:
            self._converse(flows[answer](self.work))
            if answer == "0" and (offer := self.work.now.offer) is not None:
                notes_in = put_in_notes(self.session.shop, self.session.run, offer)
                self.read([f"{label.capitalize()}: {', '.join(said)}" for label, said in notes_in])
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
            self.talk.say(f"Nothing to do yet: {offer.why}. Its number does a line anyway.")
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
        self.talk.say(said or f"In hand: {self._lines.words(offer)}")

    def _takes(self, number: str) -> bool:
        """Take a line in hand by its number; whether there is one. Empty: what is in hand."""
        if not number:
            return self._still(self.work.now.index)
        if number == "9" and self._lines.turn():
            return False
        place = self._lines.place(number)
        if place is not None:
            if not self._still(place):
                return False
            self.work.pin(self.work.now.offers[place])
        elif number.isascii() and number.isdigit():
            self.talk.say(f"There are lines 1 to {self._lines.highest}.")
        else:
            self.talk.say("That is none of the keys. " + HELP[0])
        return place is not None


def _unnumbered(title: str) -> str:
    """A title without its numbers, such as that of one line among several."""
    return re.sub(r"\d+", "", title)
