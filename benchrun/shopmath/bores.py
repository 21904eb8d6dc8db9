"""Bores: a grid of diameters judged, and roundness by the least-squares circle."""

import math
from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.shopmath.amount import Amount, rounded_to, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.refusals import positive

Point = tuple[float, float]


def bore(
    grid: Sequence[Sequence[Decimal]],
    spacing: Decimal | None = None,
    low: Decimal | None = None,
    high: Decimal | None = None,
) -> Result:
    """Mean, ovality and taper of a bore or a shaft measured in planes and directions.

    ovality = largest − smallest diameter of a plane, the worst plane's; taper = mean of the first
    plane − mean of the last.

    Args:
        grid: Diameters in mm, a row a plane from one end to the other, a column a direction.
        spacing: From plane to plane, mm.
        low: Least diameter, mm.
        high: Largest diameter, mm.

    Returns:
        mean, ovality, taper, largest, smallest and spread in mm, out_of_round (half the ovality),
        taper_rate µm/mm with a spacing, verdict `inside` or `outside` with a limit: every single
        diameter counts.

    Raises:
        BenchrunError: Rows differ in length, or no diameters.
    """
    if not grid or any(len(row) != len(grid[0]) or not row for row in grid):
        raise BenchrunError("every plane needs the same number of diameters")
    values = [value for row in grid for value in row]
    for value in values:
        positive("diameter", value, "mm")
    if max(values) > min(values) * 2:
        raise BenchrunError(
            f"{said(max(values), 'mm')} and {said(min(values), 'mm')} are not of one bore"
        )
    means = [sum(row, Decimal(0)) / len(row) for row in grid]
    ovalities = [max(row) - min(row) for row in grid]
    mean = sum(values, Decimal(0)) / len(values)
    outputs = {
        "mean": Amount(mean, "mm"),
        "ovality": Amount(max(ovalities), "mm"),
        "out_of_round": Amount(max(ovalities) / 2, "mm"),
        "taper": Amount(means[0] - means[-1], "mm"),
        "largest": Amount(max(values), "mm"),
        "smallest": Amount(min(values), "mm"),
        "spread": Amount(max(values) - min(values), "mm"),
    }
    workings = [
        f"plane {number}: mean {said(plane, 'mm')}, ovality {said(oval, 'mm')}"
        for number, (plane, oval) in enumerate(zip(means, ovalities, strict=True), 1)
    ]
    workings.append(f"mean of {len(values)} diameters {said(mean, 'mm')}")
    notes = ["a two-point gauge does not see three lobes: see roundness"]
    if spacing is not None and len(grid) > 1:
        positive("spacing", spacing, "mm")
        rate = (means[0] - means[-1]) * 1000 / (spacing * (len(grid) - 1))
        outputs["taper_rate"] = Amount(rate, "µm/mm")
    if low is not None or high is not None:
        notes += _judge(values, low, high, outputs)
    return Result(outputs, tuple(workings), tuple(notes))


def _judge(
    values: list[Decimal], low: Decimal | None, high: Decimal | None, outputs: dict[str, Amount]
) -> list[str]:
    if low is not None and high is not None and low > high:
        raise BenchrunError(f"low {said(low, 'mm')} is above high {said(high, 'mm')}")
    notes = []
    if low is not None and min(values) < low:
        notes.append(f"smallest {said(min(values), 'mm')} is under {said(low, 'mm')}")
    if high is not None and max(values) > high:
        notes.append(f"largest {said(max(values), 'mm')} is over {said(high, 'mm')}")
    outputs["verdict"] = Amount("outside" if notes else "inside")
    return notes


