"""The forger's table of the format's page, cell by cell."""

from pathlib import Path

import pytest
from forgers import DOES, HOLDS, STATES, Victim, outcome, resumed, seen

import benchrun.record

PAGE = Path(benchrun.record.__file__).with_name("FORMAT.md").read_text("utf-8")


def table(heading):
    """What the page says under a heading of each forger, act and state."""
    cells = {}
    for row in PAGE.partition(f"\n{heading}\n")[2].partition("\n#")[0].splitlines():
        fields = [field.strip() for field in row.strip("|").split("|")]
        if fields[0] in HOLDS and len(fields) == 5:
            for does in fields[1].split(", "):
                for state, said in zip(STATES, fields[2:], strict=True):
                    cells[fields[0], does, state] = said
    return cells


CELLS = table("## What a forger can do")
TABLES = {
    "bare": (table("### Nothing entered since, without the anchor"), False),
    "anchor": (table("### Nothing entered since, with the anchor"), True),
}
QUICK = [cell for cell in CELLS if cell[1] in ("change", "replace signers")]
REST = [cell for cell in CELLS if cell not in QUICK]
SAMPLED = [
    ("no key", "change", "suspended"),
    ("no key", "change", "closed"),
    ("no key", "cut register", "suspended"),
    ("station's key", "change", "suspended"),
    ("whole folder", "replace signers", "closed"),
]


@pytest.mark.parametrize("cells", [CELLS, *(cells for cells, _ in TABLES.values())])
def test_the_page_has_every_cell(cells):
    assert set(cells) == {(h, d, s) for h in HOLDS for d in DOES for s in STATES}


@pytest.mark.parametrize("state", STATES)
def test_without_a_forger_nothing_is_told(tmp_path, state):
    victim = Victim(tmp_path, state)
    assert (seen(victim), resumed(victim)) == ("unseen", "" if state == "closed" else "resumed")


@pytest.mark.parametrize("cell", QUICK, ids="-".join)
def test_a_forger_is_seen_as_the_page_says(tmp_path, cell):
    assert outcome(tmp_path / "place", *cell) == CELLS[cell]


@pytest.mark.parametrize("which", TABLES)
@pytest.mark.parametrize("cell", SAMPLED, ids="-".join)
def test_where_nothing_was_entered_since_the_page_says_what_shows_it(tmp_path, cell, which):
    cells, anchor = TABLES[which]
    assert outcome(tmp_path / "place", *cell, anchor=anchor, later_run=False) == cells[cell]


@pytest.mark.parametrize("holds", HOLDS)
def test_a_cut_register_is_a_fault_for_a_machine_that_saw_more(tmp_path, holds):
    cell = (holds, "cut register", "open")
    assert outcome(tmp_path / "place", *cell, anchor=True) == "fault, refused"


@pytest.mark.long
@pytest.mark.parametrize("which", TABLES)
@pytest.mark.parametrize("cell", [cell for cell in CELLS if cell not in SAMPLED], ids="-".join)
def test_every_other_forger_of_the_last_run_is_seen_as_the_page_says(tmp_path, cell, which):
    cells, anchor = TABLES[which]
    assert outcome(tmp_path / "place", *cell, anchor=anchor, later_run=False) == cells[cell]


@pytest.mark.long
@pytest.mark.parametrize("cell", REST, ids="-".join)
def test_every_other_forger_is_seen_as_the_page_says(tmp_path, cell):
    assert outcome(tmp_path / "place", *cell) == CELLS[cell]
