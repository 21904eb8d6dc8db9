"""One of the shop's books as a list: a number, a name, how it stands; adding a thing to it."""

from collections.abc import Hashable, Sequence
from functools import partial

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.screen import keys
from benchrun.screen.book.host import BookHost
from benchrun.screen.book.people import add_person_pane
from benchrun.screen.book.thing import ThingPane
from benchrun.screen.form import FormField, FormPane
from benchrun.screen.page import Page, block
from benchrun.screen.page_api import Hint, Pane
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.shop.folder import Shop
from benchrun.shop.parts import part_of_tag
from benchrun.shop_use import book_words
from benchrun.shop_use.book_words import Book, BookThing, faults_of, listed_texts, typed_words
from benchrun.text import count, slug

_MOST_FAULTS = 3
_BETWEEN = 10
"""So many cells of a row are blanks between its columns and at its ends."""
_ASKED = {
    "instruments": ("name", "range", "until"),
    "supplies": ("name", "amount", "lot", "opened", "keeps"),
    "vessels": ("name", "holds", "filled with"),
    "parts": ("name", "side", "numbers", "job", "where"),
    "jobs": ("name", "owner"),
}


class BookListPane(Pane):
    """The things of one book.

    Args:
        host: The screen.
        book: Which book.
    """

    about = "One of the books, a row each. A number opens a row; its file is plain text."

    host: BookHost

    def __init__(self, host: BookHost, book: Book) -> None:
        super().__init__(host)
        self._book = book
        self._top = 0
        self._shown = 1
        self._digits = ""

    def does(self) -> Hashable:
        """Nothing: a number opens."""
        return (self._book.key, self._top)

    def typing(self, key: str) -> bool:
        """Digits are the numbers of things, letters begin an id, and Enter ends it."""
        return self._named or (len(key) == 1 and key.isalnum())

    def early(self, key: str) -> bool:
        """Enter behind an id: a scanner is quicker than half a second."""
        return key == keys.ENTER and self._named

    @property
    def _named(self) -> bool:
        """Whether an id is being typed, as a scanner does, and no number."""
        return bool(self._digits) and not self._digits.isdigit()

    def page(self, paper: Paper) -> Page:
        """The rows that fit, whole ones only."""
        rows = self.host.rows(self._book.key)
        faults = faults_of(self._book, self.host.found)
        wrong = [
            line
            for fault in faults[:_MOST_FAULTS]
            for line in paper.paragraph(fault.words, first=" put right  ", lead=Role.ACCENT)
        ]
        self._top = 0 if self._top >= len(rows) else self._top
        room = max(2, paper.height - 6 - len(wrong) - bool(wrong))
        shown: list[TextLine] = []
        self._shown, columns = 0, columns_of(paper, rows)
        for number, one in enumerate(rows[self._top :], self._top + 1):
            told = thing_row(paper, number, one, columns)
            if len(shown) + len(told) > room and self._shown:
                break
            shown += told
            self._shown += 1
        blocks = [
            block([self._head(paper, rows)]),
            block(shown if shown or wrong else self._none(paper)),
            block(wrong),
        ]
        return self.laid(paper, blocks, self._hints(len(rows)))

    def _head(self, paper: Paper, rows: tuple[BookThing, ...]) -> TextLine:
        amiss = sum(row.amiss for row in rows)
        words = f"{count(amiss, 'needs', 'need')} attention" if amiss else ""
        if self._shown < len(rows):
            place = f"{self._top + 1} to {self._top + self._shown} of {len(rows)}"
            words = f"{words}   {place}".strip()
        left = paper.line(" ", (self._book.title, Role.STRONG))
        return paper.between(left, paper.line((words, Role.QUIET), " "))

    def _none(self, paper: Paper) -> list[TextLine]:
        return paper.paragraph(f"No {self._book.one} yet.", first="   ", role=Role.QUIET)

    def _hints(self, rows: int) -> list[Hint]:
        wide = len(str(rows))
        hints = []
        if rows:
            words = "open" if wide == 1 else f"open ({wide} digits)"
            if self._named:
                return [
                    Hint("Enter", f"open {self._digits}", first=True),
                    Hint("rubout", "leave it"),
                ]
            hints.append(Hint(self._digits or "digit", words, first=True))
        if self._shown < rows:
            hints.append(Hint("+", "on"))
        return [
            *hints,
            Hint("*", f"add {_an(self._book.one)}", first=not rows),
            Hint("-", "back a page" if self._top else "back"),
        ]

    async def key(self, key: str) -> None:
        """A number or an id opens, `*` adds."""
        rows = self.host.rows(self._book.key)
        if self._named and key == keys.ENTER:
            self._open_named(rows)
        elif len(key) == 1 and (self._named or key.isalpha()):
            self._digits += key
        elif key in ("-", keys.BACK, keys.RUBOUT) and self._digits:
            self._digits = ""
        elif key in ("-", keys.PREVIOUS, keys.UP) and self._top:
            self._top = max(0, self._top - self._shown)
        elif key in ("-", keys.BACK):
            await self.leave()
        elif key in ("+", keys.NEXT, keys.DOWN):
            on = self._top + self._shown
            self._top = on if on < len(rows) else 0
        elif key == "*":
            self.host.push(_add_pane(self.host, self._book))
        elif key.isdigit():
            self._digit(key, rows)

    def _open_named(self, rows: tuple[BookThing, ...]) -> None:
        """Open a thing by its id, or a part by its tag or numbers."""
        typed, self._digits = self._digits, ""
        try:
            if self._book.key == "parts":
                name = part_of_tag(self.host.found.parts, typed).id
            else:
                name = next((row.id for row in rows if row.id == slug(typed, "")), "")
        except BenchrunError as error:
            self.host.say(error.message, strong=True)
            return
        if name:
            self.host.push(ThingPane(self.host, self._book, name))
        else:
            self.host.say(f"There is no {typed} here.", strong=True)

    def _digit(self, key: str, rows: tuple[BookThing, ...]) -> None:
        """Open a thing by its number; two digits where there are more than nine."""
        self._digits += key
        if len(self._digits) < len(str(len(rows))):
            return
        number, self._digits = int(self._digits), ""
        if not 1 <= number <= len(rows):
            self.host.say(f"There is no {number} here.")
        else:
            self.host.push(ThingPane(self.host, self._book, rows[number - 1].id))


