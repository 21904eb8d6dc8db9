"""Looking something up: what can be looked up, in rows, and what may be taken from it."""

from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING, Final

from benchrun import quantity
from benchrun.approvals import edition_words
from benchrun.board import offer_words
from benchrun.dialogue.acts import take_instrument
from benchrun.dialogue.delivery import done
from benchrun.dialogue.guide import guide
from benchrun.dialogue.page_prompt import PagePrompt, PageRow, Tone, Topic
from benchrun.dialogue.past_runs import here_in, past_runs
from benchrun.dialogue.prompts import Blank, Choose, Form, Option
from benchrun.dialogue.situation import situation_rows
from benchrun.dialogue.supplies import supplies
from benchrun.dialogue.turns import (
    Destination,
    Flow,
    OpenPage,
    Say,
    ShowPicture,
    ask_parts,
    choose,
    fill,
    show_page,
)
from benchrun.dialogue.work import Work
from benchrun.errors import BenchrunError
from benchrun.procedure.ghs import code_lines
from benchrun.procedure.route import Procedure, Reading, Step, worst_first
from benchrun.run import commands as c
from benchrun.run.state import Run

if TYPE_CHECKING:
    from benchrun.shopmath.calc import Calc, Result


def look_up(work: Work) -> Flow:
    """Choose what is looked up."""
    options = [
        Option("Parts", "who is where, coats counted; choose some"),
        Option("Procedure", "read ahead"),
        Option("Log", "every entry so far"),
        Option("Sums", "fits, shims, heat, torque, baths and films"),
        Option("Where it stands", "all clocks, what became late, notes, the last entries"),
        Option("Supplies", "at hand, used by this run, the shop's books"),
        Option("Other work", "everything on offer"),
        Option("Past runs", "this reading, part, instrument; step times"),
    ]
    step = work.step
    if step is not None and work.instruments.offered(step):
        options.append(Option("Instrument", "take another one for this reading"))
    ways = [*_WAYS[: len(options)], _guide]
    options.append(Option("Guide", "how a procedure is written, by chapters"))
    place = yield from choose(Choose("Look up", tuple(options), explains=True))
    return False if place is None else (yield from ways[place](work))


def choose_parts(work: Work) -> Flow:
    """Show the batch; take in hand what is on for the parts chosen."""
    chosen = yield from ask_parts(work.parts_prompt())
    said = work.take(chosen)
    if said:
        yield Say(said)
    return False


def why(work: Work) -> Flow:
    """Show why the step in hand is there, its cautions in full, its sources."""
    step = work.step
    if step is None:
        yield Say("No step is on offer.")
        return False
    title = f"{step.number}  {step.text}"
    drawing = work.drawing(step)
    enter, rows = "see the drawing" if drawing else "back", lambda: list(why_rows(step))
    page = PagePrompt(title, rows, Topic.WHY, enter=enter, decides=drawing is not None)
    if (yield from show_page(page)) and drawing is not None:
        said = yield ShowPicture(drawing)
        if isinstance(said, str) and said:
            yield Say(said)
    return False


def why_rows(step: Step) -> Iterator[PageRow]:
    """Everything that the procedure says of a step."""
    yield PageRow(step.why or "No reason is written for this step.", "why")
    for caution in worst_first(step.cautions):
        for line in code_lines(caution):
            yield PageRow(line, caution.signal.value.upper(), Tone.STRONG)
    for label, words in (
        ("see that", "; ".join(step.standing)),
        ("drawing", step.drawing),
        ("source", step.source),
        ("carry out", step.carries_out),
    ):
        if words:
            yield PageRow(words, label)
    for words in step.lessons:
        yield PageRow(words, "lesson", Tone.CALLS)


def _ahead(work: Work) -> Flow:
    procedure, step = work.session.procedure, work.step
    here, approval = step.id if step else "", work.approval

    def rows() -> list[PageRow]:
        edition = f"{procedure.id}, {edition_words(procedure, approval)}"
        tone = Tone.STRONG if approval.calls else Tone.QUIET
        said = [PageRow(approval.words, tone=tone)] if approval.words else []
        return [PageRow(edition, tone=Tone.QUIET), *said, *ahead_rows(procedure, here)]

    yield from show_page(PagePrompt(procedure.title, rows))
    return False


def ahead_rows(procedure: Procedure, here: str = "") -> Iterator[PageRow]:
    """Every step with its cautions, from the one in hand on; those behind follow at the end."""
    steps = list(procedure.route.steps.values())
    start = next((place for place, step in enumerate(steps) if step.id == here), 0)
    if not start:
        for words in (procedure.scope, procedure.applies_to):
            if words:
                yield PageRow(words, tone=Tone.QUIET)
    stage = ""
    for step in [*steps[start:], *steps[:start]]:
        if step.stage != stage:
            stage = step.stage
            yield PageRow()
            yield PageRow(stage, tone=Tone.QUIET)
        own = step.id == here
        yield PageRow(step.text, f"> {step.number}." if own else f"  {step.number}.", _tone(own))
        for caution in worst_first(step.cautions):
            words = f"{caution.signal.value.upper()}  {caution.hazard}"
            yield PageRow(words, tone=Tone.QUIET, indent=8)


