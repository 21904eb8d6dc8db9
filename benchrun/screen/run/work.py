"""The work itself: what is in hand, shown and taken up with one key."""

from collections.abc import Hashable
from functools import partial

from benchrun.procedure.route import Inspect
from benchrun.run.commands import Command
from benchrun.run.offers import Deed, Offer
from benchrun.screen import keys
from benchrun.screen.alarm import Alarm
from benchrun.screen.page import Page
from benchrun.screen.page_api import Field, Hint, Pane
from benchrun.screen.run import choosing, closing, giving, help_page, looking, signing, writing
from benchrun.screen.run.clocking import settled_by
from benchrun.screen.run.hints import hints_of
from benchrun.screen.run.host import RunHost
from benchrun.screen.run.layout import work_blocks
from benchrun.screen.run.reading import Entry, entry_of
from benchrun.screen.run.supplying import beside_of
from benchrun.screen.run.view import Eye, View, act_of, holds, inspects, key_of, parts_of, pin_of
from benchrun.screen.text_line import Paper, Role, TextPiece

LETTERS = {"w": "*", "l": "/", "s": ".", "y": "0", "n": "+", "p": "-"}


class WorkPane(Pane):
    """One offer at a time, the most urgent first; the hand may walk to another."""

    host: RunHost

    def __init__(self, host: RunHost) -> None:
        super().__init__(host)
        self.field = Field(most=32)
        self.chosen: tuple[str, ...] = ()
        self._read: set[str] = set()
        self._crowded = False
        self._sent = ""
        self._last_key: Hashable = None
        self._eye = Eye()

    def now(self) -> View:
        """The run as it stands at this moment."""
        return self._eye.view(self.host.session.run, self.host.now())

    def parts(self, now: View) -> tuple[str, ...]:
        """For whom the offer in hand would be taken up."""
        return parts_of(now.run, now.offer, self.chosen) if now.offer else ()

    def entry(self, now: View) -> Entry | None:
        """The reading that may be typed, if one is in hand."""
        return entry_of(self.host, now, self.parts(now), self.field.text)

    def unread(self, now: View) -> bool:
        """Whether the cautions did not fit and are still to be read on a page of their own."""
        step = now.offer.step if now.offer else None
        return self._crowded and step is not None and step.id not in self._read

    def does(self) -> Hashable:
        """The act that Enter would send."""
        now = self.now()
        return (act_of(now.offer, self.parts(now)), self.unread(now))

    def numbers_act(self) -> bool:
        """Whether a number judges, or begins a passphrase."""
        offer = self.now().offer
        if offer is None:
            return False
        return offer.deed in (Deed.ANSWER, Deed.CLOSE) or inspects(offer) or holds(offer)

    def page(self, paper: Paper) -> Page:
        """Where I stand, the cautions, the step, its entry, the clocks, what comes next."""
        now = self.now()
        self._forget(now)
        parts, entry = self.parts(now), self.entry(now)
        hints = self.hints(now, parts, entry)
        step = now.offer.step if now.offer else None
        blocks = partial(
            work_blocks,
            paper,
            now,
            parts,
            entry,
            title=self.host.session.procedure.title,
            whose=self.whose(),
            clock=self.host.look.clock(now.at),
            beside=beside_of(self.host, step, parts),
        )
        page = self.laid(paper, blocks(), hints)
        self._crowded = not page.whole
        return page if page.whole else self.laid(paper, blocks(crowded=True), hints)

    def whose(self) -> TextPiece:
        """Who works, as the head of the page says it."""
        return self.host.session.hand.name, Role.QUIET

    def hints(self, now: View, parts: tuple[str, ...], entry: Entry | None) -> list[Hint]:
        """The keys that mean something now."""
        typed, signed = self.field.text, self.host.session.has_signed
        waits, reads = self._waits(now), entry is not None
        return hints_of(now, parts, typed=typed, reading=reads, waits=waits, signed=signed)

    def _forget(self, now: View) -> None:
        """When something else is in hand, what was chosen and typed for the last is gone."""
        key = key_of(now.offer) if now.offer else None
        if key != self._last_key:
            self._last_key = key
            self.chosen = ()
            self.field.text = ""
        if self._eye.pinned is not None and key != self._eye.pinned.key:
            self._eye.pinned = None  # it is no longer on
        if now.offer is None or not set(self.chosen) & set(now.offer.parts):
            self.chosen = ()  # none of them is waiting for it any more

    def settles(self, alarm: Alarm) -> str:
        """What 1 does while an alarm stands: the act that it calls for, if that is in hand."""
        now = self.now()
        if now.offer is None or self.field.text or self.unread(now):
            return ""
        return settled_by(now.offer, alarm, self.host.session.folder.run)

    def early(self, key: str) -> bool:
        """Whether a key counts though it came within the deaf half second.

        A gauge that types its figures and Enter is quicker than any hand; what it sends twice at
        once is a bounce.
        """
        if key != keys.ENTER or not self.field.text:
            return False
        if self.field.text != self._sent:
            return True
        self.field.text = ""
        self.host.say("The same reading came twice at once: it was taken once.", strong=True)
        return False

    async def key(self, key: str) -> None:
        """Do what a key means."""
        now = self.now()
        self._forget(now)
        entry = self.entry(now)
        if entry is not None and now.offer is not None and self._types(key):
            # What is being typed stays in hand, whatever becomes more urgent meanwhile.
            self._eye.pinned = pin_of(now.offer)
            # A keypad has no rubout, and no reading holds an asterisk.
            self.field.take(keys.RUBOUT if key == "*" else key)
            return
        key = LETTERS.get(key, key)
        if key == keys.ENTER:
            await self._enter(now, entry)
        elif key in ("+", keys.NEXT):
            self.walk(now, 1)
        elif key in ("-", keys.PREVIOUS):
            self.walk(now, -1)
        elif key == ".":
            self.choose_parts()
        elif key in ("*", "/"):
            self._menu(key, now, entry)
        elif entry is not None and len(key) == 1 and not key.isdigit() and key not in "?h":
            # Whoever begins a reading with a letter is not thrown out of the run by it.
            self.host.say("A reading begins with a figure, such as 25.43.")
        elif key in (keys.BACK, "b"):
            self._back()
        elif key in (keys.HELP, "?", "h"):
            self.host.push(help_page.help_pane(self.host))
        else:
            await self._digit(now, key)

    def _menu(self, key: str, now: View, entry: Entry | None) -> None:
        if key == "*":
            self.host.push(writing.write_menu(self.host, now, self.parts(now), self))
            return
        tool = entry.tool.name if entry and entry.tool else ""
        self.host.push(looking.look_menu(self.host, now, self, self.parts(now), tool))

    def _types(self, key: str) -> bool:
        """Whether a key belongs to the entry field."""
        if self.field.text:
            return len(key) == 1 or key in (keys.RUBOUT, keys.CLEAR)
        return key.isdigit() or key in ("+", "-", ".", ",")

    def _back(self) -> None:
        if self.field.text:
            self.field.text = ""
        elif self._eye.pinned is not None or self.chosen:
            self._eye.pinned, self.chosen = None, ()
        else:
            self.host.leave()

    def _waits(self, now: View) -> bool:
        """Whether there is nothing to do yet; tending may always be done."""
        offer = now.offer
        if offer is None or offer.ready or self._eye.pinned is not None:
            return False
        return offer.deed is not Deed.TEND

    def walk(self, now: View, by: int) -> None:
        """Take the next offer in hand, or the one before."""
        if self._waits(now) and now.offer is not None:
            self.pin(now.offer)
            return
        if len(now.offers) < 2:
            self.host.say("There is nothing else to do now.")
            return
        self.pin(now.offers[(now.index + by) % len(now.offers)])

    def pin(self, offer: Offer) -> None:
        """Take another offer in hand, for as long as it is on."""
        self._eye.pinned = pin_of(offer)
        self._last_key = self._eye.pinned.key
        self.chosen, self.field.text = (), ""
        self.host.chose()

    def choose_parts(self) -> None:
        """Show the batch, to choose who goes on."""
        now = self.now()
        pane = choosing.batch_pane(self.host, now, self.parts(now), self.chosen, self._chose)
        self.host.push(pane)

    def _chose(self, parts: tuple[str, ...]) -> None:
        """Go on with these parts: with what is in hand, else with what is on for most of them."""
        self.chosen = ()
        if not parts:
            return
        now = self.now()
        choice = choosing.choice_of(now, parts)
        if choice.offer is not None:
            self.pin(choice.offer)
            self.chosen = choice.parts
        self.host.say(choice.said)

    async def _digit(self, now: View, key: str) -> None:
        offer = now.offer
        if offer is None or not key.isdigit():
            return
        if key == "0":
            if offer.step is not None:
                self.host.push(looking.why_pane(self.host, offer.step))
            return
        number, seen, parts = int(key) - 1, now.run.n - 1, self.parts(now)
        if offer.deed is Deed.ANSWER and offer.question is not None:
            answers = offer.question.answers
            if number < len(answers):
                await self._give(giving.settle(offer, parts, seen, answers[number].code))
        elif (signs := closing.sign_pane(self.host, now, self.parts(now))) is not None:
            if isinstance(signs, signing.SignPane) and signs.opens_by_typing and self._may(now):
                # The passphrase may be typed at once; what it signs stands above it.
                self.host.push(signs)
                await signs.key(key)
        elif inspects(offer) and self._may(now):
            detail = offer.step.detail if offer.step else None
            findings = detail.findings if isinstance(detail, Inspect) else ()
            if number < len(findings):
                found = findings[number].name
                await self._give(giving.command_of(offer, parts, seen, finding=found))

    def _may(self, now: View) -> bool:
        """Let the cautions be read first where they did not fit."""
        if not self.unread(now) or now.offer is None or now.offer.step is None:
            return True
        step = now.offer.step

        async def read() -> None:
            self._read.add(step.id)

        self.host.push(looking.before_pane(self.host, step, read))
        return False

    async def _enter(self, now: View, entry: Entry | None) -> None:
        offer, seen = now.offer, now.run.n - 1
        if offer is None or not self._may(now):
            return
        signs = closing.sign_pane(self.host, now, self.parts(now))
        if self._waits(now):
            self.host.say(f"Nothing to do yet: {offer.why}. + takes it in hand all the same.")
        elif offer.deed is Deed.ANSWER or inspects(offer):
            self.host.say("Choose by its number.")
        elif signs is not None:
            self.host.push(signs)
        elif entry is not None:
            await self._read_in(now, entry)
        else:
            await self._give(giving.command_of(offer, self.parts(now), seen))

    async def _read_in(self, now: View, entry: Entry) -> None:
        if not entry.typed.strip() or now.offer is None:
            self.host.say("Type the reading, then Enter.")
            return
        command = giving.command_of(
            now.offer, self.parts(now), now.run.n - 1, typed=entry.typed, tool=entry.tool
        )
        self._sent = entry.typed
        await self._give(command)

    async def _give(self, command: Command | None) -> None:
        if command is not None:
            await self.host.give(command, self._kept)

    def _kept(self) -> None:
        """What was in hand is on the disk: nothing that was typed or chosen for it stays."""
        self._eye.pinned, self.chosen = None, ()
        self.field.text = ""
