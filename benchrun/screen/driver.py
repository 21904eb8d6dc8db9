"""Drawing on a terminal that may go away: the window is closed, the line drops."""

import select
from contextlib import suppress
from typing import TYPE_CHECKING, Any, TextIO, cast

from textual.drivers.linux_driver import LinuxDriver

if TYPE_CHECKING:
    from textual.app import App


class _Lasting:
    """The terminal to write on; once it is gone, what is written goes nowhere.

    The thread that draws would end with the first failed write, and whoever hands it more would
    wait for ever, so that the program could not be left.
    """

    def __init__(self, terminal: TextIO) -> None:
        self._terminal = terminal

    def write(self, text: str) -> int:
        with suppress(OSError):
            self._terminal.write(text)
        return len(text)

    def flush(self) -> None:
        with suppress(OSError):
            self._terminal.flush()

    def fileno(self) -> int:
        return self._terminal.fileno()

    def isatty(self) -> bool:
        return self._terminal.isatty()


class TerminalDriver(LinuxDriver):
    """Textual's own driver, for a terminal that may go away.

    Args:
        app: The app.
        debug: As for its own.
        mouse: Whether the mouse is taken.
        size: The size, or None to ask the terminal.
    """

    def __init__(
        self,
        app: "App[object]",
        *,
        debug: bool = False,
        mouse: bool = True,
        size: tuple[int, int] | None = None,
    ) -> None:
        super().__init__(app, debug=debug, mouse=mouse, size=size)
        self._file = cast("Any", _Lasting(cast("TextIO", self._file)))
        self._look = select.poll()
        self._look.register(self.fileno, 0)  # hanging up is told unasked

    def gone(self) -> bool:
        """Whether the terminal hung up; reading it would find nothing, again and again."""
        return bool(self._look.poll(0))
