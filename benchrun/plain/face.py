"""The dialogue line by line: each question said with its numbers, its answer read."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from benchrun import quantity
from benchrun.account.papers import remark_words
from benchrun.dialogue.batch_choice import BatchChoice
from benchrun.dialogue.close_lines import NOT_DONE
from benchrun.dialogue.conversation import Face
from benchrun.dialogue.first_aid import first_aid_rows
from benchrun.dialogue.page_prompt import PagePrompt, PageRow
from benchrun.dialogue.prompts import BACK, NOT_SO, Check, Choose, Confirm, Form, Option, Text
from benchrun.dialogue.run_prompts import (
    ANOTHER_SIGNER,
    PartsChoice,
    ReadingPrompt,
    SignaturePrompt,
)
from benchrun.dialogue.turns import OpenPage, Prompt, Say, Send, Sign
from benchrun.part_names import part_names
from benchrun.plain.prompt_lines import (
    batch_lines,
    headed_lines,
    option_lines,
    part_lines,
    portions,
    reading_lines,
    row_sentences,
    row_text,
    same_question,
    sentence_pieces,
)
from benchrun.plain.talk import Talk
from benchrun.procedure.route import Hazard
from benchrun.session import Reply
from benchrun.shop.folder import Shop
from benchrun.text import count, heard_s

AT_ONCE: Final = 20
"""How many lines are said before it is asked whether to go on."""
REST: Final = "0"
"""Says what was left out, and once all is said everything again."""
LONG_S: Final = 6.0
"""Words that take longer are heard by themselves where what is asked does not fit behind them."""
HEARD: Final = "Enter goes on:"
FIRST: Final = "This comes first; - goes back."
"""Says that something was typed before its question was asked."""


class PlainFace(Face):
    """Reads the dialogue out; an empty line goes back where Enter means nothing."""

    talk: Talk
    _asked: Prompt | None = None
    _refused = False
    _hazards: frozenset[Hazard | None] = frozenset()
    _told_of: tuple[str, ...] = ()

    def say(self, words: Say) -> None:
        """Say words."""
        self._refused = words.strong
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
        """The answer to a question; what was said before it is not said again after a refusal."""
        before, self._asked = self._asked, prompt
        again = prompt is before or (self._refused and same_question(prompt, before))
        self._refused = False
        match prompt:
            case Choose():
                return self._choose(prompt, before, again=again)
            case Text():
                return self._text(prompt, again=again)
            case Confirm() | Check():
                return self._yes(prompt)
            case PartsChoice():
                return self._parts(prompt, again=again)
            case BatchChoice():
                return self._batch(prompt, before)
            case ReadingPrompt():
                return self._measure(prompt)
            case SignaturePrompt():
                return self._sign(prompt, again=again)
            case Form():
                return self._form(prompt, again=again)
            case PagePrompt():
                return self._page(prompt)

    def pick(self, question: str, lines: Sequence[str]) -> int | None:
        """The place of a line that is chosen by its number or by words of it; None: none is."""
        numbered = [f"  {number} {line}" for number, line in enumerate(lines, 1)]
        again = False
        while (answer := self._ask_after(numbered, question, again=again)) and answer != BACK:
            again = True
            if answer.isascii() and answer.isdigit():
                if 1 <= int(answer[:4]) <= len(lines):
                    return int(answer[:4]) - 1
                self.talk.say(f"Type a number from 1 to {len(lines)}, or only Enter to leave it.")
                continue
            words = answer.casefold().split()
            found = [n for n, line in enumerate(lines) if all(w in line.casefold() for w in words)]
            if len(found) == 1:
                return found[0]
            if found:
                numbered, again = [f"  {number + 1} {lines[number]}" for number in found], False
            else:
                self.talk.say(f"No line says {answer}.")
        return None

    def _pause_before(self, *lines: str) -> bool:
        """Wait for an Enter where lines would be more than one listens to; False: `-` was typed."""
        full = self.talk.said_s + heard_s(lines) > self.talk.listens_s
        return not (self.talk.said_s and full) or self._go_on()

    def _go_on(self) -> bool:
        """Wait for an Enter; False: `-` was typed. Nothing else is dropped without a word."""
        while typed := self.talk.ask(HEARD):
            if typed == BACK:
                return False
            self.talk.say(FIRST)
        return True

    def _pause_for(self, said: str, lines: Sequence[str], question: str) -> str:
        """Wait for an Enter between long words and a choice of which not all would be heard.

        Returns:
            What was typed: who knows the choice need not hear it; empty: it is to be said.
        """
        fits = self.talk.said_s + heard_s([*lines, question]) <= self.talk.listens_s
        return "" if fits or heard_s([said]) <= LONG_S else self.talk.ask(HEARD)

    def _ask_after(
        self,
        lines: Sequence[str],
        question: str,
        *,
        whole: Sequence[str] = (),
        again: bool = False,
    ) -> str:
        """Ask after lines; as many are said as one listens to, and 0 says more of them.

        Args:
            lines: The lines.
            question: What is asked.
            whole: The same lines with all that stands beside them; 0 says these.
            again: Whether the lines were heard just now, so that only 0 says them.
        """
        room = self.talk.listens_s - heard_s([question])
        fits = heard_s(lines) <= room - self.talk.said_s
        room -= 0.0 if fits else heard_s([f"{REST} says 9 more. "])
        ahead = [] if again else portions(lines, room - self.talk.said_s, room)
        hint = f"{REST} says more of each. " if whole and len(ahead) == 1 else ""
        while True:
            for line in ahead.pop(0) if ahead else ():
                self.talk.say(line)
            left = sum(map(len, ahead))
            more = f"{REST} says {left} more. " if left else hint
            typed, hint = self.talk.ask(more + question), ""
            if typed != REST or not lines:
                return typed
            ahead = ahead or portions(whole or lines, room, room)

    def _choose(self, prompt: Choose, before: Prompt | None, *, again: bool) -> str:
        turned = isinstance(before, Choose) and before.options == prompt.options
        told = bool(prompt.said) and not (again or turned)
        if told and not self._tell_before([prompt.said], ""):
            return BACK
        lines = self.news_of(prompt, option_lines(prompt))
        usual = prompt.options[prompt.usual].words if prompt.usual is not None else ""
        taken = f" (only Enter: {usual})" if usual else ""
        question = f"{self.title_of(prompt)}{taken}:"
        whole: Sequence[str] = ()
        if prompt.explains and heard_s([*lines, question]) + self.talk.said_s > self.talk.listens_s:
            brief = replace(prompt, options=tuple(Option(one.words) for one in prompt.options))
            lines, whole = option_lines(brief), lines
        if told and (typed := self._pause_for(prompt.said, lines, question)):
            return typed
        typed = self._ask_after(lines, question, whole=whole, again=again)
        return typed or ("" if usual else BACK)

    def _yes(self, prompt: Confirm | Check) -> str:
        if isinstance(prompt, Confirm):
            self.talk.say(prompt.said)
            return self.talk.ask(f"{prompt.title}: Enter does it, - leaves it:")
        self.talk.say(f"Check {prompt.place}. {prompt.says}")
        first = not prompt.checked
        keys = f"Enter: it is so, {NOT_SO}: it is not so, - goes back:"
        return self.talk.ask(keys if first else f"Enter or {NOT_SO}:")

    def _text(self, prompt: Text, *, again: bool) -> str:
        if prompt.said and not (again or prompt.heard):
            self.talk.say(prompt.said)
        lines = [f"  {number} {words}" for number, words in enumerate(prompt.ready, 1)]
        ready = prompt.typed or prompt.offered  # what was refused is not to be typed again
        offered = f" (only Enter: {ready})" if ready else ""
        typed = self._ask_after(lines, f"{prompt.heard or prompt.title}{offered}:", again=again)
        return typed or prompt.typed or ("" if prompt.offered else BACK)

    def _parts(self, prompt: PartsChoice, *, again: bool) -> str:
        question = f"{prompt.title.rstrip('.')}. Which, by number (* for all):"
        return self._ask_after(part_lines(prompt), question, again=again) or BACK

    def _batch(self, prompt: BatchChoice, before: Prompt | None) -> str:
        """Ask for a batch: all lines at first, and only what is chosen after each pick."""
        chosen = part_names(prompt.chosen)
        if isinstance(before, BatchChoice) and before.title == prompt.title:
            self.talk.say(f"Chosen: {chosen or 'none'}.")
            return self.talk.ask("Numbers or tags pick, only Enter takes what is chosen:")
        if prompt.said:
            self.talk.say(prompt.said)
        question = f"{prompt.title}. Numbers or tags pick, * all, 0 others"
        question += f" (only Enter takes {chosen}):" if chosen else ":"
        room = self.talk.listens_s - self.talk.said_s - heard_s([question])
        for line in batch_lines(prompt, room):
            self.talk.say(line)
        return self.talk.ask(question)

    def _measure(self, prompt: ReadingPrompt) -> str:
        for line in self.unheard(prompt, list(reading_lines(prompt))):
            self.talk.say(line)
        unit = quantity.unit_named(prompt.detail.unit).shown or "a number"
        where = ", ".join(filter(None, (self.whose(prompt.parts), prompt.place)))
        return self.talk.ask(f"{where}, in {unit}:") or BACK

    def _sign(self, prompt: SignaturePrompt, *, again: bool) -> str:
        if prompt.person is None:
            lines = [f"  {number} {person.name}" for number, person in enumerate(prompt.people, 1)]
            return self._ask_after(lines, "Who signs:") or BACK
        another = f" ({ANOTHER_SIGNER}: another signs)" if len(prompt.people) > 1 else ""
        question = f"Passphrase of {prompt.person.name}{another}:"
        if not prompt.locked:
            question = f"{prompt.person.name} signs{another}. Enter signs, - leaves it:"
        if not again and not self._tell_signed(prompt, question):
            return BACK
        if not prompt.locked:
            return self.talk.ask(question)
        return self.talk.ask_secret(question) or BACK

    def _tell_signed(self, prompt: SignaturePrompt, question: str) -> bool:
        """Say what the record holds, then the words that are signed; False: `-` was typed.

        What was said to one person is not said again to another who signs instead.
        """
        # Each was said as it was ticked: they are counted, and what is not done is said in full.
        open_lines = [words for words in prompt.ticked if f": {NOT_DONE}" in words]
        done = len(prompt.ticked) - len(open_lines)
        held = (*open_lines, *(remark_words(one) for one in prompt.remarks))
        if held and held != self._told_of:
            head = f"On the record since the last signature, {count(len(held), 'line')}:"
            if not self.read_slowly([head, *held]):
                return False
        self._told_of = held
        said = [f"{count(done, 'line')} ticked as done."] * bool(done)
        return self._tell_before([*said, f"To be signed: {prompt.says}"], question)

    def _tell_before(self, lines: Sequence[str], question: str) -> bool:
        """Say lines that belong to a question, with it where that is not too long.

        Returns:
            Whether they were heard to the end; `-` leaves them.
        """
        if heard_s([*lines, question]) > self.talk.listens_s:
            return self.read_slowly(lines) and self._pause_before(question)
        if not self._pause_before(*lines, question):
            return False
        for line in lines:
            self.talk.say(line)
        return True

    def _form(self, prompt: Form, *, again: bool) -> str:
        if prompt.said and not again:
            self.talk.say(prompt.said)
        texts = []
        for blank in prompt.blanks:
            unit = f", {blank.unit}" if blank.unit else ""
            offered = blank.typed or blank.offered or "nothing"
            told = blank.said and not again
            words = f"{blank.label}: {blank.said}" if told else blank.label
            question = f"{words}{unit} (only Enter: {offered}):"
            text = self.talk.ask(question) if self._pause_before(question) else BACK
            if text == BACK:
                return BACK
            texts.append(text or blank.typed)
        return "\n".join(texts)

    def _page(self, prompt: PagePrompt) -> str:
        rows = (prompt.heard or prompt.rows)()
        first = [row for row in rows if row.first]
        rest = [row for row in rows if not row.first and row.text]
        if not (prompt.decides and first and rest):
            return self._read_page(prompt, rows, slowly=prompt.decides or bool(first))
        hazards = [row for row in first if row.hazard is not None]
        told = {row.hazard for row in hazards if row.hazard is not None} <= self._hazards
        if not self._tell_first(prompt.title, first, () if told else hazards):
            return BACK
        rest = [*hazards, *rest] if told else rest
        heads = [row.text if row.heads else row.label.strip() for row in rest if not row.hazard]
        lines = sum(not row.heads for row in rest)
        about = f": {', '.join(filter(None, heads))}" if any(heads) else ""
        more = f"{REST} says {count(lines, 'line')} more{about}. "
        question = f"Enter: {prompt.enter}, - goes back:"
        if not self._pause_before(more, question):
            return BACK
        while (typed := self.talk.ask(more + question)) == REST:
            more = ""
            if not self.read_slowly(list(headed_lines(rest))):
                return BACK
        return typed

    def _read_page(self, prompt: PagePrompt, rows: Sequence[PageRow], *, slowly: bool) -> str:
        """Read a page out; as much at once as one listens to where something follows from it."""
        if not slowly:
            self.talk.say(prompt.title)
            self.read([line for row in rows for line in row_sentences(row)])
        elif not self.read_slowly([prompt.title, *headed_lines(rows)]):
            return BACK
        question = f"Enter: {prompt.enter}, - goes back:"
        if prompt.decides:
            return self.talk.ask(question) if self._pause_before(question) else BACK
        self.talk.said_s = 0.0  # what was read is no part of the next question
        return ""

    def _tell_first(self, title: str, first: Sequence[PageRow], hazards: Sequence[PageRow]) -> bool:
        """Say what must be heard before a page is answered; False: `-` was typed.

        Args:
            title: The head of the page.
            first: All that must be heard.
            hazards: Those of its hazards that were not heard since the program was started.
        """
        lines = [title, *headed_lines(row for row in first if row.hazard is None)]
        return self.read_slowly(lines) and (not hazards or self._tell_hazards(hazards))

    def _tell_hazards(self, hazards: Sequence[PageRow]) -> bool:
        """Say hazards, an Enter each; False: `-` was typed."""
        if not self._go_on():
            return False
        self.talk.say(f"{count(len(hazards), 'hazard')}; {REST} says one again.")
        for row in hazards:
            words = row_text(row).strip()
            self.talk.say(words)
            while typed := self.talk.ask(HEARD):
                if typed == BACK:
                    return False
                self.talk.say(words if typed == REST else FIRST)
            self._hazards |= {row.hazard} - {None}
        return True

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

    def read_slowly(self, lines: Sequence[str]) -> bool:
        """Say lines, as many at once as one listens to; whether they were heard to the end."""
        for line in lines:
            for piece in sentence_pieces(line, self.talk.listens_s - heard_s([HEARD])):
                if not self._pause_before(piece, HEARD):
                    return False
                self.talk.say(piece)
        return True
