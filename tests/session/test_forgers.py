"""The forger's table of the format's page, cell by cell."""

import shutil
from pathlib import Path

import pytest
from forgers import DOES, HOLDS, STATES, Forger, Victim, handed_over, outcome, resumed, seen

import benchrun.record
from benchrun.record.anchor import state_folder

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


def handing_over():
    """What the page says of report and board: by act, whether there is an anchor, and state."""
    cells = {}
    for row in PAGE.partition("\n### Report and board\n")[2].splitlines():
        fields = [field.strip() for field in row.strip("|").split("|")]
        if len(fields) == 4 and fields[0].endswith(" the anchor"):
            *acts, anchor = fields[0].split(", ")
            for act in acts:
                for state, said in zip(STATES, fields[1:], strict=True):
                    cells[act, anchor, state] = said
    return cells


HANDED_OVER = handing_over()


def test_the_page_says_of_report_and_board_what_is_tried():
    assert len(HANDED_OVER) == 3 * 2 * 3


@pytest.mark.parametrize("cell", HANDED_OVER, ids="-".join)
def test_report_and_board_tell_a_forger_as_the_page_says(tmp_path, cell):
    act, anchor, state = cell
    victim = Victim(tmp_path, state)
    Forger(victim, "no key", act).forge()
    if anchor == "without the anchor":
        shutil.rmtree(state_folder())
    assert handed_over(victim) == HANDED_OVER[cell]


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
