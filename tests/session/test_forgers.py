"""The forger's tables of the format's page, cell by cell."""

from pathlib import Path

import pytest
from forgers import DOES, HOLDS, STATES, Victim, Victims, handed_over, outcome, resumed, seen

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


TABLES = {
    "entered since": table("## What a forger can do"),
    "nothing since": table("### Nothing entered since, without the anchor"),
    "anchor": table("### Nothing entered since, with the anchor"),
}
BOARD = table("### What the board tells, with the anchor")
EVERY = [(which, *cell) for which, cells in TABLES.items() for cell in cells]
USUAL = [
    cell
    for cell in EVERY
    if (cell[0] == "entered since" and cell[2] in ("change", "replace signers"))
    or cell[1:]
    in {
        ("no key", "change", "suspended"),
        ("no key", "change", "closed"),
        ("no key", "cut register", "suspended"),
        ("own key", "cut register", "open"),
        ("station's key", "change", "suspended"),
        ("station's key", "swap procedure", "open"),
        ("whole folder", "replace signers", "closed"),
    }
]


@pytest.fixture(scope="module")
def victims(tmp_path_factory):
    return Victims(tmp_path_factory.mktemp("victims"))


@pytest.mark.parametrize("cells", [*TABLES.values(), BOARD])
def test_the_page_has_every_cell(cells):
    assert set(cells) == {(h, d, s) for h in HOLDS for d in DOES for s in STATES}


@pytest.mark.parametrize("state", STATES)
def test_without_a_forger_nothing_is_told(tmp_path, state):
    victim = Victim(tmp_path, state)
    assert handed_over(victim) == ("whole", "not told")
    assert (seen(victim), resumed(victim)) == ("unseen", "" if state == "closed" else "resumed")


def as_the_page_says(victims, which, holds, does, state):
    """Verify, report, resume and board tell a forgery as its cell, and what follows from it."""
    victim = victims.fresh(state, later_run=which == "entered since")
    said = TABLES[which][holds, does, state]
    report = "DAMAGED" if said.startswith("fault") else "whole"
    told = BOARD[holds, does, state] if which == "anchor" else "not told"
    assert outcome(victim, holds, does, anchor=which == "anchor") == (said, report, told)


@pytest.mark.parametrize("cell", USUAL, ids="-".join)
def test_a_forger_is_told_as_the_page_says(victims, cell):
    as_the_page_says(victims, *cell)


@pytest.mark.long
@pytest.mark.parametrize("cell", [cell for cell in EVERY if cell not in USUAL], ids="-".join)
def test_every_other_forger_is_told_as_the_page_says(victims, cell):
    as_the_page_says(victims, *cell)


@pytest.mark.parametrize("holds", HOLDS)
def test_a_cut_register_is_a_fault_for_a_machine_that_saw_more(victims, holds):
    victim = victims.fresh("open", later_run=True)
    assert outcome(victim, holds, "cut register", anchor=True)[0] == "fault, refused"
