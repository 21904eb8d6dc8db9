"""What reading and the sums cost, against Decimal, the statistics module and a bare interpreter."""

import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from decimal import Decimal

import pytest

from benchrun.quantity import convert, read
from benchrun.shopmath.catalogue import CALCS
from benchrun.shopmath.spread import deviation_of

pytestmark = pytest.mark.bench


def told(name: str, ours: float, floor: float, unit: str) -> None:
    print(f"bench {name} ratio={ours / floor:.2f} ours={ours:.3g} floor={floor:.3g} unit={unit}")


def each(act: Callable[[], object], times: int) -> float:
    """Median microseconds of a call over five rounds."""
    rounds = []
    for _ in range(5):
        begin = time.perf_counter()
        for _ in range(times):
            act()
        rounds.append((time.perf_counter() - begin) / times * 1e6)
    return statistics.median(rounds)


def test_reading_a_typed_value_against_decimal_alone():
    ours = each(lambda: read("61.968", "mm"), 5000)
    told("read-typed", ours, each(lambda: Decimal("61.968"), 5000), "us")


def test_converting_exactly_against_a_decimal_product():
    value, factor = Decimal("1.0012"), Decimal("25.4")
    ours = each(lambda: convert(value, "in", "mm"), 5000)
    told("convert-exact", ours, each(lambda: value * factor, 5000), "us")


def test_a_thousand_readings_against_the_statistics_module():
    values = [Decimal(10_000_000) + Decimal(n % 3) / 10 for n in range(1001)]
    ours = each(lambda: deviation_of(values), 5)
    told("deviation-1001", ours, each(lambda: statistics.stdev(values), 5), "us")


def test_the_slowest_example_of_all_sums():
    timed = {
        name: each(lambda calc=calc: calc.work(calc.example), 50) for name, calc in CALCS.items()
    }
    slowest = max(timed, key=timed.__getitem__)
    told(f"slowest-sum-{slowest}", timed[slowest], min(timed.values()), "us")


def test_importing_the_sums_against_a_bare_interpreter():
    def start(code: str) -> float:
        begin = time.perf_counter()
        subprocess.run([sys.executable, "-c", code], check=True)
        return (time.perf_counter() - begin) * 1000

    ours = statistics.median(start("import benchrun.shopmath") for _ in range(7))
    told("import-shopmath", ours, statistics.median(start("pass") for _ in range(7)), "ms")
