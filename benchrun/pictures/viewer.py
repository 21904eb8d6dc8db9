"""A picture opened by the system's own viewer, where there is a display."""

import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

from benchrun.text import shown


def viewer(environ: Mapping[str, str], platform: str = sys.platform) -> str:
    """The command that opens a picture; empty where no display can be told.

    Over a line from another machine it would open where nobody sits.
    """
    if any(environ.get(name) for name in ("SSH_CONNECTION", "SSH_TTY")):
        return ""
    if platform == "darwin":
        return "open"
    return "xdg-open" if environ.get("DISPLAY") or environ.get("WAYLAND_DISPLAY") else ""


def open_picture(path: Path, environ: Mapping[str, str] | None = None) -> str:
    """Open a picture by the system's viewer; what was done, in words.

    Args:
        path: The picture.
        environ: The environment; None for that of this process.
    """
    where = f"The drawing lies in {shown(str(path), 300)}."
    command = viewer(os.environ if environ is None else environ)
    if not path.is_file():
        return f"The drawing is missing: {shown(str(path), 300)}."
    if not command:
        return f"{where} No display is known here: open it from there."
    try:
        # A list of arguments and no shell: this system's own viewer, and a file that is there.
        subprocess.Popen(  # noqa: S603
            [command, str(path)],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
    except OSError:
        return f"{where} There is no {command} here that would open it."
    return f"Opened by the system's viewer. {where}"
