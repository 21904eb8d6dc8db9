"""A shop of invented things, made anew for each test."""

from pathlib import Path

import pytest

from benchrun.record.clock import VirtualClock
from benchrun.shop.folder import Shop
from benchrun.signing_keys import enrol, new_shop


@pytest.fixture
def clock() -> VirtualClock:
    return VirtualClock("2026-03-10T08:00:00.000Z")


@pytest.fixture
def shop(tmp_path: Path, clock: VirtualClock) -> Shop:
    return new_shop(tmp_path / "shop", "Trailer shed", clock.now())


@pytest.fixture
def person(shop: Shop, clock: VirtualClock):
    return enrol(shop, "Somebody", clock.now(), passphrase="word")


@pytest.fixture
def write(shop: Shop):
    """Write a file of the shop and give its path."""

    def put(name: str, text: str) -> Path:
        path = shop.path / name
        path.write_text(text, "utf-8")
        return path

    return put
