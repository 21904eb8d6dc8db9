"""What a stranger learns in the first minute: the front of the record handed over."""

import re
import shutil
from pathlib import Path

import pytest
import worked_runs
from worked_runs import Worked

from benchrun.account.gather import gather
from benchrun.account.signing_list import signing_list
from benchrun.moment import Moment
from benchrun.report.command import run_report
from benchrun.report.doc import Table
from benchrun.report.front import Issue, front_sheet
from benchrun.report.room import PAGE, height_of_front
from benchrun.run import commands as c
from benchrun.run.entries import Tool
from benchrun.session import take_up
from benchrun.signing_keys import new_shop
from benchrun.verify import verify

ROOT = Path(__file__).resolve().parents[2]


def front(folders, to, title=""):
    """The text form up to its first annex, as one line."""
    verdicts = [verify(folder).as_data() for folder in folders]
    run_report(folders, to, verdicts, issue=Issue(title))
    head = re.split(r"\n=+\nANNEX 1", to.read_text("utf-8"))[0]
    return " ".join(head.split())


def rehearsed(folder, name):
    from benchrun.rehearse.play import rehearse

    procedure = ROOT / "procedures" / f"{name.partition('.')[0]}.yaml"
    rehearse(procedure, ROOT / "samples" / "answers" / f"{name}.yaml", folder)
    return folder


@pytest.fixture(scope="module")
def large(tmp_path_factory):
    """Sixty readings: twenty parts that read alike but one, each value its own."""
    parts = [f"hub {at:02}" for at in range(1, 21)]
    place = tmp_path_factory.mktemp("large")
    work = Worked(place, parts, most=20)
    work.do("wipe")
    for part in parts:
        work.soak(part)
    for at, part in enumerate(parts):
        work.read(part, f"61.9{50 + at}")
        work.read(part, "61.990" if part == "hub 07" else "61.960")
    return work.folder


def test_the_front_says_who_signed_for_what(folder, tmp_path):
    said = front([folder], tmp_path / "run.txt")
    assert "Worked by Ann Ode" in said
    assert "BY WHOSE AUTHORITY" in said
    signed = said.partition("BY WHOSE AUTHORITY")[2].partition("MAY IT BE TRUSTED")[0]
    assert "Ann Ode" in signed
    assert "restorer" in signed
    assert "2 more signatures in the annexes" in said


def test_the_front_counts_characteristics_outside_and_names_their_parts(folder, tmp_path):
    said = front([folder], tmp_path / "run.txt")
    assert "Of 9 values: 6 inside, 1 in doubt (hub L) and 2 outside (hub R)." in said
    assert "done, with a value outside that was accepted" in said


def test_an_open_run_says_where_all_its_parts_are_and_that_nobody_signed(large, tmp_path):
    said = front([large], tmp_path / "run.txt")
    assert "All 20 parts are in work." in said
    assert "Nobody has signed anything for the parts." in said
    assert "39 inside and 1 outside (hub 07)" in said


def test_the_account_of_a_large_batch_leads_to_the_values_and_cuts_nothing_off(large, tmp_path):
    run_report([large], tmp_path / "run.md")
    text = " ".join((tmp_path / "run.md").read_text("utf-8").split())
    assert "what came of it is told above, part by part" in text
    assert "…" not in text
    assert "all but hub 07" in text


def test_a_job_of_rehearsals_says_so_on_its_front(tmp_path):
    runs = [
        rehearsed(tmp_path / "one", "cylinder-bore-inspection.reading-out"),
        rehearsed(tmp_path / "two", "dry-blasting"),
    ]
    said = front(runs, tmp_path / "job.txt", "An axle")
    assert "Every run is a rehearsal by a script: nothing in it was worked." in said
    assert "Nell Tarrow" in said.partition("BY WHOSE AUTHORITY")[2]


def test_a_step_that_an_answer_leads_back_to_is_told_by_its_number(tmp_path):
    run = rehearsed(tmp_path / "late", "acid-etch-in-loads.etch-late")
    told = gather(run)
    assert [one.what for one in told.deviations][-1] == "query answered: Back to step 12"
    assert [one.answer for one in told.questions][-1] == "Back to step 12"
    assert any("Back to step 12" in said for act in told.acts for said, _ in act.outcomes)


def test_a_stopped_run_says_so_before_all_else_and_two_parts_are_both(tmp_path):
    work = Worked(tmp_path, ["hub L", "hub R"])
    work.do("wipe")
    work.send(c.Stop("the power fails"))
    told = gather(work.folder)
    assert told.stopped == "the power fails"
    assert [(one.what, one.reason) for one in told.deviations] == [
        ("run stopped", "the power fails")
    ]
    head = front([work.folder], tmp_path / "record.txt")
    assert "The run is stopped: the power fails" in head
    assert "Both parts are in work." in head
    work.send(c.Resume())
    assert gather(work.folder).stopped == ""
    assert "stopped" not in front([work.folder], tmp_path / "again.txt")


