"""Advice on a procedure that can be run: what published demands on good procedures would ask.

What each piece asks for is common to procedure-writing standards (one action a step, verb first,
at most 20 words, conditions before commands, cautions without actions).
"""

from collections.abc import Iterator

from benchrun.errors import BenchrunError
from benchrun.procedure import words
from benchrun.procedure.caution_advice import advise_on_cautions
from benchrun.procedure.checks import ways_of
from benchrun.procedure.compile import Compiled
from benchrun.procedure.header_values import KIND
from benchrun.procedure.known_names import may_be_unknown, names_read
from benchrun.procedure.marked import Items, Map, Path
from benchrun.procedure.nodes import Join
from benchrun.procedure.problems import Problems
from benchrun.procedure.route import (
    Act,
    Dwell,
    Inspect,
    Reading,
    Route,
    Step,
    WorkOut,
)
from benchrun.procedure.sentences import sentence_advice
from benchrun.procedure.verbs import VerbList
from benchrun.quantity import dimension, read

_LISTS = frozenset({"while", "restore", "follow on", "first aid", "before start"})
"""The lists whose lines are sentences."""
_NO_INSTRUMENT = frozenset({"number", "percentage", "time"})
"""Kinds of values that are also found without an instrument of the shop."""
_FREE_SOURCES = ("common practice", "from memory")


def advise_on(compiled: Compiled, problems: Problems, verbs: VerbList) -> None:
    """Add what could be better.

    Args:
        compiled: The procedure.
        problems: Takes the advice.
        verbs: The verbs that a step may begin with.
    """
    _Advice(compiled, problems, verbs).all()
    advise_on_cautions(problems, verbs)
    advise_on_lists(problems)


