"""A hand that works through a run by the keypad alone, from what is on offer and prepared answers.

It looks at the run as anybody could who reads the screen, and answers with the keys to press.
"""

from collections import Counter
from collections.abc import Mapping
from pathlib import Path

from ruamel.yaml import YAML

from benchrun.moment import Moment
from benchrun.procedure.route import Hold, Inspect, Kind, Reading
from benchrun.run.offers import Deed, Offer
from benchrun.run.state import Run
from benchrun.screen.run.view import parts_of, view

WORD = "1234"
NAMES = {"+": "plus", "-": "minus", "*": "asterisk", "/": "slash", ".": "full_stop"}


def answers_of(path: Path) -> Mapping[str, object]:
    """What a rehearsal's answers give to each step."""
    return YAML(typ="safe", pure=True).load(path)["given"]


class Hand:
    """Chooses keys.

    Args:
        given: Answers by step.
        settle: How questions are answered: code by kind of question; else the first answer.
    """

    def __init__(self, given: Mapping[str, object], settle: Mapping[str, str] | None = None):
        self.given = given
        self.settle = dict(settle or {})
        self.used: Counter[tuple[str, str]] = Counter()
        self.done: Counter[str] = Counter()

    def keys(self, run: Run, at: Moment, *, other_signs: bool) -> list[str] | int | None:
        """The keys to press now; a number of milliseconds to wait; None when the run is closed."""
        if run.ended:
            return None
        now = view(run, at, None)
        offer = now.offer
        assert offer is not None
        if not offer.ready and (offer.deed is not Deed.CLOSE or len(now.offers) > 1):
            waits = [one.wait_ms for one in now.offers if one.wait_ms]
            assert waits, f"nothing is ready and nothing comes: {now.offers}"
            return min(waits)
        parts = parts_of(run, offer, ())
        if offer.deed is Deed.CLOSE:
            self.done["steps"] += 2
            self.done["signatures"] += 1
            return ["enter", *self._named(other=False, several=other_signs), *WORD, "enter"]
        if offer.deed is Deed.ANSWER:
            return self._answer(offer)
        return self._act(offer, parts, other_signs)

    def _answer(self, offer: Offer) -> list[str]:
        self.done["judgements"] += 1
        answers = offer.question.answers
        codes = [one.code for one in answers]
        wanted = self.settle.get(offer.step.id, codes[0])
        chosen = answers[codes.index(wanted)]
        return [str(codes.index(wanted) + 1), *(["1"] if chosen.reason else [])]

    def _act(self, offer: Offer, parts: tuple[str, ...], other_signs: bool) -> list[str]:
        step = offer.step
        detail = step.detail
        if offer.deed is Deed.DO and isinstance(detail, Reading):
            self.done["readings"] += 1
            typed = self._value(step.id, parts[0])
            self.done["figures"] += len(typed)
            return [*typed, "enter"]
        if offer.deed is Deed.DO and isinstance(detail, Inspect):
            self.done["judgements"] += 1
            names = [one.name for one in detail.findings]
            wanted = self._value(step.id, parts[0]) if step.id in self.given else names[0]
            return [str(names.index(wanted) + 1)]
        if offer.deed is Deed.DO and isinstance(detail, Hold):
            self.done["steps"] += 2
            self.done["signatures"] += 1
            named = self._named(other=detail.other, several=other_signs)
            return ["enter", *named, *WORD, "enter"]
        self.done["steps"] += 1
        sure = offer.deed is Deed.DO and step.critical and step.kind is not Kind.DWELL
        return ["enter", "enter"] if sure else ["enter"]

    def _named(self, *, other: bool, several: bool) -> list[str]:
        """The keys that say who signs: a number for the first signature, then only a change."""
        if not several:
            return []
        if self.done["signatures"] == 1:
            return ["2" if other else "1"]
        return ["+"] if other else []

    def _value(self, step: str, part: str) -> str:
        found = self.given[step]
        if isinstance(found, dict):
            found = found[part]
        if isinstance(found, list):
            turn = self.used[step, part]
            self.used[step, part] += 1
            found = found[min(turn, len(found) - 1)]
        return str(found).replace(" ", "").rstrip("C") if str(found)[:1].isdigit() else str(found)
