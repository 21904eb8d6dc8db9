"""Whole runs through the screen, by keypad keys alone."""

import subprocess
from pathlib import Path

import pytest
from keypad_hand import NAMES, Hand, answers_of
from screen_bench import Bench, press, settled, show_run
from screen_terminal import Terminal

from benchrun.load_run import folded, read_kept
from benchrun.moment import Moment
from benchrun.record.folder import run_folders

KEYPAD = set("0123456789") | {"enter", *NAMES.values()}


async def work_through(bench: Bench, session, pilot, hand: Hand) -> list[str]:
    """Carry the run out to its close; the keys that were pressed."""
    pressed: list[str] = []
    for _ in range(3000):
        alarm = band_of(bench.screen())
        keys = hand.keys(session.run, bench.clock.now(), other_signs=True, alarm=alarm)
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
        assert session.run.n > before or alarm, bench.screen()
    raise AssertionError("the run does not end:\n" + bench.screen())


def band_of(text: str) -> str:
    """The band of the alarm that stands, or empty."""
    keys = ("0 silence", "Enter go there")
    return next((row for row in text.split("\n")[:4] if any(key in row for key in keys)), "")


def counted(name: str, pressed: int, hand: Hand) -> None:
    """Print how many keys it took, and hold them to the limit: see the hand for what is counted."""
    typed, alarms = hand.done["typed"], hand.done["alarms"]
    keys, acts = pressed - typed, hand.acts
    print(
        f"\nkeys {name} ratio={keys / acts:.2f} keys={keys} acts={acts} "
        f"(judgements {hand.done['judgements']}, readings {hand.done['readings']}, batch steps "
        f"{hand.done['steps']}); beside them {typed} characters of values and passphrases; of the "
        f"keys {alarms} only answered an alarm"
    )
    assert keys <= 1.15 * acts


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
    counted(procedure, len(pressed), hand)


@pytest.mark.parametrize(
    ("procedure", "one", "parts"),
    [("hub-bearing-removal", "hub carrier", 2), ("degrease-etch-coat", "small steel part", 6)],
)
def test_a_sample_is_carried_out_through_a_terminal_by_keypad_alone(
    tmp_path, root, benchrun, procedure, one, parts
):
    answers = answers_of(root / "samples" / "answers" / f"{procedure}.yaml")
    given = {step: _by_number(said, one) for step, said in answers.items()}
    hand = Hand(given)
    terminal = Terminal(tmp_path, start=str(root / "procedures" / f"{procedure}.yaml"))
    try:
        terminal.see("Before you begin")
        begun = _begin(terminal, parts)
        folder = next(iter(run_folders(terminal.path / "runs")))
        pressed = _carry_out(terminal, folder, hand)
        terminal.see("signed and sealed")
        _press(terminal, "enter")
        terminal.see("BEGIN")
        _press(terminal, ".")
        assert terminal.wait() == 0
    finally:
        terminal.close()
    verified(benchrun, folder.path, terminal.path)
    counted(f"{procedure}, {parts} parts", pressed, hand)
    print(f"     and {begun} keys from the procedure to its first step")


def _by_number(given, one):
    """Answers by the tags that a batch typed as a number gets."""
    if not isinstance(given, dict):
        return given
    return {f"{one} {number}": value for number, value in enumerate(given.values(), 1)}


def _press(terminal: Terminal, key: str) -> int:
    terminal.pass_time(600)
    terminal.type("\n" if key == "enter" else key)
    return len(key) if key != "enter" else 1


def _begin(terminal: Terminal, parts: int) -> int:
    """Read what must hold, say who works, check and count, take so many parts; the keys it took."""
    keys = 0
    while "Who works" not in terminal.text:
        keys += _press(terminal, "enter")
    keys += _press(terminal, "1")
    while "The batch for" not in terminal.text:
        keys += _press(terminal, "enter")
    keys += _press(terminal, str(parts))
    terminal.see(f"{parts}▏")
    while "/ look" not in terminal.text:
        keys += _press(terminal, "enter")
    terminal.see("1 of ")
    return keys


def _bursts(keys: list[str]) -> list[str]:
    """A reading is typed in one go; every other key by itself."""
    if len(keys) > 2 and keys[-1] == "enter" and keys[0] not in ("enter", "."):
        return ["".join(keys[:-1]), "enter"]
    return keys


def _carry_out(terminal: Terminal, folder, hand: Hand) -> int:
    """Work to the close by what stands on the screen and in the log; the keys it took."""
    pressed = 0
    for _ in range(1500):
        procedure, entries = read_kept(folder)
        run = folded(procedure, entries)
        now = Moment(terminal.wall, terminal.up, "terminal-1", True)
        keys = hand.keys(run, now, other_signs=True, alarm=band_of(terminal.text))
        if keys is None:
            return pressed
        if isinstance(keys, int):
            _sleep(terminal, keys + 1000)
            continue
        for key in _bursts(keys):
            pressed += _press(terminal, key)
    raise AssertionError("the run does not end:\n" + terminal.text)


def _sleep(terminal: Terminal, ms: int) -> None:
    """Let time pass, and wait until the screen has ticked."""
    before = terminal.text
    terminal.pass_time(ms)
    terminal.until(lambda text: text != before, "another page")
