"""A procedure is approved by a key, with what stands behind it; a run carries the approval."""

import json
import shutil
import subprocess
from pathlib import Path

import pytest

from benchrun.account.record_text import show
from benchrun.approvals import approval_of, edition_words, listed_edition
from benchrun.cli import main
from benchrun.errors import BenchrunError
from benchrun.procedure.load import load
from benchrun.record.clock import VirtualClock
from benchrun.record.folder import RunFolder
from benchrun.record.record_reader import Record
from benchrun.rehearse.approving import approve, approver_of, standing_behind
from benchrun.report.command import report_content
from benchrun.run import commands as c
from benchrun.run.entries import PartSpec
from benchrun.session import begin
from benchrun.signing_keys import compromise, enrol, new_shop
from benchrun.verify import checked_keys, verify

PAGE = """\
procedure: wipe
title: Wipe arms (invented, for tests)
revision: 2
status: approved
dated: 2026-03-02
use: reference
scope: Invented, for tests only.
changes: {1: first, 2: second}
batch: {part: arm}
stages:
  - stage: Wipe
    steps: [{do: Wipe the arm., id: wipe}]
"""
SCRIPT = """\
rehearse: wipe
path: all good
invented: yes
parts: [arm]
"""
WORD = "one"


@pytest.fixture
def clock():
    return VirtualClock("2026-03-10T08:00:00.000Z")


@pytest.fixture
def shop(tmp_path, clock):
    made = new_shop(tmp_path / "shop", "Shed", clock.now())
    enrol(made, "Ada Brook", clock.now(), passphrase=WORD, roles=("restorer", "approver"))
    enrol(made, "Bo Reed", clock.now(), passphrase=WORD)
    return made


@pytest.fixture
def page(shop):
    path = shop.path / "procedures" / "wipe.yaml"
    path.write_text(PAGE)
    return path


@pytest.fixture
def script(tmp_path):
    path = tmp_path / "good.yaml"
    path.write_text(SCRIPT)
    return path


def signed(shop, page, clock, *scripts):
    behind = standing_behind(shop, page, scripts)
    return approve(shop, page, approver_of(shop), behind, clock.now(), lambda _: WORD)


def worked(shop, page, clock, *, close=True):
    ada = approver_of(shop)
    session = begin(shop, load(page), [PartSpec("arm")], ada, clock)
    session.send(c.Do("wipe", ("arm",), session.run.n - 1)).result()
    if close:
        says = f"{ada.name}: I carried it out."
        session.sign(c.Close({}, says), WORD).result()
    folder = session.folder
    session.leave()
    return folder


def test_an_approval_says_who_when_and_what_stands_behind_it(shop, page, clock, script):
    worked(shop, page, clock)
    made = signed(shop, page, clock, script)
    assert (made.name, made.utc[:10], made.revision) == ("Ada Brook", "2026-03-10", 2)
    assert [(one.path, one.file) for one in made.rehearsals] == [("all good", "good.yaml")]
    state = approval_of(shop, load(page))
    assert (state.holds, state.known, state.calls) == (True, True, False)
    assert state.words == (
        "Approved by Ada Brook (ada-brook@shed, key known to the shop) on 2026-03-10; "
        "1 rehearsal passed; 1 run of this revision closed, 0 with deviations."
    )
    told = edition_words(load(page), state)
    assert told == "revision 2, approved by Ada Brook, 2026-03-02, for reference"
    listed = next(one for one in shop.procedures() if one.id == "wipe")
    assert listed_edition(shop, listed) == told


def test_a_file_that_changed_after_its_approval_is_told(shop, page, clock, capsys):
    signed(shop, page, clock)
    page.write_text(PAGE.replace("Wipe the arm.", "Wipe the arm dry."))
    state = approval_of(shop, load(page))
    assert state.calls
    assert "the file was CHANGED after Ada Brook approved it on 2026-03-10" in state.words
    listed = next(one for one in shop.procedures() if one.id == "wipe")
    assert "approved APPROVAL DOES NOT HOLD" in listed_edition(shop, listed)
    assert main(["--shop", str(shop.path), "check", str(page)]) == 1
    assert "CHANGED after Ada Brook" in capsys.readouterr().out


def test_a_status_that_nobody_signed_for_says_so(shop, page, clock):
    state = approval_of(shop, load(page))
    assert state.words.startswith("It says approved, but nobody has signed for that")
    folder = worked(shop, page, clock)
    doubts = verify(folder.path).doubts
    assert any("nobody has signed for that" in text for text in doubts)


