"""The band of a dwell's limits is drawn as far as they reach."""

import re
from decimal import Decimal

import pytest

from benchrun.report.plots import LABEL, RIGHT, WIDTH, Spell, spells_plot

HOUR = 3_600_000


@pytest.mark.parametrize(
    ("least", "most", "begins", "ends"),
    [
        (HOUR, 3 * HOUR, HOUR, 3 * HOUR),
        (HOUR, None, HOUR, None),
        (None, 3 * HOUR, 0, 3 * HOUR),
    ],
)
def test_a_band_reaches_from_least_to_most_or_to_the_edge(least, most, begins, ends):
    svg = spells_plot([Spell("tub", 2 * HOUR, 2 * HOUR, least, most, "in time")], "t")
    x, width = map(
        Decimal, re.search(r'class="band" x="([\d.]+)".*? width="([\d.]+)"', svg).groups()
    )
    hour = (Decimal(re.search(r'class="proven".*? width="([\d.]+)"', svg)[1])) / 2
    near = Decimal("0.3")
    assert abs(x - (LABEL + hour * begins / HOUR)) < near
    end = WIDTH - RIGHT if ends is None else LABEL + hour * ends / HOUR
    assert abs(x + width - end) < near


def test_a_dwell_without_limits_has_no_band():
    assert "band" not in spells_plot([Spell("tub", HOUR, HOUR, None, None, "in time")], "t")