BOOK = Tool(
    "bore-gauge-7",
    "0.002",
    "bore gauge; range 50 to 160 mm; calibrated 2025-01-09; good until 2026-01-09",
    ("is past its calibration date, 2026-01-09",),
    "2025-01-09",
    "2026-01-09",
    "0.001",
)


def test_a_gauge_past_its_date_stands_on_the_front_with_the_reason(tmp_path):
    work = Worked(tmp_path, ["hub L"])
    work.do("wipe")
    work.soak()
    for _ in "AB":
        work.do("bore", "hub L", typed="61.960", tool=BOOK, reason="the other one is away")
    said = front([work.folder], tmp_path / "run.txt")
    assert (
        "bore-gauge-7 is past its calibration date, 2026-01-09: 2 readings of hub L; reason given: "
        "the other one is away." in said
    )
    assert "1 doubt of an instrument" in said
    told = gather(work.folder).deviations
    assert any("past its calibration date" in one.what for one in told)


def test_readings_of_which_nobody_can_say_the_instrument_are_a_doubt_on_the_front(folder, tmp_path):
    said = front([folder], tmp_path / "run.txt")
    assert "Which bore gauge was used is not known for" in said


CALIBRATED = worked_runs.PAGE.replace("measures: bores,", "measures: bores, calibrated: yes,")
UNKEPT = "this shop keeps no instruments book: readings name no calibrated instrument"
BOOKED = """\
instruments:
  - id: bore-gauge-7
    name: bore gauge
    calibrated: 2026-01-09
"""


def measured(place, parts, book=""):
    work = Worked(place, parts, most=20, book=book)
    work.do("wipe")
    for part in parts:
        work.soak(part)
        for _ in "AB":
            work.read(part, "61.960")
    return work.folder


def test_a_shop_without_a_book_of_instruments_is_told_once_and_on_the_front(tmp_path, monkeypatch):
    monkeypatch.setattr(worked_runs, "PAGE", CALIBRATED)
    parts = [f"hub {at}" for at in range(1, 9)]
    folder = measured(tmp_path, parts)
    said = front([folder], tmp_path / "run.txt")
    assert (
        "This shop keeps no instruments book: 16 readings of hub 1–8 without an instrument that "
        "could be followed, and no calibration is shown." in said
    )
    facts = gather(folder)
    assert [one.what for one in facts.doubts] == [UNKEPT]
    assert facts.deviations == []
    listed = [one.what for one in signing_list(facts, tuple(parts), "I looked at these parts.")]
    assert listed == [f"in doubt: {UNKEPT}"]
    assert not verify(folder).faults


def test_a_run_of_an_older_program_is_told_of_the_book_once_it_is_resumed(tmp_path, monkeypatch):
    """From there on its readings no longer say it each."""
    monkeypatch.setattr(worked_runs, "PAGE", CALIBRATED)
    with monkeypatch.context() as older:
        older.setattr("benchrun.session.opening.FORMAT", 4)
        work = Worked(tmp_path, ["hub L"])
    work.do("wipe")
    work.soak("hub L")
    work.read("hub L", "61.960")
    work.session.leave()
    work.session = take_up(work.shop, work.session.folder, work.ann, work.clock)
    work.read("hub L", "61.960")
    facts = gather(work.folder)
    flagged = [one for one in facts.deviations if "no calibrated instrument" in one.what]
    told = [one for one in facts.doubts if one.what == UNKEPT]
    assert (len(flagged), len(told)) == (1, 1)
    assert told[0].n > flagged[0].n
    assert not verify(work.folder).faults


def test_where_the_book_is_kept_each_reading_without_its_instrument_stays_a_deviation(
    tmp_path, monkeypatch
):
    monkeypatch.setattr(worked_runs, "PAGE", CALIBRATED)
    folder = measured(tmp_path, ["hub L"], book=BOOKED)
    facts = gather(folder)
    assert [one.what for one in facts.deviations] == [
        "no calibrated instrument of the shop was named"
    ] * 2
    assert facts.doubts == []
    assert "keeps no instruments book" not in front([folder], tmp_path / "run.txt")


def test_a_signer_whose_key_the_shop_does_not_know_is_told_wherever_it_counts(folder, tmp_path):
    # The shop's own signers were brought back from a copy older than the key.
    shop = tmp_path / "shop"
    shutil.copytree(folder.parent.parent, shop)
    signers = (shop / "signers").read_text("utf-8").splitlines()
    left = [line for line in signers if not line.startswith("ann-ode@")]
    assert len(left) == len(signers) - 1
    (shop / "signers").write_text("\n".join(left) + "\n", "utf-8")
    run = shop / "runs" / folder.name
    said = front([run], tmp_path / "run.txt")
    head, _, rest = said.partition("WHAT WAS DONE, AND THE RESULT")
    assert "The record is intact" in head
    assert "The shop does not know the key of ann-ode@invented-shop." in head
    assert "Released by Ann Ode, restorer, key NOT known to the shop" in head
    trust = rest.partition("MAY IT BE TRUSTED")[2]
    assert "who signed is not proven" in trust
    verdict = verify(run).as_data()
    sheet = front_sheet([gather(run, verdict)], Issue())
    (section,) = [one for one in sheet.sections if one.title == "By whose authority"]
    keys = [row[3] for row in section.blocks[0].rows]
    assert {cell.mark for cell in keys} == {"bad"}
    assert all(cell.text.endswith("key NOT known to the shop") for cell in keys)


