"""Signing: the words that are signed, who signs, and the passphrase that opens the key."""

from collections.abc import Hashable

from benchrun.errors import BenchrunError
from benchrun.procedure.route import Hold, Step
from benchrun.run import commands as c
from benchrun.screen import keys
from benchrun.screen.page import Block, Page, block
from benchrun.screen.page_api import Field, Hint, Pane
from benchrun.screen.prompts import numbered, title_block
from benchrun.screen.run.host import RunHost
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.screen.widgets.tag import tags
from benchrun.shop.people import Person, read_people
from benchrun.signing_keys import person_key
from benchrun.text import paragraphs


class SignPane(Pane):
    """What every signature has: the signer, who may be another, and the passphrase.

    Args:
        host: The run screen.
        command: What is signed.
    """

    host: RunHost
    title = "To be signed"

    def __init__(self, host: RunHost, command: c.Do | c.Close) -> None:
        super().__init__(host)
        self.command = command
        self.field = Field(hidden=True, most=200)
        self.person: Person = host.session.person
        self._locked = _is_locked(self.person)
        self._people = read_people(host.session.shop)
        self._named = host.session.has_signed or len(self._people) < 2

    @property
    def opens_by_typing(self) -> bool:
        """Whether the passphrase may be typed at once: it is known who signs, and it has one."""
        return self._named and self._locked

    def does(self) -> Hashable:
        """Sign, in this name."""
        return (self.title, self.person.id)

    def statement(self) -> str:
        """The words that are signed."""
        raise NotImplementedError

    def above(self, paper: Paper) -> list[Block]:
        """What is shown above the statement."""
        del paper
        return []

    def page(self, paper: Paper) -> Page:
        """The statement, the signer, the passphrase."""
        words: list[TextLine] = []
        for text in paragraphs(self.statement()):
            words += paper.paragraph(text, first="   ", role=Role.STRONG)
        if not self._named:
            rows = numbered(paper, [(one.name, ", ".join(one.roles)) for one in self._people[:9]])
            who = paper.paragraph("Who signs? The first signature of a sitting asks it.", first=" ")
            # The statement is in somebody's name, so it stands once it is known in whose.
            blocks = [block(title_block(paper, self.title)), *self.above(paper)]
            hints = [Hint("digit", "who signs", first=True), Hint("-", "back")]
            return self.laid(paper, [*blocks, block([*who, *rows])], hints)
        signer = [paper.line(" ", ("signed by   ", Role.QUIET), self.person.name)]
        if self._locked:
            field = self.field.drawn(paper, paper.width - 20)
            signer.append(paper.line(" ", ("passphrase  ", Role.QUIET)) + field)
        blocks = [
            block(title_block(paper, self.title)),
            *self.above(paper),
            block(words),
            block(signer),
        ]
        return self.laid(paper, blocks, self._hints())

    def _hints(self) -> list[Hint]:
        typed = bool(self.field.text)
        hints = []
        if typed or not self._locked:
            hints.append(Hint("Enter", "sign", first=True))
        else:
            hints.append(Hint("passphrase", "type it", first=True))
        if not typed and len(self._people) > 1:
            hints.append(Hint("+", "another signs"))
        return [*hints, Hint("Esc" if typed else "-", "back")]

    async def key(self, key: str) -> None:
        """Type the passphrase, sign."""
        empty = not self.field.text
        if key == keys.BACK or (empty and key == "-"):
            self.host.pop(self)
        elif not self._named:
            self._name(key)
        elif empty and key in ("+", keys.NEXT):
            self._another()
        elif key == keys.ENTER:
            await self._sign()
        elif self._locked:
            self.field.take(key)

    def _name(self, key: str) -> None:
        if key.isdigit() and 1 <= int(key) <= len(self._people):
            self._named = True
            self.person = self._people[int(key) - 1]
            self._locked = _is_locked(self.person)

    def _another(self) -> None:
        ids = [one.id for one in self._people]
        at = ids.index(self.person.id) if self.person.id in ids else -1
        self.person = self._people[(at + 1) % len(ids)]
        self._locked = _is_locked(self.person)

    async def _sign(self) -> None:
        if self._locked and not self.field.text:
            self.host.say("Type the passphrase of the key, then Enter.")
            return
        word, self.field.text = self.field.text, ""
        if await self.host.sign(self.command, word, self.person):
            self.host.pop(self)


class HoldPane(SignPane):
    """The signature of a hold.

    Args:
        host: The run screen.
        step: The hold.
        command: The command that passes it.
    """

    def __init__(self, host: RunHost, step: Step, command: c.Do) -> None:
        super().__init__(host, command)
        self._step = step
        self.title = f"{step.number}  {step.text}"

    def statement(self) -> str:
        """The words of the procedure, in the signer's name."""
        detail = self._step.detail
        says = detail.says if isinstance(detail, Hold) else ""
        return f"{self.person.name}: {says or self._step.text}"

    def above(self, paper: Paper) -> list[Block]:
        """For which parts, and up to which line of the log."""
        run = self.host.session.run
        parts = self.command.parts if isinstance(self.command, c.Do) else run.parts
        rows = tags(paper, parts, first="for  ", most_rows=3)
        said = f"Signed with it: the whole log so far, entries 0 to {run.n - 1}."
        return [block(rows), block(paper.paragraph(said, role=Role.QUIET))]


def _is_locked(person: Person) -> bool:
    try:
        return person_key(person).encrypted
    except BenchrunError:
        return True
