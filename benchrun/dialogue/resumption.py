"""Resuming a run: taken up, followed, or gone on with by decision though it does not hold."""

import os
from collections.abc import Iterator
from contextlib import suppress
from functools import partial

from benchrun.dialogue.page_prompt import PagePrompt, PageRow, Tone
from benchrun.dialogue.people import ask_person
from benchrun.dialogue.prompts import Text
from benchrun.dialogue.turns import Flow, Say, called, show_page, text
from benchrun.errors import BenchrunError
from benchrun.record.clock import Clock
from benchrun.record.folder import RunFolder
from benchrun.record.trouble import Locked, Unsound
from benchrun.session import Sitting, read_along, take_up
from benchrun.shop.folder import Shop
from benchrun.shop.people import Person
from benchrun.text import shown


class Resumption:
    """A run that is to be resumed.

    Args:
        shop: Where.
        folder: The run.
        person: Who works, or None while that is not known.
        clock: What tells the time.
        named: Whether a command named the run: what cannot be opened then ends the command.

    Attributes:
        person: Who works, or None while that is not known.
        session: The run, once it is open: live, or followed where another window writes it.
    """

    def __init__(
        self,
        shop: Shop,
        folder: RunFolder,
        person: Person | None,
        clock: Clock,
        *,
        named: bool = False,
    ) -> None:
        self._shop = shop
        self._folder = folder
        self._clock = clock
        self._named = named
        self.person = person
        self.session: Sitting | None = None

    def ask(self) -> Flow:
        """Take the run up; whether it is open here.

        A run that does not hold is told first: going on is a person's decision, with a reason.

        Raises:
            BenchrunError: It cannot be opened, and a command named it.
        """
        reason = ""
        while self.session is None:
            try:
                self.session = yield from called(partial(self._open, reason), once=True)
            except Unsound as error:
                if not (yield from show_page(_page(error))):
                    return False
                self.person = self.person or (yield from ask_person(self._shop, "Who decides"))
                if self.person is None:
                    return False
                reason = yield from text(Text("Why it goes on", _KEPT))
                if not reason:
                    return False
            except BenchrunError as error:
                if self._named:
                    raise
                yield Say(error.message, strong=True)
                return False
        return True

    def _open(self, reason: str) -> Sitting:
        with suppress(Locked):
            if not self._folder.log.exists() or os.access(self._folder.log, os.W_OK):
                return take_up(self._shop, self._folder, self.person, self._clock, reason=reason)
        return read_along(self._shop, self._folder, self.person, self._clock)


_KEPT = "It is kept in the log with your name and all this, and every report repeats it."


def _page(error: Unsound) -> PagePrompt:
    title = "What this run has kept does not hold"
    return PagePrompt(title, lambda: list(_rows(error)), enter="go on with a reason", decides=True)


def _rows(error: Unsound) -> Iterator[PageRow]:
    yield PageRow("Nothing was written. This was found:")
    yield PageRow()
    for finding in error.findings:
        yield PageRow(shown(finding, 400), tone=Tone.STRONG, indent=2)
    yield PageRow()
    yield PageRow("Leave the folder as it is, and look for a copy of it that is intact.")
    yield PageRow("benchrun verify tells more. You may also go on, with a reason.")
