"""The plain face: a run line by line, as through a pipe or a screen reader."""

import io
import math
import os
import signal
import subprocess
import threading
import time

import pytest
from patience import PATIENCE_S

from benchrun.cli.ending import Ended, ended_by_signals
from benchrun.load_run import folded, read_kept
from benchrun.plain.start import open_plain
from benchrun.plain.talk import Talk
from benchrun.record.clock import SystemClock
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
needs: {before start: [The bench is clear.]}
stages:
  - stage: All
    steps:
      - do: Wipe the part clean.
        id: wipe
        cautions:
          - {warning: The fluid burns., then: Fire., avoid: No flame near it., codes: [H226]}
      - reading: Measure the bore.
        id: bore
        unit: mm
        low: 9 mm
        high: 10 mm
        outside: [set aside]
      - dwell: Soak the part.
        id: soak
        least: 10 min
        early: [again, go on]
      - inspect: Look for cracks.
        id: look
        findings: {no crack: go on, crack: scrap}
      - hold: Release the part.
        id: release
        signs: I looked at it.
"""


@pytest.fixture
def shop(tmp_path):
    made = new_shop(tmp_path / "shop", "Shop", SystemClock().now())
    enrol(made, "Somebody", SystemClock().now(), passphrase="12")
    (tmp_path / "job.yaml").write_text(PROCEDURE)
    return made


def talk_through(shop, tmp_path, lines):
    out = io.StringIO()
    talk = Talk(io.StringIO("\n".join(lines) + "\n"), out, listens_s=math.inf)
    code = open_plain(shop.path, procedure=tmp_path / "job.yaml", talk=talk)
    assert code == 0
    return out.getvalue()


WHOLE_RUN = [
    "",  # what is to be known before the start
    "",  # the condition before start
    "a, b",
    "",  # the caution by itself
    "",  # wipe both
    "",
    "9,5",  # bore of a
    "10.5 mm",  # bore of b, asked straight on, is outside
    "",  # the question about b comes first
    "2",  # set it aside
    "",  # put a in
    "1",  # lift it at once
    "",  # the question: too early
    "2",  # go on as it is
    "the trial run is short",
    "",  # look
    "1",  # no crack
    "",  # the hold
    "12",
    "1",  # close, with a reason for b
    "no spare yet",
    "12",
]


def test_a_whole_run_by_digits_and_enter(shop, tmp_path):
    said = talk_through(shop, tmp_path, WHOLE_RUN)
    folder = next(iter(run_folders(shop.runs)))
    procedure, entries = read_kept(folder)
    run = folded(procedure, entries)
    assert run.ended, said
    assert run.markers["a"].status is Status.DONE
    assert run.markers["b"].status is Status.ASIDE
    verdict = verify(folder.path)
    assert verdict.whole, verdict.faults
    assert verdict.keeping.signatures == 2
    assert "WARNING. The fluid burns." in said
    assert said.index("WARNING") < said.index("Recorded, entry 2")


def test_a_lesson_by_two_keys_and_a_sentence_is_said_at_its_step_in_the_next_run(shop, tmp_path):
    first = talk_through(
        shop, tmp_path, ["", "", "a", "", "*", "3", "Use the long brush.", "", "-"]
    )
    assert "Lesson: Use the long brush." in first.partition("3 Lesson")[2]
    said = talk_through(shop, tmp_path, ["", "", "a", "", "", "0", "", "9.5", "-"])
    at_the_step = said.partition("Wipe the part clean.")[0]
    assert "Lesson: Use the long brush. (Somebody, " in at_the_step
    assert "Takes about 5 seconds a part (in 1 past run)." in at_the_step
    # Once when the run comes to the step, once more under 0, and not at the steps after it.
    assert said.count("Use the long brush.") == 2


def test_what_must_be_worn_and_at_hand_is_said_before_the_first_question(shop, tmp_path):
    needs = (
        "{protection: [goggles], tools: [drift], supplies: [rags], before start: [It is clear.]}"
    )
    page = PROCEDURE.replace("{before start: [The bench is clear.]}", needs)
    (tmp_path / "job.yaml").write_text(page)
    said = talk_through(shop, tmp_path, ["0"])
    assert "This procedure is a draft: nobody has checked it yet." in said
    assert said.index("To be worn: goggles.") < said.index("It is clear.")
    assert said.index("To be at hand: drift and rags.") < said.index("It is clear.")
    (tmp_path / "job.yaml").write_text(page.replace("status: draft", "status: withdrawn"))
    said = talk_through(shop, tmp_path, ["", "", "1", ""])
    assert "This procedure is withdrawn: it cannot be begun" in said
    assert not list(run_folders(shop.runs))


def test_the_board_counts_what_needs_attention_and_a_number_says_every_row(shop):
    rows = (f"  - {{id: d{n}, name: drum {n}, amount: 9 l, best before: 2026-01-01}}" for n in "12")
    (shop.path / "supplies.yaml").write_text("\n".join(("supplies:", *rows, "")))
    out = io.StringIO()
    open_plain(shop.path, talk=Talk(io.StringIO("attention\n\n"), out, listens_s=math.inf))
    said = out.getvalue()
    assert "  1 needs attention: 2 rows, 2 now" in said
    page = said.partition("\nNeeds attention\n")[2]
    assert page.index("drum 1 (d1)") < page.index("drum 2 (d2)")
    assert "1 needs attention" in page


def test_a_wrong_passphrase_leaves_nothing_behind(shop, tmp_path):
    lines = [*WHOLE_RUN[:17], "", "13", "-"]
    said = talk_through(shop, tmp_path, lines)
    assert "does not open the key" in said
    _, entries = read_kept(next(iter(run_folders(shop.runs))))
    assert all(entry.kind != "sign" for entry in entries)
    assert verify(next(iter(run_folders(shop.runs))).path).whole


def test_the_end_of_input_leaves_the_run_to_be_taken_up(shop, tmp_path):
    talk_through(shop, tmp_path, WHOLE_RUN[:6])
    out = io.StringIO()
    open_plain(shop.path, talk=Talk(io.StringIO("1\n"), out, listens_s=math.inf))
    assert "go on: A small job" in out.getvalue()
    assert verify(next(iter(run_folders(shop.runs))).path).whole


def test_what_is_typed_wrong_is_answered_and_loses_nothing(shop, tmp_path):
    lines = ["", "", "a", "", "0", "", "", "1,234", "x", "99", "*", "1", "kept it dry", "/", "-"]
    said = talk_through(shop, tmp_path, lines)
    assert "1,234" in said
    assert "Flammable liquid and vapour" in said
    assert "none of the keys" in said
    assert "There are lines 1 to" in said
    _, entries = read_kept(next(iter(run_folders(shop.runs))))
    assert [e.data.text for e in entries if e.kind == "note"] == ["kept it dry"]


def test_text_of_a_procedure_never_reaches_the_terminal_as_codes(shop, tmp_path):
    said = talk_through(shop, tmp_path, ["", "", "\x1b[31ma", "a", "-"])
    assert "U+001B" in said
    assert "\x1b" not in said


def test_a_pipe_gets_the_plain_face_when_it_asks_for_it(benchrun):
    done = subprocess.run(
        [benchrun, "--plain", "try"], input="\n", capture_output=True, text=True, timeout=PATIENCE_S
    )
    assert done.returncode == 0, done.stderr
    assert "1 go on: Etch rusty steel in loads" in done.stdout
    assert "\x1b" not in done.stdout


def test_a_terminal_without_other_letters_gets_ascii(benchrun):
    env = {**os.environ, "LC_ALL": "C", "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    done = subprocess.run(
        [benchrun, "--plain", "try"], input=b"\n", capture_output=True, timeout=PATIENCE_S, env=env
    )
    assert done.returncode == 0, done.stderr
    done.stdout.decode("ascii")


@pytest.mark.parametrize("wait_s", [60.0, None])
def test_a_signal_that_another_thread_gets_ends_a_question_at_once(wait_s):
    """As one does that comes just before the wait begins: the wait itself is not broken off."""
    near, far = os.pipe()

    def hang_up():
        signal.pthread_kill(threading.get_ident(), signal.SIGHUP)

    begun = time.monotonic()
    with open(near) as into, ended_by_signals():  # noqa: PTH123  a pipe has no path
        talk = Talk(into, io.StringIO())
        threading.Timer(0.2, hang_up).start()
        with pytest.raises(Ended):
            talk.ask_while("Go on?", lambda: ((), wait_s))
    os.close(far)
    assert time.monotonic() - begun < 30


PLACES = PROCEDURE.replace("high: 10 mm", "high: 10 mm\n        places: [front, rear]")


def test_a_value_outside_at_the_last_place_asks_what_is_to_be_done(shop, tmp_path):
    (tmp_path / "job.yaml").write_text(PLACES)
    said = talk_through(shop, tmp_path, ["", "", "a", "", "", "", "9.5", "11", "", "1", "-"])
    assert "a, rear, in mm:" in said
    assert "over the upper limit 10 mm" in said.partition("11 mm, outside")[2]
    assert "1 Measure again" in said


SOAK = """\
procedure: soak-job
title: Soak it
revision: 1
status: draft
scope: Some parts. Invented.
batch: {part: bracket, at most: 4}
vessels: {tub: {title: etch tub, holds: 4}}
stages:
  - stage: All
    steps:
      - dwell: Soak the part.
        id: soak
        in: tub
        least: 10 min
        aim: 12 min
        most: 20 min
        tend: {every: 2 min, do: Turn it.}
        early: [again]
        late: [go on]
