"""Drawing on a terminal that may go away: the window is closed, the line drops."""

import errno
import select
import threading
from typing import TYPE_CHECKING, Any, Final, TextIO, cast

from textual.drivers.linux_driver import LinuxDriver
from textual.events import CursorPosition

from benchrun.lost_output import write_nowhere
from benchrun.screen.frames import ASK, Frames

if TYPE_CHECKING:
    from textual.app import App
    from textual.message import Message

LAST_ANSWER_S: Final = 2.0
_GONE: Final = (errno.EIO, errno.ENXIO, errno.EPIPE)


class _Lasting:
    """The terminal to write on; once it is gone, what is written goes nowhere.

    The thread that draws would end with the first failed write, and whoever hands it more would
    wait for ever, so that the program could not be left.
    """

    def __init__(self, terminal: TextIO) -> None:
        self._terminal = terminal

    def write(self, text: str) -> int:
        try:
            self._terminal.write(text)
        except OSError as error:
            self._failed(error)
        return len(text)

    def flush(self) -> None:
        try:
            self._terminal.flush()
        except OSError as error:
            self._failed(error)

    def _failed(self, error: OSError) -> None:
        if error.errno in _GONE:
            write_nowhere(self._terminal)

    def fileno(self) -> int:
        return self._terminal.fileno()

    def isatty(self) -> bool:
        return self._terminal.isatty()


class TerminalDriver(LinuxDriver):
    """Textual's own driver, for a terminal that may go away or hang on a slow line.

    Args:
        app: The app.
        debug: As for its own.
        mouse: Whether the mouse is taken.
        size: The size, or None to ask the terminal.

    Attributes:
        frames: What the terminal shows, and what it is to show next.
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
        self.frames = Frames(self._write_frame)
        self._arrived = threading.Event()
        self._arrived.set()
        self._look = select.poll()
        self._look.register(self.fileno, 0)  # hanging up is told unasked

    def _write_frame(self, text: str) -> None:
        if text.endswith(ASK):
            self._arrived.clear()
        self.write(text)
        self.flush()

    def process_message(self, message: "Message") -> None:
        """Keep the terminal's answer to a frame; all else is for the app."""
        if isinstance(message, CursorPosition):
            self._arrived.set()
            self._app.call_later(self.frames.answered)
            return
        super().process_message(message)

    def send_message(self, message: "Message") -> None:
        """Hand a message to the app, which takes it from any thread; a task for each takes longer.

        Args:
            message: A key, a paste, another size.
        """
        self._app.post_message(message)

    def start_application_mode(self) -> None:
        """Take the terminal, of which nothing is known yet."""
        self.frames.forget()
        cast("Any", super()).start_application_mode()

    def disable_input(self) -> None:
        """Let go of the keys; an answer that is still to come would be typed into the shell."""
        self._arrived.wait(LAST_ANSWER_S if self.frames.answers else 0)
        super().disable_input()

    def gone(self) -> bool:
        """Whether the terminal hung up; reading it would find nothing, again and again."""
        return bool(self._look.poll(0))
