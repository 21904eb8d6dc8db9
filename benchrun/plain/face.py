"""The dialogue line by line: each question printed with its numbers, its answer read."""

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from benchrun import quantity
from benchrun.account.papers import remark_words
from benchrun.dialogue.conversation import Face
from benchrun.dialogue.first_aid import first_aid_rows
from benchrun.dialogue.prompts import (
    ANOTHER_INSTRUMENT,
    ANOTHER_SIGNER,
    BACK,
    NOT_SO,
    SAME,
    WANTS_CALIBRATED,
    BatchChoice,
    Check,
    Choose,
    Confirm,
    Form,
    PagePrompt,
    PageRow,
    PartsChoice,
    Prompt,
    ReadingPrompt,
    SignaturePrompt,
    Text,
)
from benchrun.dialogue.turns import OpenPage, Say, Send, Sign
from benchrun.part_names import part_names
from benchrun.plain.talk import Talk
from benchrun.session import Reply
from benchrun.shop.folder import Shop
from benchrun.text import count, listed
from benchrun.wording import misgivings_words

AT_ONCE: Final = 20
"""How many lines are said before it is asked whether to go on."""
REST: Final = "0"
"""Says the rows of a page that need not be heard before it is answered."""


class PlainFace(Face):
    """Reads the dialogue out; an empty line goes back where Enter means nothing."""

    talk: Talk

    def say(self, words: Say) -> None:
        """Say words."""
        self.talk.say(words.text)

    def whose(self, parts: Sequence[str]) -> str:
        """Parts in few words."""
        return part_names(parts)

    def unheard(self, prompt: ReadingPrompt, lines: Sequence[str]) -> Sequence[str]:
        """Of the lines said before a reading is typed those that were not heard just now."""
        del prompt
        return lines

    def news_of(self, prompt: Choose, lines: Sequence[str]) -> Sequence[str]:
        """Of the lines of a choice those that were not said at the one before of a series."""
        del prompt
        return lines

    def title_of(self, prompt: Choose) -> str:
        """The matter of a choice, in a few words."""
        return prompt.title.rstrip(".:")

    def give(self, command: Send | Sign) -> Reply:
        """Give a command; only a run takes any."""
        raise TypeError(f"no run is in hand that could take {command}")

    def open(self, place: OpenPage) -> None:
        """Open another page; only a run leads to any."""
        del place

    def ask(self, prompt: Prompt) -> str:
        """The answer to a question."""
        match prompt:
            case Choose():
                return self._choose(prompt)
            case Text():
                return self._text(prompt)
            case Confirm() | Check():
                return self._yes(prompt)
            case PartsChoice():
                return self._parts(prompt)
            case BatchChoice():
                return self._batch(prompt)
            case ReadingPrompt():
                return self._measure(prompt)
            case SignaturePrompt():
                return self._sign(prompt)
            case Form():
                return self._form(prompt)
            case PagePrompt():
                return self._page(prompt)

    def _choose(self, prompt: Choose) -> str:
        if prompt.said:
            self.talk.say(prompt.said)
        last, lines = "", list[str]()
        for number, option in prompt.shown:
            heard = option.heard or option.beside
            beside = f" ({'same' if heard == last else heard})" if heard else ""
            lines.append(f"  {number} {option.words}{beside}")
            last = heard
        for line in self.news_of(prompt, lines):
            self.talk.say(line)
        if prompt.more:
            self.talk.say(f"  9 {prompt.more}")
        return self.talk.ask(f"{self.title_of(prompt)}:") or BACK

    def _yes(self, prompt: Confirm | Check) -> str:
        if isinstance(prompt, Confirm):
            self.talk.say(prompt.said)
            return self.talk.ask(f"{prompt.title}: Enter does it, - leaves it:")
        self.talk.say(f"Check {prompt.place}. {prompt.says}")
        return self.talk.ask(f"Enter: it is so, {NOT_SO}: it is not so, - goes back:")

    def _text(self, prompt: Text) -> str:
        if prompt.said:
            self.talk.say(prompt.said)
        for number, words in enumerate(prompt.ready, 1):
            self.talk.say(f"  {number} {words}")
        ready = prompt.typed or prompt.offered  # what was refused is not to be typed again
        offered = f" (only Enter: {ready})" if ready else ""
        typed = self.talk.ask(f"{prompt.title}{offered}:")
        return typed or prompt.typed or ("" if prompt.offered else BACK)

    def _parts(self, prompt: PartsChoice) -> str:
        for part, state in zip(prompt.batch, prompt.states, strict=True):
            self.talk.say(f"  {prompt.number(part)} {part}: {state}")
        return self.talk.ask(f"{prompt.title}. Which, by number (* for all):") or BACK

    def _batch(self, prompt: BatchChoice) -> str:
        if prompt.said:
            self.talk.say(prompt.said)
        for number, option in enumerate(prompt.offered, 1):
            beside = f", {option.beside}" if option.beside else ""
            chosen = ", chosen" if option.words in prompt.chosen else ""
            self.talk.say(f"  {number} {option.words}{beside}{chosen}")
        taken = f" (only Enter takes {listed(prompt.chosen, most=12)})" if prompt.chosen else ""
        return self.talk.ask(f"{prompt.title}. Numbers or tags pick, * all, 0 others{taken}:")

    def _measure(self, prompt: ReadingPrompt) -> str:
        for line in self.unheard(prompt, list(_before_reading(prompt))):
            self.talk.say(line)
        unit = quantity.unit_named(prompt.detail.unit).shown or "a number"
        where = ", ".join(filter(None, (self.whose(prompt.parts), prompt.place)))
        return self.talk.ask(f"{where}, in {unit}:") or BACK

    def _sign(self, prompt: SignaturePrompt) -> str:
        if prompt.person is None:
            for number, person in enumerate(prompt.people, 1):
                self.talk.say(f"  {number} {person.name}")
            return self.talk.ask("Who signs:") or BACK
        self.talk.say(f"To be signed: {prompt.says}")
        # Each was said as it was ticked: they are counted, and what is not done is said in full.
        open_lines = [words for words in prompt.ticked if ": not done" in words]
        done = len(prompt.ticked) - len(open_lines)
        if done:
            self.talk.say(f"{count(done, 'line')} of the close ticked as done.")
        self.read([f"  {words}" for words in open_lines])
        if prompt.remarks:
            self.talk.say("On the record since the last signature:")
        self.read([f"  {remark_words(one)}" for one in prompt.remarks])
        another = f" ({ANOTHER_SIGNER}: another signs)" if len(prompt.people) > 1 else ""
        if not prompt.locked:
            return self.talk.ask(f"{prompt.person.name} signs{another}. Enter signs, - leaves it:")
        return self.talk.ask_secret(f"Passphrase of {prompt.person.name}{another}:") or BACK

    def _form(self, prompt: Form) -> str:
        if prompt.said:
            self.talk.say(prompt.said)
        texts = []
        for blank in prompt.blanks:
            unit = f", {blank.unit}" if blank.unit else ""
            offered = blank.typed or blank.offered or "nothing"
            words = f"{blank.label}: {blank.said}" if blank.said else blank.label
            text = self.talk.ask(f"{words}{unit} (only Enter: {offered}):")
            if text == BACK:
                return BACK
            texts.append(text or blank.typed)
        return "\n".join(texts)

    def _page(self, prompt: PagePrompt) -> str:
        self.talk.say(prompt.title)
        rows = prompt.rows()
        first = [row for row in rows if row.first]
        rest = [row for row in rows if not row.first and row.text]
        if not (prompt.decides and first and rest):
            self.read([line for row in rows for line in row_sentences(row)])
            return self.talk.ask(f"Enter: {prompt.enter}, - goes back:") if prompt.decides else ""
        self.read([row_text(row) for row in first])
        lines = sum(not row.heads for row in rest)
        heads = [row.text if row.heads else row.label.strip() for row in rest]
        about = f" ({', '.join(filter(None, heads))})" if any(heads) else ""
        more = f"{REST} says {count(lines, 'line')} more{about}."
        while (typed := self.talk.ask(f"{more} Enter: {prompt.enter}, - goes back:")) == REST:
            self.read([row_text(row) for row in rest])
        return typed

    def say_first_aid(self, shop: Shop, in_hand: Sequence[tuple[str, Path]]) -> None:
        """Say first aid: of the procedures in hand, and where there are none of all the shop's."""
        self.talk.say("First aid.")
        rows = first_aid_rows(shop, in_hand, others=not in_hand)
        self.read([words for row in rows if (words := row_text(row))])

    def read(self, lines: Sequence[str]) -> None:
        """Say lines, a page at a time."""
        for place, line in enumerate(lines):
            if place and place % AT_ONCE == 0:
                more = f"{len(lines) - place} more. Enter says them, - is enough:"
                if self.talk.ask(more) == BACK:
                    return
            self.talk.say(line)


