"""Procedures made up of the language's own words at random: each loads, or says what is wrong."""

import json
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from benchrun.procedure.examine import examined
from benchrun.procedure.header_shapes import file_key
from benchrun.procedure.listing import route_listing
from benchrun.procedure.route import Detour, End, Guard, Head, StepOp, Tail
from benchrun.procedure.shapes import FORMS

TEXTS = st.sampled_from(
    [
        "go on",
        "again",
        "again twice",
        "scrap",
        "set aside",
        "stop the run",
        "send away to the plater",
        "rework from a once",
        "rework from b at most 2 times",
        "10 min",
        "2 h",
        "1 h 30 min",
        "mm",
        "degC",
        "none",
        "yes",
        "no",
        "a",
        "b",
        "c",
        "tub",
        "gauge",
        "bore",
        "62 P7",
        "3 mm",
        "a > 3 mm",
        "mean(a)",
        "most(b) - 1 mm",
        'a is "x"',
        "not (a > b)",
        "x",
        "y",
        "2",
        "3",
        "15 C",
        "count(a)",
        "spread(a, b)",
        'limits(size=a, class="P7").upper',
        "Go.",
        "Measure the bore if it is wet.",
    ]
)
IDS = st.sampled_from(["a", "b", "c", "d", "e", "f"])


def items(depth: int) -> st.SearchStrategy[Any]:
    return st.lists(item(depth), min_size=1, max_size=3)


def value(key: str, depth: int) -> st.SearchStrategy[Any]:
    """Something that often fits under a key, and often does not."""
    if key in {"id", "as", "by"}:
        return IDS
    if key in {"steps", "otherwise", "meanwhile", "first"} and depth > 0:
        return items(depth - 1)
    if key == "ways" and depth > 0:
        return st.dictionaries(TEXTS, items(depth - 1), max_size=3)
    if key == "findings":
        return st.dictionaries(TEXTS, TEXTS | st.lists(TEXTS, max_size=2), max_size=3)
    if key in {"least", "most"}:
        table = st.fixed_dictionaries(
            {"by": IDS, "table": st.dictionaries(TEXTS, TEXTS, max_size=3)}
        )
        return TEXTS | table
    if key == "places":
        return st.lists(TEXTS, max_size=3) | st.dictionaries(
            TEXTS, st.lists(TEXTS, max_size=3), max_size=2
        )
    if key == "window" and depth > 0:
        return window(depth - 1)
    if key == "tend":
        return st.fixed_dictionaries({"every": TEXTS, "do": TEXTS})
    return TEXTS | st.lists(TEXTS, max_size=2)


def window(depth: int) -> st.SearchStrategy[Any]:
    detour = st.fixed_dictionaries({"first": items(depth), "at most": st.just("2")})
    return st.fixed_dictionaries(
        {"after": IDS, "most": st.just("2 h")},
        optional={"least": TEXTS, "late": TEXTS | st.lists(TEXTS | detour, max_size=2)},
    )


def item(depth: int) -> st.SearchStrategy[Any]:
    return st.sampled_from(sorted(FORMS)).flatmap(lambda form: map_of(form, depth))


def map_of(form: str, depth: int) -> st.SearchStrategy[Any]:
    fields = [(file_key(name), one.is_required()) for name, one in FORMS[form].model_fields.items()]
    needed = {key: value(key, depth) for key, required in fields if required}
    optional = {key: value(key, depth) for key, required in fields if not required}
    return st.fixed_dictionaries(needed, optional=optional)


def procedure_of(steps: list[Any]) -> bytes:
    page = {
        "procedure": "made-up",
        "title": "Made up",
        "revision": "1",
        "scope": "Invented.",
        "batch": {"part": "arm"},
        "vessels": {"tub": {"title": "tub", "holds": "2"}},
        "needs": {"instruments": ["gauge"]},
        "stages": [{"stage": "Only", "steps": steps}],
    }
    return json.dumps(page).encode()


