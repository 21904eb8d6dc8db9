"""A hand that knows the next sensible key, so that random keys come to every page of a run."""

from collections import Counter
from decimal import Decimal

from benchrun.dialogue.answers import numbered_answers
from benchrun.dialogue.hand import View
from benchrun.procedure.route import Hold, Inspect, Reading
from benchrun.run.offers import Deed
from benchrun.run.state import Run
from benchrun.run.verdict import draw, limits
from benchrun.screen.bench_screen import BenchScreen
from benchrun.screen.board.screen import BoardScreen
from benchrun.screen.prompts import ChoosePane
from benchrun.screen.run.closed_page import FinishedPane
from benchrun.screen.run.screen import RunScreen
from benchrun.screen.run.work import WorkPane

WORD = "1234"


def kinds_seen(screen: BenchScreen, seen: Counter[str]) -> None:
    """Take note of which page stands on a screen."""
    if not screen.panes:
        return
    pane = screen.panes[-1]
    name = type(pane).__name__
    seen[name] += 1
    if isinstance(pane, WorkPane):
        now = pane.now()
        if now.offer is not None:
            kind = f" {now.offer.step.kind.value}" if now.offer.step else ""
            seen[f"work: {now.offer.deed.value}{kind}"] += 1
        return
    title = getattr(pane, "_title", "") or getattr(getattr(pane, "prompt", None), "title", "")
    if title and len(title) < 24:
        seen[f"{name}: {title}"] += 1


def next_keys(screen: BenchScreen, turn: int) -> list[str]:
    """The keys that go on with the work.

    Args:
        screen: What is looked at.
        turn: Chooses among answers, so that not every part takes the same way.
    """
    if isinstance(screen, BoardScreen):
        return ["1"]
    if not isinstance(screen, RunScreen):
        return ["enter"]
    pane = screen.panes[-1]
    if screen.alarm_book.first is not None and not pane.typing("0"):
        return ["0"]
    if isinstance(pane, FinishedPane):
        return ["enter"]
    if type(pane).__name__ == "SignaturePane":
        step = screen.work.step
        other = step is not None and isinstance(step.detail, Hold) and step.detail.other
        named = [] if pane.prompt.person is not None else ["2" if other else "1"]
        return [*named, *WORD, "enter"]
    if type(pane).__name__ == "SurePane":
        return ["enter"]
    if isinstance(pane, ChoosePane) and pane.prompt.title.startswith("Before you sign, line"):
        return ["1"]
    if not isinstance(pane, WorkPane):
        return ["1"] if turn % 3 == 0 else ["escape"]
    run = screen.session.run
    return _at_work(run, pane.now(), turn)


def _at_work(run: Run, now: View, turn: int) -> list[str]:
    offer = now.offer
    if offer is None:
        return ["escape"]
    detail = offer.step.detail if offer.step else None
    if offer.deed is Deed.ANSWER:
        numbers = [number for number, _ in numbered_answers(run, offer.question)]
        return [str(numbers[turn % len(numbers)]), "1"]
    if offer.deed is Deed.DO and isinstance(detail, Inspect):
        return [str(1 + (turn % len(detail.findings) if turn % 4 == 0 else 0))]
    if offer.deed is Deed.DO and isinstance(detail, Reading):
        return [*_reading(run, offer.parts[0], detail, turn), "enter"]
    if offer.deed is Deed.DO and isinstance(detail, Hold):
        return ["enter"]
    return ["enter"] if offer.ready or turn % 3 else ["plus", "enter"]


def _reading(run: Run, part: str, detail: Reading, turn: int) -> str:
    reads = frozenset[str]()
    for formula in (detail.low, detail.high):
        reads |= formula.reads if formula else frozenset()
    low, high = limits(detail, draw(run.markers[part], reads - {detail.name})) or (None, None)
    if low is None and high is None:
        value = Decimal(20)
    elif low is None or high is None:
        value = low + abs(low) / 2 if low is not None else high / 2
    else:
        value = (low + high) / 2
    if turn % 7 == 0:
        value *= 2
    return str(value)[:9]