def _tone(own: bool) -> Tone:
    return Tone.STRONG if own else Tone.TEXT


def _log(work: Work) -> Flow:
    del work
    yield OpenPage(Destination.LOG)
    return False


def _past(work: Work) -> Flow:
    return (yield from past_runs(work.session.shop, work.zone, here_in(work)))


def _situation(work: Work) -> Flow:
    yield from show_page(PagePrompt("Where it stands", lambda: list(situation_rows(work))))
    return False


def _other_work(work: Work) -> Flow:
    """Take another offer in hand."""
    now = work.now
    place = yield from choose(work_prompt(work))
    if place is not None:
        work.pin(now.offers[place])
    return False


def work_prompt(work: Work) -> Choose:
    """Everything on offer, numbered in its one order."""
    now = work.now
    options = (
        Option(offer_words(now.run, offer), "" if offer.ready else "not yet")
        for offer in now.offers
    )
    return Choose("Other work", tuple(options))


def _guide(work: Work) -> Flow:
    del work
    return (yield from guide())


def _instrument(work: Work) -> Flow:
    step = work.step
    return False if step is None else (yield from take_instrument(work, step))


def sums(work: Work | None = None) -> Flow:
    """Do a sum of the shop; what a run has measured under a name stands in it.

    Args:
        work: The run that the answer may be taken over into, or None.
    """
    from benchrun.shopmath.catalogue import CALCS

    calcs = list(CALCS.values())
    options = tuple(Option(calc.name.replace("_", " "), calc.purpose) for calc in calcs)
    place = yield from choose(Choose("Sums", options, explains=True))
    return False if place is None else (yield from _sum(work, calcs[place]))


def _sum(work: Work | None, calc: "Calc") -> Flow:
    measured = _measured(work.session.run) if work else {}
    texts = tuple(measured.get(blank.name, "") for blank in calc.entries)
    title = calc.name.replace("_", " ")
    while True:
        blanks = tuple(
            Blank(given.name, given.prompt_words, text, given.default or "", given.unit)
            for given, text in zip(calc.entries, texts, strict=True)
        )
        answers = yield from fill(Form(title, blanks, calc.purpose, "work it out", extras=1))
        if answers is None:
            return False
        texts = answers
        names = (given.name for given in calc.entries)
        try:
            result = calc.read_out({n: text for n, text in zip(names, texts, strict=True) if text})
        except BenchrunError as error:
            yield Say(error.message, strong=True)
            continue
        if (yield from show_page(_result_page(title, result, work))) and work is not None:
            return (yield from _use(work, title, result))


def _result_page(title: str, result: "Result", work: Work | None) -> PagePrompt:
    enter = "use it" if work else "back"
    return PagePrompt(
        title, lambda: list(result_rows(result)), enter=enter, decides=work is not None
    )


def result_rows(result: "Result") -> Iterator[PageRow]:
    """An answer: cautions first, then the values, the workings, where it comes from."""
    for words in result.cautions:
        yield PageRow(words, "caution", Tone.CALLS)
    for name, amount in result.outputs.items():
        yield PageRow(amount.words, name.replace("_", " "), Tone.STRONG)
    for label, texts in (
        ("how", result.workings),
        ("note", result.notes),
        ("from", result.sources),
    ):
        for place, words in enumerate(texts):
            yield PageRow(words, " " if place else label)


def _use(work: Work, title: str, result: "Result") -> Flow:
    """Take an answer over: as a note, or into the reading in hand where its unit fits."""
    told = ", ".join(f"{k.replace('_', ' ')} {v.words}" for k, v in result.outputs.items())
    step = work.step
    options = [Option("Write it down as a note", told)]
    fitting = _fitting(step.detail, result) if step and isinstance(step.detail, Reading) else []
    options += [Option(f"Into the reading: {name}", words) for name, words in fitting]
    place = yield from choose(Choose("What is it for", tuple(options)))
    if place is None:
        return False
    if not place:
        return (yield from done(work, c.KeepNote(f"{title}: {told}", step.id if step else "")))
    work.typed = fitting[place - 1][1]
    return False


def _measured(run: Run) -> Mapping[str, str]:
    """The newest reading under each name, as text with its unit."""
    found: dict[str, tuple[int, str]] = {}
    for marker in run.each():
        for value in marker.values.values():
            if value.number is not None and value.n >= found.get(value.name, (-1, ""))[0]:
                found[value.name] = (value.n, f"{value.number} {value.unit}".strip())
    return {name: words for name, (_, words) in found.items()}


def _fitting(detail: Reading, result: "Result") -> list[tuple[str, str]]:
    """The values of an answer that a reading's unit can hold: name and text to be typed."""
    found = []
    for name, amount in result.outputs.items():
        if isinstance(amount.value, str) or not quantity.known(amount.unit):
            continue
        if quantity.dimension(amount.unit) == quantity.dimension(detail.unit):
            number = round(amount.to(detail.unit), 6).normalize()
            found.append((name.replace("_", " "), quantity.plain(number)))
    return found


_WAYS: Final[tuple[Callable[[Work], Flow], ...]] = (
    choose_parts,
    _ahead,
    _log,
    sums,
    _situation,
    supplies,
    _other_work,
    _past,
    _instrument,
)
