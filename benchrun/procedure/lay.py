"""Lays the stages of a procedure out as its flat route."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.details import detail_of, named, step_uses
from benchrun.procedure.formula import Formula
from benchrun.procedure.grammar import RESERVED
from benchrun.procedure.header_shapes import CautionShape, Shape
from benchrun.procedure.layout import Layout
from benchrun.procedure.marked import Path
from benchrun.procedure.nodes import Compare, Name, Not, Words
from benchrun.procedure.parameter_builder import rising, time_parameter
from benchrun.procedure.phrases import FINDING_WORD, consequence, id_from_words, name_of
from benchrun.procedure.problems import Problems
from benchrun.procedure.route import (
    Act,
    Attended,
    Consequence,
    Detail,
    Detour,
    Dwell,
    End,
    Finding,
    Guard,
    Hazard,
    Head,
    Hold,
    Inspect,
    Kind,
    Load,
    NeededTool,
    Op,
    PlainDo,
    Reading,
    Step,
    StepOp,
    Tail,
    Window,
    Witness,
    WorkOut,
    worst_first,
)
from benchrun.procedure.scalars import PAIR
from benchrun.procedure.shapes import (
    AnyOrderBlock,
    CarryOutStep,
    DwellStep,
    FirstShape,
    IfBlock,
    LoadBlock,
    OneOfBlock,
    RepeatBlock,
    StageShape,
    StepShape,
    WhileBlock,
    WindowShape,
    WorkOutStep,
)
from benchrun.procedure.steps import TOOLS_COUNTED
from benchrun.procedure.surroundings import Named, Surroundings
from benchrun.procedure.units import FINDING
from benchrun.quantity import dimension
from benchrun.text import meant

RELEASE: Final = "release"
"""The id of the step by which the parts are released."""

_KINDS: Final[Mapping[type[Detail], Kind]] = {
    PlainDo: Kind.DO,
    Dwell: Kind.DWELL,
    Witness: Kind.WITNESS,
    Reading: Kind.READING,
    Inspect: Kind.INSPECT,
    Hold: Kind.HOLD,
    WorkOut: Kind.WORK_OUT,
}
_NOT_IN_LOAD: Final = (
    ("together", "together", "a step of a load is done for the whole load: delete this line"),
    ("one for all", "one_for_all", "a reading of a load is one for the load: delete this line"),
    ("in", "in_", "the load has its vessel from its first step on: delete this line"),
    ("at", "at", "a load is in its vessel until its last step: write this dwell outside of it"),
)
_TEXT_KEYS: Final = ("do", "dwell", "reading", "inspect", "hold", "work out", "witness")


@lean_dataclass(frozen=True, slots=True)
class _Here:
    """Where on the page the laying stands."""

    stage: str
    standing: tuple[str, ...] = ()
    ahead_of: str = ""
    any_order: str = ""
    within: tuple[int, ...] = ()
    branches: tuple[tuple[str, str], ...] = ()
    before_out: bool = False
    left_out: bool = False
    load: str = ""


class Layer:
    """Lays one procedure out.

    Args:
        around: What its steps may refer to, and where problems go.
        hazards: The hazards that a step may name by id.
        compiled: How a caution is compiled.
    """

    def __init__(
        self,
        around: Surroundings,
        hazards: Mapping[str, Hazard],
        compiled: Callable[[CautionShape, Path], Hazard],
    ) -> None:
        self.layout = Layout()
        self._around = around
        self._problems: Problems = around.problems
        self._hazards = hazards
        self._compiled = compiled
        self._stage_cautions: tuple[Hazard, ...] = ()
        self._loads: dict[str, LoadBlock] = {}

    def stages(self, stages: Sequence[StageShape]) -> None:
        """Lay all stages."""
        for count, stage in enumerate(stages):
            path: Path = ("stages", count)
            self._stage_cautions = self._cautions(stage.cautions, path)
            here = _Here(stage.stage, tuple(stage.while_))
            if not stage.steps:
                self._problems.lacks((*path, "steps"), f"stage {stage.stage!r} has no steps")
            self._items(stage.steps, (*path, "steps"), here)

    def close(
        self, tools: Sequence[NeededTool], released_by: str | None, signs: str | None
    ) -> None:
        """Lay the steps that follow from needs and close: counting tools back, the release."""
        here = _Here("Close")
        if tools:
            names = ", ".join(tool.words for tool in tools)
            step = self._bare(TOOLS_COUNTED, f"Count back: {names}.", PlainDo(), here)
            self._place(replace(step, counts_back=True), here)
        if released_by:
            says = signs or "I release the parts: the work is done as the procedure says."
            hold = Hold(role=released_by, says=says)
            self._place(self._bare(RELEASE, "Release the parts.", hold, here), here)

    def end(self) -> None:
        """Lay the end of the route."""
        self._add(End(), ())

    def _bare(self, step_id: str, text: str, detail: Detail, here: _Here) -> Step:
        self.layout.generated.add(step_id)
        number = len(self.layout.steps) + 1
        return Step(step_id, number, here.stage, _KINDS[type(detail)], text, detail, together=True)

    def _passed_over(self, steps: Sequence[Shape], path: Path, here: _Here) -> None:
        """Lay steps that not every part goes through: the stage's cautions wait behind them too."""
        still = self._stage_cautions
        self._items(steps, path, here)
        self._stage_cautions = still

    def _items(self, items: Sequence[Shape], path: Path, here: _Here, first: int = 0) -> None:
        for count, item in enumerate(items, first):
            where = (*path, count)
            match item:
                case IfBlock():
                    self._if(item, where, here)
                case RepeatBlock():
                    self._repeat(item, where, here)
                case AnyOrderBlock():
                    self._any_order(item, where, here)
                case OneOfBlock():
                    self._one_of(item, where, here)
                case LoadBlock():
                    self._load(item, where, here)
                case WhileBlock():
                    standing = (*here.standing, *item.while_)
                    self._items(item.steps, (*where, "steps"), replace(here, standing=standing))
                case StepShape():
                    self._step(item, where, here)

    def _add(self, op: Op, within: tuple[int, ...]) -> int:
        self.layout.ops.append(op)
        self.layout.within.append(within)
        return len(self.layout.ops) - 1

    def _plain_only(self, path: Path, here: _Here) -> None:
        """Refuse what takes time, waits or branches where steps are done out of turn."""
        inside = "any order" if here.any_order else ""
        if here.ahead_of:
            inside = "before out" if here.before_out else "meanwhile"
        if inside:
            self._problems.error(
                path,
                f"only plain steps of one part can be under {inside!r}: move this out of it",
            )

    def _if(self, block: IfBlock, path: Path, here: _Here) -> None:
        self._plain_only(path, here)
        key = self._key(block.id, f"if-{len(self.layout.conditions) + 1}", path)
        self._guarded(key, block.if_, block.steps, (path, "steps"), here, (*path, "if"))
        if block.otherwise:
            turned = Formula(f"not ({block.if_.text})", Not(0, block.if_.tree))
            self._guarded(
                f"{key}-otherwise", turned, block.otherwise, (path, "otherwise"), here, path
            )

    def _guarded(
        self,
        key: str,
        condition: Formula,
        steps: Sequence[Shape],
        body: tuple[Path, str],
        here: _Here,
        said: Path,
    ) -> None:
        at = self._add(Guard(key, condition, 0), here.within)
        if not key.endswith("-otherwise"):
            self.layout.conditions.append((at, condition, said))
        path, name = body
        if not steps:
            self._problems.lacks((*path, name), "no steps here: write some, or delete it")
        branches = (*here.branches, (key.removesuffix("-otherwise"), name))
        self._passed_over(steps, (*path, name), replace(here, branches=branches))
        self.layout.ops[at] = Guard(key, condition, len(self.layout.ops))

    def _key(self, given: str | None, otherwise: str, path: Path) -> str:
        key = given or otherwise
        while given is None and key in self.layout.keys:
            key += "-more"
        if key in self.layout.keys or key in self.layout.index:
            self._problems.error((*path, "id"), f"id {key!r} is there twice: choose another")
        self.layout.keys[key] = path
        return key

    def _repeat(self, block: RepeatBlock, path: Path, here: _Here) -> None:
        self._plain_only(path, here)
        if block.at_most is not None and block.at_most < block.at_least:
            self._problems.error(
                (*path, "at most"), f"at most {block.at_most} is less than {block.at_least}"
            )
        if block.at_most not in {None, block.at_least} and block.until is None:
            self._problems.lacks(
                (*path, "at most"), "'at most' needs 'until': what ends the repeat sooner?"
            )
        key = self._key(block.id, id_from_words(block.repeat) or "repeat", path)
        head = self._add(Head(key, block.repeat, 0), here.within)
        inside = (*here.within, head)
        self._items(block.steps, (*path, "steps"), replace(here, within=inside))
        tail = self._add(Tail(key, head, block.at_least, block.at_most, block.until), inside)
        self.layout.ops[head] = Head(key, block.repeat, tail)
        if block.until is not None:
            self.layout.conditions.append((tail, block.until, (*path, "until")))

    def _load(self, block: LoadBlock, path: Path, here: _Here) -> None:
        self._plain_only(path, here)
        key = self._key(block.id, f"{id_from_words(block.load) or 'a'}-load", path)
        vessels = self._around.vessels
        for name in block.in_:
            if name not in vessels:
                would = meant(name, vessels)
                self._problems.error(
                    (*path, "in"), f"{name!r} is no vessel of this procedure: {would}"
                )
        if here.load:
            self._problems.error(path, "a load is inside another load: write one after the other")
        first = len(self.layout.ops)
        self._loads[key] = block
        self._items(block.steps, (*path, "steps"), replace(here, load=key))
        past = len(self.layout.ops)
        self.layout.loads[key] = Load(key, block.load, tuple(block.in_), first, past)
        steps = [op.step for op in self.layout.ops[first:] if isinstance(op, StepOp)]
        if not any(isinstance(step.detail, Dwell) for step in steps):
            self._problems.lacks(
                (*path, "steps"), "a load needs a dwell: what does it go into its vessel for?"
            )

    def _in_load(self, shape: StepShape, path: Path) -> None:
        """Refuse what a step of a load cannot say, as its load and its vessel are known."""
        for key, field, why in _NOT_IN_LOAD:
            if getattr(shape, field, None):
                self._problems.error((*path, key), why, key=True)

    def _any_order(self, block: AnyOrderBlock, path: Path, here: _Here) -> None:
        self._plain_only(path, here)
        key = self._key(block.id, id_from_words(block.any_order) or "any-order", path)
        for count, one in enumerate(block.steps):
            left = self._stage_cautions if count + 1 < len(block.steps) else ()
            self._items([one], (*path, "steps"), replace(here, any_order=key), count)
            self._stage_cautions = left

    def _one_of(self, block: OneOfBlock, path: Path, here: _Here) -> None:
        self._plain_only(path, here)
        name = block.as_ or name_of(block.id)
        if len(block.ways) < 2 or any('"' in way for way in block.ways):
            self._problems.lacks(
                (*path, "ways"), "a choice needs two or more ways, named without quotation marks"
            )
        go_on = (consequence("go on"),)
        detail = Inspect(name, tuple(Finding(way, go_on) for way in block.ways), ways=True)
        number = len(self.layout.steps) + 1
        step = Step(
            id=block.id,
            number=number,
            stage=here.stage,
            kind=Kind.INSPECT,
            text=block.one_of,
            detail=detail,
            why=block.why or "",
            who=block.who or "",
            cautions=worst_first((*self._taken(), *self._cautions(block.cautions, path))),
            standing=here.standing,
        )
        self._place(step, here, path)
        for way, steps in block.ways.items():
            tree = Compare(0, Name(0, name), (("==", Words(0, way)),))
            chosen = Formula(f'{name} is "{way}"', tree)
            key = self._key(None, f"{block.id}-{id_from_words(way) or 'way'}", path)
            at = self._add(Guard(key, chosen, 0), here.within)
            branches = (*here.branches, (block.id, way))
            self._items(steps, (*path, "ways", way), replace(here, branches=branches))
            self.layout.ops[at] = Guard(key, chosen, len(self.layout.ops))

    def _step(self, shape: StepShape, path: Path, here: _Here) -> None:
        text = _text(shape)
        step_id = shape.id or id_from_words(text) or f"step-{len(self.layout.steps) + 1}"
        if isinstance(shape, CarryOutStep):
            step_id = shape.id or shape.carry_out
        if shape.id is None:
            self.layout.unnamed.add(step_id)
        name = getattr(shape, "as_", None) or name_of(step_id)
        detail = detail_of(shape, name, path, self._around)
        if isinstance(detail, Dwell) and isinstance(shape, DwellStep):
            detail = replace(detail, attended=self._attended(shape, here))
        if isinstance(detail, Dwell | Hold) or shape.together:
            self._plain_only(path, here)
        if here.load:
            self._in_load(shape, path)
        window = self._window(shape.window, step_id, path, here) if shape.window else None
        step = Step(
            id=step_id,
            number=len(self.layout.steps) + 1,
            stage=here.stage,
            kind=_KINDS[type(detail)],
            text=text,
            detail=detail,
            together=bool(shape.together),
            pair=self._by_pairs(shape, path),
            ahead_of=here.ahead_of,
            before_out=here.before_out,
            left_out=here.left_out,
            load=here.load,
            window=window,
            why=shape.why or "",
            who=shape.who or "",
            critical=shape.critical,
            cautions=worst_first((*self._taken(), *self._cautions(shape.cautions, path))),
            drawing=shape.drawing or "",
            source=shape.source or (shape.window.source if shape.window else None) or "",
            lessons=tuple(shape.lessons),
            any_order=here.any_order,
            standing=here.standing,
            carries_out=shape.carry_out if isinstance(shape, CarryOutStep) else "",
            carries_revision=shape.revision if isinstance(shape, CarryOutStep) else 0,
            carries_values=(tuple(shape.values.items()) if isinstance(shape, CarryOutStep) else ()),
            uses=step_uses(getattr(shape, "uses", ()), path, self._around),
            photo=getattr(shape, "photo", False),
            set_up=getattr(shape, "set_up", False),
            people=shape.people,
        )
        self._place(step, here, path)
        if isinstance(shape, DwellStep):
            self._ahead(shape, path, replace(here, ahead_of=step_id))

    def _attended(self, shape: DwellStep, here: _Here) -> Attended:
        """Whether somebody must be at a dwell: in a heated vessel to end it, unless it says so."""
        if shape.attended is not None:
            return Attended(shape.attended)
        load = self._loads.get(here.load)
        names = load.in_ if load is not None else [shape.in_]
        vessels = (self._around.vessels.get(name) for name in names if name is not None)
        hot = any(getattr(vessel, "heated", False) for vessel in vessels)
        return Attended.TO_END if hot else Attended.NO

    def _ahead(self, shape: DwellStep, path: Path, here: _Here) -> None:
        """Lay the steps that are done while a dwell runs: those it waits for, then the others."""
        self._items(shape.before_out, (*path, "before out"), replace(here, before_out=True))
        left_out = shape.undone == "left out"
        self._items(shape.meanwhile, (*path, "meanwhile"), replace(here, left_out=left_out))
        if left_out and not shape.meanwhile:
            said = "'undone' says what becomes of steps under `meanwhile`: there are none"
            self._problems.lacks((*path, "undone"), said, key=True)
        if shape.before_out and shape.at is not None:
            said = "parts that are sent out cannot be worked on: write these steps after the dwell"
            self._problems.error((*path, "before out"), said, key=True)

    def _by_pairs(self, shape: StepShape, path: Path) -> bool:
        """Whether the parts of a pair do a step together; only what is worked out can be so."""
        if shape.together != PAIR:
            return False
        if not isinstance(shape, WorkOutStep):
            said = "only a `work out` can be done by the parts of a pair: write yes, or delete this"
            self._problems.error((*path, "together"), said)
        elif not self._around.pair:
            said = "which parts are a pair? write `pair: [left, right]` under `batch`, and `kinds`"
            self._problems.lacks((*path, "together"), said)
        return True

    def _place(self, step: Step, here: _Here, path: Path | None = None) -> None:
        """Put a step on the route, once for each place where it is done."""
        layout = self.layout
        where = path or ()
        if step.id in layout.index or step.id in layout.keys:
            self._problems.error(
                (*where, "id"), f"id {step.id!r} is there twice: give this step an id of its own"
            )
            # Apart from here on, so that what names the first one is not told to be wrong as well.
            step = replace(step, id=f"{step.id}#{step.number}")
        layout.steps[step.id] = step
        layout.index.setdefault(step.id, len(layout.ops))
        layout.paths[step.id] = where
        spots = step.detail.places if isinstance(step.detail, Reading) else ("",)
        for spot in spots:
            self._add(StepOp(step, spot), here.within)
        for name, (value, unit) in zip(step.taken_names, step.carries_values, strict=True):
            word = unit == FINDING_WORD
            kind = FINDING if word else dimension(unit)
            taken = Named(step.id, "" if word else unit, kind, False, (), (*where, "values", value))
            self._write(name, taken)
        written = named(step.detail, step.id, where)
        if written is not None and isinstance(step.detail, Reading | Inspect | WorkOut):
            self._write(step.detail.name, replace(written, branches=here.branches))

    def _write(self, name: str, written: Named) -> None:
        names = self._around.names
        if name in RESERVED:
            self._problems.error(
                written.path, f"{name!r} is a word of formulas: give another name with `as`"
            )
        elif name in names and _either_way(names[name], written):
            names[name] = replace(names[name], either=True)
            return
        elif name in names:
            step = names[name].step
            by = f"written by step {step!r}" if step else "given in the header"
            self._problems.error(
                written.path, f"name {name!r} is already {by}: give another with `as`"
            )
        names[name] = written

    def _window(self, shape: WindowShape, step: str, path: Path, here: _Here) -> Window:
        """The window of a step; what makes a late part good is laid right before the step."""
        where: Path = (*path, "window")
        ways: list[Consequence] = []
        for count, way in enumerate(shape.late):
            at = (*where, "late", count)
            if isinstance(way, FirstShape):
                ways.append(self._detour(way, step, at, here))
                continue
            try:
                ways.append(consequence(way))
            except ValueError as error:
                self._problems.error(at, str(error))
        least = time_parameter(shape.least, ("window", "least"), path, self._around)
        most = time_parameter(shape.most, ("window", "most"), path, self._around)
        rising((least, most), path, self._problems)
        if shape.least is None and shape.most is None:
            self._problems.lacks(where, "a window needs least, most, or both", key=True)
        if ways and shape.most is None:
            self._problems.lacks((*where, "late"), "'late' says nothing without 'most'", key=True)
        return Window(
            tuple(shape.after), least, most, tuple(ways), shape.waiting_for_room == "counts"
        )

    def _detour(self, shape: FirstShape, step: str, path: Path, here: _Here) -> Consequence:
        self._plain_only(path, here)
        key = f"late-{step}"
        before = len(self.layout.steps)
        at = self._add(Detour(key, step, 0, shape.at_most), here.within)
        if key in self.layout.keys or not shape.first:
            self._problems.lacks(path, "`first` needs steps, once in a window")
        self.layout.keys[key] = path
        self._passed_over(shape.first, (*path, "first"), here)
        self.layout.ops[at] = Detour(key, step, len(self.layout.ops), shape.at_most)
        added = list(self.layout.steps.values())[before:]
        text = f"first {added[0].text[:1].lower()}{added[0].text[1:]}" if added else "first"
        to = added[0].id if added else ""
        return Consequence(Act.DETOUR, to, shape.at_most, text.rstrip("."))

    def _taken(self) -> tuple[Hazard, ...]:
        """The cautions of the stage, for the first step after them."""
        taken, self._stage_cautions = self._stage_cautions, ()
        return taken

    def _cautions(self, shapes: Sequence[str | CautionShape], path: Path) -> tuple[Hazard, ...]:
        found: list[Hazard] = []
        for count, one in enumerate(shapes):
            where = (*path, "cautions", count)
            if isinstance(one, CautionShape):
                found.append(self._compiled(one, where))
            elif one in self._hazards:
                found.append(self._hazards[one])
            else:
                would = f"write `id: {one}` at it, under hazards"
                would = meant(one, self._hazards) if self._hazards else would
                self._problems.error(where, f"{one!r} is no hazard of this procedure: {would}")
        return tuple(found)


def _either_way(first: Named, other: Named) -> bool:
    """Whether two steps write one name in different ways of a fork, so that no part does both."""
    ways = dict(first.branches)
    apart = any(ways.get(fork, way) != way for fork, way in other.branches)
    alike = (first.dimension, first.many) == (other.dimension, other.many)
    return apart and alike and set(other.findings) <= set(first.findings)


def _text(shape: StepShape) -> str:
    if isinstance(shape, CarryOutStep):
        return f"Carry out {shape.carry_out}, revision {shape.revision}, as a run of its own."
    fields = type(shape).model_fields
    key = next(name for name in fields if name.replace("_", " ") in _TEXT_KEYS)
    return str(getattr(shape, key))
