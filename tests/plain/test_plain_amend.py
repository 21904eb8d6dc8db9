"""Putting right and doing otherwise on the plain face, each kept with its reason."""

import io
import math

import pytest

from benchrun.load_run import folded, read_kept
from benchrun.plain.start import open_plain
from benchrun.plain.talk import Talk
from benchrun.record.clock import VirtualClock
from benchrun.record.folder import run_folders
from benchrun.run.state import Status
from benchrun.signing_keys import enrol, new_shop
from benchrun.verify import verify

PROCEDURE = """\
procedure: small-job
title: A small job
revision: 1
status: draft
scope: One part.
batch: {part: bracket, at most: 3}
needs:
  instruments:
    - {instrument: bore gauge, measures: bore, range: 5 to 50 mm, uncertainty: 0.02 mm}
stages:
  - stage: All
    steps:
      - do: Wipe the part clean.
        id: wipe
      - reading: Measure the bore.
        id: bore
        unit: mm
        low: 9 mm
        high: 10 mm
        instrument: bore gauge
        outside: [set aside]
        in doubt: [set aside]
      - inspect: Look for cracks.
        id: look
        findings: {no crack: go on, crack: scrap}
      - do: Oil the part.
        id: oil
"""


@pytest.fixture
def shop(tmp_path):
    now = VirtualClock("2026-11-25T14:02:00.000Z").now()
    made = new_shop(tmp_path / "shop", "Shop", now)
    enrol(made, "Somebody", now, passphrase="12")
    (tmp_path / "job.yaml").write_text(PROCEDURE)
    return made


def talked(shop, tmp_path, *lines: str):
    """What was said, and the run after these answers; every log must stand up to a check."""
    out = io.StringIO()
    clock = VirtualClock("2026-11-25T14:02:00.000Z")
    talk = Talk(io.StringIO("\n".join(lines) + "\n"), out, listens_s=math.inf)
    open_plain(shop.path, procedure=tmp_path / "job.yaml", talk=talk, clock=clock)
    folder = next(iter(run_folders(shop.runs)), None)
    assert folder is not None, out.getvalue()
    verdict = verify(folder.path)
    assert verdict.whole, verdict.faults
    _, entries = read_kept(folder)
    procedure, _ = read_kept(folder)
    return out.getvalue(), folded(procedure, entries), entries


def kept(entries, kind: str):
    return [one.data for one in entries if one.kind == kind]


def test_a_wrong_reading_is_put_right_and_both_are_kept(shop, tmp_path):
    said, run, entries = talked(
        shop, tmp_path, "a", "", "", "9.4", "*", "5", "1", "9.5", "read it wrong", "-"
    )
    assert "a: 9.4 mm (entry 3, step 2)" in said
    (correction,) = kept(entries, "correct")
    assert (correction.given.typed, correction.reason) == ("9.5", "read it wrong")
    now = next(one for one in run.markers["a"].values.values() if one.step == "bore")
    assert str(now.number) == "9.5"


def test_a_wrong_finding_is_put_right(shop, tmp_path):
    _, _, entries = talked(
        shop, tmp_path, "a", "", "", "9.4", "", "1", "*", "5", "1", "2", "seen in better light", "-"
    )
    (correction,) = kept(entries, "correct")
    assert correction.given.word == "crack"


def test_a_mis_tap_is_taken_back(shop, tmp_path):
    said, run, entries = talked(shop, tmp_path, "a, b", "", "*", "6", "1", "typed wrongly", "-")
    assert "Undo:" in said
    assert len(kept(entries, "retract")) == 1
    assert run.route.step_at(run.markers["a"].index).step.id == "wipe"


@pytest.mark.parametrize(
    ("way", "status"), [("2", Status.ASIDE), ("3", Status.SCRAP)], ids=["aside", "scrap"]
)
def test_parts_are_set_aside_or_scrapped_with_a_reason(shop, tmp_path, way, status):
    _, run, _ = talked(shop, tmp_path, "a, b, c", "*", "4", way, "1, 3", "found bent", "-")
    assert [run.markers[part].status for part in "abc"] == [status, Status.PLAY, status]


def test_a_part_comes_back_into_play_and_goes_back_a_step(shop, tmp_path):
    _, run, entries = talked(
        shop,
        tmp_path,
        *["a, b", "", "*", "4", "2", "1", "bent", "*", "4", "4", "1", "straightened"],
        *["*", "4", "5", "1", "1", "wipe it again", "-"],
    )
    assert run.markers["a"].status is Status.PLAY
    assert run.route.step_at(run.markers["a"].index).step.id == "wipe"
    assert [one.to for one in kept(entries, "put")] == ["aside", "play", "wipe"]


def test_a_step_is_left_out_a_question_raised_a_part_joins(shop, tmp_path):
    _, run, entries = talked(
        shop,
        tmp_path,
        *["a", "*", "4", "1", "wiped yesterday"],
        *["*", "4", "6", "is this the right bracket", "*", "4", "9", "late one", "-"],
    )
    assert [one.reason for one in kept(entries, "skip")] == ["wiped yesterday"]
    assert [one.says for one in run.markers["a"].questions] == ["is this the right bracket"]
    assert run.parts == ("a", "late one")


def test_a_reading_tells_its_limits_and_keeps_its_instrument_and_its_doubt(shop, tmp_path):
    said, _, entries = talked(shop, tmp_path, "a", "", "", "9.99", "-")
    assert "Limits: 9 to 10 mm." in said
    reading = next(one.data for one in entries if one.kind == "do" and one.data.step == "bore")
    assert reading.tool.name == "bore gauge"
    assert reading.each["a"].verdict == "in doubt"
    assert "in doubt" in said.partition("Recorded, entry 3")[2].partition("\n")[0]


def test_the_shop_s_own_instrument_is_taken_in_hand(shop, tmp_path):
    (shop.path / "instruments.yaml").write_text(
        "instruments:\n  - {id: gauge-7, name: bore gauge, "
        "range: 5 to 50 mm, resolution: 0.001 mm, uncertainty: 0.001 mm}\n"
    )
    said, _, entries = talked(shop, tmp_path, "a", "", "", "9.99", "-")
    assert "With gauge-7" in said
    reading = next(one.data for one in entries if one.kind == "do" and one.data.step == "bore")
    assert reading.tool.name == "gauge-7"
    assert reading.each["a"].verdict == "inside"
