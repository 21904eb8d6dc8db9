"""Choosing parts: numbered tags, filled eyelets for those that are chosen."""

from collections.abc import Callable, Hashable, Sequence

from benchrun.screen import keys
from benchrun.screen.asks import title_block
from benchrun.screen.desk import Desk, Hint, Pane
from benchrun.screen.ink import Paper, Role
from benchrun.screen.page import Page, block
from benchrun.screen.widgets.tag import tag
from benchrun.text import count


class ChoosePane(Pane):
    """Tags to choose among; two digits where there are more than nine.

    Args:
        desk: The screen.
        parts: Those that may be chosen.
        chosen: Those that are chosen at first; all of them stands for none yet.
        done: What to do with the choice.
    """

    def __init__(
        self,
        desk: Desk,
        parts: Sequence[str],
        chosen: Sequence[str],
        done: Callable[[tuple[str, ...]], None],
    ) -> None:
        super().__init__(desk)
        self._parts = tuple(parts)
        self._chosen = set(chosen) if len(chosen) < len(parts) else set[str]()
        self._done = done
        self._digits = ""

    def does(self) -> Hashable:
        """Take the choice; making it is the hand's own doing."""
        return self._parts

    def page(self, paper: Paper) -> Page:
        """The tags with their numbers."""
        wide = len(str(len(self._parts)))
        items = [
            (
                f"{number:>{wide}} {tag(paper, part, chosen=part in self._chosen)} ",
                Role.STRONG if part in self._chosen else Role.TEXT,
            )
            for number, part in enumerate(self._parts, 1)
        ]
        said = f"{count(len(self._chosen), 'part')} of {len(self._parts)}"
        if self._digits:
            said += f"   {self._digits}{paper.signs.caret}"
        rows = [row for line in paper.columns(items, indent=3) for row in (line, paper.line())]
        if len(rows) > paper.height - 8:
            rows = rows[::2]
        hints = [
            Hint("digit", "choose" if wide == 1 else "choose (two digits)", first=True),
            Hint("Enter", "take these", first=bool(self._chosen)),
            Hint("*", "all"),
            Hint(".", "none"),
            Hint("-", "back"),
        ]
        blocks = [block(title_block(paper, "Which parts", said)), block(rows)]
        return self.laid(paper, blocks, hints)

    async def key(self, key: str) -> None:
        """Numbers choose and unchoose; Enter takes the choice."""
        if key in ("-", keys.BACK):
            self.desk.pop(self)
        elif key == "*":
            self._chosen = set(self._parts)
        elif key == ".":
            self._chosen = set()
        elif key == keys.ENTER:
            self._take()
        elif key.isdigit():
            self._digit(key)

    def _digit(self, key: str) -> None:
        self._digits += key
        if len(self._digits) < len(str(len(self._parts))):
            return
        number, self._digits = int(self._digits), ""
        if not 1 <= number <= len(self._parts):
            self.desk.say(f"There is no part {number} here.")
            return
        part = self._parts[number - 1]
        self._chosen ^= {part}

    def _take(self) -> None:
        if not self._chosen:
            self.desk.say("Choose at least one, or - to go back.")
            return
        self.desk.pop(self)
        self._done(tuple(part for part in self._parts if part in self._chosen))
