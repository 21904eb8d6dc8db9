"""Past runs on a step: lessons that are new, and how long it took."""

from benchrun.errors import BenchrunError
from benchrun.plain.talk import Talk
from benchrun.procedure.route import Step
from benchrun.session import Session


class Past:
    """Tells each step's past when the run comes to it.

    Args:
        talk: Speaks.
        session: The run.
    """

    def __init__(self, talk: Talk, session: Session) -> None:
        self._talk = talk
        self._session = session
        self._step = ""

    def tell(self, step: Step) -> None:
        """Say what past runs say of a step, once for as long as it is in hand."""
        if step.id == self._step:
            return
        self._step = step.id
        for text in self.lessons(step):
            self._talk.say(f"Lesson: {text}")
        took = self._took(step)
        if took:
            self._talk.say(f"Takes {took}.")

    def lessons(self, step: Step) -> list[str]:
        """The lessons on a step, those that the procedure keeps first, then the newest."""
        from benchrun.history.lessons import lessons_for

        procedure = self._session.procedure
        try:
            found = lessons_for(self._session.shop, procedure.id, procedure).get(step.id, ())
        except BenchrunError as error:
            return [*step.lessons, error.message]
        new = [f"{one.text} ({one.name}, {one.utc[:10]})" for one in reversed(found)]
        return [*step.lessons, *new]

    def _took(self, step: Step) -> str:
        from benchrun.history.estimates import estimates_for

        session = self._session
        found = estimates_for(session.shop.path, session.procedure.id, session.folder.run)
        return found[step.id].words if step.id in found else ""
