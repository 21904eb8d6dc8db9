"""Looking at the times of a log: clocks out of step, set, or running backwards are doubts."""

from typing import Final

from benchrun.record.clock import NO_STEP_MS, wall_step_ms
from benchrun.record.findings import KeepingReport
from benchrun.record.line import Line
from benchrun.text import span

_MOST: Final = 20  # beyond this a list of jumps helps nobody


class TimeCheck:
    """Looks at the time of line after line and enters what it finds in a report."""

    def __init__(self, report: KeepingReport) -> None:
        self._report = report
        self._before: Line | None = None
        self._no_boot = False
        self._unsure = 0
        self._first_unsure: int | None = None
        self._found = 0

    def line(self, line: Line) -> None:
        """Look at the next line."""
        before, self._before = self._before, line
        when = line.when
        if not when["sync"]:
            self._unsure += 1
            if self._first_unsure is None:
                self._first_unsure = line.n
        if before is None or when["boot"] != before.when["boot"]:
            self._other_boot(before, line)
            return
        by_boot = when["up_ms"] - before.when["up_ms"]
        if by_boot < 0:
            self._doubt("the boot clock ran backwards here", line)
        elif abs(line.utc_ms - before.utc_ms - by_boot) > NO_STEP_MS:
            step = wall_step_ms(before.at, line.at)
            if step:
                way = "forward" if step > 0 else "back"
                self._doubt(f"the wall clock was set {way} by {span(step)}", line)

    def _other_boot(self, before: Line | None, line: Line) -> None:
        if not self._no_boot and not line.at.knows_boot:
            self._no_boot = True
            self._report.doubt(
                "kept on a system without a clock that counts sleep, or without an id of its "
                "boots: across a sleep or a restart, times rest on the wall clock alone",
                line.n,
            )
        if before is not None and line.utc_ms < before.utc_ms:
            back = span(before.utc_ms - line.utc_ms)
            self._doubt(f"by the wall clock this is {back} before the entry above", line)

    def _doubt(self, text: str, line: Line) -> None:
        self._found += 1
        if self._found <= _MOST:
            self._report.doubt(text, line.n)

    def finish(self, entries: int) -> None:
        """Say how many entries were made by a clock that was not known to be in step."""
        if self._found > _MOST:
            self._report.doubt(f"clocks jumped {self._found - _MOST} more times")
        if self._unsure:
            self._report.doubt(
                f"no time service set the wall clock for {self._unsure} of {entries} entries: "
                "times of day may be wrong",
                self._first_unsure,
            )
