"""Things with some fields changed come out as `dataclasses.replace` makes them."""

from dataclasses import replace

import pytest

from benchrun.lean_dataclass import lean_dataclass
from benchrun.run.entries import Outcome
from benchrun.run.state import altered


@lean_dataclass(frozen=True)
class Loose:
    a: int = 1
    b: str = "x"


@pytest.mark.parametrize(
    ("thing", "changes"),
    [(Outcome(), {"proven": 5}), (Loose(), {"b": "y"}), (Loose(2), {"a": 3, "b": "z"})],
)
def test_it_is_what_replace_makes_and_leaves_the_old_one(thing, changes):
    before = repr(thing)
    assert altered(thing, **changes) == replace(thing, **changes)
    assert repr(thing) == before


@pytest.mark.parametrize("thing", [Outcome(), Loose()])
def test_a_field_that_is_none_is_refused(thing):
    with pytest.raises(TypeError, match="no field of it"):
        altered(thing, colour="red")
