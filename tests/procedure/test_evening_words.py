"""The words that a plan of the evening rests on: attended, once a sitting, what follows on."""

from pathlib import Path

import pytest
from procedure_pages import advice, loaded

from benchrun.procedure.route import Attended, Successor

VESSELS = "vessels: {oven: {title: oven, heated: yes}, tub: {title: tub}}\n"


def attended(steps: str) -> Attended:
    return loaded(steps, VESSELS).route.steps["soak"].detail.attended


@pytest.mark.parametrize(
    ("more", "is_so"),
    [
        ("in: oven", Attended.TO_END),
        ("in: tub", Attended.NO),
        ("at: the plater", Attended.NO),
        ("in: oven\n  attended: no", Attended.NO),
        ("in: tub\n  attended: yes", Attended.YES),
    ],
)
def test_a_dwell_in_a_heated_vessel_ends_attended_unless_it_says_so(more, is_so):
    assert attended(f"- dwell: Bake the part.\n  id: soak\n  least: 1 h\n  {more}") is is_so


def test_so_does_the_dwell_of_a_load_that_may_take_a_heated_vessel():
    dwell = "{dwell: Bake the load., id: soak, least: 1 h}"
    load = f"- load: Bake\n  in: [tub, oven]\n  steps: [{dwell}]"
    assert attended(load) is Attended.TO_END


def test_a_step_may_ready_the_place_once_a_sitting():
    steps = loaded("- do: Heat the oven.\n  id: heat\n  set up: yes").route.steps
    assert steps["heat"].set_up


def test_what_follows_on_is_words_or_a_procedure_by_its_id():
    close = "close: {follow on: [Wax it., {procedure: bush-fit, revision: 2}]}\n"
    procedure = loaded("- do: Go.\n  id: go", close)
    assert procedure.follow_on == ("Wax it.", "bush-fit, revision 2")
    assert procedure.successors == (Successor("bush-fit", 2),)


def test_a_procedure_that_follows_on_is_looked_for_beside(tmp_path: Path):
    close = "close: {follow on: [{procedure: bush-fit}, {procedure: bush-press, revision: 2}]}\n"
    (tmp_path / "bush-press.yaml").write_text("revision: 3\n", "utf-8")
    said = advice(tmp_path, "- do: Go on.\n  id: go", close)
    assert any("'bush-fit' is not there" in one for one in said), said
    assert any("'bush-press' is at revision 3, not 2" in one for one in said), said