def is_well_laid(ops: tuple[object, ...], within: tuple[tuple[int, ...], ...]) -> bool:
    """Whether every jump of a route lands where its op says."""
    if not isinstance(ops[-1], End) or len(ops) != len(within):
        return False
    for index, op in enumerate(ops):
        if isinstance(op, Guard | Detour) and not (
            index < op.past < len(ops) and within[op.past][: len(within[index])] == within[index]
        ):
            return False
        if isinstance(op, Head):
            tail = ops[op.tail]
            if not isinstance(tail, Tail) or tail.head != index or index not in within[op.tail]:
                return False
        if isinstance(op, Detour) and getattr(ops[op.past], "step", None) is None:
            return False
    return True


def answer(content: bytes) -> None:
    found = examined(content, None, advise=True)
    assert (found.procedure is None) == any(not one.advice for one in found.problems)
    assert all(one.at("made-up").isprintable() for one in found.problems)
    if found.procedure is not None:
        route = found.procedure.route
        assert is_well_laid(route.ops, route.within)
        assert {op.step.id for op in route.ops if isinstance(op, StepOp)} == set(route.steps)
        assert route_listing(found.procedure).endswith("done\n")


class Page:
    """Draws steps that fit each other."""

    def __init__(self, data: st.DataObject) -> None:
        self._data = data
        self._count = 0

    def _id(self) -> str:
        self._count += 1
        return f"s{self._count}"

    def steps(self, depth: int) -> list[Any]:
        kinds = ["do", "reading", "inspect", "dwell", "hold"]
        if depth > 0:
            kinds += ["if", "repeat", "one of", "any order", "while", "window", "meanwhile"]
        chosen = self._data.draw(st.lists(st.sampled_from(kinds), max_size=3))
        # A repeat must hold a step that nothing passes over, so each list begins with one.
        return [self._plain("do"), *(self._item(kind, depth) for kind in chosen)]

    def _plain(self, kind: str) -> dict[str, Any]:
        made: dict[str, Any] = {kind: "Do it.", "id": self._id()}
        more: dict[str, dict[str, Any]] = {
            "reading": {"unit": "mm", "places": {"planes": ["A", "B"]}},
            "inspect": {"findings": {"fine": "go on", "bad": "set aside"}},
            "dwell": {"least": "1 min"},
            "hold": {"signs": "Seen."},
        }
        return made | more.get(kind, {})

    def _item(self, kind: str, depth: int) -> dict[str, Any]:
        match kind:
            case "if":
                both = {"steps": self.steps(depth - 1), "otherwise": self.steps(depth - 1)}
                return {"if": "3 mm > 2 mm", **both}
            case "repeat":
                return {"repeat": "Coats", "at least": "2", "steps": self.steps(depth - 1)}
            case "one of":
                ways = {"one": self.steps(depth - 1), "two": self.steps(depth - 1)}
                return {"one of": "Choose.", "id": self._id(), "ways": ways}
            case "any order":
                return {"any order": "Some", "steps": [self._plain("do"), self._plain("inspect")]}
            case "while":
                return {"while": "It is dry.", "steps": self.steps(depth - 1)}
            case "window":
                late = [{"first": self.steps(depth - 1), "at most": "2"}, "set aside"]
                return self._plain("do") | {"window": {"after": "s1", "most": "2 h", "late": late}}
            case "meanwhile":
                return self._plain("dwell") | {"meanwhile": [self._plain("do")]}
        return self._plain(kind)


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_steps_that_fit_each_other_are_laid_out_well(data: st.DataObject) -> None:
    content = procedure_of(Page(data).steps(3))
    found = examined(content, None, advise=True)
    assert [one.text for one in found.problems if not one.advice] == []
    answer(content)


@settings(max_examples=120, deadline=None, suppress_health_check=list(HealthCheck))
@given(items(2))
def test_any_steps_are_answered(steps: list[Any]) -> None:
    answer(procedure_of(steps))


@pytest.mark.long
@settings(max_examples=2_000, deadline=None, suppress_health_check=list(HealthCheck))
@given(items(3))
def test_any_steps_are_answered_at_length(steps: list[Any]) -> None:
    answer(procedure_of(steps))
