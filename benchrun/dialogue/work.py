"""The work on a run as one person does it: what is in hand, for whom, with which instrument."""

import datetime as dt
from collections.abc import Callable, Hashable
from functools import cached_property
from pathlib import Path

from benchrun.account.brief_words import brief_words
from benchrun.account.entry_words import EntryWords, utc_words
from benchrun.approvals import kept_approval
from benchrun.dialogue.hand import (
    Eye,
    View,
    called_offer,
    offer_for,
    offer_key,
    offered,
    parts_of,
    pin_of,
)
from benchrun.dialogue.revisions import later_words
from benchrun.dialogue.run_prompts import PartsChoice, ReadingPrompt
from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.procedure.route import Kind, Reading, Step
from benchrun.record.approval import ApprovalState
from benchrun.record.drawings import drawing_path, named_drawings
from benchrun.run.act_clocks import ActClock
from benchrun.run.amendable import values_of
from benchrun.run.entries import Beat, Entry, Sealed
from benchrun.run.entry_builder import lists_no_instrument
from benchrun.run.offers import Deed, Offer
from benchrun.run.state import BOOKLESS_SINCE, Run
from benchrun.session import Sitting
from benchrun.shop.people import Person, read_people
from benchrun.shop_use.instruments import (
    Instruments,
    Kit,
    limits_for,
    needed_resolution,
    tool_of,
)
from benchrun.wording import STATES

__all__ = ["Work", "offered"]


