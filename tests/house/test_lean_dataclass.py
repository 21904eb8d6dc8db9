"""A lean dataclass does what Python's own does, in all that the program asks of it."""

import dataclasses
import importlib
import pkgutil
from inspect import isabstract, signature
from pathlib import Path

import pytest

import benchrun
from benchrun.lean_dataclass import lean_dataclass

APART = ("record_reader.py", "lean_dataclass.py")


def every_class():
    """Each dataclass of the program that can be made."""
    found = set()
    for one in pkgutil.walk_packages(benchrun.__path__, "benchrun."):
        if one.name.endswith(("__main__", "record_reader")):
            continue
        for kind in vars(importlib.import_module(one.name)).values():
            made = isinstance(kind, type) and "__dataclass_fields__" in vars(kind)
            if made and not isabstract(kind):
                found.add(kind)
    return sorted(found, key=lambda kind: (kind.__module__, kind.__qualname__))


def twin(kind):
    """The same fields, as the library itself makes a class of them."""
    specs = []
    for one in dataclasses.fields(kind):
        told = {key: getattr(one, key) for key in ("init", "repr", "hash", "compare")}
        for key in ("default", "default_factory"):
            if getattr(one, key) is not dataclasses.MISSING:
                told[key] = getattr(one, key)
        specs.append((one.name, one.type, dataclasses.field(**told)))
    return dataclasses.make_dataclass(kind.__name__, specs, unsafe_hash=True, order=True)


class Told:
    """A value that is equal to itself alone, and says its name."""

    def __init__(self, name):
        self.name = name

    def __repr__(self):
        return f"<{self.name}>"


CLASSES = every_class()


def test_the_program_has_no_other_kind():
    # The reader that closed runs carry is a program of its own.
    files = [one for one in Path(benchrun.__path__[0]).rglob("*.py") if one.name not in APART]
    assert [one.name for one in files if "@dataclass" in one.read_text()] == []


def test_the_program_has_hundreds_of_them():
    assert len(CLASSES) > 300


@pytest.mark.parametrize("kind", CLASSES, ids=lambda kind: f"{kind.__module__}.{kind.__name__}")
def test_each_is_made_compared_and_told_as_by_the_library(kind):
    other = twin(kind)
    checks = "__post_init__" in dir(kind)
    names = [one.name for one in dataclasses.fields(kind) if one.init]
    values = {name: Told(name) for name in names}
    if not checks:  # what looks at its own values takes no others
        ours, theirs = kind(**values), other(**values)
        assert kind(*values.values()) == ours != object()
        assert {one.name: getattr(ours, one.name) for one in dataclasses.fields(kind)} == {
            one.name: getattr(theirs, one.name) for one in dataclasses.fields(kind)
        }
        if kind.__repr__.__module__ == "benchrun.lean_dataclass":
            assert repr(ours) == f"{kind.__qualname__}{repr(theirs).removeprefix(kind.__name__)}"
        if kind.__hash__ is not None:
            assert hash(ours) == hash(kind(**values))
        for name in names:
            changed = dataclasses.replace(ours, **{name: Told("another")})
            assert (changed == ours) is (dataclasses.replace(theirs, **{name: 1}) == theirs)
    lacking = [one for one in dataclasses.fields(kind) if _needed(one)]
    if lacking:
        with pytest.raises(TypeError, match=f"{kind.__qualname__}.__init__.* missing"):
            kind()
    with pytest.raises(TypeError, match="unexpected keyword argument 'colour'"):
        kind(**values, colour="red")
    assert list(signature(kind).parameters) == names


def _needed(one):
    nothing = dataclasses.MISSING
    return one.init and one.default is nothing and one.default_factory is nothing


@lean_dataclass(frozen=True, slots=True, order=True)
class Ranked:
    first: int
    second: str = "b"
    aside: int = dataclasses.field(default=0, compare=False)


@lean_dataclass(slots=True)
class Filled:
    rows: list[int] = dataclasses.field(default_factory=list)
    told: int = dataclasses.field(init=False, default=3)
    itself: object = None


def test_an_ordered_one_is_ordered_by_its_fields_and_with_its_like_alone():
    assert sorted([Ranked(2), Ranked(1, "c"), Ranked(1)]) == [Ranked(1), Ranked(1, "c"), Ranked(2)]
    assert Ranked(1, aside=5) <= Ranked(1) >= Ranked(1, aside=7)
    assert hash(Ranked(1, aside=5)) == hash(Ranked(1))
    with pytest.raises(TypeError, match="not supported"):
        assert Ranked(1) < 2


def test_each_one_has_a_list_of_its_own():
    one, other = Filled(), Filled()
    one.rows.append(1)
    assert (one.rows, other.rows, other.told) == ([1], [], 3)


def test_one_that_may_change_has_no_hash():
    with pytest.raises(TypeError, match="unhashable"):
        hash(Filled())


def test_one_that_holds_itself_can_be_told():
    one = Filled()
    one.itself = one
    assert repr(one) == "Filled(rows=[], told=3, itself=...)"