def circle_through(points: Sequence[Point]) -> tuple[float, float, float]:
    """Least-squares circle: centre and radius with the least sum of squared radial distances.

    Gauss-Newton from the algebraic circle of Kåsa; distances are geometric.

    Raises:
        BenchrunError: Under three points, or the points lie on a line.
    """
    if len(points) < 3:
        raise BenchrunError("a circle needs three points; roundness wants eight and more")
    mx = math.fsum(x for x, _ in points) / len(points)
    my = math.fsum(y for _, y in points) / len(points)
    moved = [(x - mx, y - my) for x, y in points]
    size = max(math.hypot(x, y) for x, y in moved)
    if size == 0:
        raise BenchrunError("all points are the same")
    scaled = [(x / size, y / size) for x, y in moved]
    centre_x, centre_y = _algebraic(scaled)
    radius = math.fsum(math.hypot(x - centre_x, y - centre_y) for x, y in scaled) / len(scaled)
    for _ in range(200):
        step_x, step_y, radius = _improved(scaled, centre_x, centre_y)
        centre_x, centre_y = centre_x + step_x, centre_y + step_y
        if math.hypot(step_x, step_y) < 1e-14 * max(1.0, radius):
            break
    radius = math.fsum(math.hypot(x - centre_x, y - centre_y) for x, y in scaled) / len(scaled)
    return centre_x * size + mx, centre_y * size + my, radius * size


def _algebraic(points: Sequence[Point]) -> Point:
    """Centre of the circle that minimises the algebraic distance, points about their mean."""
    xx = math.fsum(x * x for x, _ in points)
    yy = math.fsum(y * y for _, y in points)
    xy = math.fsum(x * y for x, y in points)
    xz = math.fsum(x * (x * x + y * y) for x, y in points) / 2
    yz = math.fsum(y * (x * x + y * y) for x, y in points) / 2
    spread = xx * yy - xy * xy
    if spread < 1e-9 * (xx + yy) ** 2:
        raise BenchrunError("the points lie on a line or in a short arc: go round the bore")
    return (xz * yy - yz * xy) / spread, (yz * xx - xz * xy) / spread


def _improved(points: Sequence[Point], x0: float, y0: float) -> tuple[float, float, float]:
    """One Gauss-Newton step of the centre, and the mean radius before it."""
    spokes = [(x - x0, y - y0) for x, y in points]
    radii = [math.hypot(x, y) for x, y in spokes]
    if min(radii) == 0:
        raise BenchrunError("a point lies at the centre; look at the list")
    count = len(points)
    mean = math.fsum(radii) / count
    units = [(x / r, y / r) for (x, y), r in zip(spokes, radii, strict=True)]
    ux = math.fsum(u for u, _ in units) / count
    uy = math.fsum(v for _, v in units) / count
    a = math.fsum((u - ux) ** 2 for u, _ in units)
    b = math.fsum((u - ux) * (v - uy) for u, v in units)
    c = math.fsum((v - uy) ** 2 for _, v in units)
    p = math.fsum((u - ux) * (r - mean) for (u, _), r in zip(units, radii, strict=True))
    q = math.fsum((v - uy) * (r - mean) for (_, v), r in zip(units, radii, strict=True))
    spread = a * c - b * b
    if spread < 1e-12:
        raise BenchrunError("the points lie on a line or in a short arc: go round the bore")
    return (p * c - q * b) / spread, (q * a - p * b) / spread, mean


