"""What tests of all areas share."""

import os
import sys
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from benchrun.record import keys

settings.register_profile(
    "usual", deadline=None, suppress_health_check=[HealthCheck.too_slow], print_blob=True
)
# The same commit gets the same answer wherever it is judged; elsewhere the draws stay random.
settings.register_profile("judged", settings.get_profile("usual"), derandomize=True)
settings.load_profile("judged" if os.environ.get("CI") else "usual")

# Keys made in tests guard nothing, and most of what a signature costs is its passphrase.
keys._ROUNDS = 1

# What is made before a test begins, or beside it, keeps no anchors in the person's own folder.
_STATE = tempfile.TemporaryDirectory(prefix="benchrun-tests-state-")
os.environ["BENCHRUN_STATE"] = _STATE.name
os.environ["BENCHRUN_CACHE"] = _STATE.name

ROOT = Path(__file__).resolve().parent.parent


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """Spread the whole suite over the cores; timings and chosen tests run in one process."""
    whole = config.args_source is pytest.Config.ArgsSource.TESTPATHS
    timed = "not bench" not in (config.option.markexpr or "")
    return min(4, os.cpu_count() or 1) if whole and not timed else 0


@pytest.fixture(scope="session")
def root() -> Path:
    """The project's own folder."""
    return ROOT


@pytest.fixture(scope="session")
def benchrun() -> str:
    """The installed program."""
    return str(Path(sys.executable).with_name("benchrun"))


@pytest.fixture(autouse=True)
def _no_shop_of_the_person(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """No test may touch the shop of whoever runs it."""
    monkeypatch.setenv("BENCHRUN_SHOP", str(tmp_path / "unmade-shop"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("BENCHRUN_STATE", str(tmp_path / "state"))
    os.environ.pop("NO_COLOR", None)
