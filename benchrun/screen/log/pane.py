"""The log of a run: newest last, searched by words or cut down to one kind."""

from collections.abc import Sequence

from benchrun.account.brief_words import brief_words, entry_words, untold_words
from benchrun.account.entry_words import EntryWords
from benchrun.run import entries as e
from benchrun.screen import keys
from benchrun.screen.page import Page, block
from benchrun.screen.page_api import Hint, Pane, PaneHost
from benchrun.screen.prompts import MenuChoice, MenuPane, TextPane
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.session import Sitting
from benchrun.text import count

MOST_ROWS = 8  # as many as a value corrected twice, with both reasons, may take
KINDS = (
    ("Everything", ""),
    ("What was done", "begin do in out tend tell witness"),
    ("Questions and answers", "ask answer"),
    ("Deviations", "skip put add stop resume correct retract"),
    ("Notes, photos, lessons", "note photo lesson"),
    ("Signatures and seals", "sign seal"),
)
_ACTS = frozenset(e.KINDS) - {"seal"}
"""All kinds but seals; those are counted, like mere signs of life."""


class LogPane(Pane):
    """The log.

    Args:
        host: The screen.
        session: The run.
    """

    about = "Every entry of the log, the newest last. Nothing in it can be changed."

    def __init__(self, host: PaneHost, session: Sitting) -> None:
        super().__init__(host)
        self._session = session
        self._words = ""
        self._kinds = ""
        self._up = 0
        self._view = 1
        self._known: tuple[object, Sequence[tuple[e.Entry, str]]] = (None, ())
        self._spells: dict[int, tuple[str, str]] = {}

    def found(self) -> Sequence[tuple[e.Entry, str]]:
        """The entries that are looked for, with their words."""
        asked = (len(self._session.entries), self._kinds, self._words)
        if self._known[0] != asked:
            self._known = (asked, self._look())
        return self._known[1]

    def _look(self) -> Sequence[tuple[e.Entry, str]]:
        kinds = self._kinds.split()
        wanted = self._words.casefold()
        found = []
        session = self._session
        look, now = self.host.look, self.host.now()
        telling = EntryWords(
            session.procedure, session.entries, when=lambda at: look.since(at, now)
        )
        for entry in session.entries:
            if entry.kind not in (kinds or _ACTS):
                continue
            text = entry_words(telling, entry)
            if text and wanted in f"{text} {entry.by}".casefold():
                found.append((entry, brief_words(telling, entry)))
                self._spells[entry.n] = telling.spell(entry)
        return found

    def page(self, paper: Paper) -> Page:
        """As many of the last entries as fit."""
        found = self.found()
        self._view = max(1, paper.height - 6)
        self._up = max(0, min(self._up, len(found) - 1))
        rows: list[TextLine] = []
        now, since = self.host.now(), self.host.look.since
        last = found[: len(found) - self._up][-self._view :]
        wide = max((len(since(entry.at, now)) for entry, _ in last), default=0)
        shown = 0
        newer = last[-1][0].n + 1 if self._up else len(self._session.entries)
        before = [None, *(entry for entry, _ in last)]
        for (entry, text), other in zip(reversed(last), reversed(before[:-1]), strict=True):
            told = self._spell(paper, entry, other) + self._rows(paper, entry, text, wide)
            told += self._untold(paper, entry.n + 1, newer)
            newer = entry.n
            if len(rows) + len(told) > self._view:
                break
            rows = [*told, *rows]
            shown += 1
        if shown:
            top = last[-shown][0]
            whose = self._spell(paper, top, None)
            if rows[: len(whose)] != whose and len(rows) < self._view:
                rows = [*whose, *rows]
        title = paper.line(" ", ("Log", Role.STRONG), (f"   {self._what(len(found))}", Role.QUIET))
        hints = [
            *([Hint("+", "earlier", first=True)] if shown < len(found) - self._up else []),
            Hint("1", "look for words"),
            Hint("2", "one kind"),
            *([Hint("3", "everything")] if self._words or self._kinds else []),
            Hint("-", "later" if self._up else "back"),
        ]
        return self.laid(paper, [block([title]), block(rows)], hints)

    def _untold(self, paper: Paper, first: int, end: int) -> list[TextLine]:
        """The entries between two that are shown, counted; while some are looked for, none."""
        if first >= end or self._words or self._kinds:
            return []
        words = untold_words(self._session.entries[first:end])
        return [paper.line("      ", (paper.fitted(words, paper.width - 8), Role.QUIET))]

    def _what(self, found: int) -> str:
        """How many entries there are, and what was looked for."""
        kind = next(words for words, kinds in KINDS if kinds == self._kinds)
        words = [f"only: {kind[:1].lower()}{kind[1:]}"] if self._kinds else []
        words += [f"with “{self._words}”"] if self._words else []
        every = count(len(self._session.entries), "entry", "entries")
        shown = every if found == len(self._session.entries) else f"{found} of {every}"
        return ", ".join([shown, *words])

    def _spell(self, paper: Paper, entry: e.Entry, before: e.Entry | None) -> list[TextLine]:
        """Who is at it from an entry on, and how they were known, where that is another."""
        spell = self._spells[entry.n]
        if not spell[0] or (before is not None and self._spells[before.n] == spell):
            return []
        words = f"{self._name(spell[0])}, {spell[1]}"
        return [paper.line("      ", (paper.fitted(words, paper.width - 8), Role.QUIET))]

    def _name(self, by: str) -> str:
        people = self._session.run.about.get("people")
        known = people.get(by) if isinstance(people, dict) else None
        return str(known.get("name", by)) if isinstance(known, dict) else by

    def _rows(self, paper: Paper, entry: e.Entry, text: str, wide: int) -> list[TextLine]:
        when = self.host.look.since(entry.at, self.host.now())
        first = f" {entry.n:>4} {when:>{wide}}  "
        return paper.paragraph(text, first=first, lead=Role.QUIET, most=MOST_ROWS)

    async def key(self, key: str) -> None:
        """Walk, search, cut down."""
        if key in ("+", keys.PREVIOUS, keys.UP):
            self._up += self._view // 2
        elif key in ("-", keys.NEXT, keys.DOWN) and self._up:
            self._up = max(0, self._up - self._view // 2)
        elif key in ("-", keys.BACK, keys.ENTER):
            await self.leave()
        elif key == "1":
            self.host.push(TextPane(self.host, "Look for", self._look_for))
        elif key == "3":
            self._words, self._kinds, self._up = "", "", 0
        elif key == "2":
            self.host.push(MenuPane(self.host, "Show", [self._only(*one) for one in KINDS]))

    async def _look_for(self, text: str) -> None:
        self._words, self._up = text, 0

    def _only(self, words: str, kinds: str) -> MenuChoice:
        async def do() -> None:
            self._kinds, self._up = kinds, 0
            if not kinds:
                self._words = ""

        return MenuChoice(words, do)
