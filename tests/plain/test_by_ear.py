"""The etch run by ear alone: how long each act takes to hear, and what is said by itself."""

import re
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

import pytest
from by_ear import MOST_S, SPEAKER, Heard, Rule, listen, seconds

from benchrun.load_run import folded, read_kept
from benchrun.plain.face import HEARD
from benchrun.plain.spoken_words import spoken
from benchrun.procedure.load import load
from benchrun.procedure.route import worst_first
from benchrun.record.clock import VirtualClock
from benchrun.record.folder import run_folders
from benchrun.signing_keys import enrol, new_shop
from benchrun.text import heard_s

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
CALLED = re.compile(r"^1:? (Earliest|Aim|Due|Late|\w+ minutes left)\b", re.MULTILINE)


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
    listen(shop, heard, clock, procedure)
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
    begun = next(n for n, turn in enumerate(turns) if any("question mark says" in t for t in turn))
    while warns(turns[begun - 1]):  # what is said by itself before the first line on offer
        begun -= 1
    closed = next(n for n, turn in enumerate(turns) if any("Its record" in t for t in turn))
    return turns[begun:closed]


def warns(turn: Sequence[str]) -> bool:
    """Whether a caution is said in full."""
    return turn[-1] == HEARD and any(re.match(r"(WARNING|CAUTION|DANGER)\. ", t) for t in turn)


def test_the_whole_run_is_done_by_ear_in_two_loads(etch):
    _, folder = etch
    run = folded(*read_kept(next(iter(run_folders(folder.parent)))))
    assert run.ended
    assert all(marker.status.value == "done" for marker in run.markers.values())


def test_every_act_is_heard_in_few_words(acts):
    long = [turn for turn in acts if not warns(turn) and heard_s(turn) > MOST_S]
    assert not long, long


@pytest.mark.skipif(SPEAKER is None, reason="needs the speech synthesiser espeak-ng")
def test_every_act_is_heard_in_twelve_seconds(acts):
    took = [(seconds(turn), turn) for turn in acts if not warns(turn)]
    assert not [one for one in took if one[0] > MOST_S]
    assert max(one[0] for one in took) > MOST_S / 2  # it was really spoken


def test_every_caution_is_said_in_full_by_itself_before_its_first_step_is_offered(acts, root):
    procedure = load(root / "procedures" / "acid-etch-in-loads.yaml")
    offered = "\n".join("\n".join(turn) for turn in acts)
    cautions = {one: step for step in procedure.route.steps.values() for one in step.cautions}
    assert len(cautions) == 5
    for step in procedure.route.steps.values():
        for one in step.cautions:
            full = spoken(
                f"{one.signal.value.upper()}. {one.hazard} {one.consequence} {one.avoidance}"
            )
            said = [turn for turn in acts if full in turn]
            assert len(said) == 1, full
            assert said[0][-2:] == [full, HEARD]
            assert not any(re.match(r"\d ", line) for line in said[0])
            assert offered.index(full) < offered.index(spoken(step.text))


def test_nothing_is_said_in_two_turns_running(acts):
    prompts = {turn[-1] for turn in acts if turn}
    for before, turn in pairwise(acts):
        again = [line for line in turn if line in before and line not in prompts]
        assert not again


def before_a_begin(folder: Path, path: Path | None, typed: Sequence[str]) -> Heard:
    """The page before a procedure is begun, with what is typed there; nobody answers more.

    Without a procedure it is chosen on the board.
    """
    clock = VirtualClock("2026-11-25T14:02:00.000Z", up_ms=3_600_000, name="bench")
    shop = new_shop(folder / "shop", "Ropewalk shop", clock.now())
    enrol(shop, "Ada Brook", clock.now(), passphrase="1234")
    script = iter([(one, 0) for one in typed])
    heard = Heard(clock, lambda *_: next(script, None))
    listen(shop, heard, clock, path)
    return heard


def test_the_page_before_a_begin_says_first_what_must_be_heard_and_the_rest_on_a_key(
    tmp_path, root
):
    path = root / "procedures" / "acid-etch-in-loads.yaml"
    procedure = load(path)
    heard = before_a_begin(
        tmp_path, path, ["", "0", *([""] * len(procedure.hazards)), "0", *([""] * 12)]
    )
    hazards = [turn for turn in heard.turns if warns(turn)]
    full = [f"{h.hazard} {h.consequence} {h.avoidance}" for h in worst_first(procedure.hazards)]
    told = [
        spoken(f"{h.signal.value.upper()}. {words}")
        for h, words in zip(worst_first(procedure.hazards), full, strict=True)
    ]
    assert [turn[-2] for turn in hazards] == [told[0], *told]  # the first one twice, for its 0
    first = "\n".join(line for turn in heard.turns[: len(hazards) + 2] for line in turn)
    assert all(thing in first for thing in procedure.needs.protection)
    assert procedure.scope not in first
    assert re.search(r"^0 says \d+ lines more: .*to be at hand.*\. Enter: ", first, re.MULTILINE)
    rest = "\n".join(line for turn in heard.turns[len(hazards) + 2 :] for line in turn)
    assert procedure.scope in rest.replace(f"\n{HEARD}\n", " ")
    assert all(words in rest for words in procedure.needs.before_start)


def test_hazards_that_were_heard_are_on_a_key_when_the_page_is_read_once_more(tmp_path, root):
    many = len(load(root / "procedures" / "acid-etch-in-loads.yaml").hazards)
    typed = ["etch rusty", "", *([""] * many), "-", "etch rusty", "", "0", ""]
    heard = before_a_begin(tmp_path, None, typed)
    assert sum(warns(turn) for turn in heard.turns[: many + 2]) == many
    again = "\n".join(line for turn in heard.turns[many + 4 :] for line in turn)
    before, asked, after = again.partition("0 says")
    assert asked
    assert "WARNING" not in before
    assert "WARNING. Acid burns skin" in after


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


@pytest.mark.parametrize(
    "typed", [["", "1", ""], ["", "1", "", "*", "1"]], ids=["at work", "in a note"]
)
def test_it_speaks_by_itself_at_earliest_aim_two_minutes_before_the_latest_and_at_it(
    tmp_path, typed
):
    (tmp_path / "soak.yaml").write_text(SOAK)
    script = iter([*((one, 1000) for one in typed), ("-", 22 * 60_000)])
    heard, _ = walked(tmp_path, tmp_path / "soak.yaml", lambda *_: next(script, None), 1)
    said = [line for turn in heard.turns for line in turn]
    leads = [
        m[1]
        for line in said
        if (m := re.match(r"(?:1:? )?(Earliest|Aim|Late|\d minutes left)\. ", line))
    ]
    assert leads == ["Earliest", "Aim", "2 minutes left", "Late"], "\n".join(said)
