"""Line by line a step says its conditions, how many people it needs, a free order and its pass."""

import io
import math

import pytest

from benchrun.plain.start import open_plain
from benchrun.plain.talk import Talk
from benchrun.record.clock import VirtualClock
from benchrun.signing_keys import enrol, new_shop

PAGE = """\
procedure: two-coats
title: Two coats
revision: 1
status: draft
scope: Invented.
batch: {part: arm, at most: 3}
stages:
  - stage: Coat
    steps:
      - while: The fan runs.
        steps:
          - repeat: Coat
            id: coats
            at least: 2
            steps:
              - {do: Brush on a coat., id: brush}
          - any order: Ready the rail
            id: rail
            steps:
              - {do: Wipe the rail., id: wipe}
              - {do: Hang the hooks., id: hooks}
      - {do: Lift the arm on the rail., id: hang, people: 2, who: restorer}
"""


@pytest.fixture
def said(tmp_path):
    now = VirtualClock("2026-11-25T14:02:00.000Z").now()
    shop = new_shop(tmp_path / "shop", "Shed", now)
    enrol(shop, "Ada Brook", now, passphrase="1234")
    (tmp_path / "coats.yaml").write_text(PAGE)
    out = io.StringIO()
    talk = Talk(io.StringIO("\n" + "a, b\n" + "\n" * 5 + "-\n"), out, listens_s=math.inf)
    assert open_plain(shop.path, procedure=tmp_path / "coats.yaml", talk=talk) == 0
    return out.getvalue()


def test_each_pass_is_named_once_with_its_number(said):
    assert said.index("Pass: Coat 1") < said.index("Pass: Coat 2") < said.index("Wipe the rail.")
    assert said.count("Pass: Coat 1") == 1


def test_a_condition_that_goes_on_is_said_at_each_of_its_steps_and_no_longer(said):
    assert said.count("See that: The fan runs.") == 3
    assert "See that" not in said.partition("Lift the arm")[2]


def test_a_free_order_and_how_many_people_are_said(said):
    assert said.count("Order: free: steps 2 and 3 in any order") == 1
    assert said.index("Who: restorer, 2 people") < said.index("step 4, Lift the arm")
