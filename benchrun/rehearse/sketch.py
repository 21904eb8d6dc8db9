"""A script for the straight path of a procedure, written by going it once."""

import json
import math
import re
from collections.abc import Mapping
from dataclasses import field, replace
from decimal import Context, Decimal
from fractions import Fraction
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.load import load
from benchrun.procedure.paths.bounds import narrowed
from benchrun.procedure.paths.span import Span, base_number, measured
from benchrun.procedure.paths.walk import natural
from benchrun.procedure.phrases import in_time
from benchrun.procedure.route import (
    Act,
    Dwell,
    Figure,
    Finding,
    Head,
    Inspect,
    Procedure,
    Reading,
    Step,
    Tail,
)
from benchrun.procedure.units import UnitValue
from benchrun.quantity import dimension, plain
from benchrun.rehearse.bench import RehearsalBench
from benchrun.rehearse.play import Player
from benchrun.rehearse.script import BEGINS, PEOPLE, Script
from benchrun.rehearse.throwaway import throwaway
from benchrun.run import commands as c
from benchrun.run.course import constant_ms
from benchrun.run.entries import PartSpec
from benchrun.run.offers import Offer
from benchrun.run.state import Question
from benchrun.run.verdict import draw, limits, reads_of
from benchrun.session import Reply
from benchrun.text import shown

_USUAL: Final = {"temperature": Decimal(20), "percentage": Decimal(50)}
"""Values where no limit says anything; a reading of another kind is 10."""
_FURTHEST: Final = (Act.GO_ON, Act.DETOUR, Act.ASIDE, Act.SCRAP)
_DAY_MS: Final = 86_400_000
_PLAIN: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9 .°/%()+_-]*")


def sketch(procedure: Path) -> str:
    """The text of a script that goes through a procedure by its first findings, inside all limits.

    Readings are chosen one by one; where they do not suit each other further on, the script ends
    there and a line in it says so.

    Raises:
        BenchrunError: The procedure cannot be loaded.
    """
    loaded = load(procedure)
    script = Script(
        name="the sketch",
        procedure=loaded.id,
        path="all good",
        parts=_parts(loaded),
        begins=f"{BEGINS.replace(' ', 'T')}:00.000Z",
        people=PEOPLE,
        given={},
        answers={},
        takes={},
        reasons={},
        figures={name: _figure(figure) for name, figure in loaded.route.figures.items()},
    )
    with throwaway("rehearsal") as folder:
        bench = RehearsalBench(folder / "shop", loaded, script)
        player = Sketcher(bench, script)
        halt = ""
        try:
            player.play()
        except BenchrunError as error:
            halt = f"{error.message.partition(': ')[2]} - {player.whereabouts()}"
        finally:
            player.leave()
    return player.text(loaded, halt)


def _figure(figure: Figure) -> str:
    """A figure in the middle of its band, or `none` where the run may go on without it."""
    if figure.low is None or figure.high is None:
        if figure.optional:
            return "none"
        value = _USUAL.get(dimension(figure.unit), Decimal(10))
    else:
        value = Context(prec=3).plus((figure.low + figure.high) / 2)
    return f"{plain(value)} {figure.unit}".strip()


