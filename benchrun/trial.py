"""A throw-away shop to look round in: one invented person, whose passphrase is told."""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from benchrun.enrol import enrol, new_shop
from benchrun.moment import Moment
from benchrun.shop.folder import Shop
from benchrun.shop.people import Person

PASSPHRASE: Final = "1234"  # noqa: S105  # it opens a key that is thrown away with its shop
TITLE: Final = "Trial shop"
_NAME: Final = "Trial Hand"  # invented
_CHECKER: Final = "Trial Checker"  # invented


@dataclass(frozen=True, slots=True)
class Trial:
    """A throw-away shop and its people; all open their keys with `PASSPHRASE`."""

    shop: Shop
    person: Person
    checker: Person


@contextmanager
def trial_shop(at: Moment) -> Iterator[Trial]:
    """Make a throw-away shop; it is gone when the context ends."""
    with tempfile.TemporaryDirectory(prefix="benchrun-trial-") as place:
        shop = new_shop(Path(place) / "shop", TITLE, at)
        person = enrol(shop, _NAME, at, passphrase=PASSPHRASE)
        checker = enrol(shop, _CHECKER, at, passphrase=PASSPHRASE)
        yield Trial(shop, person, checker)
