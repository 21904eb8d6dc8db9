"""Witness points in the record that is handed over, and in the words of the log."""

from pathlib import Path

import pytest

from benchrun.account.gather import gather
from benchrun.load_run import read_kept
from benchrun.record.folder import RunFolder
from benchrun.rehearse.play import rehearse
from benchrun.report.command import report_content
from benchrun.verify import verify

HERE = Path(__file__).parents[1] / "rehearse"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    out = tmp_path_factory.mktemp("rehearsed") / "run"
    procedure = HERE / "procedures" / "show-and-cover.yaml"
    rehearse(procedure, HERE / "cases" / "witness.yaml", out)
    return out


def test_each_part_has_who_came_who_sent_word_or_that_the_notice_ran_out(folder):
    facts = gather(folder)
    assert [(one.parts, one.end, one.name, one.behalf) for one in facts.witnesses] == [
        (("frame 1",), "came", "Ann Example", "the owner"),
        (("frame 2",), "not coming", "Bo Example", ""),
        (("frame 3",), "came", "Cy Example", ""),
    ]
    assert {one.notice for one in facts.witnesses} == {2 * 3_600_000}
    assert facts.dwells == []
    assert verify(folder).faults == []


def test_the_report_and_the_log_say_it_in_words(folder):
    text = " ".join(report_content([folder], ".md").decode().split())
    assert "witnessed by Ann Example, for the owner" in text
    assert "nobody comes, word from Bo Example" in text
    assert "early" not in text.partition("Witness points")[2].partition("##")[0]
    _, entries = read_kept(RunFolder(folder))
    assert sum(entry.kind == "tell" for entry in entries) == 1
    assert sum(entry.kind == "witness" for entry in entries) == 4
