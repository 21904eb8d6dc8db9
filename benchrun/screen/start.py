"""Starting the screen: from the command line to the app, and the terminal left as it was."""

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from benchrun.errors import BenchrunError
from benchrun.shop.folder import exists, open_shop

if TYPE_CHECKING:
    from benchrun.record.clock import Clock
    from benchrun.screen.app import BenchApp


def open_board(
    path: Path,
    *,
    procedure: Path | None = None,
    run: Path | None = None,
    ascii_only: bool = False,
    mouse: bool = True,
    theme: str = "",
    notice: str = "",
    clock: "Clock | None" = None,
) -> int:
    """Open the board of a shop.

    Args:
        path: The shop's folder.
        procedure: A procedure to begin at once.
        run: The folder of an open run to take up at once.
        ascii_only: Draw with ASCII characters alone.
        mouse: Whether the program takes the mouse.
        theme: dark, light, terminal or mono; empty: by the terminal.
        notice: What stands under the shop's name.
        clock: What tells the time; None for this machine's.

    Returns:
        What the command line leaves with.

    Raises:
        BenchrunError: There is no terminal that can show a full screen, or no such theme.
    """
    check_terminal()
    _writable(path)
    if exists(path):
        open_shop(path)  # a shop of a newer benchrun is refused before the screen is taken
    from benchrun.screen.app import BenchApp
    from benchrun.screen.theme import appearance_of
    from benchrun.shop.personal import personal_settings_path

    look = appearance_of(theme, ascii_only=ascii_only)
    app = BenchApp(
        path,
        look=look,
        clock=clock,
        start=procedure,
        run=run,
        notice=notice,
        settings=personal_settings_path(),
    )
    return run_app(app, mouse=mouse)


def run_app(app: "BenchApp", *, mouse: bool = True) -> int:
    """Run the app until it is left; the terminal is as it was afterwards."""
    app.run(mouse=mouse)
    # Textual gives 1 for a fault of the program; here 1 says that something was found wanting.
    return 2 if app.return_code == 1 else app.return_code or 0


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
    """Refuse a shop that could not be made, before the screen is taken.

    One that is there and can only be read is shown: its runs are read along.
    """
    if exists(path):
        return
    there = next((one for one in (path, *path.parents) if one.exists()), path)
    if not os.access(there, os.W_OK):
        raise BenchrunError(f"the shop folder {path} cannot be written. Name another with --shop")
