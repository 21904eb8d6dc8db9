"""Keys as the bench knows them, and the half second in which Enter is deaf."""

import re
from collections.abc import Callable, Hashable, Mapping
from typing import Final

from textual.events import Key

DEAF_S: Final = 0.5
"""How long Enter is deaf after what it would do has changed."""

ENTER, BACK, RUBOUT, CLEAR = "enter", "back", "rubout", "clear"
SAME = "="
NEXT, PREVIOUS, HELP, QUIT = "next", "previous", "help", "quit"
AID, AID_KEY, AID_ASKED = "first aid", "f8", "!"
DOWN, UP = "page down", "page up"

# Terminals that tell the keypad apart name its keys; what is printed on the cap counts.
_NAMED: Final = {
    "add": "+",
    "subtract": "-",
    "multiply": "*",
    "divide": "/",
    "decimal": ".",
    "separator": ".",
    "plus": "+",
    "minus": "-",
    "asterisk": "*",
    "slash": "/",
    "full_stop": ".",
    "enter": ENTER,
    "escape": BACK,
    "backspace": RUBOUT,
    "delete": RUBOUT,
    "ctrl+u": CLEAR,
    "right": NEXT,
    "down": NEXT,
    "left": PREVIOUS,
    "up": PREVIOUS,
    "tab": NEXT,
    "shift+tab": PREVIOUS,
    "pagedown": DOWN,
    "pageup": UP,
    "f1": HELP,
    "f2": "*",
    "f3": "/",
    "f4": ".",
    AID_KEY: AID,
    "f10": QUIT,
}


_ARRIVES: Final = re.compile(r"f([1-9]|1[0-2])|ctrl\+[a-z]|home|end|insert|pageup|pagedown")
# In a terminal these are the same keys as tab, rubout and Enter, or belong to it or to typing.
_TAKEN: Final = frozenset({"ctrl+i", "ctrl+h", "ctrl+m", "ctrl+j", "ctrl+z", "ctrl+s", "ctrl+u"})


def arrives(key: str) -> bool:
    """Whether a key arrives from every terminal, so that it may be given a meaning."""
    return _ARRIVES.fullmatch(key) is not None and key not in _TAKEN


def bench_key(event: Key, own: Mapping[str, str] | None = None) -> str | None:
    """The meaning of a key at the bench: a character, a name of this module, or None.

    Args:
        event: The key.
        own: What a person has given to keys that type nothing, by their names.
    """
    if own and event.key in own:
        return own[event.key]
    return named_key(event.key, event.character if event.is_printable else None)


def named_key(key: str, character: str | None) -> str | None:
    """The meaning of a key, by its name and the character that it types."""
    if character is not None and len(character) == 1 and character.isprintable():
        return character
    if len(key) == 1:
        return key
    return _NAMED.get(key)


class Steady:
    """Knows since when Enter would do what it would do now.

    Args:
        pulse: A clock in seconds that never runs back.
    """

    def __init__(self, pulse: Callable[[], float]) -> None:
        self._pulse = pulse
        self._does: Hashable = None
        self._since = pulse() - DEAF_S

    def saw(self, does: Hashable) -> None:
        """Take note of what Enter would do now."""
        if does != self._does:
            self._does = does
            self._since = self._pulse()

    def chose(self, does: Hashable) -> None:
        """Take note of what a hand has just chosen that Enter shall do: no waiting for that."""
        self._does = does
        self._since = self._pulse() - DEAF_S

    def deaf(self, does: Hashable) -> bool:
        """Whether Enter must be ignored."""
        self.saw(does)
        return self._pulse() - self._since < DEAF_S
