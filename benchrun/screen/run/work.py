"""The work itself: what is in hand, shown and taken up with one key."""

from collections.abc import Hashable, Sequence
from dataclasses import replace
from functools import partial

from benchrun.alarms.calls import Alarm
from benchrun.alarms.dark import dark_ahead
from benchrun.approvals import edition_words
from benchrun.dialogue import lookups, notes
from benchrun.dialogue.acts import (
    act,
    choices_of,
    finding_prompt,
    stroke,
    stroke_inspection,
)
from benchrun.dialogue.hand import View, act_of, called_offer, is_hold
from benchrun.dialogue.prompts import Stays
from benchrun.dialogue.put_in import put_in_notes
from benchrun.dialogue.run_prompts import SAME
from benchrun.dialogue.signature import opens_by_passphrase
from benchrun.dialogue.situation import resumed_words
from benchrun.dialogue.supplies import uses_in_hand
from benchrun.procedure.route import Inspect
from benchrun.run.entries import Entry
from benchrun.run.offers import Deed
from benchrun.screen import help_page, keys
from benchrun.screen.page import Page
from benchrun.screen.page_api import Field, Hint, Pane
from benchrun.screen.run import topics
from benchrun.screen.run.header import RunTitle
from benchrun.screen.run.hints import anyway_words, hints_of
from benchrun.screen.run.host import RunHost
from benchrun.screen.run.layout import Beside, LogLine, work_blocks
from benchrun.screen.run.typed_reading import TypedReading, reading_of
from benchrun.screen.text_line import Paper, Role, TextPiece
from benchrun.shop.settings import has_watched_folder, hours_of

FLOWS = {".": lookups.choose_parts, "*": notes.write_down, "/": lookups.look_up}
TAIL = 6
UNTOLD = ("seal", "beat")
"""The machine's own entries, which no foot of a page shows."""
LETTERS = {"w": "*", "l": "/", "s": ".", "y": "0", "n": "+", "p": "-"}


def brief_title(title: str, most: int = 24) -> str:
    """A title in few words, for the line of keys."""
    return title if len(title) <= most else f"{title[: most - 1].rstrip()}…"