def test_a_run_held_against_a_shop_that_it_is_not_of_says_so_on_its_front(folder, tmp_path):
    other = new_shop(tmp_path / "other", "Other Shop", Moment(0, 0, "boot", True)).path
    verdict = verify(folder, shop=other).as_data()
    run_report([folder], tmp_path / "run.txt", [verdict])
    said = " ".join((tmp_path / "run.txt").read_text("utf-8").split()).partition("ANNEX 1")[0]
    assert "DAMAGED: 1 fault" in said
    trust = said.partition("MAY IT BE TRUSTED")[2]
    assert "the register that this run was opened under is not the shop's register" in trust
    assert "The shop does not know the key of ann-ode@invented-shop and station" in trust


def height(runs, title=""):
    sheet = front_sheet(runs, Issue(title, "2026-05-20T09:00:00Z", "Ferry museum"))
    return height_of_front(sheet), sheet


def job_folders():
    return sorted((ROOT / "samples" / "shop" / "runs").iterdir())[:6]


# What is too high for a page is set a tenth smaller, which brings it on one.
@pytest.mark.parametrize(("which", "room"), [("troubled", 1), ("large", 1), ("job", 1.1)])
def test_a_front_takes_no_more_than_a_page(which, room, folder, large, tmp_path):
    folders = {"troubled": [folder], "large": [large], "job": job_folders()}[which]
    runs = [gather(one, verify(one).as_data()) for one in folders]
    taken, sheet = height(runs, "The axle of the hose trailer")
    assert taken <= PAGE * room
    verdicts = [run.verdict for run in runs]
    run_report(folders, tmp_path / "run.html", verdicts, issue=Issue("The axle", owner="A museum"))
    page = (tmp_path / "run.html").read_text("utf-8")
    assert ('<article class="sheet front dense">' in page) is (taken > PAGE)
    titles = [section.title for section in sheet.sections]
    assert titles == [
        "What was done, and the result",
        "Was it in limits",
        "What was out, and what was done about it",
        "By whose authority",
        "May it be trusted",
    ]


def test_what_the_front_has_no_room_for_stands_whole_in_an_annex(folder, tmp_path):
    runs = [gather(folder, verify(folder).as_data())]
    (section,) = [one for one in height(runs)[1].sections if one.title == "Was it in limits"]
    table = next(block for block in section.blocks if isinstance(block, Table))
    assert "outside" in {row[-1].text for row in table.rows}
    assert len(table.rows) < 6
    run_report([folder], tmp_path / "run.txt")
    annex = (tmp_path / "run.txt").read_text("utf-8").partition("EVERY CHARACTERISTIC")[2]
    rows = [line for line in annex.splitlines() if line.startswith("hub ")]
    assert len(rows) == 6


def test_a_job_names_the_parts_of_a_run_and_says_which_runs_nobody_released(tmp_path):
    said = front(job_folders(), tmp_path / "job.txt", "The axle of the hose trailer")
    assert "both parts" not in said
    assert "2 of 6 runs not released" in said
    assert "Not released: runs 5 and 6." in said
    assert "Record of 1: 2026-03-30-hub-bearing-removal-hubs" in said


def test_what_was_out_stands_with_what_was_done_about_it(folder):
    sheet = front_sheet([gather(folder)], Issue())
    (section,) = [one for one in sheet.sections if one.title.startswith("What was out")]
    rows = {row[0].text: [cell.text for cell in row[2:4]] for row in section.blocks[0].rows}
    assert rows["hub S"][0] == "Found: crack."
    assert rows["hub S"][1] == "Scrap"
    assert "over the upper limit 61.979 mm" in rows["hub R"][0]
    assert rows["hub R"][1].endswith("to be sleeved")


def test_the_rows_of_a_large_batch_fit_one_page_and_name_who_is_not_inside(large):
    sheet = front_sheet([gather(large)], Issue())
    (section,) = [one for one in sheet.sections if one.title == "Was it in limits"]
    table = next(block for block in section.blocks if hasattr(block, "rows"))
    assert len(table.rows) <= 3
    assert {row[0].text: row[-1].text for row in table.rows} == {
        "all but hub 07": "inside",
        "hub 07": "outside",
    }


def test_counts_zero_checks_and_temperatures_are_no_characteristics(tmp_path):
    run = rehearsed(tmp_path / "hubs", "hub-bearing-removal")
    steps = {one.step for one in gather(run).readings if one.characteristic}
    assert steps == {"bore-a", "bore-b", "seat-mean", "ovality", "taper"}
