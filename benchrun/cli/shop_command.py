"""Commands that answer a text about a shop that is there."""

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING

from benchrun.cli.paths import shop_now

if TYPE_CHECKING:
    from benchrun.moment import Moment
    from benchrun.shop.folder import Shop

Words = Callable[["Shop", "Moment", argparse.Namespace], str]


def shop_command(words: Words) -> Callable[[argparse.Namespace], int]:
    """Make a command of a function that answers a text about a shop."""

    def command(args: argparse.Namespace) -> int:
        shop, now = shop_now(args)
        print(words(shop, now, args))
        return 0

    return command
