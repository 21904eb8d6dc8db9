"""What is looked up on the plain face, a line at a time, and leaves no trace."""

import io

import pytest

from benchrun.dialogue.prompts import MORE, PER_PAGE
from benchrun.load_run import read_kept
from benchrun.plain.start import open_plain
from benchrun.plain.talk import Talk
from benchrun.record.clock import VirtualClock
from benchrun.record.folder import run_folders
from benchrun.shopmath.catalogue import CALCS
from benchrun.signing_keys import enrol, new_shop

PARTS, AHEAD, LOG, SUMS, CLOCKS, SUPPLIES, OTHER, PAST = "12345678"
BEFORE = ("", "", "", "a, b", "", "", "9.4", "-")
"""The page is heard, the batch named, both parts wiped, the bore of the first measured alone."""
PROCEDURE = """\
procedure: small-job
title: A small job
revision: 1
status: draft
scope: One part. All invented.
batch: {part: bracket, at most: 3}
sources: {invented: invented for tests}
hazards:
  - id: oil
    caution: Oil makes floors slippery.
    then: A fall.
    avoid: Wipe it up.
    source: invented
needs:
  protection: [gloves]
  supplies: [thin oil]
  instruments:
    - {instrument: bore gauge, measures: bore, range: 5 to 50 mm, uncertainty: 0.02 mm}
stages:
  - stage: Clean
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
  - stage: Oil
    steps:
      - do: Oil the part.
        id: oil
        cautions: [oil]
"""


@pytest.fixture
def piped(tmp_path):
    """Talks to the plain face line by line, and says what came after the last answer."""
    now = VirtualClock("2026-11-25T14:02:00.000Z").now()
    shop = new_shop(tmp_path / "shop", "Shop", now)
    enrol(shop, "Somebody", now, passphrase="12")
    (tmp_path / "job.yaml").write_text(PROCEDURE)

    def talk(*lines: str) -> str:
        out = io.StringIO()
        typed = io.StringIO("\n".join([*BEFORE, "/", *lines, "-"]) + "\n")
        clock = VirtualClock("2026-11-25T14:02:00.000Z")
        code = open_plain(
            shop.path, procedure=tmp_path / "job.yaml", talk=Talk(typed, out), clock=clock
        )
        assert code == 0
        _, entries = read_kept(next(iter(run_folders(shop.runs))))
        assert [one.kind for one in entries if one.kind not in ("seal", "beat")] == [
            "open",
            "do",
            "do",
        ]
        return out.getvalue().partition("Look up: ")[2]

    return talk


def test_who_stands_where(piped):
    said = piped(PARTS)
    assert "  1 a: in work, step 3" in said
    assert "  2 b: in work, step 2" in said


def test_the_procedure_is_read_ahead_from_the_step_in_hand_with_its_cautions(piped):
    said = piped(AHEAD)
    assert "Oil\n3. Oil the part.\n        CAUTION  Oil makes floors slippery." in said
    assert said.index("> 2. Measure the bore.") < said.index("1. Wipe the part clean.")


def test_the_log_is_searched_for_words(piped):
    said = piped(LOG, "9.4")
    assert "a: 2. Measure the bore; with bore gauge: bore; 9.4 mm, inside" in said
    assert '1 entry with "9.4"' in said
    assert "opened with" not in said


def test_without_words_the_last_entries_are_said(piped):
    said = piped(LOG, "")
    assert "opened with a, b" in said
    assert "a: 2. Measure the bore; with bore gauge: bore; 9.4 mm, inside" in said


def test_a_sum_is_done_and_a_mistake_in_it_is_told(piped):
    pages, place = divmod(list(CALCS).index("dew_point"), PER_PAGE)
    number = [MORE] * pages + [str(place + 1)]
    blanks = [""] * (len(CALCS["dew_point"].entries) - 2)
    said = piped(SUMS, *number, "20 C", "50 %", *blanks, "-", "-")
    assert "9.2" in said
    assert "type a temperature" in piped(SUMS, *number, "wet", "50 %", *blanks, "-", "-")


def test_the_clocks_and_the_supplies_are_told(piped):
    assert "No clock is running." in piped(CLOCKS)
    said = piped(SUPPLIES, "1")
    assert "protection\n  gloves" in said
    assert "supplies\n  thin oil" in said
    assert "What this run used\nNothing so far." in piped(SUPPLIES, "2")


def test_past_values_of_the_reading_in_hand_and_step_times_are_told(piped):
    assert "a, 9.4 mm" in piped(PAST, "1").partition("Past runs: ")[2]
    assert "No step was timed yet." in piped(PAST, "5")


def test_a_long_page_is_said_twenty_lines_at_a_time_and_stops_where_it_is_enough(piped, tmp_path):
    steps = "".join(f"      - do: Oil bearing {n}.\n        id: more-{n}\n" for n in range(40))
    (tmp_path / "job.yaml").write_text(PROCEDURE + steps)
    whole = piped(AHEAD, "", "")
    lines = whole.partition("A small job\n")[2].split("\n")
    asked = [place for place, line in enumerate(lines) if "minus is enough:" in line]
    assert asked[:2] == [20, 41]
    assert lines[20].startswith("31 more.")
    assert lines[41].startswith("11 more.")
    assert ". Oil bearing 39." in whole
    short = piped(AHEAD, "-").partition("minus is enough:")[2]
    assert "Oil bearing 12." not in short
    assert short.split() == ["-", ">", "-"]