def _an(word: str) -> str:
    return f"{'an' if word[0] in 'aeiou' else 'a'} {word}"


@lean_dataclass(frozen=True, slots=True)
class Columns:
    """How wide the columns of a list are: the number, the name with its id, what else."""

    number: int
    name: int
    beside: int


def columns_of(paper: Paper, rows: Sequence[BookThing]) -> Columns:
    """Columns as wide as their longest text needs, as far as the paper bears it."""
    names = (len(paper.clean(_named(row))) for row in rows)
    besides = (len(paper.clean(row.beside)) for row in rows)
    name, beside = max(names, default=0), max(besides, default=0)
    number, state = len(str(len(rows))), (20 if paper.width < 100 else 40)
    # What a row says last stands below it where it is long: the names need the room more.
    room = (
        paper.width
        - number
        - _BETWEEN
        - min(state, max((len(paper.clean(row.state)) for row in rows), default=0))
    )
    beside = min(beside, max(20, room - name))
    return Columns(number, min(name, max(34, room - beside)), beside)


def _named(thing: BookThing) -> str:
    return thing.name if slug(thing.name) == thing.id else f"{thing.name}  {thing.id}"


def thing_row(paper: Paper, number: int, thing: BookThing, wide: Columns) -> list[TextLine]:
    """One thing: number, name, what else, how it stands; the last on a row of its own if long."""
    lead = paper.line(" ", (f"{number:>{wide.number}}  ", Role.STRONG))
    name = paper.line(paper.fitted(thing.name, wide.name))
    if slug(thing.name) != thing.id and name.width + 2 + len(thing.id) <= wide.name:
        name = name + paper.line("  ", (thing.id, Role.QUIET))
    beside = paper.line("   ", (paper.padded(thing.beside, wide.beside), Role.QUIET), "   ")
    row = (lead + name.padded(wide.name) + beside).cut(paper.width - 1)
    role = Role.ACCENT if thing.amiss else Role.TEXT
    if row.width + len(paper.clean(thing.state)) <= paper.width - 1:
        return [row + paper.line((thing.state, role))]
    return [row, *paper.paragraph(thing.state, first=" " * (lead.width + 2), role=role)[:2]]


def _add_pane(host: BookHost, book: Book) -> Pane:
    """Ask for what a new thing cannot do without; everything else can be changed afterwards."""
    if book.key == "people":
        return add_person_pane(host)
    asked = _ASKED[book.key]

    async def filled(texts: tuple[str, ...]) -> None:
        made: list[str] = []
        values = dict(zip(asked, texts, strict=True))
        if await host.keep(partial(_add, host.shop, book, values, made)):
            host.push(ThingPane(host, book, made[0]))

    asks = [FormField(key, said=_said(book, key)) for key in asked]
    said = "What is not known yet stays empty; it can be written later."
    return FormPane(host, f"A new {book.one}", asks, filled, said=said, enter="add it")


def _said(book: Book, key: str) -> str:
    words = typed_words(key, book.keys[key])
    return f"needed: {words}" if key in book.needed else words


def _add(shop: Shop, book: Book, values: dict[str, str], made: list[str]) -> str:
    typed = {key: listed_texts(key, text) for key, text in values.items()}
    made.append(book_words.add_thing(shop, book, typed))
    return f"{book.one} {made[0]} is in {book.form(shop).file}"
