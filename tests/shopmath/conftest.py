"""Reference tables for the sums, read once."""

import csv
from decimal import Decimal
from pathlib import Path

import pytest

HERE = Path(__file__).parent


@pytest.fixture(scope="session")
def rows():
    """Rows of one of the CSV files beside this one."""

    def of(name):
        with (HERE / f"{name}.csv").open(encoding="utf-8", newline="") as lines:
            return list(csv.DictReader(lines))

    return of


@pytest.fixture(scope="session")
def nist():
    """One data set of NIST's StRD: certified mean, certified s, values."""

    def of(name):
        lines = (HERE / "nist" / f"{name}.dat").read_text("ascii").splitlines()
        mean = next(line for line in lines if line.startswith("Sample Mean")).split()[-1]
        spread = next(line for line in lines if line.startswith("Sample Standard")).split()[-1]
        start = max(number for number, line in enumerate(lines) if line.startswith("-----")) + 1
        values = [Decimal(line.strip()) for line in lines[start:] if line.strip()]
        return Decimal(mean), Decimal(spread), values

    return of
