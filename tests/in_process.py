"""The command line in the process of the tests: what a command prints, and how it ends."""

import io
from contextlib import redirect_stderr, redirect_stdout
from unittest.mock import patch

from benchrun.cli import main


def said(*words: object, typed: str = "") -> tuple[int, str, str]:
    """The exit code and all that a command prints, given something on its input."""
    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err), patch("sys.stdin", io.StringIO(typed)):
        try:
            code = main([str(word) for word in words])
        except SystemExit as ended:
            code = ended.code
    return int(code or 0), out.getvalue(), err.getvalue()
