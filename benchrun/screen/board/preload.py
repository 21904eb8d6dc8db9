"""What goes on beside the board while it stands, on a thread of its own."""

import gc
from importlib import import_module
from typing import Final

from benchrun.shop.folder import Shop

_NEXT: Final = (
    "benchrun.screen.run.follow",
    "benchrun.screen.begin.pane",
    "benchrun.screen.past.menus",
    "benchrun.screen.book.screen",
)
"""What the next key may open."""


def import_ahead() -> None:
    """Import what the next key may open: the hand would wait a tenth of a second for it.

    All that is there then stays, so Python's search for cycles leaves it out from now on: going
    through it again holds a key up for a twentieth of a second now and then.
    """
    for name in _NEXT:
        import_module(name)
    gc.freeze()


def update_index(shop: Shop) -> None:
    """Take what is new in the logs into the index."""
    from benchrun.history import estimates

    estimates.keep_up(shop.path)