def test_a_run_carries_the_approval_of_its_procedure(shop, page, clock):
    signed(shop, page, clock)
    folder = worked(shop, page, clock)
    found = verify(folder.path)
    assert (found.whole, found.doubts) == (True, [])
    assert "procedure: Approved by Ada Brook" in found.text()
    assert "Approved by Ada Brook" in show(RunFolder(folder.path), checked_keys(folder.path))
    html = report_content([folder.path], ".html", [found.as_data()]).decode()
    assert "Approved by Ada Brook" in html
    assert "for reference" in html
    reader = Record(folder.path, shop.path)
    assert (reader.faults, reader.doubts) == ([], [])


def test_an_approval_in_a_run_that_was_changed_makes_it_not_whole(shop, page, clock):
    signed(shop, page, clock)
    folder = worked(shop, page, clock)
    content = folder.approval.read_bytes()
    folder.approval.write_bytes(content.replace(b"Ada", b"Ida"))
    assert any("not the approval" in text for text in verify(folder.path).faults)
    assert Record(folder.path, shop.path).faults
    folder.approval.unlink()
    assert any("is missing" in text for text in verify(folder.path).faults)
    assert Record(folder.path, shop.path).faults


def test_a_forged_statement_an_unknown_and_a_lost_key_are_told(shop, page, clock, tmp_path):
    made = signed(shop, page, clock)
    beside = page.with_suffix(".approval")
    beside.write_bytes(made.content.replace(b"Ada Brook", b"Bea Brook"))
    assert "does NOT hold: Bea Brook's signature" in approval_of(shop, load(page)).words
    beside.write_bytes(b"{}")
    assert "does NOT hold: it is no approval" in approval_of(shop, load(page)).words
    beside.write_bytes(made.content)
    other = new_shop(tmp_path / "other", "Barn", clock.now())
    stranger = approval_of(other, load(page))
    assert (stranger.known, stranger.calls) == (False, True)
    assert "key NOT known to the shop" in stranger.words
    clock.wait(60_000)
    compromise(shop, "ada-brook", clock.now(), "the laptop was stolen")
    assert "is on record as compromised" in approval_of(shop, load(page)).words


def test_what_is_not_fit_to_be_approved_is_refused_with_what_would_do(shop, page, clock, script):
    script.write_text(SCRIPT + "answers: {wipe: go on}\nthen: [{do: polish}]\n")
    with pytest.raises(BenchrunError, match="this rehearsal does not pass"):
        standing_behind(shop, page, [script])
    page.write_text(PAGE.replace("status: approved", "status: checked"))
    with pytest.raises(BenchrunError, match="write `status: approved`"):
        standing_behind(shop, page, [])
    page.write_text(PAGE.replace("dated: 2026-03-02\n", ""))
    with pytest.raises(BenchrunError, match="`dated` is missing"):
        standing_behind(shop, page, [])
    with pytest.raises(BenchrunError, match=r"has not the role approver: .*people change bo-reed"):
        approver_of(shop, "bo-reed")
    assert not page.with_suffix(".approval").exists()


def test_the_command_approves_and_stock_tools_check_it(
    shop, page, script, capsys, monkeypatch, tmp_path
):
    if shutil.which("ssh-keygen") is None:
        pytest.skip("ssh-keygen is not installed")
    monkeypatch.setattr("benchrun.cli.procedures.ask_secret", lambda _: WORD)
    words = ["--shop", str(shop.path), "approve", "wipe", "--answers", str(script)]
    # The keys of this shop begin in its own time, long before now.
    assert main(words) == 0
    said = capsys.readouterr().out
    assert said == "wipe, revision 2: approved by Ada Brook; 1 rehearsal passed\n"
    statement, _, armoured = page.with_suffix(".approval").read_bytes().partition(b"\n")
    (tmp_path / "sig").write_bytes(armoured)
    command = ["ssh-keygen", "-Y", "check-novalidate", "-n", "approve@benchrun"]
    done = subprocess.run(
        [*command, "-s", str(tmp_path / "sig")],
        input=statement + b"\n",
        capture_output=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert json.loads(statement)["says"] == "Ada Brook: I approve revision 2 of wipe for work."
    assert main(["--shop", str(shop.path), "check", str(page)]) == 0
    assert "Approved by Ada Brook" in capsys.readouterr().out
    assert Path(page).read_text() == PAGE
