"""A bench for tests: a shop in a folder, a clock moved by hand, the app on it, keys pressed."""

import asyncio
import datetime as dt
import time
from collections.abc import Iterable
from pathlib import Path

from patience import PATIENCE_S
from textual.events import Key
from textual.keys import key_to_character

from benchrun.procedure.load import load
from benchrun.record.clock import VirtualClock
from benchrun.run.close_lines import lines_to_tick
from benchrun.run.commands import TickLine
from benchrun.run.entries import PartSpec
from benchrun.screen.app import BenchApp
from benchrun.screen.bench_screen import BenchScreen
from benchrun.screen.board.screen import BoardScreen
from benchrun.screen.run.screen import RunScreen
from benchrun.screen.theme import Appearance
from benchrun.session import Kept, Session, all_ready, begin
from benchrun.signing_keys import enrol, new_shop

WORD = "1234"
LOOK = Appearance(zone=dt.UTC)


class Bench:
    """One shop, one person, one clock."""

    def __init__(
        self, folder: Path, *, look: Appearance = LOOK, people: Iterable[str] = ()
    ) -> None:
        self.clock = VirtualClock("2026-11-25T14:02:00.000Z", up_ms=3_600_000, name="bench")
        self.shop = new_shop(folder / "shop", "Ropewalk shop", self.clock.now())
        self.person = enrol(self.shop, "Ada Brook", self.clock.now(), passphrase=WORD)
        for name in people:
            enrol(self.shop, name, self.clock.now(), passphrase=WORD)
        self.look = look
        self.app = self.new_app()

    def new_app(self) -> BenchApp:
        self.app = BenchApp(
            self.shop.path, look=self.look, clock=self.clock, pulse=lambda: self.seconds
        )
        return self.app

    @property
    def seconds(self) -> float:
        return self.clock.now().up_ms / 1000

    def begin(self, path: Path, parts: Iterable[str], tag: str = "t3st") -> Session:
        procedure = load(path)
        return begin(
            self.shop,
            procedure,
            [PartSpec(part) for part in parts],
            self.person,
            self.clock,
            readied=all_ready(procedure, self.person, self.clock.now()),
            tag=tag,
        )

    def screen(self) -> str:
        """What stands on the screen, as text."""
        rows = self.app.screen.page_view.rows
        return "\n".join(row.text.rstrip() for row in rows) + "\n"


async def press(pilot, *keys: str, wait_ms: int = 600) -> None:
    """Press keys one after the other, as an unhurried hand does."""
    app = pilot.app
    for key in keys:
        app.clock.wait(wait_ms)
        screen = app.screen
        heard = screen.heard
        char = key if len(key) == 1 else key_to_character(key)
        app.post_message(Key(key, char))
        while screen.heard == heard:
            await asyncio.sleep(0.001)
        while not (isinstance(app.screen, BenchScreen) and app.screen.page_view.rows):
            await asyncio.sleep(0.001)


def tick_lines(session: Session) -> None:
    """Tick each line of the close as done."""
    for line in lines_to_tick(session.run):
        reply = session.send(TickLine(line.sort, line.number)).result()
        assert isinstance(reply, Kept), reply


async def settled(pilot) -> None:
    """Wait until everything that was set going is done, the first look at the shop too."""
    await pilot.pause()
    while isinstance(pilot.app.screen, BoardScreen) and not pilot.app.screen.board.looked:
        await asyncio.sleep(0.001)
    await pilot.pause()


async def until(bench: Bench, words: str) -> None:
    """Wait until words stand on the screen; what looks at the disk does so beside."""
    ends = time.monotonic() + PATIENCE_S
    while words not in bench.screen():
        assert time.monotonic() < ends, f"{words!r} did not come:\n{bench.screen()}"
        await asyncio.sleep(0.002)


async def show_run(app: BenchApp, session: Session, *, resumed: bool = False) -> RunScreen:
    screen = RunScreen(app, session, resumed=resumed)
    await app.push_screen(screen)
    return screen


def ascii_look() -> Appearance:
    """The look of a terminal that has ASCII characters alone."""
    return Appearance(ascii=True, zone=dt.UTC)
