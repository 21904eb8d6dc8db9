"""Figures of a run: what each is, which document says it, who entered it, what it was before."""

from collections.abc import Iterator
from dataclasses import replace

from benchrun.account.facts import RunFacts
from benchrun.account.value_facts import FigureFacts
from benchrun.account.walker import Takers
from benchrun.procedure.route import Procedure
from benchrun.run import entries as e
from benchrun.run.corrections import figure_given
from benchrun.wording import value_words


class FigureWalk:
    """Takes entry after entry and keeps the figures of the facts as they stand."""

    def __init__(self, procedure: Procedure, facts: RunFacts) -> None:
        self._figures = procedure.route.figures
        self._facts = facts
        self._before: dict[int, list[FigureFacts]] = {}

    @property
    def takes(self) -> Takers:
        """The ways in which it takes entries."""
        return {
            e.Opened: self._opened,
            e.Figured: lambda entry, data: self._enter(entry, data.figure),
            e.Corrected: self._correct,
            e.Retracted: self._taken_back,
        }

    def _opened(self, entry: e.Entry, data: e.Opened) -> None:
        for spec in data.figures:
            self._enter(entry, spec)

    def _taken_back(self, _: e.Entry, data: e.Retracted) -> None:
        if data.of in self._before:
            self._facts.figures[:] = self._before[data.of]

    def _enter(self, entry: e.Entry, spec: e.FigureSpec) -> None:
        known = self._figures.get(spec.name)
        number = spec.number or ""
        self._facts.figures.append(
            FigureFacts(
                n=entry.n,
                utc=entry.at.utc,
                by=entry.by,
                name=spec.name,
                text=known.ask if known is not None else spec.name,
                value=number,
                unit=spec.unit,
                first=number,
                document=spec.document,
                page=spec.page,
                book=spec.book,
                who=spec.who,
                day=spec.day,
                odd=spec.odd,
            )
        )

    def _correct(self, entry: e.Entry, data: e.Corrected) -> None:
        if data.part:
            return
        self._before[entry.n] = list(self._facts.figures)
        self._facts.figures[:] = [
            replace(
                figure,
                value=data.given.number or "",
                document=data.document or figure.document,
                page=data.page or figure.page,
                corrected_by=entry.n,
                correction=data.reason,
            )
            if (figure.n, figure.name) == (data.of, data.place)
            else figure
            for figure in self._facts.figures
        ]


def document_words(document: str, page: str) -> str:
    """Where a figure stands: `workshop manual, page 4-12`."""
    return ", ".join(word for word in (document, f"page {page}" if page else "") if word)


def figure_lines(spec: e.FigureSpec, ask: str, value: str = "") -> Iterator[str]:
    """A figure as it was entered, a line each.

    Args:
        spec: The figure.
        ask: What the procedure asks for.
        value: How it stands now, where that is told otherwise than as entered.
    """
    given = figure_given(spec)
    stands = value or value_words(given.number, given.unit, given.word)
    yield f"figure {spec.name}, {ask.rstrip('.')}: {stands}"
    where = document_words(spec.document, spec.page)
    if where:
        yield f"  by {where}"
    if spec.book:
        entered = " ".join(word for word in (spec.who, spec.day) if word)
        yield f"  out of the book of {spec.book}" + (f", entered by {entered}" if entered else "")
    if spec.odd:
        yield "  outside the band that the procedure calls plausible"