"""


def test_before_parts_go_in_0_says_where_for_how_long_and_with_what_room(shop, tmp_path):
    (tmp_path / "job.yaml").write_text(SOAK)
    (shop.path / "vessels.yaml").write_text(
        "vessels:\n  - {id: tub, name: etch tub, holds: 3}\n", "utf-8"
    )
    said = talk_through(shop, tmp_path, ["", "a, b", "0", "-", "-"])
    assert "Load: etch tub, room for 3 of 3, 10 minutes to 20 minutes, aim for 12 minutes" in said
    assert "Tend: Turn it. Every 2 minutes." in said


def test_a_slip_on_the_board_is_told_and_leaves_nothing(shop):
    out = io.StringIO()
    typed = io.StringIO("no such words\n99\n0\nspare part\n-\n-\n")
    assert open_plain(shop.path, talk=Talk(typed, out, listens_s=math.inf)) == 0
    said = out.getvalue()
    assert "No line says no such words." in said
    assert "Type a number from 1 to " in said
    assert "Before you begin: Take a spare part in and match it to the original" in said
    assert said.count("Number or words, only Enter leaves:") == 5


def test_words_narrow_the_board_down_and_minus_leaves_it(shop):
    out = io.StringIO()
    typed = io.StringIO("begin: spare\n-\nspare part\n-\n-\n")
    assert open_plain(shop.path, talk=Talk(typed, out, listens_s=math.inf)) == 0
    said = out.getvalue()
    assert said.count("Before you begin: Take a spare part in and match it to the original") == 2
    assert said.count("Not begun.") == 2
