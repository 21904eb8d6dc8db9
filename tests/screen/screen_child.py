"""The program in a terminal of its own, with a clock that stands in a file and is moved by tests.

Run as: python screen_child.py SHOP CLOCK [option=value …]
"""

# ruff: noqa: E402
import datetime as dt
import shutil
import sys
from pathlib import Path

from benchrun.gc_pause import search_seldom

search_seldom()  # as the command line does, before the screen is imported
from benchrun.moment import Moment
from benchrun.screen.app import BenchApp
from benchrun.screen.bench_screen import BenchScreen
from benchrun.screen.start import run_app
from benchrun.screen.theme import Appearance
from benchrun.shop import folder


class FileClock:
    """Tells the moment that stands in a file: wall time and uptime in milliseconds."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._last = (0, 0)

    def now(self) -> Moment:
        try:
            wall, up = self._path.read_text().split()
            self._last = (int(wall), int(up))
        except ValueError:
            pass  # it is just being written
        return Moment(*self._last, "terminal-1", True)

    def slept_ms(self) -> int:
        return 0


def count_keys() -> None:
    """Tell the terminal how many keys were dealt with, behind what was drawn of them.

    It goes the way of the drawing, as a sequence that terminals ignore: whoever has read it has
    read the page that the key led to.
    """
    press, count = BenchScreen.press, 0

    async def counted(self: BenchScreen, key: str) -> None:
        nonlocal count
        await press(self, key)
        count += 1
        told, driver = f"\x1b]7700;{count}\x07", self.app._driver
        self.app.call_after_refresh(lambda: driver.write(told))

    BenchScreen.press = counted


def only(procedure: Path, shop: Path) -> None:
    """List one procedure alone, so that pages do not change with those that come along."""
    shutil.copy(procedure, shop / "procedures" / procedure.name)
    folder.shipped = lambda what: shop / "no-such-folder"


def break_on(key: str) -> None:
    """Be a program with a fault: one key breaks it off."""
    press = BenchScreen.press

    async def faulty(self: BenchScreen, pressed: str) -> None:
        if pressed == key:
            secret = "a passphrase that was being typed"
            raise RuntimeError(f"invented for a test, {len(secret)}")
        await press(self, pressed)

    BenchScreen.press = faulty


def main() -> None:
    shop, clock = Path(sys.argv[1]), FileClock(Path(sys.argv[2]))
    count_keys()
    options = dict(arg.split("=", 1) for arg in sys.argv[3:])
    if "breaks" in options:
        break_on(options["breaks"])
    if "own" in options:
        only(Path(options["own"]), shop)
    look = Appearance(options.get("theme", "dark"), "ascii" in options, dt.UTC)
    start = Path(options["start"]) if "start" in options else None
    app = BenchApp(
        shop, look=look, clock=clock, pulse=lambda: clock.now().up_ms / 1000, start=start
    )
    raise SystemExit(run_app(app, mouse="mouse" in options))


if __name__ == "__main__":
    main()
