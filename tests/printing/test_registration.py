"""A print that is off is cut where it was printed."""

import math
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.geometry.flatten import flatten_path
from jobprep.geometry.outline import Arc, Contour, Path, Point, circle
from jobprep.geometry.shapes import annular_sector
from jobprep.printing.registration import fit_print

CROSSES = (Point(-51, -51), Point(-51, 51), Point(51, 51), Point(51, -51))


def lying(x: float, y: float, turn: float, sx: float, sy: float, at: tuple[float, float]) -> Point:
    """Return where a printed point lies, by the matrix product of numpy."""
    rotation = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    point = rotation @ np.diag([sx, sy]) @ np.array([x, y]) + np.array(at)
    return Point(float(point[0]), float(point[1]))


def points_of(path: Path) -> tuple[Point, ...]:
    return flatten_path(path, 1e-5)


def test_cut_registers_with_a_print_that_is_off() -> None:
    """The print is 0.7 % too long across, 0.4 % up, shifted by 1 mm, turned by 0.5 degrees.

    The crosses are read to 0.02 mm, as with a pointer on the cutter; a cut outline must stay within
    0.05 mm of the printed one. Without the fit it is a millimetre off.
    """
    off = (math.radians(0.5), 1.007, 1.004, (0.8, 0.6))
    chance = random.Random(7)
    for _ in range(20):
        measured = [
            Point(p.x + chance.uniform(-0.02, 0.02), p.y + chance.uniform(-0.02, 0.02))
            for p in (lying(*cross, *off) for cross in CROSSES)
        ]
        fit = fit_print(CROSSES, measured)
        for path in (
            circle(Point(0, 0), 60.0).segments,
            circle(Point(9.4, 53.2), 1.5, clockwise=True).segments,
            annular_sector(10.0, 58.0, 0.3, 2.0).outer.segments,
        ):
            cut = fit.path(path)
            Contour(cut)  # its segments meet
            for point in points_of(cut):
                assert _distance_to_print(point, path, off) < 0.05


def test_an_exact_reading_is_cut_to_two_thousandths() -> None:
    off = (math.radians(0.5), 1.007, 1.004, (0.8, 0.6))
    fit = fit_print(CROSSES, [lying(*cross, *off) for cross in CROSSES])
    assert fit.residual < 1e-9
    path = circle(Point(0, 0), 60.0).segments
    assert all(_distance_to_print(p, path, off) < 0.002 for p in points_of(fit.path(path)))


def _distance_to_print(point: Point, path: Path, off) -> float:  # type: ignore[no-untyped-def]
    """Return how far a cut point is from the printed path: undo the print, then measure."""
    turn, sx, sy, (x, y) = off
    dx, dy = point.x - x, point.y - y
    back = Point(
        (math.cos(turn) * dx + math.sin(turn) * dy) / sx,
        (-math.sin(turn) * dx + math.cos(turn) * dy) / sy,
    )
    return 1.01 * min(_gap(back, segment) for segment in path)


def _gap(point: Point, segment) -> float:  # type: ignore[no-untyped-def]
    if isinstance(segment, Arc):
        angle = math.atan2(point.y - segment.centre.y, point.x - segment.centre.x)
        if abs(segment.sweep) < math.tau - 1e-9:
            turned = (angle - segment.start_angle) * math.copysign(1.0, segment.sweep) % math.tau
            if turned > abs(segment.sweep):
                return min(math.dist(point, segment.start), math.dist(point, segment.end))
        return abs(math.dist(point, segment.centre) - segment.radius)
    (x0, y0), (x1, y1) = segment
    length = math.dist(segment.start, segment.end)
    t = ((point.x - x0) * (x1 - x0) + (point.y - y0) * (y1 - y0)) / length**2
    t = min(1.0, max(0.0, t))
    return math.dist(point, (x0 + t * (x1 - x0), y0 + t * (y1 - y0)))


@given(
    turn=st.floats(-3.1, 3.1),
    scales=st.tuples(st.floats(0.96, 1.04), st.floats(0.96, 1.04)),
    at=st.tuples(st.floats(-300, 300), st.floats(-300, 300)),
    middle=st.tuples(st.floats(-200, 200), st.floats(-200, 200)),
)
@settings(max_examples=80)
def test_what_was_done_to_a_print_is_found_again(turn, scales, at, middle) -> None:  # type: ignore[no-untyped-def]
    drawn = [Point(x + middle[0], y + middle[1]) for x, y in (*CROSSES, Point(7.0, 3.0))]
    fit = fit_print(drawn, [lying(*p, turn, *scales, at) for p in drawn])
    assert (fit.scale_x, fit.scale_y) == pytest.approx(scales, abs=1e-9)
    assert math.remainder(fit.turn - turn, math.tau) == pytest.approx(0.0, abs=1e-9)
    assert fit.shift == pytest.approx(at, abs=1e-6)


@given(st.integers(0, 10_000))
@settings(max_examples=25)
def test_no_other_fit_leaves_less(seed: int) -> None:
    """scipy's general least squares, started at the answer, finds nothing better."""
    optimize = pytest.importorskip("scipy.optimize")
    chance = random.Random(seed)
    off = (chance.uniform(-0.05, 0.05), 1.0 + chance.uniform(-0.01, 0.01), 1.0, (2.0, -1.0))
    drawn = [Point(chance.uniform(-90, 90), chance.uniform(-90, 90)) for _ in range(6)]
    measured = [
        Point(p.x + chance.gauss(0, 0.1), p.y + chance.gauss(0, 0.1))
        for p in (lying(*q, *off) for q in drawn)
    ]

    def left(values):  # type: ignore[no-untyped-def]
        x, y, turn, sx, sy = values
        placed = [lying(*p, turn, sx, sy, (x, y)) for p in drawn]
        return [
            a - b for p, q in zip(placed, measured, strict=True) for a, b in zip(p, q, strict=True)
        ]

    try:
        fit = fit_print(drawn, measured)
    except ValueError as error:
        assert "too close" in str(error)
        return
    ours = [*fit.shift, fit.turn, fit.scale_x, fit.scale_y]
    best = optimize.least_squares(left, ours, xtol=1e-14, ftol=1e-14, gtol=1e-14)
    assert sum(v * v for v in left(ours)) <= 2.0 * best.cost * (1.0 + 1e-9)


@pytest.mark.parametrize(
    ("measured", "told"),
    [
        (CROSSES[:2], "3 crosses or more"),
        (tuple(Point(-x, y) for x, y in CROSSES), "mirrored"),
        (tuple(Point(0.9 * x, 0.9 * y) for x, y in CROSSES), "fitted to the page"),
        ((*CROSSES[:3], Point(math.nan, 0.0)), "not a number"),
    ],
)
def test_what_is_no_print_is_refused(measured: tuple[Point, ...], told: str) -> None:
    with pytest.raises(ValueError, match=told):
        fit_print(CROSSES, measured)


@pytest.mark.parametrize("up", [0.0, 1.0, -0.3])
def test_crosses_on_a_line_are_refused(up: float) -> None:
    line = [Point(x, up * x) for x in (0.0, 50.0, 100.0)]
    with pytest.raises(ValueError, match="on a line"):
        fit_print(line, line)
