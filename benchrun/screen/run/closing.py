"""Closing a run: reasons for what is not done, what must be put back, the last signature."""

from collections.abc import Hashable

from benchrun.run import commands as c
from benchrun.run.decide import unfinished
from benchrun.run.offers import Deed
from benchrun.run.state import Run, Status
from benchrun.screen.page import Block, block
from benchrun.screen.page_api import Pane
from benchrun.screen.run.host import RunHost
from benchrun.screen.run.reasons import reason_pane
from benchrun.screen.run.signing import HoldPane, SignPane
from benchrun.screen.run.view import View, holds
from benchrun.screen.text_line import Paper, Role
from benchrun.session import closing_statement
from benchrun.signing_keys import hand_of
from benchrun.text import count, listed


def sign_pane(host: RunHost, now: View, parts: tuple[str, ...]) -> Pane | None:
    """What signs the thing in hand, if that wants a signature.

    Args:
        host: The run screen.
        now: The run as it is shown.
        parts: For whom it is signed.
    """
    offer = now.offer
    if offer is not None and offer.deed is Deed.CLOSE:
        return close_pane(host)
    if offer is None or offer.step is None or not holds(offer):
        return None
    return HoldPane(host, offer.step, c.Do(offer.step.id, parts, now.run.n - 1))


def close_pane(host: RunHost) -> Pane:
    """What closes the run: a reason for the parts that are not done, then the signature."""
    left = unfinished(host.session.run)
    if not left:
        return ClosePane(host, {})

    async def reasoned(text: str) -> None:
        host.push(ClosePane(host, dict.fromkeys(left, text)))

    said = f"{listed(left)}: not done. Why is the run closed without?"
    return reason_pane(host, said, host.session.entries, reasoned)


class ClosePane(SignPane):
    """The signature under the whole run.

    Args:
        host: The run screen.
        reasons: For each part that is neither done nor scrapped, why.
    """

    title = "Close the run"

    def __init__(self, host: RunHost, reasons: dict[str, str]) -> None:
        super().__init__(host, c.Close(reasons))
        self._reasons = reasons

    def does(self) -> Hashable:
        """Close and sign, in this name."""
        return (self.title, self.person.id)

    def statement(self) -> str:
        """The words under a closed run; the command carries them too."""
        says = closing_statement(hand_of(self.person))
        self.command = c.Close(self._reasons, says)
        return says

    def above(self, paper: Paper) -> list[Block]:
        """What the record says, and what is left to put back."""
        run = self.host.session.run
        rows = paper.paragraph(
            f"{outcome_words(run)}. {count(run.n, 'entry', 'entries')} in the log.", first=" "
        )
        for part, reason in self._reasons.items():
            rows += paper.paragraph(f"{part}: {reason}", first="   ", role=Role.QUIET)
        shown = [block(rows)]
        restore = self.host.session.procedure.restore
        if restore:
            lines = [paper.line(" ", ("put back before you sign", Role.QUIET))]
            for text in restore:
                lines += paper.paragraph(text, first="   ")
            shown.append(block(lines, short=lines[:4], rank=1))
        return shown


def outcome_words(run: Run) -> str:
    """What became of the parts: `5 done, 1 scrap`."""
    counts = dict.fromkeys(Status, 0)
    for marker in run.each():
        counts[marker.status] += 1
    told = [f"{number} {status.value}" for status, number in counts.items() if number]
    return listed(told)
