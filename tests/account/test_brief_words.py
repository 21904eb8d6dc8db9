"""An entry in one line: parts with one outcome together, each other outcome with its parts."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "report"))

from worked_runs import Worked

from benchrun.account.brief_words import brief_words, entry_words
from benchrun.account.entry_words import EntryWords
from benchrun.run import commands as c


@pytest.fixture
def work(tmp_path):
    made = Worked(tmp_path, ["hub L", "hub R", "hub S"])
    yield made
    made.session.leave()


def lines(work, n):
    """The brief and the whole words of an entry."""
    entries = work.session.entries
    telling = EntryWords(work.session.procedure, entries)
    return brief_words(telling, entries[n]), entry_words(telling, entries[n])


def test_parts_with_one_outcome_are_told_together(work):
    n = work.do("wipe")
    assert lines(work, 0) == ("opened with hub L/R/S", "opened with hub L/R/S")
    assert lines(work, n)[0] == "hub L/R/S: 1. Wipe the part clean."


def test_each_outcome_is_told_with_its_parts(work):
    work.do("wipe")
    put_in = work.send(c.PutIn("soak", ("hub L",), work.seen))
    work.send(c.PutIn("soak", ("hub R", "hub S"), work.seen))
    work.clock.wait(9 * 60_000)
    out = work.send(c.Lift(work.parts, work.seen))
    assert lines(work, put_in) == (
        "hub L into hot tub: 2. Soak the part in the tub; 10 min to 20 min",
        "hub L into hot tub: 2. Soak the part in the tub; hub L: 10 min to 20 min",
    )
    brief, whole = lines(work, out)
    assert brief == (
        "hub L/R/S out of hot tub: 2. Soak the part in the tub; "
        "hub L: in time, 11 min, 10 min to 20 min; hub R/S: in time, 10 min, 10 min to 20 min"
    )
    assert whole.count("in time, 10 min, 10 min to 20 min") == 2


def test_what_is_no_part_is_told_as_it_is(work):
    n = work.send(c.KeepNote("hub L: it foams"))
    assert lines(work, n) == ("note: hub L: it foams", "note: hub L: it foams")
