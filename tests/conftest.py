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
os.environ["BENCHRUN_SCREEN"] = str(Path(_STATE.name) / "settings" / "screen.yaml")

ROOT = Path(__file__).resolve().parent.parent


# The files that take longest, so that none of them is left for the end while a core has nothing.
LONGEST = (
    "screen/test_random_keys.py",
    "session/test_every_cut.py",
    "procedures/test_rehearsals.py",
    "record/test_check.py",
    "run/test_urgency.py",
    "face/test_install.py",
    "run/test_properties.py",
    "face/test_stock_tools.py",
    "plan/test_solver.py",
    "face/test_streams.py",
    "record/test_log_kills.py",
    "run/test_alarm_book.py",
    "face/test_two_windows.py",
    "plain/test_plain_looking.py",
    "screen/test_one_step_back.py",
    "procedures/test_limits.py",
    "release/test_command_line.py",
    "screen/test_whole_runs.py",
    "face/test_kills.py",
    "record/test_two_readings.py",
    "shop/test_shop_commands.py",
    "screen/test_expected_pages.py",
    "screen/test_terminal.py",
    "screen/test_moments.py",
    "release/test_terminals.py",
    "procedures/test_works_alone.py",
    "record/test_format.py",
    "face/test_commands.py",
    "session/test_repair_cuts.py",
    "face/test_words.py",
    "procedures/test_sample_shop.py",
)


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """Spread the whole suite over the cores; timings and chosen tests run in one process.

    Much of it waits for a terminal or a disk, so there is one process more than cores.
    """
    whole = config.args_source is pytest.Config.ArgsSource.TESTPATHS
    timed = "not bench" not in (config.option.markexpr or "")
    return min(4, (os.cpu_count() or 1) + 1) if whole and not timed else 0


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the files that take longest first."""
    places = {ROOT / "tests" / name: place for place, name in enumerate(LONGEST)}
    items.sort(key=lambda item: places.get(item.path, len(LONGEST)))


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
    """No test may touch the shop or the settings of whoever runs it, or of another test."""
    monkeypatch.setenv("BENCHRUN_SHOP", str(tmp_path / "unmade-shop"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("BENCHRUN_STATE", str(tmp_path / "state"))
    monkeypatch.setenv("BENCHRUN_SCREEN", str(tmp_path / "settings" / "screen.yaml"))
    os.environ.pop("NO_COLOR", None)
