"""The keys of a row, numbered, each with what stands there; a number opens one to be typed."""

from collections.abc import Callable, Hashable, Mapping
from functools import partial

from benchrun.screen import keys
from benchrun.screen.book.host import BookHost
from benchrun.screen.form import FormField, FormPane
from benchrun.screen.page import Page, block
from benchrun.screen.page_api import Hint, Pane
from benchrun.screen.text_line import Paper, Role, TextLine

Change = Callable[[str, str], str]


class FieldsPane(Pane):
    """The keys of something.

    Args:
        host: The screen.
        title: The head.
        described: The keys, each with what stands there.
        texts: Gives what stands there now.
        change: Writes a key's new text and answers what to say.
    """

    host: BookHost

    def __init__(
        self,
        host: BookHost,
        title: str,
        described: Mapping[str, str],
        texts: Callable[[], Mapping[str, str]],
        change: Change,
    ) -> None:
        super().__init__(host)
        self._title = title
        self._described = described
        self._texts = texts
        self._change = change
        self._digits = ""

    def does(self) -> Hashable:
        """Nothing: a number opens a key."""
        return self._title

    def typing(self, key: str) -> bool:
        """Digits are the numbers of keys."""
        return key.isdigit()

    def page(self, paper: Paper) -> Page:
        """A row for each key."""
        wide = len(str(len(self._described)))
        rows = self._rows(paper, wide, most=None)
        if len(rows) > paper.height - 5:
            rows = self._rows(paper, wide, most=1)
        head = paper.line(" ", (paper.fitted(self._title, paper.width - 2), Role.STRONG))
        words = "change" if wide == 1 else f"change ({wide} digits)"
        hints = [Hint(self._digits or "digit", words, first=True), Hint("-", "back")]
        return self.laid(paper, [block([head]), block(rows)], hints)

    def _rows(self, paper: Paper, wide: int, *, most: int | None) -> list[TextLine]:
        texts = self._texts()
        label = max(len(key) for key in self._described) + 2
        rows: list[TextLine] = []
        for number, (key, words) in enumerate(self._described.items(), 1):
            lead = paper.line(" ", (f"{number:>{wide}}  ", Role.STRONG), paper.padded(key, label))
            text = texts.get(key, "")
            role, room = Role.TEXT if text else Role.QUIET, paper.width - lead.width - 2
            told = paper.paragraph(text or words, first="", role=role, width=room, most=most)
            blank = paper.line(" " * lead.width)
            rows += [lead + told[0], *[blank + line for line in told[1:]]]
        return rows

    async def key(self, key: str) -> None:
        """A number opens a key."""
        if key in ("-", keys.BACK, keys.RUBOUT) and self._digits:
            self._digits = ""
        elif key in ("-", keys.BACK):
            await self.leave()
        elif key.isdigit():
            self._digits += key
            if len(self._digits) < len(str(len(self._described))):
                return
            number, self._digits = int(self._digits), ""
            if 1 <= number <= len(self._described):
                self._open(list(self._described)[number - 1])
            else:
                self.host.say(f"There is no {number} here.")

    def _open(self, key: str) -> None:
        async def typed(texts: tuple[str, ...]) -> None:
            await self.host.keep(partial(self._change, key, texts[0]))

        asks = [FormField(key, self._texts().get(key, ""), "nothing")]
        self.host.push(
            FormPane(self.host, self._title, asks, typed, said=self._described[key], enter="keep")
        )
