"""Output that nobody reads any more: the terminal hung up, the reader of a pipe has gone."""

import os
from typing import TextIO


def write_nowhere(stream: TextIO) -> None:
    """Let all that a stream holds, and gets from now on, go nowhere.

    Else Python itself would try to write it as the program ends, and give an exit code of its own.
    """
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, stream.fileno())
    os.close(nowhere)
