"""The question for a figure: its value, the document and page, and whether the book keeps it."""

from collections.abc import Generator, Mapping, Sequence
from dataclasses import replace

from benchrun import quantity
from benchrun.account.figures import figure_lines
from benchrun.dialogue.delivery import give
from benchrun.dialogue.page_prompt import PagePrompt, PageRow, Tone
from benchrun.dialogue.prompts import Blank, Choose, Confirm, Form, Option
from benchrun.dialogue.turns import Flow, Say, Turn, called, choose, confirm, fill, show_page
from benchrun.dialogue.work import Work
from benchrun.errors import BenchrunError
from benchrun.procedure.header_values import JOB
from benchrun.procedure.route import Figure
from benchrun.run import commands as c
from benchrun.run.entries import FigureSpec
from benchrun.run.run_figures import spec_of
from benchrun.run.state import Run
from benchrun.session import Kept
from benchrun.shop.amounts import day_of
from benchrun.shop.books import read_books
from benchrun.shop.figures import BookFigure
from benchrun.shop_use.figures import BookPlace, keep_figure, places_of


def ask_figure(figure: Figure, document: str = "") -> Generator[Turn, object, FigureSpec | None]:
    """Ask for a figure until it will do; None where it is left.

    Args:
        figure: Which.
        document: The document named last, which Enter takes again.
    """
    typed, page, document = "", "", _document(figure, document)
    while True:
        blanks = (
            Blank("value", _asked(figure), typed, unit=figure.unit),
            Blank("document", "the manual or the sheet", "", document),
            Blank("page", typed=page),
        )
        form = Form(figure.ask, blanks, band_words(figure), "take it", _extras(figure))
        texts = yield from fill(form)
        if texts is None:
            return None
        typed, document, page = texts[0], texts[1] or document, texts[2]
        if not typed and not figure.optional:
            yield Say("Type its value: the run cannot go on without it.", strong=True)
            continue
        try:
            spec = spec_of(figure, typed)
        except BenchrunError as error:
            yield Say(error.message, strong=True)
            continue
        doubt = _doubt(figure, spec)
        if doubt and not (yield from confirm(Confirm(figure.ask.rstrip("."), doubt))):
            continue
        if spec.number is None:
            return spec
        return replace(spec, document=document, page=page)


def ask_figures(
    figures: Sequence[Figure], document: str = ""
) -> Generator[Turn, object, tuple[FigureSpec, ...] | None]:
    """Ask for the figures of one manual or sheet on one page until all will do; None: left.

    Args:
        figures: Which; all stand in the same place.
        document: The document named last, which Enter takes again.
    """
    if len(figures) == 1:
        spec = yield from ask_figure(figures[0], document)
        return None if spec is None else (spec,)
    typed, page, document = [""] * len(figures), "", _document(figures[0], document)
    while True:
        values = zip(figures, typed, strict=True)
        blanks = (
            *(Blank(_label(one), _asked(one), said, unit=one.unit) for one, said in values),
            Blank("document", "the manual or the sheet", "", document),
            Blank("page", typed=page),
        )
        where = band_words(replace(figures[0], low=None, high=None))
        title, extras = f"{len(figures)} figures", _extras(figures[0])
        texts = yield from fill(Form(title, blanks, where, "take them", extras))
        if texts is None:
            return None
        *typed, named, page = texts
        document = named or document
        specs = yield from _specs_of(figures, typed)
        if specs is not None:
            return tuple(
                spec if spec.number is None else replace(spec, document=document, page=page)
                for spec in specs
            )


def _specs_of(
    figures: Sequence[Figure], typed: Sequence[str]
) -> Generator[Turn, object, list[FigureSpec] | None]:
    """The figures as they were typed; None, with the reason said, where one will not do."""
    specs = []
    for figure, text in zip(figures, typed, strict=True):
        if not text and not figure.optional:
            yield Say(f"{_label(figure)}: the run cannot go on without it.", strong=True)
            return None
        try:
            spec = spec_of(figure, text)
        except BenchrunError as error:
            yield Say(f"{_label(figure)}: {error.message}", strong=True)
            return None
        doubt = _doubt(figure, spec)
        if doubt and not (yield from confirm(Confirm(figure.ask.rstrip("."), doubt))):
            return None
        specs.append(spec)
    return specs


def _extras(figure: Figure) -> int:
    """How many lines Enter passes by: a data sheet is known by its name, and has few pages."""
    return 0 if figure.belongs == JOB else 2


