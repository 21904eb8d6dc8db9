"""What tests of a run on the screen share: looking at its log, and walking to where it matters."""

from keypad_hand import Hand
from screen_bench import press

ARMS = ["arm 1", "arm 2", "arm 3", "arm 4"]
MINUTE = 60_000


def kinds(session) -> list[str]:
    """The kinds of entries, without the machine's own."""
    return [one.kind for one in session.entries if one.kind not in ("seal", "beat")]


def last(session, kind: str):
    """The data of the last entry of a kind."""
    return [one.data for one in session.entries if one.kind == kind][-1]


async def to_etch(pilot) -> None:
    """All arms into the tub, as many as fit."""
    await press(pilot, "enter", "1", "enter")


async def to_bore(bench, pilot) -> None:
    """To the first reading."""
    session, hand = bench.app.screen.session, Hand({})
    while "Measure the bore" not in bench.screen().split(" next ")[0]:
        keys = hand.keys(session.run, bench.clock.now(), other_signs=False)
        if isinstance(keys, int):
            bench.clock.wait(keys)
            bench.app.screen.tick()
            keys = ["0"] * len(bench.app.alarm_book.standing)
        await press(pilot, *keys)
