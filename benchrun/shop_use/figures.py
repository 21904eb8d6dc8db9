"""Figures of a run in the shop's books: looked up at the begin, kept when somebody typed one."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.header_values import INSTRUMENT, JOB, SUPPLY
from benchrun.procedure.route import Figure, Procedure
from benchrun.run.entries import FigureSpec, PartSpec
from benchrun.run.run_figures import spec_of
from benchrun.shop.book_file import BookForm
from benchrun.shop.books import ShopBooks
from benchrun.shop.figures import FIGURES, BookFigure, newest
from benchrun.shop.folder import Shop
from benchrun.shop.instruments import INSTRUMENTS
from benchrun.shop.parts import JOBS, Job
from benchrun.shop.row_editor import add_line
from benchrun.shop.supplies import SUPPLIES, serving


@lean_dataclass(frozen=True, slots=True)
class BookPlace:
    """A row of the shop's books in which a figure may stand.

    Attributes:
        book: `job`, `supply` or `instrument`.
        id: The row.
        figures: What stands in it.
    """

    book: str
    id: str
    figures: tuple[BookFigure, ...]

    @property
    def words(self) -> str:
        """The row in words: `job trailer`."""
        return f"{self.book} {self.id}"


def job_of(books: ShopBooks, parts: Iterable[PartSpec]) -> str:
    """The one job that all known parts of a batch belong to; empty where there is none."""
    tags = {spec.part for spec in parts}
    jobs = {row.job for row in books.parts.rows if row.id in tags and row.job}
    return jobs.pop() if len(jobs) == 1 else ""


def open_jobs(books: ShopBooks) -> tuple[Job, ...]:
    """The jobs that were not handed over yet."""
    return tuple(job for job in books.jobs.rows if job.done is None)


def places_of(books: ShopBooks, figure: Figure, job: str) -> tuple[BookPlace, ...]:
    """The rows that a figure may stand in, the likeliest first.

    Args:
        books: The shop's books.
        figure: Which.
        job: The id of the run's job, or empty.
    """
    if figure.belongs == JOB:
        row = books.jobs.find(job) if job else None
        return (BookPlace(JOB, row.id, row.figures),) if row is not None else ()
    if figure.belongs == SUPPLY:
        tins = serving(books.supplies, figure.of)
        return tuple(BookPlace(SUPPLY, tin.id, tin.figures) for tin in tins if not tin.out_of_use)
    gauges = (one for one in books.instruments.rows if one.called(figure.of))
    return tuple(BookPlace(INSTRUMENT, one.id, one.figures) for one in gauges if not one.out_of_use)


def figures_in_books(
    books: ShopBooks, procedure: Procedure, job: str
) -> tuple[tuple[FigureSpec, ...], tuple[str, ...]]:
    """The figures of a procedure that the books know.

    Returns:
        The figures, and in words what stands there and will not do.
    """
    known: list[FigureSpec] = []
    faults: list[str] = []
    for figure in procedure.route.figures.values():
        for place in places_of(books, figure, job):
            line = newest(place.figures, figure.name)
            if line is None:
                continue
            try:
                known.append(_spec(figure, place, line))
            except BenchrunError as error:
                faults.append(f"{place.words}: {figure.name}: {error.message}")
            break
    return tuple(known), tuple(faults)


def _spec(figure: Figure, place: BookPlace, line: BookFigure) -> FigureSpec:
    return replace(
        spec_of(figure, line.value),
        document=line.document,
        page=line.page,
        book=place.words,
        who=line.by,
        day=line.on.isoformat() if line.on is not None else "",
    )


def keep_figure(shop: Shop, place: BookPlace, figure: BookFigure) -> None:
    """Write a figure into a row of the books, behind those that stand there.

    Raises:
        BenchrunError: The file cannot be written, or the figure will not do.
    """
    forms: Mapping[str, BookForm[Any]] = {
        JOB: JOBS,
        SUPPLY: SUPPLIES,
        INSTRUMENT: INSTRUMENTS,
    }
    add_line(shop.path, forms[place.book], place.id, FIGURES, figure.line)
