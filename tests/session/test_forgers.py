"""The forger's table of the format's page, cell by cell."""

from pathlib import Path

import pytest
from forgers import DOES, HOLDS, STATES, Victim, outcome, resumed, seen

import benchrun.record

PAGE = Path(benchrun.record.__file__).with_name("FORMAT.md").read_text("utf-8")


def table():
    """What the page says of each forger, act and state."""
    cells = {}
    for row in PAGE.splitlines():
        fields = [field.strip() for field in row.strip("|").split("|")]
        if fields[0] in HOLDS and len(fields) == 5:
            for does in fields[1].split(", "):
                for state, said in zip(STATES, fields[2:], strict=True):
                    cells[fields[0], does, state] = said
    return cells


CELLS = table()
QUICK = [cell for cell in CELLS if cell[1] in ("change", "replace signers")]
REST = [cell for cell in CELLS if cell not in QUICK]


def test_the_page_has_every_cell():
    assert set(CELLS) == {(h, d, s) for h in HOLDS for d in DOES for s in STATES}


@pytest.mark.parametrize("state", STATES)
def test_without_a_forger_nothing_is_told(tmp_path, state):
    victim = Victim(tmp_path, state)
    assert (seen(victim), resumed(victim)) == ("unseen", "" if state == "closed" else "resumed")


@pytest.mark.parametrize("cell", QUICK, ids="-".join)
def test_a_forger_is_seen_as_the_page_says(tmp_path, cell):
    assert outcome(tmp_path / "place", *cell) == CELLS[cell]


@pytest.mark.long
@pytest.mark.parametrize("cell", REST, ids="-".join)
def test_every_other_forger_is_seen_as_the_page_says(tmp_path, cell):
    assert outcome(tmp_path / "place", *cell) == CELLS[cell]