def roundness(
    angles: Sequence[Decimal] | None = None,
    radii: Sequence[Decimal] | None = None,
    points: Sequence[Sequence[Decimal]] | None = None,
) -> Result:
    """Roundness by the least-squares circle.

    roundness = largest − smallest distance of the points from the circle's centre (ISO 12181-1,
    least-squares reference circle, from memory).

    Args:
        angles: Angles in degrees.
        radii: Radii in mm, one an angle.
        points: Points x, y in mm instead.

    Returns:
        centre_x, centre_y, radius, roundness, eccentricity in mm.

    Raises:
        BenchrunError: Neither or both are given, they do not pair, or make no circle.
    """
    if (points is None) == (angles is None or radii is None):
        raise BenchrunError("give angles and radii, or points; one of them")
    if points is not None:
        if any(len(point) != 2 for point in points):
            raise BenchrunError("a point is x and y: 31.02 -0.01; 26.86 15.49; …")
        xy = [(float(x), float(y)) for x, y in points]
    else:
        xy = _from_polar(angles or (), radii or ())
    x, y, radius = circle_through(xy)
    distances = [math.hypot(px - x, py - y) for px, py in xy]
    rounded = max(distances) - min(distances)
    outputs = {
        "centre_x": _length(x),
        "centre_y": _length(y),
        "radius": _length(radius),
        "roundness": _length(rounded),
        "eccentricity": _length(math.hypot(x, y)),
    }
    notes = [] if len(xy) >= 8 else ["fewer than eight points see few lobes"]
    return Result(
        outputs,
        (
            f"{len(xy)} points: radius {outputs['radius'].words}, farthest less nearest "
            f"{outputs['roundness'].words}",
        ),
        tuple(notes),
    )


def _from_polar(angles: Sequence[Decimal], radii: Sequence[Decimal]) -> list[Point]:
    if len(angles) != len(radii):
        raise BenchrunError(f"{len(angles)} angles and {len(radii)} radii do not pair")
    for radius in radii:
        positive("radius", radius, "mm")
    turns = [math.radians(float(angle)) for angle in angles]
    return [
        (float(radius) * math.cos(turn), float(radius) * math.sin(turn))
        for turn, radius in zip(turns, radii, strict=True)
    ]


def _length(value: float) -> Amount:
    # Ten decimals of a millimetre: below what the floating-point sums are good for.
    return Amount(rounded_to(Decimal(repr(value)), 10), "mm")


BORE: Final = Calc(
    "bore",
    "mean, ovality and taper of a bore from a grid of diameters",
    (
        Input("grid", "a row a plane, ; between: 61.972 61.968; 61.969 61.966", "mm", "grid",
              needed=True),
        Input("spacing", "from plane to plane", "mm"),
        Input("low", "least diameter", "mm"),
        Input("high", "largest diameter", "mm"),
    ),
    (
        Output("mean", "mm", "of all diameters"),
        Output("ovality", "mm", "largest less smallest of the worst plane"),
        Output("out_of_round", "mm", "half the ovality"),
        Output("taper", "mm", "mean of the first plane less the last"),
        Output("largest", "mm", "single diameter"),
        Output("smallest", "mm", "single diameter"),
        Output("spread", "mm", "largest less smallest of all"),
        Output("taper_rate", "µm/mm", "taper along the bore"),
        Output("verdict", "", "inside or outside"),
    ),
    bore,
    {
        "grid": "61.972 61.968 61.975 61.970; 61.969 61.966 61.972 61.968; "
                "61.962 61.960 61.966 61.961",
        "spacing": "20", "low": "61.961", "high": "61.991",
    },
    cautions=("Form counts too: a seat inside its limits may be too oval; ask the maker's data.",),
    sources=("definitions: common practice in bore gauging",),
)  # fmt: skip
ROUNDNESS: Final = Calc(
    "roundness",
    "centre, radius and roundness by the least-squares circle",
    (
        Input("angles", "angles", "deg", "numbers"),
        Input("radii", "radii, one an angle", "mm", "numbers"),
        Input("points", "x y of points, ; between, instead", "mm", "points grid"),
    ),
    (
        Output("centre_x", "mm", "of the circle"),
        Output("centre_y", "mm", "of the circle"),
        Output("radius", "mm", "of the circle"),
        Output("roundness", "mm", "farthest less nearest point"),
        Output("eccentricity", "mm", "centre from the origin"),
    ),
    roundness,
    {"angles": "0 45 90 135 180 225 270 315",
     "radii": "31.002 31.000 30.999 31.001 31.002 30.998 31.000 31.001"},
    sources=("least-squares circle, Gauss-Newton from Kåsa's; ISO 12181-1 from memory",),
)  # fmt: skip