class _Advice:
    def __init__(self, compiled: Compiled, problems: Problems, verbs: VerbList) -> None:
        self._verbs = verbs
        self._procedure = compiled.procedure
        self._layout = compiled.layout
        self._names = compiled.names
        self._problems = problems

    def all(self) -> None:
        self._header()
        for step in self._layout.steps.values():
            if step.id in self._layout.generated:
                continue
            path = self._layout.paths[step.id]
            self._wording(step, (*path, str(step.kind)))
            self._rules(step, path)
            self._sources(step, path)
        self._conditions()
        if not self._problems.errors:  # what would read a name may be what is wrong
            self._unused()
        for name, path in may_be_unknown(self._layout, self._names):
            self._problems.advise(
                path,
                f"{name!r} may not be known here, since its step can be passed over: it will be "
                "asked what to do then",
            )

    def _header(self) -> None:
        procedure = self._procedure
        if not any(change.startswith(f"{procedure.revision}:") for change in procedure.changes):
            self._problems.advise(
                ("revision",), f"changes say nothing of revision {procedure.revision}: add a line"
            )
        if procedure.status == "approved" and not procedure.dated:
            self._problems.advise(("status",), "an approved procedure has a day: add `dated`")

    def _wording(self, step: Step, path: Path) -> None:
        text = step.text
        if step.id in self._layout.unnamed:
            self._problems.advise(
                path, f"step without an `id` is called {step.id!r}, which changes with its words"
            )
        for said in sentence_advice(text, self._verbs):
            self._problems.advise(path, said)

    def _rules(self, step: Step, path: Path) -> None:
        detail = step.detail
        if isinstance(detail, Dwell):
            if detail.most is not None and not detail.late:
                self._problems.advise(
                    path, "the dwell has `most` and no `late`: what follows then?"
                )
            if detail.least is not None and not detail.early:
                self._problems.advise(
                    path, "the dwell has `least` and no `early`: what follows an early end?"
                )
        if isinstance(detail, Reading | WorkOut):
            self._limits(detail, path)
        if isinstance(detail, Reading) and self._wants_instrument(step.text, detail):
            self._problems.advise(
                path,
                "a value is measured against limits and no instrument is named: list it under "
                "`needs: instruments` and name it as `instrument`",
            )
        window = step.window
        if window is not None and window.most is not None and not window.late:
            self._problems.advise(
                (*path, "window"), "the window has `most` and no `late`: what follows then?"
            )
        for key, ways in ways_of(step):
            always_again = isinstance(detail, Reading) and key[0] in ("outside", "in doubt")
            if ways and not always_again and all(way.act is Act.STOP for way in ways):
                self._problems.advise(
                    (*path, *key),
                    "only a stop here, and the part never gets past it: "
                    "add what then becomes of it, such as `set aside` or `again`",
                )
            back = all(way.act in {Act.REWORK, Act.DETOUR, Act.AGAIN} for way in ways)
            if back and any(way.most is not None for way in ways):
                self._problems.advise(
                    (*path, *key), "when the count is used up nothing is left: add `set aside`"
                )

    def _limits(self, detail: Reading | WorkOut, path: Path) -> None:
        """Advise on the consequences of limits, and whether the instrument can tell."""
        if _limited(detail) and not detail.outside:
            self._problems.advise(path, "there are limits and no `outside`: what follows then?")
        if not isinstance(detail, Reading):
            return
        if self._scraps_in_doubt(detail):
            self._problems.advise(
                path,
                "a part may be scrapped on this reading and there is no `in doubt`: what follows "
                "when the instrument cannot decide, such as `again`?",
            )
        if detail.resolution is not None:
            self._gauge(detail, path)

    def _wants_instrument(self, text: str, reading: Reading) -> bool:
        """Whether limits judge a value that an instrument alone can give, and none is named.

        A share is also measured by eye and a time by any watch; the strength of a bath by a test.
        """
        if reading.instrument or reading.strength_of or not _limited(reading):
            return False
        measured = dimension(reading.unit)
        if measured == "torque" and words.tightens(text, self._verbs):
            return True
        return measured not in _NO_INSTRUMENT and words.measures(text, self._verbs)

    def _scraps_in_doubt(self, reading: Reading) -> bool:
        """Whether what an instrument cannot decide would be taken as outside, and for scrap."""
        if (
            reading.doubt
            or not reading.characteristic
            or not any(way.act is Act.SCRAP for way in reading.outside)
        ):
            return False
        needed = self._procedure.needs.instruments
        return any(one.name == reading.instrument and one.uncertainty for one in needed)

    def _gauge(self, reading: Reading, path: Path) -> None:
        """An instrument that is coarser than its reading asks for."""
        needed = self._procedure.needs.instruments
        gauge = next(
            (instrument for instrument in needed if instrument.name == reading.instrument), None
        )
        if gauge is None or not gauge.resolution or reading.resolution is None:
            return
        try:
            finest = read(gauge.resolution, reading.unit).to(reading.unit)
        except BenchrunError:
            return  # the resolution is said in words
        if finest > reading.resolution:
            self._problems.advise(
                (*path, "resolution"),
                f"the {gauge.name} resolves {gauge.resolution}, coarser than is asked for here",
            )

    def _sources(self, step: Step, path: Path) -> None:
        if not step.source and self._has_figures(step):
            self._problems.advise(path, "figures without a source: add `source`")
        for source in (step.source, *(caution.source for caution in step.cautions)):
            self._mark(source, path)

    def _has_figures(self, step: Step) -> bool:
        given = [parameter for parameter in step.parameters if parameter.key[0] != "uses"]
        if any(parameter.has_figures and not parameter.source for parameter in given):
            return True
        return words.has_amount(step.text)

    def _mark(self, source: str, path: Path) -> None:
        marks = self._procedure.sources
        if not source or source.startswith((*marks, *_FREE_SOURCES)):
            return
        known = ", ".join(marks) or "none"
        self._problems.advise(
            (*path, "source"),
            f"source {source!r} begins with no mark of `sources`: known are {known}",
        )

    def _conditions(self) -> None:
        for _, condition, path in self._layout.conditions:
            tree = condition.tree
            if not condition.reads:
                self._problems.advise(
                    path, "the condition reads nothing: it is the same for every part"
                )
            if isinstance(tree, Join) and any(isinstance(part, Join) for part in tree.parts):
                self._problems.advise(
                    path, "`and` and `or` in one condition: split it into two `if`"
                )

    def _unused(self) -> None:
        read = set(_names_read(self._procedure.route))
        for name, named in self._names.items():
            detail = (
                self._layout.steps[named.step].detail if named.step in self._layout.steps else None
            )
            judged = isinstance(detail, Inspect) or (
                isinstance(detail, Reading | WorkOut)
                and (_limited(detail) or bool(detail.strength_of))
            )
            if name not in read and not judged and name != KIND:
                said = f"nothing judges or reads {name!r}: give limits, or use it in a formula"
                if name in self._procedure.route.figures:
                    said = f"nothing uses the figure {name!r}: use it, or delete it"
                self._problems.advise(named.path, said)
        details = [step.detail for step in self._layout.steps.values()]
        used = {detail.vessel for detail in details if isinstance(detail, Dwell)}
        used |= {detail.strength_of for detail in details if isinstance(detail, Reading | WorkOut)}
        used |= {name for load in self._procedure.route.loads.values() for name in load.vessels}
        for vessel in self._procedure.route.vessels:
            if vessel not in used:
                self._problems.advise(
                    ("vessels", vessel),
                    f"no dwell and no load uses the vessel {vessel!r}",
                    key=True,
                )


def _limited(detail: Reading | WorkOut) -> bool:
    return detail.low is not None or detail.high is not None


def _names_read(route: Route) -> Iterator[str]:
    for op in route.ops:
        for attribute in ("condition", "until"):
            formula = getattr(op, attribute, None)
            if formula is not None:
                yield from formula.names
    for step in route.steps.values():
        for names, _ in names_read(step):
            yield from names


def advise_on_lists(problems: Problems) -> None:
    """Add where a comma between brackets seems to have split a sentence into two lines."""
    for path, items in _lists(problems.data, ()):
        at = words.split_by_comma([one if isinstance(one, str) else "" for one in items])
        if at is not None:
            problems.advise(
                (*path, at),
                f"{str(items[at])!r} is a line of its own: between brackets a comma begins the "
                "next line; put a sentence with a comma in quotes, and end each line with a stop",
            )


def _lists(data: Map | Items, path: tuple[str | int, ...]) -> Iterator[tuple[Path, Items]]:
    for key, value in data.items() if isinstance(data, Map) else enumerate(data):
        where = (*path, key)
        if isinstance(value, Items) and key in _LISTS:
            yield where, value
        elif isinstance(value, Map | Items):
            yield from _lists(value, where)
