"""Prints the lowest version that pyproject.toml states of each dependency, for pip to keep to."""

import re
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
STATED = re.compile(r"([A-Za-z0-9._-]+)(?:\[[^]]*\])?\s*(?:>=|==)\s*([0-9.]+)")

project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
for dependency in project["dependencies"]:
    match = STATED.match(dependency)
    if match is None:
        sys.exit(f"{dependency}: no lowest version is stated")
    sys.stdout.write(f"{match[1]}=={match[2]}\n")
