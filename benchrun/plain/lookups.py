"""Things looked up beside the dialogue, line by line: the log, and what past runs taught."""

from collections.abc import Sequence
from typing import Final

from benchrun.dialogue.work import Work
from benchrun.errors import BenchrunError
from benchrun.plain.face import PlainFace
from benchrun.plain.log_lines import LogLines
from benchrun.plain.talk import Talk
from benchrun.procedure.route import Step
from benchrun.text import count

LAST: Final = 6
"""How many entries of the log are said where no words are looked for."""


class PlainLookups(PlainFace):
    """Answers what is looked up; nothing is recorded by it.

    Args:
        talk: Speaks and listens.
        work: The run.
    """

    def __init__(self, talk: Talk, work: Work) -> None:
        self.talk = talk
        self._work = work
        self._session = work.session
        self._told = ""

    def log(self) -> None:
        """Say the last entries, or those that hold words."""
        words = self.talk.ask("Words to look for (only Enter says the last entries):")
        telling, entries = LogLines(self._session), self._session.entries
        held = [one for one in entries if words and telling.holds(one, words)]
        found = held if words else telling.last(LAST)
        lines = [telling.of(entry) for entry in found]
        self.read([f"  {row}" for row in lines])
        if words:
            self.talk.say(f"{count(len(found), 'entry', 'entries')} with “{words}”.")

    def took(self, step: Step) -> Sequence[str]:
        """How long a step took in past runs, once for as long as it is in hand."""
        if step.id == self._told:
            return ()
        self._told = step.id
        took = self._took(step)
        return (f"Takes {took}.",) if took else ()

    def lessons(self, step: Step) -> Sequence[str]:
        """The lessons on a step, a line each: those written with it, then the newest first."""
        return [*(f"Lesson: {text}" for text in step.lessons), *self.past_lessons(step)]

    def past_lessons(self, step: Step) -> Sequence[str]:
        """The lessons of past runs on a step, the newest first, a line each."""
        from benchrun.history.lessons import lessons_for

        procedure = self._session.procedure
        try:
            found = lessons_for(self._session.shop, procedure.id, procedure).get(step.id, ())
        except BenchrunError as error:
            return [error.message]
        return [f"Lesson: {one.text} ({one.name}, {one.utc[:10]})" for one in reversed(found)]

    def _took(self, step: Step) -> str:
        from benchrun.history.estimates import estimates_for

        session = self._session
        found = estimates_for(session.shop.path, session.procedure.id, session.folder.run)
        return found[step.id].words if step.id in found else ""
