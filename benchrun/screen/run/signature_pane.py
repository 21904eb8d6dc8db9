"""A signature on the screen: the words that are signed, who signs, the passphrase."""

from collections.abc import Hashable
from typing import TYPE_CHECKING, Final

from benchrun.dialogue.close_lines import NOT_DONE
from benchrun.dialogue.run_prompts import ANOTHER_SIGNER, SignaturePrompt
from benchrun.part_names import part_names
from benchrun.run.entries import Remark
from benchrun.run.state import Run, Status
from benchrun.screen import keys
from benchrun.screen.dialogue_panes import Answer
from benchrun.screen.page import Block, Page, block
from benchrun.screen.page_api import Field, Hint, Pane
from benchrun.screen.prompts import numbered, title_blocks
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.screen.widgets.tag import tags
from benchrun.text import count, listed, paragraphs
from benchrun.wording import STATES

_FOOT: Final = 4

if TYPE_CHECKING:
    from benchrun.screen.run.host import RunHost


class SignaturePane(Pane):
    """Asks for a signature: who signs, where that is not known yet, then the passphrase.

    Args:
        host: The run screen.
        prompt: What is signed, and by whom.
        answer: Takes the number of whoever signs, the passphrase, or that another signs.
    """

    about = "Your passphrase signs the words above; nobody else can sign with your key."

    host: "RunHost"

    def __init__(self, host: "RunHost", prompt: SignaturePrompt, answer: Answer) -> None:
        super().__init__(host)
        self.prompt = prompt
        self.field = Field(hidden=True, most=200)
        self._answer = answer
        self._first = self._next = 0

    def does(self) -> Hashable:
        """Sign, in this name."""
        return (self.prompt.title, self.prompt.person)

    def typing(self, key: str) -> bool:
        """Every key is typed, and Enter takes it."""
        del key
        return True

    def page(self, paper: Paper) -> Page:
        """The statement, the signer, the passphrase."""
        prompt = self.prompt
        above = self._close_blocks(paper) if prompt.closes else self._hold_blocks(paper)
        blocks = [*title_blocks(paper, prompt.title), *above]
        if prompt.person is None:
            people = [(one.name, ", ".join(one.roles)) for one in prompt.people]
            rows = numbered(paper, people)
            who = paper.paragraph("Who signs? (asked at the first signature only)", first=" ")
            who.append(paper.line())
            # The statement is in somebody's name, so it stands once it is known in whose.
            hints = [Hint("digit", "who signs", first=True), Hint("-", "back")]
            return self.laid(paper, [*blocks, block([*who, *rows])], hints)
        words: list[TextLine] = []
        for text in paragraphs(prompt.says):
            words += paper.paragraph(text, first="   ", role=Role.STRONG)
        signer = [paper.line(" ", ("signed by   ", Role.QUIET), prompt.person.name)]
        if prompt.locked:
            field = self.field.drawn(paper, paper.width - 20)
            signer.append(paper.line(" ", ("passphrase  ", Role.QUIET)) + field)
        blocks = [*blocks, block(words), block(signer)]
        taken = sum(len(one.short or one.lines) + one.gap for one in blocks)
        blocks.insert(-1, self._remarks(paper, paper.height - taken - _FOOT))
        return self.laid(paper, blocks, self._hints())

    def _remarks(self, paper: Paper, room: int) -> Block:
        """The list under the signature, as many of its rows as there is room for."""
        remarks = self.prompt.remarks
        if not remarks:
            return block([])
        rows: list[TextLine] = []
        self._next = self._first
        for one in remarks[self._first :]:
            more = remark_rows(paper, one, self.prompt.batch)
            if rows and len(rows) + len(more) > room:
                break
            rows += more
            self._next += 1
        shown = f"{self._first + 1} to {self._next} of {len(remarks)}"
        part = "" if self._next - self._first == len(remarks) else f", {shown}"
        head = f"on the record since the last signature{part}"
        return block([paper.line(" ", (head, Role.QUIET)), *rows])

    def _turn(self) -> None:
        """Go on to the rows of the list that did not fit; after the last to the first."""
        self._first = self._next if self._next < len(self.prompt.remarks) else 0

    def _hold_blocks(self, paper: Paper) -> list[Block]:
        """For which parts, and up to which line of the log."""
        rows = tags(paper, self.prompt.parts, first=paper.label("for"), most_rows=3)
        said = f"Your signature covers entries 0 to {self.prompt.entries}."
        covers = block(paper.paragraph(said, role=Role.QUIET))
        return [block(rows), self._ticked(paper), covers]

    def _close_blocks(self, paper: Paper) -> list[Block]:
        """The words of the record, and what is still to put back."""
        session = self.host.session
        run = session.run
        words = f"{outcome_words(run)}. {count(run.n, 'entry', 'entries')} in the log."
        rows = paper.paragraph(words, first=" ")
        for part, reason in self.prompt.reasons.items():
            rows += paper.paragraph(f"{part}: {reason}", first="   ", role=Role.QUIET)
        return [block(rows), self._ticked(paper)]

    def _ticked(self, paper: Paper) -> Block:
        """The lines of the close: each that is not done with its reason, then those done."""
        rows: list[TextLine] = []
        for words in self.prompt.ticked:
            role = Role.ACCENT if NOT_DONE in words else Role.QUIET
            rows += paper.paragraph(words, first="   ", role=role, most=3)
        undone = sum(NOT_DONE in words for words in self.prompt.ticked)
        done = count(len(self.prompt.ticked) - undone, "line")
        brief = [*rows[: 2 * undone], paper.line("   ", (f"{done} of the close done", Role.QUIET))]
        return block(rows, short=brief if rows else rows, rank=1)

    def _hints(self) -> list[Hint]:
        typed = bool(self.field.text)
        hints = []
        if typed or not self.prompt.locked:
            hints.append(Hint("Enter", "sign", first=True))
        else:
            hints.append(Hint("passphrase", "type it", first=True))
        if not typed and len(self.prompt.people) > 1:
            hints.append(Hint("+", "another signs"))
        if not typed and 0 < self._next - self._first < len(self.prompt.remarks):
            hints.append(Hint("*", "more of the record"))
        return [*hints, Hint("Esc" if typed else "-", "back")]

    async def key(self, key: str) -> None:
        """Type the passphrase, sign."""
        empty, prompt = not self.field.text, self.prompt
        if key == keys.BACK or (empty and key == "-"):
            await self.leave()
        elif prompt.person is None:
            if key.isdigit() and 1 <= int(key) <= len(prompt.people):
                await self._take(key)
        elif empty and key in ("+", keys.NEXT):
            await self._take(ANOTHER_SIGNER)
        elif key == keys.DOWN or (empty and key == "*" and prompt.remarks):
            self._turn()
        elif key == keys.ENTER and prompt.locked and empty:
            self.host.say("Type the passphrase of the key, then Enter.")
        elif key == keys.ENTER:
            await self._take(self.field.text)
        elif prompt.locked:
            self.field.take(key)

    async def _take(self, typed: str) -> None:
        self.host.pop(self)
        await self._answer(typed)


def remark_rows(paper: Paper, remark: Remark, batch: tuple[str, ...]) -> list[TextLine]:
    """One thing that the record holds, and under it the words that it contradicts."""
    lead = f"   {remark.of:>4}  "
    role = Role.ACCENT if remark.against else Role.TEXT
    who = f"{part_names(remark.parts, batch)}: " if remark.parts else ""
    text = f"{who}{remark.what}"
    rows = paper.paragraph(text, first=lead, lead=Role.QUIET, role=role, most=2)
    if remark.against:
        words = f"against “{remark.against}”"
        rows += paper.paragraph(words, first=" " * len(lead), role=Role.STRONG, most=1)
    return rows


def outcome_words(run: Run) -> str:
    """The outcome of the parts: `6 parts: 5 done and 1 scrapped`, `1 part: done`."""
    counts = dict.fromkeys(Status, 0)
    for marker in run.each():
        counts[marker.status] += 1
    states = {STATES.get(status.value, status.value): n for status, n in counts.items() if n}
    alone = len(run.parts) == 1
    said = listed([state if alone else f"{number} {state}" for state, number in states.items()])
    return f"{count(len(run.parts), 'part')}: {said}"
