"""Whole runs through the screen, by keypad keys alone."""

import subprocess
from pathlib import Path

import pytest
from keypad_hand import NAMES, WORD, Hand, answers_of
from screen_bench import Bench, press, settled, show_run
from screen_terminal import Terminal

from benchrun.kept import folded, read_kept
from benchrun.moment import Moment
from benchrun.record.folder import run_folders

KEYPAD = set("0123456789") | {"enter", *NAMES.values()}


async def work_through(bench: Bench, session, pilot, hand: Hand) -> list[str]:
    """Carry the run out to its close; the keys that were pressed."""
    pressed: list[str] = []
    for _ in range(3000):
        if bench.app.bells.first is not None:
            keys = ["enter"]
            hand.done["alarms"] += 1
        else:
            keys = hand.keys(session.run, bench.clock.now(), other_signs=True)
        if keys is None:
            return pressed
        if isinstance(keys, int):
            bench.clock.wait(keys)
            bench.app.screen.tick()
            await settled(pilot)
            continue
        before = session.run.n
        for key in keys:
            name = NAMES.get(key, key)
            pressed.append(name)
            await press(pilot, name)
        assert session.run.n > before or keys == ["enter"], bench.screen()
    raise AssertionError("the run does not end:\n" + bench.screen())


def verified(benchrun: str, folder: Path, shop: Path) -> str:
    """What the checker says of a run."""
    done = subprocess.run(
        [benchrun, "--shop", str(shop), "verify", str(folder)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.mark.parametrize(
    ("procedure", "parts"),
    [
        ("hub-bearing-removal", ["hub L outer", "hub R outer"]),
        ("degrease-etch-coat", ["clip 1", "clip 2", "clip 3", "lever L", "lever R", "stay 1"]),
    ],
)
async def test_a_procedure_is_carried_out_to_its_signed_close(
    tmp_path, root, benchrun, procedure, parts
):
    bench = Bench(tmp_path, people=["Bea Mill"])
    session = bench.begin(root / "procedures" / f"{procedure}.yaml", parts)
    hand = Hand(answers_of(root / "samples" / "answers" / f"{procedure}.yaml"))
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        pressed = await work_through(bench, session, pilot, hand)
        assert "closed" in bench.screen()
        await press(pilot, "enter")
        assert "BEGIN" in bench.screen()
    assert set(pressed) <= KEYPAD
    verified(benchrun, session.folder.path, bench.shop.path)
    figures = hand.done["figures"] + len(WORD) * hand.done["signatures"]
    acts = hand.done["judgements"] + hand.done["readings"] + hand.done["steps"]
    alarms = hand.done["alarms"]
    print(f"\n{procedure}: {len(pressed)} keys, {figures} of them figures typed, for {acts} acts")
    assert len(pressed) - figures - alarms <= 1.15 * acts


def test_the_hub_bearing_comes_out_through_a_terminal_by_keypad_alone(tmp_path, root, benchrun):
    start = root / "procedures" / "hub-bearing-removal.yaml"
    hand = Hand(answers_of(root / "samples" / "answers" / "hub-bearing-removal.yaml"))
    tags = [*hand.given["shims"]]
    terminal = Terminal(tmp_path, start=str(start))
    try:
        terminal.see("Before you begin")
        _begin(terminal)
        folder = next(iter(run_folders(terminal.path / "runs")))
        hand.given = {step: _by_tag(given, tags) for step, given in hand.given.items()}
        _carry_out(terminal, folder, hand)
        terminal.see("signed and sealed")
        _press(terminal, "enter")
        terminal.see("BEGIN")
        _press(terminal, ".")
        assert terminal.wait() == 0
    finally:
        terminal.close()
    verified(benchrun, folder.path, terminal.path)


def _by_tag(given, tags):
    """Answers by the tags that a batch typed as a number gets."""
    if not isinstance(given, dict):
        return given
    return {f"hub carrier {tags.index(tag) + 1}": value for tag, value in given.items()}


def _press(terminal: Terminal, key: str) -> None:
    terminal.pass_time(600)
    terminal.type("\n" if key == "enter" else key)


def _begin(terminal: Terminal) -> None:
    """Read what must hold, take two carriers, work as the first of the people."""
    while "The batch for" not in terminal.text:
        _press(terminal, "enter")
    _press(terminal, "2")
    terminal.see("2▏")
    _press(terminal, "enter")
    terminal.see("What tells them apart")
    _press(terminal, "enter")
    terminal.see("Enter begin")
    _press(terminal, "enter")
    terminal.see("Who works")
    _press(terminal, "1")
    terminal.see("1 of 59")


def _hear(terminal: Terminal) -> None:
    """Answer an alarm first: it takes Enter before anything else."""
    if "Enter heard" in terminal.text:
        _press(terminal, "enter")
        terminal.until(lambda text: "Enter heard" not in text, "an end of the alarm")


def _bursts(keys: list[str]) -> list[str]:
    """A reading is typed in one go; every other key by itself."""
    if len(keys) > 2 and keys[-1] == "enter" and keys[0] != "enter":
        return ["".join(keys[:-1]), "enter"]
    return keys


def _carry_out(terminal: Terminal, folder, hand: Hand) -> None:
    for _ in range(1500):
        procedure, entries = read_kept(folder)
        run = folded(procedure, entries)
        now = Moment(terminal.wall, terminal.up, "terminal-1", True)
        _hear(terminal)
        keys = hand.keys(run, now, other_signs=True)
        if keys is None:
            return
        if isinstance(keys, int):
            terminal.pass_time(keys + 1000)
            terminal.see("Enter lift")
            continue
        for key in _bursts(keys):
            _hear(terminal)
            _press(terminal, key)
    raise AssertionError("the run does not end:\n" + terminal.text)