def row_sentences(row: PageRow) -> Sequence[str]:
    """The lines of a row; a table has one for each of its rows."""
    return row.table.lines if row.table is not None else [row_text(row)]


def row_text(row: PageRow) -> str:
    """A row in one line: its label, then its words."""
    label = row.label.strip()
    if label:
        label += " " if label.endswith(".") else ": "
    return " " * row.indent + label + row.text


def _before_reading(prompt: ReadingPrompt) -> Iterator[str]:
    """The lines that are said before a reading is typed."""
    within = _within(prompt)
    if within:
        yield f"Limits: {within}."
    if prompt.rivals:
        yield f"With {' or '.join(prompt.rivals)}: asked once, after the value."
    elif prompt.tool is not None:
        name = misgivings_words(prompt.tool.name, prompt.misgivings)
        more = f"; {ANOTHER_INSTRUMENT} takes another" if prompt.others else ""
        yield f"With {name}{more}."
    elif prompt.others:
        yield f"{ANOTHER_INSTRUMENT} takes an instrument of the shop in hand."
    if prompt.lacks_calibration:
        yield WANTS_CALIBRATED
    if prompt.last:
        yield f"{SAME} gives the last value again."
    if len(prompt.waiting) > len(prompt.parts):
        yield f"{SAME} behind the figures: the same for all {len(prompt.waiting)} that wait."


def _within(prompt: ReadingPrompt) -> str:
    low, high, unit = prompt.low, prompt.high, prompt.detail.unit
    if low is not None and high is not None:
        return f"{quantity.plain(low)} to {quantity.in_words(high, unit)}"
    if low is not None:
        return f"{quantity.in_words(low, unit)} at least"
    return "" if high is None else f"{quantity.in_words(high, unit)} at most"
