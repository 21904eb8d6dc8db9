"""A shop with a folder for runs, made anew for each test."""

import pytest


@pytest.fixture
def shop(tmp_path):
    """The folder of a shop without runs."""
    (tmp_path / "runs").mkdir()
    return tmp_path