class Work:
    """One offer in hand, the most urgent one until a person takes another.

    Args:
        session: The run.
        when: Says a moment in words, as the face tells the time.
        zone: The time zone of the face; None: that of this machine.
        moment: Says the moment now, as the face holds it still; None: the run's own clock.

    Attributes:
        session: The run.
        zone: The time zone of the face; None: that of this machine.
        when: Says a moment in words, as the face tells the time.
        instruments: Which instrument each reading is taken with.
        chosen: The parts that a person chose for what is in hand; empty: all that wait for it.
        typed: What stands in the entry field of the reading in hand: typed, or put there by a sum.
        resumed_at: How many entries there were when the run was resumed here; None: it was begun.
    """

    def __init__(
        self,
        session: Sitting,
        when: Callable[[Moment], str] = utc_words,
        zone: dt.tzinfo | None = None,
        moment: Callable[[], Moment] | None = None,
    ) -> None:
        self.session = session
        self._moment = moment or session.now
        self.zone = zone
        self.when = when
        self.chosen: tuple[str, ...] = ()
        self.typed = ""
        self.resumed_at: int | None = None
        self.instruments = Instruments(
            session.procedure, lambda: session.entries, Kit(session.shop)
        )
        self._wording = EntryWords(session.procedure, when=when)
        self._eye = Eye()
        self._last: Hashable = None

    @property
    def now(self) -> View:
        """The run as it stands at this moment."""
        return self._eye.view(self.session.run, self._moment())

    @cached_property
    def later(self) -> tuple[str, ...]:
        """The newer revision that the shop has of this procedure since the run began, in words."""
        return later_words(self.session.shop, self.session.procedure)

    @cached_property
    def approval(self) -> ApprovalState:
        """Who approved the procedure of the run, as the run carries it."""
        session = self.session
        about = session.run.about
        return kept_approval(session.shop, session.folder, session.procedure, about)

    def drawing(self, step: Step) -> Path | None:
        """The copy of a step's drawing in the run's folder; None where it has none there."""
        kept = named_drawings(self.session.run.about).get(step.drawing)
        return drawing_path(self.session.folder.path, kept.file) if kept is not None else None

    @property
    def seen(self) -> int:
        """The last entry that was shown."""
        return self.session.run.n - 1

    def words(self, entry: Entry) -> str:
        """An entry of the log in one line."""
        self._wording.read(self.session.entries)
        return brief_words(self._wording, entry)

    @property
    def people(self) -> tuple[Person, ...]:
        """Who may take over or sign; nine can be told by number."""
        return read_people(self.session.shop)[:9]

    @property
    def resumed(self) -> bool:
        """Whether the run was resumed here and nothing was recorded since."""
        if self.resumed_at is None:
            return False
        since = self.session.entries[self.resumed_at :]
        return all(isinstance(entry.data, Sealed | Beat) for entry in since)

    @property
    def worker(self) -> str:
        """Who works, in words."""
        person = self.session.person
        return person.name if person else "nobody named yet"

    @property
    def step(self) -> Step | None:
        """The step of what is in hand."""
        offer = self.now.offer
        return offer.step if offer else None

    @property
    def parts(self) -> tuple[str, ...]:
        """For whom what is in hand would be taken up."""
        now = self.now
        return parts_of(now.run, now.offer, self.chosen) if now.offer else ()

    @property
    def pinned(self) -> bool:
        """Whether a person has chosen what is in hand."""
        return self._eye.pinned is not None

    @property
    def waits(self) -> bool:
        """Whether there is nothing to do yet; tending may always be done."""
        offer = self.now.offer
        if offer is None or offer.ready or self.pinned:
            return False
        return offer.deed is not Deed.TEND

    def pin(self, offer: Offer, parts: tuple[str, ...] = ()) -> None:
        """Take an offer in hand, for as long as it is on.

        Args:
            offer: The offer.
            parts: For these of its parts alone; empty: for all.
        """
        self._eye.pinned = pin_of(offer)
        self._last = self._eye.pinned.key
        self.chosen, self.typed = parts, ""

    def take_called(self, clock: ActClock) -> None:
        """Take in hand what a clock calls for, or what leads to it."""
        self.let_go()
        offer = called_offer(self.now, clock)
        if offer is not None and offer is not self.now.offer:
            self.pin(offer)

    def keep(self) -> None:
        """Keep in hand what is being typed for, whatever becomes more urgent meanwhile."""
        offer = self.now.offer
        if offer is not None:
            self._eye.pinned = pin_of(offer)

    def let_go(self) -> bool:
        """Take the most urgent offer in hand again; whether another one, or some parts, were."""
        held = self.pinned or bool(self.chosen)
        self._eye.pinned, self.chosen, self.typed = None, (), ""
        return held

    def tidy(self) -> None:
        """Forget what was chosen and typed for something that is no longer in hand."""
        now, pinned = self.now, self._eye.pinned
        key = offer_key(now.offer) if now.offer else None
        if key != self._last:
            self._last = key
            self.chosen, self.typed = (), ""
        if pinned is not None and key != pinned.key:
            self._eye.pinned = None
        if now.offer is None or not set(self.chosen) & set(now.offer.parts):
            self.chosen = ()

    def walk(self, by: int) -> str:
        """Take the next offer in hand, or the one before.

        Returns:
            What is to be said, or empty.
        """
        now = self.now
        if self.waits and now.offer is not None:
            self.pin(now.offer)
            return ""
        if len(now.offers) < 2:
            return "There is nothing else to do now."
        self.pin(now.offers[(now.index + by) % len(now.offers)])
        return ""

    def measure_prompt(self, typed: str = "") -> ReadingPrompt | None:
        """The prompt for the reading in hand, if one is.

        Args:
            typed: The reading as far as it is typed; a whole one may lie outside an instrument's
                range.
        """
        offer = self.now.offer
        step = offer.step if offer and offer.deed is Deed.DO and not offer.figures else None
        if offer is None or step is None or not isinstance(step.detail, Reading):
            return None
        return self.measure_of(offer, step, step.detail, self.parts, typed)

    def measure_of(
        self, offer: Offer, step: Step, detail: Reading, parts: tuple[str, ...], typed: str = ""
    ) -> ReadingPrompt:
        """The prompt for a reading on offer, of the first of these parts."""
        session = self.session
        low, high = limits_for(session.run, parts[0], detail)
        now, run = session.now(), session.run
        fitted = self.instruments.fitted(run, step, parts[0], now, typed)
        return ReadingPrompt(
            step,
            detail,
            parts,
            offer.place,
            low,
            high,
            fitted.tool if fitted else tool_of(session.procedure, detail, typed),
            fitted.misgivings if fitted else (),
            others=bool(self.instruments.offered(step)),
            rivals=tuple(one.id for one in self.instruments.rivals(run, step, parts[0], now)),
            resolution=fitted.resolution
            if fitted
            else needed_resolution(session.procedure, detail),
            last=self._last_typed(step),
            waiting=parts if step.shared else self.waiting_for(offer),
            bookless=run.format >= BOOKLESS_SINCE and lists_no_instrument(run.about),
        )

    def waiting_for(self, offer: Offer) -> tuple[str, ...]:
        """The parts that wait for a reading on offer, or those of them that were chosen."""
        return tuple(part for part in offer.parts if part in self.chosen) or offer.parts

    def _last_typed(self, step: Step) -> str:
        """The last value of a step that still counts, as it was typed; empty for none."""
        values = values_of(self.session.run)
        return next((value.typed for value in values if value.step == step.id), "")

    def parts_prompt(self) -> PartsChoice:
        """The parts of the batch, to choose who goes on."""
        offer, parts = self.now.offer, self.parts
        among = offer.parts if offer else ()
        chosen = self.chosen if len(parts) == len(among) or _one_by_one(offer) else parts
        step = offer.step if offer else None
        title = f"Parts for step {step.number}: {step.text}" if step and len(among) > 1 else "Parts"
        run = self.session.run
        return PartsChoice(title, run.parts, among, chosen, states=part_states(run))

    def take(self, parts: tuple[str, ...]) -> str:
        """Take in hand what is on for chosen parts: what is in hand already, else for most of them.

        Returns:
            What is to be said, or empty.
        """
        self.chosen = ()
        if not parts:
            return ""
        offer = offer_for(self.now, parts)
        if offer is None:
            return f"Nothing can be done now for {part_names(parts)}."
        self.pin(offer, tuple(part for part in parts if part in offer.parts))
        left = [part for part in parts if part not in offer.parts]
        return f"Left behind, because they are at another step: {part_names(left)}." if left else ""


def part_states(run: Run) -> tuple[str, ...]:
    """Where each part of a batch stands, in words."""
    states = []
    for marker in run.each():
        op = run.route.step_at(marker.index)
        state = STATES.get(marker.status.value, marker.status.value)
        words = [state, *([f"step {op.step.number}"] if op else [])]
        queries = (f"query: {question.says}" for question in marker.questions)
        states.append("; ".join([", ".join(words), *queries]))
    return tuple(states)


def _one_by_one(offer: Offer | None) -> bool:
    """Whether only one part is in hand because each is measured by itself."""
    step = offer.step if offer and offer.deed is Deed.DO else None
    return step is not None and step.kind is Kind.READING and not step.shared