class WorkPane(Pane):
    """One offer at a time, the most urgent first; the hand may walk to another."""

    about = "The work in hand, most urgent first. Enter does it for all parts ready."

    host: RunHost

    def __init__(self, host: RunHost) -> None:
        super().__init__(host)
        self.field = Field(most=32)
        self._read: set[str] = set()
        self._crowded = False
        self._sent = ""
        self._waiting = ""
        self._told: tuple[int, list[tuple[Entry, str]]] = (0, [])

    def now(self) -> View:
        """The run as it stands at this moment."""
        return self.host.work.now

    def reading(self) -> TypedReading | None:
        """The reading that may be typed, if one is in hand."""
        return reading_of(self.host.work, self.field.text)

    def unread(self, now: View) -> bool:
        """Whether the cautions did not fit and are still to be read on a page of their own."""
        step = now.offer.step if now.offer else None
        return self._crowded and step is not None and step.id not in self._read

    def does(self) -> Hashable:
        """The act that Enter would send."""
        now = self.now()
        return (act_of(now.offer, self.host.work.parts), self.unread(now))

    def numbers_act(self) -> bool:
        """Whether a number judges, or begins a passphrase."""
        now = self.now()
        offer = now.offer
        if offer is None:
            return False
        if offer.deed is Deed.CLOSE or is_hold(offer) or stroke_inspection(now.run, offer):
            return True
        return choices_of(now.run, offer) is not None

    def same_acts(self) -> bool:
        """Whether a reading is in hand."""
        return self.reading() is not None

    def page(self, paper: Paper) -> Page:
        """Where I stand, the cautions, the step, its entry, the clocks, what comes next."""
        self._tidy()
        now, parts, reading = self.now(), self.host.work.parts, self.reading()
        hints = self.hints(now, parts, reading)
        blocks = partial(
            work_blocks,
            paper,
            now,
            parts,
            reading,
            title=self._title(),
            whose=self.whose(),
            look=self.host.look,
            beside=replace(
                self._beside(),
                resumed=resumed_words(self.host.work) if self.host.work.resumed else "",
                tail=self._tail() if paper.large else (),
            ),
        )
        page = self.laid(paper, blocks(), hints)
        self._crowded = not page.whole
        return page if page.whole else self.laid(paper, blocks(crowded=True), hints)

    def _title(self) -> RunTitle:
        """The procedure of the run, with its edition and whoever approved it."""
        procedure, approval = self.host.session.procedure, self.host.work.approval
        return RunTitle(procedure.title, edition_words(procedure, approval), approval.calls)

    def _tail(self) -> Sequence[LogLine]:
        """The last entries that tell of an act."""
        host, entries = self.host, self.host.session.entries
        now = host.now()
        if self._told[0] != len(entries):
            last = [one for one in entries[-40:] if one.kind not in UNTOLD][-TAIL:]
            self._told = (len(entries), [(one, host.work.words(one)) for one in last])
        return [LogLine(host.look.since(one.at, now), one.n, words) for one, words in self._told[1]]

    def _beside(self) -> Beside:
        """The words of past runs and the shop on the step in hand."""
        host, step, now = self.host, self.host.work.step, self.host.work.now
        if step is None or now.offer is None:
            return Beside()
        uses = uses_in_hand(host.session, step, host.work.parts)
        dark = dark_ahead(
            now.run, now.offer, host.work.parts, hours_of(host.session.shop), now.at, host.look.zone
        )
        put_in = tuple(put_in_notes(host.session.shop, now.run, now.offer))
        return Beside(host.learned(step.id), host.took(step.id), uses, dark, put_in=put_in)

    def whose(self) -> TextPiece:
        """Who works, as the head of the page says it."""
        return self.host.work.worker, Role.QUIET

    def hints(self, now: View, parts: tuple[str, ...], reading: TypedReading | None) -> list[Hint]:
        """The keys that mean something now."""
        hints = hints_of(
            now,
            parts,
            typed=self.field.text,
            reading=reading.prompt if reading else None,
            waits=self.host.work.waits,
            signed=opens_by_passphrase(self.host.work),
            watched=self._watched(now),
        )
        if self.host.back_to and not now.index and reading is None:
            hints.insert(1, Hint("-", f"back to {brief_title(self.host.back_to)}"))
        return hints

    def _watched(self, now: View) -> bool:
        """Whether the photo of the step in hand is the newest picture of a folder."""
        step = now.offer.step if now.offer else None
        return bool(step and step.photo) and has_watched_folder(self.host.session.shop)

    def _tidy(self) -> None:
        """When something else is in hand, what was chosen and typed for the last is gone."""
        work = self.host.work
        work.tidy()
        self.field.text = work.typed
        if self._waiting and self.host.message[0] == self._waiting:
            # Time has gone on: what is waited for comes nearer, and then it is waited for no more.
            self._waiting = self._waits_for()
            self.host.say(self._waiting)

    def _waits_for(self) -> str:
        """The words for what is waited for; empty where something may be done."""
        now, work = self.now(), self.host.work
        if now.offer is None or not work.waits:
            return ""
        anyway = anyway_words(now.run, now.offer, work.parts, watched=self._watched(now))
        return f"Nothing to do yet: {now.offer.why}. + and then Enter: {anyway}."

    def answers(self, alarm: Alarm) -> bool:
        """Whether what an alarm calls for is in hand, or what leads to it."""
        if alarm.run_id != self.host.session.folder.run:
            return False
        now = self.now()
        return now.offer is not None and now.offer is called_offer(now, alarm.clock)

    def typing(self, key: str) -> bool:
        """Whether a key belongs to a reading."""
        return bool(self.field.text) or (key.isdigit() and self.reading() is not None)

    def early(self, key: str) -> bool:
        """Whether a key counts though it came within the deaf half second.

        A gauge that types its figures and Enter is quicker than any hand; what it sends twice at
        once is a bounce.
        """
        if key not in (keys.ENTER, keys.SAME) or not self.field.text:
            return False
        if self.field.text != self._sent:
            return True
        self._type("")
        self.host.say("The same reading came twice at once: it was taken once.", strong=True)
        return False

    def _type(self, text: str) -> None:
        self.field.text = self.host.work.typed = text

    async def key(self, key: str) -> None:
        """Do what a key means."""
        self._tidy()
        host, work, reading = self.host, self.host.work, self.reading()
        if reading is not None and await self._reading_key(reading, key):
            return
        key = LETTERS.get(key, key)
        if key == keys.ENTER:
            await self._enter(reading)
        elif key in ("+", keys.NEXT):
            self.walk(1)
        elif key in ("-", keys.PREVIOUS):
            self._previous(key)
        elif key in FLOWS:
            await host.converse(partial(FLOWS[key], work))
        elif reading is not None and len(key) == 1 and not key.isdigit() and key not in "?h":
            # Whoever begins a reading with a letter is not thrown out of the run by it.
            host.say("A reading begins with a figure, such as 25.43.")
        elif key in (keys.BACK, "b"):
            self._back()
        elif key == "h":
            host.push(help_page.help_pane(host))
        elif key.isdigit():
            await self._digit(key)

    async def _reading_key(self, reading: TypedReading, key: str) -> bool:
        """Take a key that types the reading or gives it to all; whether it does either."""
        if key == keys.SAME:
            await self._give(reading, f"{reading.typed}{SAME}")
            return True
        if self._types(key):
            self._take_figure(reading, key)
            return True
        return False

    def _take_figure(self, reading: TypedReading, key: str) -> None:
        """Take a key that belongs to the reading, unless no such reading can be meant."""
        refused = "" if self.field.text else reading.prompt.refused(key)
        if refused:
            self.host.say(refused, strong=True)
            return
        # What is being typed stays in hand, whatever becomes more urgent meanwhile.
        self.host.work.keep()
        # A keypad has no rubout, and no reading holds an asterisk.
        self.field.take(keys.RUBOUT if key == "*" else key)
        self.host.work.typed = self.field.text

    def _types(self, key: str) -> bool:
        """Whether a key belongs to the entry field."""
        if self.field.text:
            return len(key) == 1 or key in (keys.RUBOUT, keys.CLEAR)
        return key.isdigit() or key in ("+", "-", ".", ",")

    def _back(self) -> None:
        if self.field.text:
            self._type("")
        elif not self.host.work.let_go():
            self.host.leave()

    def _previous(self, key: str) -> None:
        """Take the offer before in hand; from the first, minus goes back to where one came from."""
        if key == "-" and self.host.back_to and not self.host.work.now.index:
            self.host.leave()
        else:
            self.walk(-1)

    def walk(self, by: int) -> None:
        """Take the next offer in hand, or the one before."""
        said = self.host.work.walk(by)
        if said:
            self.host.say(said)
        else:
            self.host.chose()

    async def _digit(self, key: str) -> None:
        host, work, now = self.host, self.host.work, self.now()
        if now.offer is None:
            return
        if key == "0":
            if now.offer.step is not None:
                await host.converse(partial(lookups.why, work))
            return
        choices = choices_of(now.run, now.offer)
        judged = stroke_inspection(now.run, now.offer)
        if judged is not None and isinstance(judged.detail, Inspect):
            if finding_prompt(now.run, judged.detail).place(key) is not None and self._may():
                await host.converse(partial(stroke, work), first=key)
        elif choices is not None:
            if choices.place(key) is not None and self._may():
                await host.converse(partial(act, work), first=key)
        elif opens_by_passphrase(work) and self._may():
            # The passphrase may be typed at once; what it signs stands above it.
            await host.converse(partial(act, work))
            await host.type_on(key)

    def _may(self) -> bool:
        """Let the cautions be read first where they did not fit."""
        now = self.now()
        if not self.unread(now) or now.offer is None or now.offer.step is None:
            return True
        step = now.offer.step

        async def read() -> None:
            self._read.add(step.id)

        self.host.push(topics.before_pane(self.host, step, read))
        return False

    async def _enter(self, reading: TypedReading | None) -> None:
        host, work, now = self.host, self.host.work, self.now()
        if now.offer is None or not self._may():
            return
        if work.waits:
            self._waiting = self._waits_for()
            host.say(self._waiting)
        elif choices_of(now.run, now.offer) is not None:
            host.say("Choose by its number.")
        elif reading is None:
            await host.converse(partial(act, work))
        else:
            await self._give(reading, reading.typed)

    async def _give(self, reading: TypedReading, typed: str) -> None:
        """Give a reading, unless it says by itself why not."""
        meaning = reading.prompt.meaning(typed)
        if isinstance(meaning, Stays):
            self.host.say(meaning.said)
        elif self._may():
            self._sent = reading.typed
            await self.host.converse(partial(act, self.host.work), first=typed)
