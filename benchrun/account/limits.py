"""Where the limits of a value come from: procedure, standard, figure, or somebody's typing."""

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from benchrun.account.figures import document_words
from benchrun.account.value_facts import FigureFacts, LimitOrigin
from benchrun.procedure.parameter import Constant, FitLimit, Parameter
from benchrun.procedure.route import Procedure, Reading, Step, WorkOut
from benchrun.run.entries import Origin
from benchrun.text import listed

PROCEDURE, STANDARD, FIGURE = "procedure", "standard", "figure"
TYPED, WORKED_OUT = "typed", "worked out"
_AT_STEP: Final = re.compile(r"(typed|measured|counted|worked out) at step (\d+)")
# Bodies that publish standards, as their own titles begin; from memory.
_STANDARD: Final = re.compile(r"(ISO|IEC|EN|DIN|BS|ASTM|SAE|ANSI|AWS|SSPC|NACE|MIL|JIS)\b")


class LimitOrigins:
    """Tells the origin of limits by the procedure that the run keeps and what its log says.

    Args:
        procedure: What the run followed.
        figures: The figures of manuals and sheets that the run had, as they stand.
    """

    def __init__(self, procedure: Procedure, figures: Sequence[FigureFacts]) -> None:
        self._procedure = procedure
        self._figures = figures
        self._told: dict[tuple[str, tuple[Origin, ...]], tuple[LimitOrigin, ...]] = {}
        steps = procedure.route.steps.values()
        self._writers: Mapping[str, Step] = {
            step.detail.name: step for step in steps if isinstance(step.detail, (Reading, WorkOut))
        }

    def of(
        self, step: Step, detail: Reading | WorkOut, logged: tuple[Origin, ...]
    ) -> tuple[LimitOrigin, ...]:
        """The origins of the limits of a value.

        Args:
            step: The step of the value.
            detail: Its limits.
            logged: What the entry says of limits that are no mere constants.
        """
        # Most values of a step have their limits from the same; they are told once.
        known = self._told.get((step.id, logged))
        if known is None:
            known = self._told[step.id, logged] = self._of(step, detail, logged)
        return known

    def _of(
        self, step: Step, detail: Reading | WorkOut, logged: Sequence[Origin]
    ) -> tuple[LimitOrigin, ...]:
        known = {origin.of: origin for origin in logged}
        told = [
            LimitOrigin(side, *self._origin(step, limit, known.get(side)))
            for side, limit in (("low", detail.low), ("high", detail.high))
            if limit is not None
        ]
        if len(told) == 2 and told[0].words == told[1].words:
            return (LimitOrigin("both", told[0].kind, told[0].words),)
        at = [_AT_STEP.fullmatch(origin.words) for origin in told]
        if len(told) == 2 and at[0] and at[1] and at[0][1] == at[1][1]:
            words = f"{at[0][1]} at steps {at[0][2]} and {at[1][2]}"
            return (LimitOrigin("both", told[0].kind, words),)
        return tuple(told)

    def _origin(self, step: Step, limit: Parameter, logged: Origin | None) -> tuple[str, str]:
        source = (logged.source if logged else "") or limit.source or step.source
        if isinstance(limit, FitLimit):
            return STANDARD, f"ISO 286, {limit.text}"
        if isinstance(limit, Constant):
            return self._by_source(source), self._sourced("procedure", source)
        inputs = list(self._inputs(limit.reads))
        kinds = {kind for kind, _ in inputs}
        kind = next((kind for kind in (TYPED, FIGURE) if kind in kinds), WORKED_OUT)
        words = listed(list(dict.fromkeys(said for _, said in inputs)))
        if limit.text.replace("_", " ") in (name.replace("_", " ") for name in limit.reads):
            return kind, words or limit.text
        by = f"{limit.text}: {words}" if words else limit.text
        return kind, self._sourced(by, source)

    def _inputs(self, names: frozenset[str]) -> Iterator[tuple[str, str]]:
        entered = {figure.name: figure for figure in self._figures}
        for name in sorted(names, key=lambda name: (self._number(name), name)):
            if name in entered:
                yield _figure(entered[name])
                continue
            step = self._writers.get(name)
            if step is None:
                continue
            detail, at = step.detail, f"at step {step.number}"
            if isinstance(detail, WorkOut):
                yield WORKED_OUT, f"worked out {at}"
            elif isinstance(detail, Reading) and detail.instrument:
                yield WORKED_OUT, f"measured {at}"
            elif isinstance(detail, Reading) and not detail.unit:
                yield WORKED_OUT, f"counted {at}"
            else:
                yield TYPED, f"typed {at}"

    def _number(self, name: str) -> int:
        step = self._writers.get(name)
        return step.number if step else 0

    def _by_source(self, source: str) -> str:
        mark = re.split(r"[,;]", source, maxsplit=1)[0].strip()
        return STANDARD if _STANDARD.match(self._procedure.sources.get(mark, "")) else PROCEDURE

    @staticmethod
    def _sourced(words: str, source: str) -> str:
        return f"{words} ({source})" if source else words


def _figure(figure: FigureFacts) -> tuple[str, str]:
    """The origin of a number that the procedure takes from a manual or a sheet."""
    odd = ", outside what the procedure calls plausible" if figure.odd else ""
    where = document_words(figure.document, figure.page)
    return (FIGURE, f"{where}{odd}") if where else (TYPED, f"typed, of no document{odd}")
