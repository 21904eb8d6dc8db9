"""The end of a run: what its record says, where it lies, what comes next."""

from collections.abc import Hashable
from functools import partial

from benchrun.dialogue.records import WAYS, record_way
from benchrun.run.close_lines import RESTORE, lines_not_done
from benchrun.screen import keys
from benchrun.screen.page import Page, block
from benchrun.screen.page_api import Hint, Pane
from benchrun.screen.prompts import numbered, title_blocks
from benchrun.screen.run.host import RunHost
from benchrun.screen.run.signature_pane import outcome_words
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.text import count


class FinishedPane(Pane):
    """A closed run."""

    about = "The run is closed: its record is signed, sealed and complete."

    host: RunHost

    def does(self) -> Hashable:
        """Go back to the board."""
        return "finished"

    def page(self, paper: Paper) -> Page:
        """The record and its place."""
        session = self.host.session
        run, procedure = session.run, session.procedure
        said = f"{outcome_words(run)}. {count(run.n, 'entry', 'entries')}, signed and sealed."
        where = [paper.line(" ", ("the record lies in", Role.QUIET))]
        where += paper.paragraph(str(session.folder.path), first="   ")
        ways = [paper.line(" ", ("choose, now or later (/ Past runs, A closed run)", Role.QUIET))]
        ways += numbered(paper, [(way.words, way.beside) for way in WAYS])
        blocks = [
            *title_blocks(paper, f"{procedure.title}: closed", said),
            block(self._close_lines(paper)),
            block(where),
            block(ways),
        ]
        hints = [Hint("Enter", "to the board", first=True), Hint("digit", "choose")]
        return self.laid(paper, blocks, hints)

    def _close_lines(self, paper: Paper) -> list[TextLine]:
        """The lines that were not put back (all where none is ticked), and what comes next."""
        run, procedure = self.host.session.run, self.host.session.procedure
        left = procedure.restore
        if run.ticks:
            left = tuple(line.text for line in lines_not_done(run) if line.sort == RESTORE)
        rows = _listed(paper, "still to put back", left)
        return [*rows, *_listed(paper, "what comes next", procedure.follow_on)]

    async def key(self, key: str) -> None:
        """Enter goes back to the board, a number does something with the record."""
        session = self.host.session
        if key.isdigit() and 1 <= int(key) <= len(WAYS):
            begin = partial(record_way, int(key) - 1, session.shop, session.folder)
            await self.host.converse(begin)
        elif key in (keys.ENTER, "-", keys.BACK, "."):
            self.host.leave()


def _listed(paper: Paper, title: str, texts: tuple[str, ...]) -> list[TextLine]:
    if not texts:
        return []
    rows = [paper.line(" ", (title, Role.QUIET))]
    for text in texts:
        rows += paper.paragraph(text, first="   ")
    return rows
