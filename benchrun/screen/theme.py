"""How things are shown: which theme, which characters, which time zone."""

import datetime as dt
import os
from collections.abc import Mapping
from typing import Final

from textual.theme import Theme

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment

_PLAIN = "ansi_default"
THEMES: Final = {
    "dark": Theme(
        name="bench-dark",
        primary="#ffc857",
        accent="#ffc857",
        foreground="#ecebe6",
        background="#15171a",
        surface="#15171a",
        panel="#15171a",
        dark=True,
        text_alpha=1.0,
        variables={"quiet": "#b4b8bd", "alarm": "#ffc857", "alarm-ground": "#15171a"},
    ),
    "light": Theme(
        name="bench-light",
        primary="#7a3b00",
        accent="#7a3b00",
        foreground="#16181b",
        background="#faf8f3",
        surface="#faf8f3",
        panel="#faf8f3",
        dark=False,
        text_alpha=1.0,
        variables={"quiet": "#4a4e54", "alarm": "#7a3b00", "alarm-ground": "#faf8f3"},
    ),
    "terminal": Theme(
        name="bench-terminal",
        primary=_PLAIN,
        accent=_PLAIN,
        foreground=_PLAIN,
        background=_PLAIN,
        surface=_PLAIN,
        panel=_PLAIN,
        boost=_PLAIN,
        ansi=True,
        # No colour of the sixteen can be read on every ground; the band brings its own ground.
        variables={
            "quiet": _PLAIN,
            "alarm": "ansi_bright_yellow",
            "alarm-ground": "ansi_black",
            "ansi-background": "ansi_black",
            "ansi-foreground": _PLAIN,
        },
    ),
    "mono": Theme(
        name="bench-mono",
        primary=_PLAIN,
        accent=_PLAIN,
        foreground=_PLAIN,
        background=_PLAIN,
        surface=_PLAIN,
        panel=_PLAIN,
        boost=_PLAIN,
        ansi=True,
        variables={
            "quiet": _PLAIN,
            "alarm": _PLAIN,
            "alarm-ground": _PLAIN,
            "ansi-background": "ansi_black",
            "ansi-foreground": _PLAIN,
        },
    ),
}
"""Our themes: text against its ground is at least 7 to 1 in dark and light (WCAG 2.2, 1.4.6);
the other two leave every colour to the terminal."""


@lean_dataclass(frozen=True, slots=True)
class Appearance:
    """How things are shown.

    Attributes:
        theme: A key of `THEMES`.
        ascii: Whether ASCII characters alone may be used.
        zone: The time zone of clock times; None: this machine's.
    """

    theme: str = "dark"
    ascii: bool = False
    zone: dt.tzinfo | None = None

    def wall(self, at: Moment) -> dt.datetime:
        """Wall time at the bench."""
        return dt.datetime.fromtimestamp(at.utc_ms / 1000, dt.UTC).astimezone(self.zone)

    def clock(self, at: Moment) -> str:
        """The time of day: `14:02`."""
        return f"{self.wall(at):%H:%M}"

    def day(self, at: Moment) -> str:
        """The day and the time of day: `Wed 25 Nov 14:02`."""
        wall = self.wall(at)
        return f"{_DAYS[wall.weekday()]} {wall.day} {_MONTHS[wall.month - 1]} {wall:%H:%M}"

    def since(self, at: Moment, now: Moment) -> str:
        """A past moment as people say it: `09:40` today, `Mon 09:40` this week, else the day."""
        then, today = self.wall(at), self.wall(now)
        days = (today.date() - then.date()).days
        if days == 0:
            return f"{then:%H:%M}"
        if 0 < days < 7:
            return f"{_DAYS[then.weekday()]} {then:%H:%M}"
        return f"{then.day} {_MONTHS[then.month - 1]} {then:%H:%M}"


_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def appearance_of(
    theme: str = "", *, ascii_only: bool = False, environ: Mapping[str, str] | None = None
) -> Appearance:
    """Choose how to show things from what was asked for and what the terminal says of itself.

    Args:
        theme: A key of `THEMES`, or empty: by the terminal.
        ascii_only: Use ASCII characters alone, whatever the terminal can.
        environ: The environment; None: this process's.

    Raises:
        BenchrunError: There is no such theme.
    """
    known = os.environ if environ is None else environ
    if theme and theme not in THEMES:
        raise BenchrunError(f"there is no theme {theme[:40]!r}: known are {', '.join(THEMES)}")
    # What is asked for on the command line goes before the environment.
    if not theme and known.get("NO_COLOR"):
        theme = "mono"
    if not theme:
        ground = known.get("COLORFGBG", "").rpartition(";")[2]
        theme = "light" if ground in ("7", "15") else "dark"
    charset = known.get("LC_ALL") or known.get("LC_CTYPE") or known.get("LANG") or ""
    utf8 = not charset or "utf" in charset.lower()
    return Appearance(theme, ascii_only or not utf8)
