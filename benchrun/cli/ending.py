"""Ending by a signal: what was begun is put away first, and the exit code says which it was."""

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

_ENDS: Final = ("SIGTERM", "SIGHUP")


class Ended(BaseException):
    """The system, or a terminal that went away, ends the program.

    Args:
        number: The signal's number.
    """

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.code = 128 + number


@contextmanager
def ended_by_signals() -> Iterator[None]:
    """Raise `Ended` for a signal that ends the program; a second one ends it at once.

    A signal that whoever started the program has turned off, as nohup does, stays off.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    numbers = [getattr(signal, name) for name in _ENDS if hasattr(signal, name)]
    own = [number for number in numbers if signal.getsignal(number) is signal.SIG_DFL]

    def end(number: int, _frame: object) -> None:
        signal.signal(number, signal.SIG_DFL)
        raise Ended(number)

    for number in own:
        signal.signal(number, end)
    try:
        yield
    finally:
        for number in own:
            signal.signal(number, signal.SIG_DFL)
