"""What tests of the screen share."""

from pathlib import Path

import pytest
from screen_bench import Bench


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    """A shop with two people and a clock moved by hand."""
    return Bench(tmp_path, people=["Bea Mill"])


@pytest.fixture
def every_state() -> Path:
    """A procedure with every kind of step."""
    return Path(__file__).parent / "procedures" / "every-state.yaml"