def _document(figure: Figure, last: str) -> str:
    """The document that Enter takes: the sheet of what a figure belongs to, or the last one."""
    return last if figure.belongs == JOB else f"data sheet of the {figure.of}"


def _label(figure: Figure) -> str:
    return figure.name.replace("_", " ")


def _asked(figure: Figure) -> str:
    """The words beside the field: what is asked for, and whether it may stay empty."""
    ask = figure.ask.rstrip(".")
    return f"{ask}; empty where it is not known" if figure.optional else ask


def band_words(figure: Figure) -> str:
    """Where a figure is found, and the band it plausibly lies in."""
    places = {JOB: "Look in the manual of the job."}
    where = places.get(figure.belongs, f"Look in the sheet of the {figure.of}.")
    if figure.low is None or figure.high is None:
        return where
    low, high = (quantity.in_words(end, figure.unit) for end in (figure.low, figure.high))
    return f"{where} Plausible is {low} to {high}."


def _doubt(figure: Figure, spec: FigureSpec) -> str:
    """Why a figure is asked about once more; empty where it is not."""
    if spec.number is None:
        return "It is not known. What rests on it is not judged. Enter goes on without it."
    if spec.odd:
        return f"{spec.typed} is outside what is plausible. Look at the page again; Enter takes it."
    return ""


def ask_needed(work: Work, names: Sequence[str]) -> Flow:
    """Ask for the figures that a step needs, enter each, and offer to keep it in the books."""
    figures = [work.session.run.route.figures[name] for name in names]
    places = list(dict.fromkeys((one.belongs, one.of) for one in figures))
    for place in places:
        here = [one for one in figures if (one.belongs, one.of) == place]
        specs = yield from ask_figures(here, _last_document(work))
        if specs is None:
            return False
        for figure, spec in zip(here, specs, strict=True):
            if not isinstance((yield from give(work, c.KeepFigure(spec))), Kept):
                return False
            yield from _offer_to_keep(work, figure, spec)
    return True


def _last_document(work: Work) -> str:
    documents = [""]
    for entry in work.session.entries:
        data = entry.data
        figure = getattr(data, "figure", None)
        specs = getattr(data, "figures", (figure,) if figure is not None else ())
        documents += [spec.document for spec in specs if spec.document]
    return documents[-1]


def job_of_run(run: Run) -> str:
    """The job that a run was begun for; empty where there is none."""
    return str(run.about.get("job", ""))


def _offer_to_keep(work: Work, figure: Figure, spec: FigureSpec) -> Generator[Turn, object, None]:
    """Ask whether the book keeps a figure for other runs, where there is a row for it."""
    if spec.number is None:
        return
    shop, job = work.session.shop, job_of_run(work.session.run)
    places: tuple[BookPlace, ...] = yield from called(
        lambda: places_of(read_books(shop), figure, job)
    )
    if not places:
        return
    options = [Option(f"keep it in the book of {place.words}") for place in places]
    options.append(Option("this run alone"))
    place = yield from choose(Choose("Keep it for other runs?", tuple(options)))
    if place is None or place == len(places):
        return
    person = work.session.person
    line = BookFigure(
        figure.name,
        spec.typed if any(char.isalpha() for char in spec.typed) else f"{spec.typed} {spec.unit}",
        spec.document,
        spec.page,
        person.id if person is not None else "",
        day_of(work.session.now()),
    )
    try:
        yield from called(lambda: keep_figure(shop, places[place], line), once=True)
    except BenchrunError as error:
        yield Say(error.message, strong=True)
    else:
        yield Say(f"Kept in the book of {places[place].words}.")


def show_figures(
    title: str,
    figures: Mapping[str, Figure],
    known: Sequence[FigureSpec],
    faults: Sequence[str],
) -> Generator[Turn, object, bool]:
    """Show what the books say before a run begins; whether it is to go on."""
    rows = [PageRow(fault, tone=Tone.CALLS) for fault in faults]
    for spec in known:
        first, *more = figure_lines(spec, figures[spec.name].ask)
        rows.append(PageRow(first.removeprefix("figure ")))
        rows += [PageRow(line.strip(), indent=2) for line in more]
    missing = [figure for name, figure in figures.items() if name not in {k.name for k in known}]
    if missing:
        rows += [PageRow(), PageRow("asked when a step needs it", tone=Tone.QUIET, heads=True)]
        rows += [PageRow(figure.ask, indent=2) for figure in missing]
    page = PagePrompt(title, lambda: rows, enter="these are right", decides=True)
    return (yield from show_page(page))
