"""The command of a person's own that an alarm runs: never waited for, never in the way."""

import os
import signal
import subprocess
from collections.abc import Iterable, Sequence
from contextlib import suppress
from typing import Final

from benchrun.alarms.calls import Alarm

MOST_MS: Final = 20_000
"""One that runs longer hangs, and is ended so that the next call is not lost."""

_MOST_WAITING: Final = 20


class AlarmCommand:
    """Runs a command for each call, one at a time.

    Args:
        command: A program and its arguments, from the person's own settings; empty for none.
    """

    def __init__(self, command: Sequence[str]) -> None:
        self._command = tuple(command)
        self._runs: subprocess.Popen[bytes] | None = None
        self._since_ms = 0
        self._waiting: dict[tuple[str, ...], Alarm] = {}
        self._told = ""

    def call(self, alarms: Iterable[Alarm], now_ms: int) -> str:
        """Run the command for some calls, as soon as it has ended for those before.

        Returns:
            What is wrong with the command, told once; empty where nothing is.
        """
        if not self._command:
            return ""
        for one in alarms:
            if len(self._waiting) < _MOST_WAITING:
                self._waiting[one.key] = one
        return self.tick(now_ms)

    def tick(self, now_ms: int) -> str:
        """Go on with what waits; end what hangs.

        Args:
            now_ms: Milliseconds of a clock that never runs back.

        Returns:
            What is wrong with the command, told once; empty where nothing is.
        """
        trouble = self._ended(now_ms)
        if self._runs is None and self._waiting:
            trouble = self._begin(self._waiting.pop(next(iter(self._waiting))), now_ms) or trouble
        if trouble == self._told:
            return ""
        self._told = trouble or self._told
        return trouble

    def stop(self) -> None:
        """End the command if it still runs."""
        if self._runs is not None and self._runs.poll() is None:
            self._kill(self._runs)
        self._runs = None

    def _ended(self, now_ms: int) -> str:
        if self._runs is None:
            return ""
        code = self._runs.poll()
        if code is None:
            if now_ms - self._since_ms < MOST_MS:
                return ""
            self._kill(self._runs)
            self._runs = None
            return f"the alarm command hung and was ended after {MOST_MS // 1000} s"
        self._runs = None
        return f"the alarm command ended with code {code}" if code else ""

    @staticmethod
    def _kill(process: "subprocess.Popen[bytes]") -> None:
        """End it with all that it started: it leads a group of its own."""
        with suppress(OSError):
            if hasattr(os, "killpg"):
                os.killpg(process.pid, signal.SIGKILL)
            else:
                process.kill()
        with suppress(subprocess.TimeoutExpired):
            process.wait(1)

    def _begin(self, alarm: Alarm, now_ms: int) -> str:
        told = {
            "BENCHRUN_ALARM": alarm.words.signal,
            "BENCHRUN_ALARM_WORDS": alarm.line,
            "BENCHRUN_ALARM_RUN": alarm.run_id,
            "BENCHRUN_ALARM_SECONDS": str(alarm.seconds),
        }
        told = {name: text.replace("\0", " ") for name, text in told.items()}
        try:
            # A list of arguments and no shell; it is the person's own, and what comes from a shop,
            # a procedure or a log is in its environment alone: the rule below asks to look at that.
            self._runs = subprocess.Popen(  # noqa: S603
                self._command,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                start_new_session=True,
                env={**os.environ, **told},
            )
        except (OSError, ValueError) as error:
            self._command = ()
            self._waiting.clear()
            return f"the alarm command cannot be run: {error}"
        self._since_ms = now_ms
        return ""