@lean_dataclass(slots=True)
class Sketcher(Player):
    """Plays by values of its own choosing and keeps them for the script."""

    chosen: dict[str, dict[str, str]] = field(default_factory=dict)
    answered: dict[str, list[str]] = field(default_factory=dict)

    def text(self, procedure: Procedure, halt: str) -> str:
        """The script; `halt` is why it goes no further, or nothing."""
        lines = [f"# It goes no further than this: {shown(halt)}"] if halt else []
        lines += [
            f"rehearse: {procedure.id}",
            "path: all good",
            "invented: yes",
            f"parts: [{', '.join(map(_part, self.script.parts))}]",
        ]
        if self.script.figures:
            lines.append("figures:")
            lines += [f"  {name}: {value}" for name, value in self.script.figures.items()]
        if self.chosen:
            lines += ["given:", *(f"  {step}: {_given(v)}" for step, v in self.chosen.items())]
        if self.answered:
            lines.append("answers:")
            for step, codes in self.answered.items():
                said = codes[0] if len(set(codes)) == 1 else f"[{', '.join(codes)}]"
                lines.append(f"  {step}: {said}")
        return "\n".join(lines) + "\n"

    def _wanted(self, offer: Offer) -> int | None:
        """How long parts stay away: the time to aim for, the least, or a day."""
        step = offer.step
        if step is None or not isinstance(step.detail, Dwell) or not step.detail.place:
            return None
        times = (constant_ms(limit) for limit in (step.detail.aim, step.detail.least))
        wanted = next((time for time in times if time), _DAY_MS)
        self.chosen[step.id] = {part: in_time(wanted) for part in offer.parts}
        return wanted

    def _reading(self, step: Step, part: str) -> str:
        values = self.chosen.setdefault(step.id, {})
        if part not in values and isinstance(step.detail, Reading):
            values[part] = self._value(step, step.detail, part)
        return values[part]

    def _value(self, step: Step, detail: Reading, part: str) -> str:
        """A value inside the limits, and such as ends the repeat that the step stands in."""
        marker, route = self._run.markers[part], self._run.route
        span = natural(detail, {})
        known = limits(detail, draw(marker, reads_of(detail.low, detail.high))) or (None, None)
        low, high = (
            None if end is None else base_number(UnitValue(end, detail.unit)) for end in known
        )
        span = Span(span.low if low is None else low, span.high if high is None else high)
        for index in route.within[marker.index]:
            head = route.ops[index]
            tail = route.ops[head.tail] if isinstance(head, Head) else None
            if isinstance(tail, Tail) and tail.until is not None:
                after = narrowed(tail.until.tree, {detail.name: span}, True) or {}
                ending = after.get(detail.name, span)
                span = ending if isinstance(ending, Span) else span
        return f"{plain(_amid(span, detail.unit))} {detail.unit}".strip()

    def _inspect(self, step: Step, detail: Inspect, command: c.Do) -> Reply:
        finding = next((f.name for f in detail.findings if _goes_on(f)), detail.findings[0].name)
        self.chosen.setdefault(step.id, {}).update(dict.fromkeys(command.parts, finding))
        return self.bench.send(replace(command, finding=finding))

    def _code(self, name: str, question: Question, used: dict[str, int]) -> str:
        """The answer with which the part gets furthest."""
        del used
        order = {act: count for count, act in enumerate(_FURTHEST)}
        code = min(question.answers, key=lambda answer: order.get(answer.act, len(order))).code
        self.answered.setdefault(name, []).append(code)
        return code


def _parts(procedure: Procedure) -> tuple[PartSpec, ...]:
    """As few parts as may be, and one of each kind."""
    word = procedure.batch.part.split()[-1]
    kinds = list(procedure.route.kinds) or [""]
    count = max(procedure.batch.least, min(len(kinds), procedure.batch.most))
    return tuple(
        PartSpec(f"{word} {number + 1}", kind=kinds[number % len(kinds)]) for number in range(count)
    )


def _given(values: Mapping[str, str]) -> str:
    """The value of all parts, or one for each where they differ."""
    if len(set(values.values())) == 1:
        return _yaml(next(iter(values.values())))
    return "{" + ", ".join(f"{_yaml(part)}: {_yaml(v)}" for part, v in values.items()) + "}"


def _part(part: PartSpec) -> str:
    kind = f", kind: {part.kind}" if part.kind else ""
    return f"{{tag: {_yaml(part.part)}{kind}}}" if kind else _yaml(part.part)


def _goes_on(finding: Finding) -> bool:
    return any(way.act is Act.GO_ON for way in finding.consequences)


def _amid(span: Span, unit: str) -> Decimal:
    """A number of few figures in the middle of an interval, in a unit."""
    low, high = span.low, span.high
    if not isinstance(low, Fraction) and not isinstance(high, Fraction):
        return _USUAL.get(dimension(unit), Decimal(10))
    one = base_number(UnitValue(Decimal(1), unit)) - base_number(UnitValue(Decimal(0), unit))
    if not isinstance(high, Fraction):
        low = Fraction(low)
        high = low + max(abs(low) / 5, one)
    elif not isinstance(low, Fraction) or (low == 0 and span.high_open):
        low = high - max(abs(high) / 5, one)
    middle, quarter = (low + high) / 2, (high - low) / 4
    if not unit and math.floor(high) >= math.ceil(low):
        return Decimal(max(math.ceil(low), math.floor(middle)))  # a count
    for figures in range(1, 12):
        number = Context(prec=figures).plus(measured(middle, unit))
        if abs(base_number(UnitValue(number, unit)) - middle) <= quarter:
            return Decimal(format(number.normalize(), "f"))
    return measured(middle, unit)


def _yaml(text: str) -> str:
    """A text as it may stand in a flow of YAML."""
    return (
        text
        if _PLAIN.fullmatch(text) and text not in {"yes", "no"}
        else json.dumps(text, ensure_ascii=False)
    )
