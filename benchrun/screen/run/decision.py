"""Going on with a run that does not hold: what was found, and the reason of whoever goes on."""

from collections.abc import Awaitable, Callable

from benchrun.record.trouble import Unsound
from benchrun.screen.page_api import Pane, PaneHost
from benchrun.screen.prompts import TextPane
from benchrun.screen.reader_page import ReadPane
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.text import shown


def decision_pane(host: PaneHost, error: Unsound, go: Callable[[str], Awaitable[None]]) -> Pane:
    """The page of all that does not hold, to be read before somebody decides to go on.

    Args:
        host: The screen.
        error: What was found.
        go: What to do with the reason.
    """

    async def ask() -> None:
        said = "Your reason is kept in the log with all this, and every report repeats it."
        host.push(TextPane(host, "Why the run goes on all the same", go, said=said))

    def rows(paper: Paper) -> list[TextLine]:
        told = paper.paragraph(
            "Nothing was written. Leave the folder as it is and look for a copy that is whole; "
            "benchrun verify tells more. Going on is your decision.",
            first=" ",
        )
        told += [paper.line()]
        for text in error.findings:
            told += paper.paragraph(shown(text, 400), first="   ", role=Role.ACCENT)
        return told

    return ReadPane(host, "What this run keeps does not hold", rows, after=ask, enter="decide")
