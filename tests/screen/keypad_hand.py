"""A hand that works through a run by the keypad alone, from what is on offer and prepared answers.

It looks at the run as anybody could who reads the screen, and answers with the keys to press.

What it counts. An **act** is one of: a judgement (one answer to an inspection or a question, for
all parts it is given for), a reading (one value of one place), a batch step (one thing done, begun,
ended, tended, worked out, or signed, for all parts that are ready). **Keys** are all that are
pressed, whatever for: choosing parts, answering an alarm, saying who signs, saying a thing once
more, giving a reason. Only what is typed as text is not counted: the figures of a value, which are
the reading itself, and the characters of a passphrase. The Enter behind them is counted.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path

from ruamel.yaml import YAML

from benchrun.dialogue.answers import numbered_answers
from benchrun.dialogue.hand import parts_of, view
from benchrun.moment import Moment
from benchrun.procedure.route import Hold, Inspect, Reading
from benchrun.run.close_lines import lines_to_tick
from benchrun.run.offers import Deed, Offer
from benchrun.run.photos import unphotographed
from benchrun.run.state import Run
from benchrun.run.tool_counts import counts_back

WORD = "1234"
NAMES = {"+": "plus", "-": "minus", "*": "asterisk", "/": "slash", ".": "full_stop"}


def answers_of(path: Path) -> Mapping[str, object]:
    """What a rehearsal's answers give to each step, and for each figure."""
    script = YAML(typ="safe", pure=True).load(path)
    figures = {f"figure {name}": said for name, said in script.get("figures", {}).items()}
    return script["given"] | figures


class Hand:
    """Chooses keys.

    Args:
        given: Answers by step, and by part where they differ.
        settle: How questions are answered: code by step; else the first answer.
    """

    def __init__(self, given: Mapping[str, object], settle: Mapping[str, str] | None = None):
        self.given = given
        self.settle = dict(settle or {})
        self.used: Counter[tuple[str, str]] = Counter()
        self.done: Counter[str] = Counter()

    @property
    def acts(self) -> int:
        """Judgements, readings and batch steps so far."""
        return self.done["judgements"] + self.done["readings"] + self.done["steps"]

    def keys(
        self, run: Run, at: Moment, *, other_signs: bool, alarm: str = ""
    ) -> list[str] | int | None:
        """The keys to press now; a number of milliseconds to wait; None when the run is closed.

        Args:
            run: The run.
            at: Now.
            other_signs: Whether there is more than one person.
            alarm: The band of the alarm that stands, or empty.
        """
        if run.ended:
            return None
        now = view(run, at, None)
        offer = now.offer
        assert offer is not None
        if "Enter go there" in alarm:
            self.done["alarms"] += 1
            return ["enter"]
        if alarm and not offer.ready:
            self.done["alarms"] += 1
            return ["0"]
        if not offer.ready and (offer.deed is not Deed.CLOSE or len(now.offers) > 1):
            waits = [one.wait_ms for one in now.offers if one.wait_ms]
            assert waits, f"nothing is ready and nothing comes: {now.offers}"
            return min(waits)
        parts = parts_of(run, offer, ())
        if offer.deed is Deed.ANSWER:
            return self._answer(run, offer)
        return self._act(run, offer, parts, other_signs)

    def _answer(self, run: Run, offer: Offer) -> list[str]:
        self.done["judgements"] += 1
        answers = {one.code: (number, one) for number, one in numbered_answers(run, offer.question)}
        wanted = self.settle.get(offer.step.id, next(iter(answers)))
        number, chosen = answers[wanted]
        return [str(number), *(["1"] if chosen.reason else [])]

    def _act(self, run: Run, offer: Offer, parts: tuple[str, ...], other_signs: bool) -> list[str]:
        step = offer.step
        if offer.figures:
            return self._figures(offer.figures)
        if offer.deed is Deed.CLOSE:
            return self._signs(run, other=False, several=other_signs)
        detail = step.detail
        if offer.deed is Deed.DO and isinstance(detail, Reading):
            self.done["readings"] += 1
            typed = self._value(step.id, parts[0])
            self.done["typed"] += len(typed)
            return [*typed, "enter"]
        if offer.deed is Deed.DO and isinstance(detail, Inspect):
            return self._judge(run, step.id, [one.name for one in detail.findings], parts)
        if offer.deed is Deed.DO and isinstance(detail, Hold):
            ticks = step.id == run.route.release
            return self._signs(run, other=detail.other, several=other_signs, ticks=ticks)
        if offer.deed is Deed.DO and step.id == "tools-counted" and run.tools_out:
            # All came back: Enter takes the number of each that went out.
            self.done["steps"] += len(run.tools_out)
            return ["enter"] * (1 + len(run.tools_out))
        self.done["steps"] += 1
        if offer.deed is Deed.DO and unphotographed(run, step, parts):
            # This shop watches no folder: Enter finds no picture, and 3 says that there is none.
            return ["enter", "3"]
        if offer.deed is Deed.DO and counts_back(run, step):
            return ["enter", "*"]  # all are back
        return ["enter"]

    def _figures(self, names: Sequence[str]) -> list[str]:
        """The figures that a step needs, all of one data sheet, which is named already."""
        keys = ["enter"]
        for name in names:
            typed = str(self.given[f"figure {name}"]).split()[0]
            self.done["readings"] += 1
            self.done["typed"] += len(typed)
            keys += [*typed, "enter"]
        return keys

    def _judge(self, run: Run, step: str, names: list[str], parts: Sequence[str]) -> list[str]:
        """One judgement for all parts of the same answer; the fewest are chosen first."""
        self.done["judgements"] += 1
        found: dict[str, list[str]] = {}
        for part in parts:
            wanted = self._value(step, part, taken=False) if step in self.given else names[0]
            found.setdefault(wanted, []).append(part)
        wanted, few = min(found.items(), key=lambda one: len(one[1]))
        for part in few:
            self.used[step, part] += 1
        number = str(names.index(wanted) + 1)
        if len(few) == len(parts):
            return [number]
        wide = len(str(len(run.parts)))
        chosen = [f"{run.parts.index(part) + 1:0{wide}}" for part in few]
        return [".", *"".join(chosen), "enter", number]

    def _signs(self, run: Run, *, other: bool, several: bool, ticks: bool = True) -> list[str]:
        """Each line of the close is ticked as done; then a number says who signs the first time.

        The passphrase is typed at once where neither is asked.
        """
        ticked = ["1"] * len(lines_to_tick(run)) if ticks else []
        self.done["steps"] += 1 + len(ticked)
        self.done["typed"] += len(WORD)
        self.done["signatures"] += 1
        if self.done["signatures"] == 1:
            named = ["2" if other else "1"] if several else []
            return ["enter", *ticked, *named, *WORD, "enter"]
        return [*(["enter", *ticked] if other or ticked else []), *WORD, "enter"]

    def _value(self, step: str, part: str, *, taken: bool = True) -> str:
        found = self.given[step]
        if isinstance(found, dict):
            found = found[part]
        if isinstance(found, list):
            turn = self.used[step, part]
            found = found[min(turn, len(found) - 1)]
        self.used[step, part] += taken
        return str(found).replace(" ", "").rstrip("C") if str(found)[:1].isdigit() else str(found)
