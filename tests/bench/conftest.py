"""What is timed starts as an installed program does: its modules compiled before, once."""

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

EVERY_MODULE = """
import importlib, pkgutil, benchrun
for one in pkgutil.walk_packages(benchrun.__path__, "benchrun."):
    if not one.name.endswith("__main__"):
        importlib.import_module(one.name)
"""


@pytest.fixture(scope="session", autouse=True)
def compiled(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A folder of compiled modules, filled; what pip does as it installs.

    Where nothing may be compiled, or only beside the sources, every start would compile the program
    anew, and the timings would be of Python's compiler.
    """
    kept = tmp_path_factory.mktemp("compiled")
    before = dict(os.environ)
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    os.environ["PYTHONPYCACHEPREFIX"] = str(kept)
    subprocess.run([sys.executable, "-c", EVERY_MODULE], check=True)
    yield kept
    os.environ.clear()
    os.environ.update(before)
