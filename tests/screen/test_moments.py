"""Two loads in a tub for one, by the machine's own clocks: each moment seen and heard.

The dwells are of seconds. What is kept of a moment is its page without the figures of its second.
"""

import pytest
from real_terminal import Moments, RealTerminal

from benchrun.load_run import read_kept
from benchrun.record.clock import SystemClock
from benchrun.record.folder import run_folders
from benchrun.signing_keys import enrol, new_shop

JOB = """\
procedure: tub-for-one
title: Etch and rinse
revision: 1
status: draft
scope: Some arms. Invented.
batch: {part: arm, at most: 4}
vessels: {tub: {title: etch tub, holds: 1}}
stages:
  - stage: All
    steps:
      - {dwell: Keep it wet., id: etch, in: tub, least: 2 s, most: MOST s, late: [go on]}
      - do: Rinse in running water.
        id: rinse
        window: {after: etch, most: WINDOW s, late: [go on, set aside]}
      - {do: Pack it., id: pack}
"""


@pytest.fixture
def shop(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    now = SystemClock().now()
    made = new_shop(tmp_path / "shop", "Ropewalk shop", now)
    enrol(made, "Ada Brook", now, passphrase="1234")
    return made


def opened(shop, benchrun, *, most, window, plain=False):
    path = shop.path / "procedures"
    path.mkdir(exist_ok=True)
    text = JOB.replace("MOST", str(most)).replace("WINDOW", str(window))
    (path / "tub.yaml").write_text(text)
    command = [benchrun, "--shop", str(shop.path), *(["--plain"] if plain else [])]
    return RealTerminal(command, {"XDG_CONFIG_HOME": str(shop.path.parent / "config")})


def kinds(shop):
    (folder,) = run_folders(shop.runs)
    return [
        (entry.kind, entry.data.parts)
        for entry in read_kept(folder)[1]
        if entry.kind in ("in", "out", "do", "answer")
    ]


def test_two_loads_a_window_and_a_cut_in_mid_soak(shop, benchrun):
    terminal, moments = opened(shop, benchrun, most=90, window=6), Moments("tub")
    try:
        begin(terminal)
        first_load(terminal, moments)
        second_load(terminal, moments)
    finally:
        terminal.close()
    moments.check()
    assert kinds(shop) == [
        ("in", ("arm 1",)),
        ("out", ("arm 1",)),
        ("do", ("arm 1",)),
        ("in", ("arm 2",)),
        ("out", ("arm 2",)),
        ("answer", ("arm 2",)),
        ("do", ("arm 2",)),
    ]


def begin(terminal):
    terminal.see("1 Etch and rinse")
    terminal.press("1")
    terminal.see("Before you begin")
    terminal.press("\n")
    terminal.see("The batch for")
    terminal.press("2\n")
    terminal.see("Enter start the clock, arm 1")


def first_load(terminal, moments):
    """In, out when it calls, rinsed in time, the next one in: a key for each act."""
    keys, rung = terminal.keys, terminal.bells
    terminal.press("\n")
    terminal.see("DUE   arm 1: take out of the etch tub")
    terminal.see("Enter take out arm 1")
    assert terminal.bells > rung
    moments.keep("due", terminal)
    rung = terminal.bells
    terminal.press("\n")
    terminal.see("LEFT   arm 1: step 2, Rinse in running water")
    assert terminal.bells > rung
    terminal.see("Enter done, arm 1")
    moments.keep("window", terminal)
    terminal.press("\n")
    terminal.see("Enter start the clock, arm 2")
    moments.keep("next-load", terminal)
    terminal.press("\n")
    terminal.see("etch tub  [∘ arm 2]")
    assert terminal.keys - keys == 4


def second_load(terminal, moments):
    """Killed in mid soak, resumed on the act with one key; its window is overrun and answered."""
    terminal.kill_and_start()
    terminal.see("ON THE CLOCK")
    terminal.see("DUE   ")
    terminal.see("0 silence")
    moments.keep("board", terminal)
    keys = terminal.keys
    terminal.press("\n")
    terminal.see("Enter take out arm 2")
    moments.keep("resumed", terminal)
    terminal.press("\n")
    assert terminal.keys - keys == 2
    terminal.see("LEFT   arm 2: step 2, Rinse")
    rung = terminal.bells
    terminal.see("LATE   Step 2, Rinse in running water")
    terminal.see("Enter late: answer it")
    assert terminal.bells > rung
    moments.keep("window-closed", terminal)
    terminal.press("\n")
    terminal.see("1  Go on as it is")
    terminal.press("11")
    terminal.see("Enter done, arm 2")
    terminal.press("\n")
    terminal.see(": done, arm 2.")


def test_the_same_by_the_plain_face_which_speaks_by_itself(shop, benchrun):
    terminal = opened(shop, benchrun, most=6, window=4, plain=True)
    try:
        terminal.hear("Number or words")
        terminal.press("etch and rinse\n")
        terminal.hear("Enter goes on:")
        terminal.press("\n")
        terminal.see("tags")
        terminal.press("\n")
        terminal.hear("1 arm: step 1, Keep it wet.")
        rung, begun = terminal.bells, terminal.keys
        terminal.press("\n")
        terminal.hear("1 (wait) arm: step 1, take out (too early, ")
        terminal.hear("Earliest. arm: take out of the etch tub, by ")
        terminal.hear(" left. ")
        terminal.hear("Late. arm: take out of the etch tub, 0 seconds past 6 seconds")
        assert terminal.bells - rung == 3
        terminal.press("\n")
        terminal.hear("left. arm: step 2, Rinse in running water, by ")
        assert terminal.keys - begun == 2
        said = terminal.said.decode()
        assert said.count("Earliest.") == 1
        assert said.count("past 6 seconds") == 1
    finally:
        terminal.close()
    assert [kind for kind, _ in kinds(shop)] == ["in", "out"]
