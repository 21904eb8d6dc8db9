"""The etch run by ear alone: how long each act takes to hear, and what is said by itself."""

import re
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

import pytest
from by_ear import MOST_S, SPEAKER, Heard, Rule, seconds, words

from benchrun.load_run import folded, read_kept
from benchrun.plain.hearing import MOST_WORDS
from benchrun.plain.run import HEARD
from benchrun.plain.start import open_plain
from benchrun.procedure.load import load
from benchrun.record.clock import VirtualClock
from benchrun.record.folder import run_folders
from benchrun.signing_keys import enrol, new_shop

PARTS = "clip 1, clip 2, clip 3, lever L, lever R, stay 1"
ANSWERS = {
    "The batch": PARTS,
    "Passphrase": "1234",
    "Who signs": "2",
    "all 6, in %": "14",
    "all 6, in mm": "2.004",
    "all 6, ": "21",
}
"""What is typed at a question that begins so; 1 and 0 elsewhere."""
CALLED = re.compile(r"^1 (EARLIEST|AIM|DUE|LATE|\w+ MIN LEFT)\b", re.MULTILINE)


def by_ear(prompt: str, heard: Sequence[str]) -> tuple[str, int]:
    """What a person types who hears this, and after how long."""
    for begins, answer in ANSWERS.items():
        if prompt.startswith(begins):
            return answer, 3000
    if prompt.endswith("in a number:"):
        return "0", 3000
    if prompt == ">" and not CALLED.search("\n".join(heard)):
        return "", 121_000 if "(wait)" in "\n".join(heard) else 3000
    enters = prompt in (">", HEARD) or "Enter" in prompt
    return "" if enters else "1", 3000


def walked(
    folder: Path, procedure: Path, rule: Rule = by_ear, people: int = 2
) -> tuple[Heard, Path]:
    """Carry a procedure out by ear; the shop is made in a folder."""
    clock = VirtualClock("2026-11-25T14:02:00.000Z", up_ms=3_600_000, name="bench")
    shop = new_shop(folder / "shop", "Ropewalk shop", clock.now())
    for name in ("Ada Brook", "Bea Mill")[:people]:
        enrol(shop, name, clock.now(), passphrase="1234")
    heard = Heard(clock, rule)
    open_plain(shop.path, procedure=procedure, talk=heard, clock=clock)
    return heard, next(iter(run_folders(shop.runs))).path


@pytest.fixture(scope="module")
def etch(tmp_path_factory, root):
    heard, folder = walked(
        tmp_path_factory.mktemp("etch"), root / "procedures" / "acid-etch-in-loads.yaml"
    )
    return heard, folder


@pytest.fixture(scope="module")
def acts(etch):
    """What is heard from one key to the next between the start and the close."""
    turns = etch[0].turns
    begun = next(n for n, turn in enumerate(turns) if any("? says all keys" in t for t in turn))
    closed = next(n for n, turn in enumerate(turns) if any("Its record" in t for t in turn))
    return turns[begun:closed]


def in_full(turn: Sequence[str]) -> bool:
    """Whether a caution is said, or what is to be signed: nothing of these is left out."""
    return warns(turn) or any(line.startswith("To be signed:") for line in turn)


def warns(turn: Sequence[str]) -> bool:
    """Whether a caution is said in full."""
    return turn[-1] == HEARD and any(re.match(r"(WARNING|CAUTION|DANGER)\. ", t) for t in turn)


def test_the_whole_run_is_done_by_ear_in_two_loads(etch):
    _, folder = etch
    run = folded(*read_kept(next(iter(run_folders(folder.parent)))))
    assert run.ended
    assert all(marker.status.value == "done" for marker in run.markers.values())


def test_every_act_is_heard_in_few_words(acts):
    long = [turn for turn in acts if not in_full(turn) and words(turn) > MOST_WORDS + 6]
    assert not long, long


@pytest.mark.skipif(SPEAKER is None, reason="needs the speech synthesiser espeak-ng")
def test_every_act_is_heard_in_twelve_seconds(acts):
    took = [(seconds(turn), turn) for turn in acts if not in_full(turn)]
    assert not [one for one in took if one[0] > MOST_S]
    assert max(one[0] for one in took) > MOST_S / 2  # it was really spoken


def test_every_caution_is_said_in_full_by_itself_before_its_first_step_is_offered(acts, root):
    procedure = load(root / "procedures" / "acid-etch-in-loads.yaml")
    offered = "\n".join("\n".join(turn) for turn in acts)
    cautions = {one: step for step in procedure.route.steps.values() for one in step.cautions}
    assert len(cautions) == 5
    for step in procedure.route.steps.values():
        for one in step.cautions:
            full = f"{one.signal.value.upper()}. {one.hazard} {one.consequence} {one.avoidance}"
            said = [turn for turn in acts if full in turn]
            assert len(said) == 1, full
            assert said[0][-2:] == [full, HEARD]
            assert not any(re.match(r"\d ", line) for line in said[0])
            assert offered.index(full) < offered.index(step.text)


def test_nothing_is_said_in_two_turns_running(acts):
    prompts = {turn[-1] for turn in acts if turn}
    for before, turn in pairwise(acts):
        again = [line for line in turn if line in before and line not in prompts]
        assert not again


def test_the_page_before_a_begin_says_first_what_must_be_heard_and_the_rest_on_a_key(
    tmp_path, root
):
    clock = VirtualClock("2026-11-25T14:02:00.000Z", up_ms=3_600_000, name="bench")
    shop = new_shop(tmp_path / "shop", "Ropewalk shop", clock.now())
    enrol(shop, "Ada Brook", clock.now(), passphrase="1234")
    path = root / "procedures" / "acid-etch-in-loads.yaml"
    typed = iter([("0", 0)])
    heard = Heard(clock, lambda *_: next(typed, None))
    open_plain(shop.path, procedure=path, talk=heard, clock=clock)
    procedure = load(path)
    first, rest = ("\n".join(turn) for turn in heard.turns)
    assert all(f"{h.hazard} {h.consequence} {h.avoidance}" in first for h in procedure.hazards)
    assert all(thing in first for thing in procedure.needs.protection)
    assert procedure.scope not in first
    assert re.search(r"^0 says \d+ lines more \(.*to be at hand.*\)\. Enter: ", first, re.MULTILINE)
    assert procedure.scope in rest
    assert all(words in rest for words in procedure.needs.before_start)


SOAK = """\
procedure: soak-it
title: Soak it
revision: 1
status: draft
scope: One part. Invented.
batch: {part: bracket, at most: 2}
vessels: {tub: {title: tub, holds: 2}}
stages:
  - stage: All
    steps:
      - dwell: Soak the part.
        id: soak
        in: tub
        least: 10 min
        aim: 15 min
        most: 20 min
        early: [again]
        late: [set aside]
"""


@pytest.mark.parametrize("typed", [["1", ""], ["1", "", "*", "1"]], ids=["at work", "in a note"])
def test_it_speaks_by_itself_at_earliest_aim_two_minutes_before_the_latest_and_at_it(
    tmp_path, typed
):
    (tmp_path / "soak.yaml").write_text(SOAK)
    script = iter([*((one, 1000) for one in typed), ("-", 22 * 60_000)])
    heard, _ = walked(tmp_path, tmp_path / "soak.yaml", lambda *_: next(script, None), 1)
    said = [line for turn in heard.turns for line in turn]
    leads = [m[1] for line in said if (m := re.match(r"(?:1 )?([A-Z0-9 ]+)\. ", line))]
    assert leads == ["EARLIEST", "AIM", "2 MIN LEFT", "LATE"], "\n".join(said)
