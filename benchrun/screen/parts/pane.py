"""The batch on the route: who stands where, and parts chosen by their numbers to go on with."""

from collections.abc import Awaitable, Callable, Hashable, Sequence

from benchrun.run.entries import Entry
from benchrun.run.photos import photos_of
from benchrun.run.state import Run
from benchrun.screen import keys
from benchrun.screen.page import Page, block
from benchrun.screen.page_api import Hint, Pane, PaneHost
from benchrun.screen.parts.rows import Plan, one_part, part_rows, plan_of, rule_rows
from benchrun.screen.reader_page import ReadPane
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.text import slug

Chosen = Callable[[tuple[str, ...]], Awaitable[None]]


class PartsPane(Pane):
    """Every part with its number; a number fills the eyelet of a tag, Enter goes on with these.

    Args:
        host: The screen.
        run: Gives the run as it stands.
        entries: Gives what was kept so far, for the photos of a part.
        among: Those whom the thing in hand concerns; `*` chooses all of them.
        chosen: Those that are chosen at first.
        done: What to do with the choice, in the order of the batch.
        title: What they are chosen for.
        needed: Whether at least one must be chosen.
    """

    about = "Every part of the batch: its state, how far it has come. Choose who goes on."

    def __init__(
        self,
        host: PaneHost,
        run: Callable[[], Run],
        entries: Callable[[], Sequence[Entry]],
        among: Sequence[str],
        chosen: Sequence[str],
        done: Chosen,
        *,
        title: str = "Parts",
        needed: bool = False,
    ) -> None:
        super().__init__(host)
        self._run = run
        self._entries = entries
        self._among = frozenset(among)
        self._chosen = set(chosen)
        self._done = done
        self._title = title
        self._needed = needed
        self._hand: int | None = None
        self._top = 0
        self._digits = ""

    def does(self) -> Hashable:
        """Go on with what is chosen; choosing it is the hand's own doing."""
        return (self._title, tuple(self._among))

    def typing(self, key: str) -> bool:
        """Digits are the numbers of parts, letters begin a tag, and Enter ends it."""
        return self._tagged or (len(key) == 1 and key.isalnum())

    def early(self, key: str) -> bool:
        """Enter behind a tag: a scanner is quicker than half a second."""
        return key == keys.ENTER and self._tagged

    @property
    def _tagged(self) -> bool:
        """Whether a tag is being typed, as a scanner does, and no number."""
        return bool(self._digits) and not self._digits.isdigit()

    def page(self, paper: Paper) -> Page:
        """The batch, column by column, with the rule above where there is room for it."""
        run = self._run()
        plan = plan_of(paper, run)
        if self._hand is not None:
            self._top = self._hand // plan.shown * plan.shown
        rows = part_rows(paper, run, plan, self._top, self._chosen, self._hand)
        blocks = [block([self._head(paper, run, plan)])]
        if plan.ruled:
            blocks.append(block(rule_rows(paper, run, plan)))
        return self.laid(paper, [*blocks, block(rows)], self._hints(run))

    def _head(self, paper: Paper, run: Run, plan: Plan) -> TextLine:
        whole = len(run.parts)
        right = f"{len(self._chosen)} of {whole} chosen" if self._chosen else f"{whole} in all"
        if plan.shown < whole:
            last = min(whole, self._top + plan.shown)
            right = f"{self._top + 1} to {last} shown   {right}"
        room = paper.width - len(right) - 8
        typed = paper.line("  ", (self._digits + paper.signs.caret, Role.ACCENT))
        left = paper.line(" ", (paper.fitted(self._title, room), Role.STRONG))
        return paper.between(
            left + typed if self._digits else left, paper.line((right, Role.QUIET), " ")
        )

    def _hints(self, run: Run) -> list[Hint]:
        wide = len(str(len(run.parts)))
        words = "choose" if wide == 1 else f"choose ({wide} digits)"
        pointed = self._hand is not None
        hints = [Hint("digit", words, first=not self._chosen), Hint("+", "walk")]
        if pointed:
            hints += [Hint(".", "choose it"), Hint("/", "look at it")]
        hints.append(Hint("*", "none" if self._chosen >= self._among else "all"))
        if self._chosen:
            hints.insert(0, Hint("Enter", "go on with these", first=True))
        return [*hints, Hint("-", "back")]

    async def key(self, key: str) -> None:
        """Numbers and tags choose, numbers unchoose too; Enter goes on."""
        parts = self._run().parts
        if self._tagged or (len(key) == 1 and key.isalpha()):
            self._letter(key, parts)
        elif key == keys.RUBOUT:
            self._digits = self._digits[:-1]
        elif key.isdigit():
            self._digit(key, parts)
        elif self._digits and key == keys.ENTER:
            self._number(parts)
        elif key in ("-", keys.BACK):
            await self.leave()
        elif key == keys.ENTER:
            await self._take(parts)
        elif key == "*":
            self._chosen = set() if self._chosen >= self._among else set(self._among)
        elif key in ("+", keys.NEXT, keys.PREVIOUS):
            self._walk(len(parts), -1 if key == keys.PREVIOUS else 1)
        elif key in (".", "/"):
            self._at_hand(key, parts)

    def _letter(self, key: str, parts: tuple[str, ...]) -> None:
        """Type at a tag; Enter, with which a scanner ends it, chooses its part."""
        if key == keys.ENTER:
            self._tag(parts)
        elif key in (keys.BACK, keys.CLEAR):
            self._digits = ""
        elif key == keys.RUBOUT:
            self._digits = self._digits[:-1]
        elif len(key) == 1:
            self._digits += key

    def _walk(self, whole: int, by: int) -> None:
        start = -1 if by > 0 else 0
        self._hand = ((start if self._hand is None else self._hand) + by) % max(1, whole)

    def _at_hand(self, key: str, parts: tuple[str, ...]) -> None:
        if self._hand is None:
            self.host.say("+ walks to a part, or type its number.")
            return
        part = parts[self._hand]
        if key == ".":
            self._chosen ^= {part}
            return

        def rows(paper: Paper) -> list[TextLine]:
            return one_part(paper, self._run(), part, photos_of(self._entries(), part))

        self.host.push(ReadPane(self.host, part, rows))

    def _digit(self, key: str, parts: tuple[str, ...]) -> None:
        """A number; two digits where there are more than nine, or one and Enter."""
        self._digits += key
        if len(self._digits) >= len(str(len(parts))):
            self._number(parts)

    def _tag(self, parts: tuple[str, ...]) -> None:
        """Choose the part of a tag that was typed; scanned twice it stays chosen."""
        typed, self._digits = self._digits, ""
        found = next((part for part in parts if slug(part) == slug(typed, "")), None)
        if found is None:
            self.host.say(f"There is no part {typed} here.", strong=True)
            return
        self._hand = parts.index(found)
        self._chosen.add(found)
        self.host.chose()

    def _number(self, parts: tuple[str, ...]) -> None:
        number, self._digits = int(self._digits), ""
        if not 1 <= number <= len(parts):
            self.host.say(f"There is no part {number} here.")
            return
        self._hand = number - 1
        self._chosen ^= {parts[number - 1]}

    async def _take(self, parts: tuple[str, ...]) -> None:
        if self._needed and not self._chosen:
            self.host.say("Choose at least one, or - to go back.")
            return
        self.host.pop(self)
        await self._done(tuple(part for part in parts if part in self._chosen))
