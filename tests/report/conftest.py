"""Worked runs, made once for all tests of reports."""

import pytest
from worked_runs import troubled


@pytest.fixture(scope="session")
def work(tmp_path_factory):
    """A closed run with much trouble in it."""
    return troubled(tmp_path_factory.mktemp("troubled"))


@pytest.fixture(scope="session")
def folder(work):
    """Its folder."""
    return work.folder
