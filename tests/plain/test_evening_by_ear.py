"""An evening by ear off the straight way: a waiver, a witness, corrections, the release."""

import re
from itertools import pairwise

import pytest
from by_ear import MOST_S, SPEAKER, Heard, listen, seconds

from benchrun.load_run import folded, read_kept
from benchrun.record.clock import VirtualClock
from benchrun.record.folder import run_folders
from benchrun.signing_keys import enrol, new_shop
from benchrun.text import heard_s

SHOW = """\
procedure: show-seam
title: Show a seam, then cover it
revision: 1
status: draft
scope: Frames. Invented, for tests only.
sources: {inv: invented}
batch: {part: frame, at most: 3}
stages:
  - stage: Seam
    steps:
      - {do: Clean the seam with a wire brush until it is bright., id: clean, source: inv}
      - reading: Measure the throat of the seam.
        id: throat
        unit: mm
        low: 4 mm
        high: 6 mm
        outside: [rework from clean at most twice, set aside, scrap]
        source: inv
      - hold: Stop for a second person to look at the seam.
        id: second
        another person: yes
        may be waived: yes
        signs: I looked over every seam in good light and agree with the findings.
        source: inv
      - {witness: Tell the owner that the seam is bare., id: told, notice: 2 h, source: inv}
      - {do: Cover the seam with primer., id: cover, source: inv}
close:
  restore: [Brushes hung up and the bench wiped clean.]
  follow on:
    - >-
      Say "primed" in the paper that goes with the frame; a second coat within a day needs no
      sanding, as the maker's data sheet says.
  released by: restorer
  signs: >-
    Each part not set aside or scrapped was looked at, shown to its owner or to nobody who wished
    to see it, and was covered.
"""
DEVIATION = [(">$", "*"), ("Write down", "4")]
EVENING = [
    ("The batch", "3"),
    ("Who works", "1"),
    ("step 1, ", ""),
    ("step 2, ", ""),
    ("frame 1, in", "5="),
    *[("step 3, ", "*"), ("Write down", "5"), ("Which is wrong", "1"), ("right value", "5.6")],
    ("A reason", "1"),
    *[(">$", "*"), ("Write down", "7"), ("Who goes on", "2")],
    *[*DEVIATION, ("Deviation", "3"), ("Parts to scrap", "3"), ("A reason", "1")],
    *[*DEVIATION, ("Deviation", "2"), ("Parts to set aside", "2"), ("A reason", "1")],
    *[*DEVIATION, ("Deviation", "1"), ("is waived.*A reason", "1"), ("Who signs", "1")],
    ("Passphrase", "12"),
    ("step 4, ", ""),
    *[("notice", ""), (">$", "1"), ("They came", "1"), ("full name", "Olive Stone"), ("firm", "")],
    ("step 5, ", ""),
    ("step 6, ", ""),
    *[("line 1 of", "1"), ("Line 2 of", "1"), ("To be signed", ""), ("Passphrase", "12")],
    *[("close", "1"), ("Why close without", "1"), ("Passphrase", "12")],
]
"""What is heard, as a pattern, and what is typed then; Enter at anything else."""


@pytest.fixture(scope="module")
def evening(tmp_path_factory):
    """The turns of the evening, and the run."""
    folder = tmp_path_factory.mktemp("evening")
    clock = VirtualClock("2026-11-25T14:02:00.000Z", up_ms=3_600_000, name="bench")
    shop = new_shop(folder / "shop", "Ropewalk shop", clock.now())
    for name in ("Ada Brook", "Bea Mill"):
        enrol(shop, name, clock.now(), passphrase="12")
    (folder / "show.yaml").write_text(SHOW)
    left, spare = list(EVENING), [20]

    def rule(prompt, lines):
        if left and re.search(left[0][0], "\n".join((*lines, prompt)), re.DOTALL):
            return left.pop(0)[1], 3000
        spare[0] -= 1
        return ("", 3000) if left and spare[0] > 0 else None

    heard = Heard(clock, rule)
    listen(shop, heard, clock, folder / "show.yaml")
    assert not left, heard.turns[-3:]
    return heard.turns, folded(*read_kept(next(iter(run_folders(shop.runs)))))


def test_every_flow_of_it_is_carried_out_by_ear(evening):
    turns, run = evening
    assert run.ended
    status = [marker.status.value for marker in run.markers.values()]
    assert status == ["done", "set aside", "scrap"]
    said = "\n".join(line for turn in turns for line in turn)
    for words in ("waived by Ada Brook", "witnessed by Olive Stone", "corrected"):
        assert words in said


def test_every_turn_of_it_is_short(evening):
    turns, run = evening
    long = [turn for turn in turns[:-1] if heard_s(turn) > MOST_S]
    assert run.ended
    assert not long, long


@pytest.mark.skipif(SPEAKER is None, reason="needs the speech synthesiser espeak-ng")
def test_its_longest_turns_are_spoken_in_twelve_seconds(evening):
    longest = sorted(evening[0][:-1], key=heard_s)[-6:]
    took = [seconds(turn) for turn in longest]
    assert MOST_S / 2 < max(took) <= MOST_S, longest


def test_no_line_of_it_is_said_in_two_turns_running_but_for_menus(evening):
    for before, turn in pairwise(evening[0]):
        told = {line for line in before if not re.match(r"\d ", line)}
        assert not told & set(turn[:-1])
