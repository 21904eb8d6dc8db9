"""The plain face in a process of its own, with a clock that stands in a file and is moved by tests.

Run as: python plain_child.py SHOP CLOCK PROCEDURE
"""

import sys
from pathlib import Path

from benchrun.moment import Moment
from benchrun.plain.start import open_plain


class FileClock:
    """Tells the moment that stands in a file: wall time and uptime in milliseconds."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def now(self) -> Moment:
        wall, up = self._path.read_text().split()
        return Moment(int(wall), int(up), "plain-1", True)

    def slept_ms(self) -> int:
        return 0


if __name__ == "__main__":
    shop, clock, procedure = (Path(arg) for arg in sys.argv[1:])
    raise SystemExit(open_plain(shop, procedure=procedure, clock=FileClock(clock)))
