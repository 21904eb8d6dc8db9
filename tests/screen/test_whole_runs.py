"""Whole runs through the screen, by keypad keys alone."""

from bench import Bench, press
from hand import NAMES, Hand

KEYPAD = set("0123456789") | {"enter", *NAMES.values()}


async def work_through(bench: Bench, session, pilot, hand: Hand, *, other_signs: bool) -> list[str]:
    """Carry the run out to its close; the keys that were pressed."""
    pressed: list[str] = []
    for _ in range(3000):
        if bench.app.bells.first is not None:
            keys = ["enter"]
        else:
            keys = hand.keys(session.run, bench.clock.now(), other_signs=other_signs)
        if keys is None:
            return pressed
        if isinstance(keys, int):
            bench.clock.wait(keys)
            bench.app.screen.tick()
            await pilot.pause()
            continue
        before = session.run.n
        for key in keys:
            name = NAMES.get(key, key)
            pressed.append(name)
            await press(pilot, name)
        assert session.run.n > before or keys == ["enter"], bench.screen()
    raise AssertionError("the run does not end:\n" + bench.screen())
