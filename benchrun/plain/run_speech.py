"""The clocks of the run in hand, and of the others of the shop, told when they come to a stage."""

from collections.abc import Sequence
from contextlib import suppress
from typing import Final

from benchrun.alarms.calls import CallingRun
from benchrun.alarms.speech import Speech
from benchrun.alarms.words import clock_words
from benchrun.board import look
from benchrun.dialogue.work import Work
from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.plain.hearing import Hearing
from benchrun.run.act_clocks import act_clocks
from benchrun.run.urgency import helps

LOOK_EVERY_MS: Final = 10_000
"""How often the other runs of the shop are looked at."""
MOST_WAIT_S: Final = 1.0
"""How long it waits at most before it looks at the clocks again."""


class RunSpeech:
    """Sentences of clocks, none of them said twice.

    Args:
        work: The run in hand.
        hearing: What was heard already.
    """

    def __init__(self, work: Work, hearing: Hearing) -> None:
        self._work = work
        self._hearing = hearing
        self._speech = Speech()
        self._others: tuple[CallingRun, ...] = ()
        self._looked_ms = -LOOK_EVERY_MS

    def forget(self) -> None:
        """Say every clock once more."""
        self._speech = Speech()

    def news(self, *, calls_only: bool = False) -> tuple[Sequence[str], float]:
        """The clocks that came to another stage, and in how many seconds to ask again.

        Args:
            calls_only: Whether clocks that call for nothing yet wait.
        """
        session = self._work.session
        session.tick()
        its = CallingRun(session.folder.run, session.procedure.title, session.run)
        now = session.now()
        told, room = self._hearing.just_said(), self._hearing.room(now.up_ms)
        room = 0 if calls_only else room
        runs = [its, *self._beside(now)]
        lines, wait = self._speech.news(runs, now, its.id, told=told, room=room)
        return lines, MOST_WAIT_S if wait is None else min(MOST_WAIT_S, wait / 1000)

    def _beside(self, now: Moment) -> Sequence[CallingRun]:
        """The other open runs of the shop, looked at now and then."""
        session = self._work.session
        if not 0 <= now.up_ms - self._looked_ms < LOOK_EVERY_MS:
            self._looked_ms = now.up_ms
            with suppress(BenchrunError, OSError):  # the board tells what cannot be read
                self._others = tuple(
                    CallingRun(one.id, one.title, one.run)
                    for one in look(session.shop, now).open_runs
                    if one.run is not None and one.id != session.folder.run
                )
        return self._others

    def of_first(self) -> str:
        """The sentence of the clock that the first line on offer ends; empty where it ends none."""
        now = self._work.now
        offer = now.offers[0] if now.offers else None
        if offer is None or not offer.ready or offer.step is None:
            return ""
        for clock in act_clocks(now.run, now.at):
            if clock.step.id == offer.step.id and helps(offer, clock):
                return clock_words(now.run, clock, now.at).line
        return ""

    def brief(self, line: str) -> str:
        """A line without what was heard of it already."""
        clocks = act_clocks(self._work.now.run, self._work.now.at)
        return self._hearing.brief(line, {one.load.tend for one in clocks if one.load})
