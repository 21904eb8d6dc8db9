"""Starting the screen: from the command line to the app, and the terminal left as it was."""

import os
import shutil
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Final

from benchrun.enrol import enrol, new_shop
from benchrun.errors import BenchrunError
from benchrun.record.clock import SystemClock

if TYPE_CHECKING:
    from benchrun.screen.app import BenchApp

TRIAL_WORD: Final = "1234"


def open_board(
    path: Path,
    *,
    procedure: Path | None = None,
    ascii_only: bool = False,
    mouse: bool = True,
    theme: str = "",
) -> int:
    """Open the board of a shop.

    Args:
        path: The shop's folder.
        procedure: A procedure to begin at once.
        ascii_only: Draw with ASCII characters alone.
        mouse: Whether the program takes the mouse.
        theme: dark, light, terminal or mono; empty: by the terminal.

    Returns:
        What the command line leaves with.

    Raises:
        BenchrunError: There is no terminal that can show a full screen, or no such theme.
    """
    check_terminal()
    _writable(path)
    from benchrun.screen.app import BenchApp
    from benchrun.screen.look import look_of

    look = look_of(theme, ascii_only=ascii_only)
    return run_app(BenchApp(path, look=look, start=procedure), mouse=mouse)


def open_trial(*, ascii_only: bool = False, mouse: bool = True, theme: str = "") -> int:
    """Open the board of a throw-away shop; it is gone afterwards.

    Args:
        ascii_only: Draw with ASCII characters alone.
        mouse: Whether the program takes the mouse.
        theme: dark, light, terminal or mono; empty: by the terminal.

    Raises:
        BenchrunError: There is no terminal that can show a full screen, or no such theme.
    """
    check_terminal()
    from benchrun.screen.app import BenchApp
    from benchrun.screen.look import look_of

    look = look_of(theme, ascii_only=ascii_only)
    folder = Path(tempfile.mkdtemp(prefix="benchrun-try-"))
    try:
        now = SystemClock().now()
        shop = new_shop(folder / "shop", "Trial shop", now)
        enrol(shop, "Trial hand", now, passphrase=TRIAL_WORD)
        notice = f"A throw-away shop: nothing here is kept. Its key opens with {TRIAL_WORD}."
        return run_app(BenchApp(shop.path, look=look, notice=notice), mouse=mouse)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def run_app(app: "BenchApp", *, mouse: bool = True) -> int:
    """Run the app until it is left; the terminal is as it was afterwards."""
    app.run(mouse=mouse)
    return app.return_code or 0


def check_terminal() -> None:
    """Refuse where no full screen can be shown.

    Raises:
        BenchrunError: Output or input is no terminal, or the terminal says that it is dumb.
    """
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise BenchrunError("the screen needs a terminal: input or output is a file or a pipe")
    if os.environ.get("TERM", "") in ("", "dumb"):
        raise BenchrunError("the terminal says it is dumb: set TERM to what it is, such as xterm")


def _writable(path: Path) -> None:
    """Refuse a shop folder that could not be written, before the screen is taken."""
    there = next((one for one in (path, *path.parents) if one.exists()), path)
    if not os.access(there, os.W_OK):
        raise BenchrunError(f"the shop folder {path} cannot be written. Name another with --shop")
