"""Hand-taken points to a measurement.

All values come out of one solution of all points (``_solve``). Their uncertainties come from moving
every point in turn by one standard uncertainty of a reading along x and y and solving again (JCGM
100:2008, 5.1.3, note 2), so that scale, perspective and centre take their share. What one reading
is worth is pooled from how far the points lie off their own circles and lines.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np

from jobprep.errors import InputError
from jobprep.measuring.circle_fit import SHORT_ARC, CircleFit, fit_circle
from jobprep.measuring.ellipse_fit import Ellipse, EllipseFit, fit_ellipse, fit_upright_ellipse
from jobprep.measuring.measured import Floats, Measured, student_factor
from jobprep.measuring.measurement import (
    ColourRing,
    ColourZone,
    Concentricity,
    MeasuredHole,
    Measurement,
    Separation,
)
from jobprep.measuring.plane_map import apply_map, projective_map
from jobprep.model.taken import PointSet
from jobprep.units import TURN, from_degrees, to_degrees, to_dial

WIDE_ARC = from_degrees(270.0)
"""Rim points must span this much before unequal scales or a tilt are solved for."""

SIGNIFICANT = 3.0
"""Standard uncertainties that a scale ratio or tilt must differ by before it is removed."""

STRAY = 5.0
"""Spreads of the other points that one must lie off their circle to be called a stray."""

NO_WAY_OF_Y = (
    'missing, and the wrong one mirrors the disc: write y = "up" (in CSV the row y,up) if y grows '
    'upwards, as from a ruler or on graph paper, or y = "down" (y,down) if it grows downwards, as '
    "pixels of a picture do"
)

TWELVE = math.pi / 2.0

Model = Literal["square", "upright", "tilted"]
Groups = dict[str, list[int]]


@dataclass(slots=True)
class _Solution:
    """Values by key, circle fits by key, and residuals in the units the points were taken in."""

    values: dict[str, float]
    fits: dict[str, CircleFit]
    residuals: list[float]
    degrees_of_freedom: int


def measure_points(taken: PointSet) -> Measurement:
    """Measure a disc from points already read.

    Raises ``InputError`` when they make no disc, or do not say which way y grows.
    """
    if taken.y_down is None:
        raise InputError.of(taken.file, NO_WAY_OF_Y, field="y")
    try:
        with np.errstate(divide="raise", over="raise", invalid="raise"):
            return _measured(taken)
    except ValueError as error:
        raise InputError.of(taken.file, str(error)) from None
    except ArithmeticError:
        message = "its points give no finite result; do some lie on one line, or far from the disc?"
        raise InputError.of(taken.file, message) from None


def _measured(taken: PointSet) -> Measurement:
    xy = np.array([(point.x, point.y) for point in taken.points], dtype=np.float64)
    if taken.y_down:
        xy = xy * (1.0, -1.0)
    groups = _groups(taken)
    warnings: list[str] = []
    model, ratio = _choose_model(xy[groups["rim"]], groups, warnings)
    solution = _solve(xy, groups, taken, model)
    sigma = _reading(taken, solution, warnings)
    uncertainties = _propagate(
        xy, sigma, solution, lambda moved: _solve(moved, groups, taken, model)
    )
    if model == "square" and ratio is not None:
        _widen_for_ratio(solution.values, uncertainties, ratio.uncertainty)
    warnings += _arc_warnings(solution.fits) + _stray_warnings(xy, groups, taken)
    return _measurement(
        taken,
        {key: Measured(value, uncertainties[key]) for key, value in solution.values.items()},
        ratio if model == "upright" else None,
        warnings,
    )


def _groups(taken: PointSet) -> Groups:
    """Return the point numbers by curve, edge (``edge:...``) and hole (``hole:...``)."""
    groups: Groups = {"rim": []}
    for index, point in enumerate(taken.points):
        if point.kind == "separation":
            key = f"edge:{point.label}"
        elif point.kind == "hole":
            key = f"hole:{point.label}"
        else:
            key = point.kind
        groups.setdefault(key, []).append(index)
    return groups


def _choose_model(
    rim: Floats, groups: Groups, warnings: list[str]
) -> tuple[Model, Measured | None]:
    """Decide from the rim whether unequal scales or a tilt must be taken away."""
    if "reference" in groups or len(rim) < 6 or fit_circle(rim).span < WIDE_ARC:
        return "square", None
    upright = fit_upright_ellipse(rim)
    ratio = _ratio(upright, len(rim) - 4)
    if len(rim) >= 8:
        fit = fit_ellipse(rim)
        doubt = math.sqrt(fit.covariance[3, 3]) * student_factor(len(rim) - 5)
        if abs(fit.ellipse.shape[1]) > SIGNIFICANT * doubt:
            long, short = fit.ellipse.semi_axes
            warnings.append(
                f"the rim is an ellipse, {short / long:.4f} as narrow as long, askew to the "
                "picture: the disc was tilted. The tilt is taken away, a perspective is not; take "
                "the picture squarely, or give four reference points"
            )
            return "tilted", ratio
    if abs(ratio.value - 1.0) > SIGNIFICANT * ratio.uncertainty:
        warnings.append(
            f"a unit along x is {ratio.value:.4f} ± {ratio.uncertainty:.4f} of one along y; "
            "this is taken away"
        )
        return "upright", ratio
    return "square", ratio


def _ratio(fit: EllipseFit, freedom: int) -> Measured:
    """Return the length of a unit along x over one along y, seen from an upright ellipse."""
    along, _, across = fit.ellipse.shape
    variance = (
        fit.covariance[2, 2] / along**2
        + fit.covariance[4, 4] / across**2
        - 2.0 * fit.covariance[2, 4] / (along * across)
    )
    value = across / along
    return Measured(value, value * math.sqrt(max(variance, 0.0)) * student_factor(freedom))


def _solve(xy: Floats, groups: Groups, taken: PointSet, model: Model) -> _Solution:
    """Compute every value from the points (y up)."""
    flat, unit = _flattened(xy, groups, taken, model)
    fits = {key: fit_circle(flat[groups[key]]) for key in _circles(groups)}
    centre = np.array(fits["rim"].circle.centre)
    scale = _scale(flat, fits["rim"], groups, taken)
    mm = 1.0 if scale is None else scale
    zero = TWELVE
    if "zero" in groups:
        zero = _line_direction(flat[groups["zero"]] - centre, "zero")[0]
    values = {"outer_diameter": 2.0 * fits["rim"].circle.radius * mm}
    if scale is not None:
        values["scale"] = scale / unit
    residuals: list[float] = []
    freedom = 0
    for key, fit in fits.items():
        if key in ("bore", "inner", "outer"):
            values[key] = 2.0 * fit.circle.radius * mm
        rest = flat[groups[key]] - fit.circle.centre
        residuals += list(np.hypot(*rest.T) - fit.circle.radius)
        freedom += fit.degrees_of_freedom
    if "bore" in fits:
        x, y = (np.array(fits["bore"].circle.centre) - centre) * mm
        values |= {"bore_x": float(x), "bore_y": float(y)}
    for key, indices in groups.items():
        if key.startswith("edge:"):
            direction, off = _line_direction(flat[indices] - centre, key.removeprefix("edge:"))
            values[key] = direction - zero + TWELVE
            residuals += off
            freedom += len(off) - 1
        elif key.startswith("hole:"):
            values |= _hole_values(key, flat[indices], fits.get(key), centre, mm, zero)
    return _Solution(values, fits, [each / unit for each in residuals], freedom)


def _flattened(xy: Floats, groups: Groups, taken: PointSet, model: Model) -> tuple[Floats, float]:
    """Take perspective, tilt or unequal scales away; also return the mean enlargement."""
    if "reference" in groups:
        indices = groups["reference"]
        known = [list(map(float, taken.points[index].label.split())) for index in indices]
        matrix = projective_map(xy[indices], np.array(known, dtype=np.float64))
        flat = apply_map(matrix, xy)
        rim = groups["rim"]
        unit = fit_circle(flat[rim]).circle.radius / fit_circle(xy[rim]).circle.radius
        return flat, unit
    if model == "square":
        return xy, 1.0
    fit = fit_ellipse if model == "tilted" else fit_upright_ellipse
    ellipse: Ellipse = fit(xy[groups["rim"]]).ellipse
    size = math.prod(ellipse.semi_axes) ** 0.5
    return (xy - ellipse.centre) @ np.linalg.inv(ellipse.matrix) * size, 1.0


def _circles(groups: Groups) -> list[str]:
    return [
        key
        for key, indices in groups.items()
        if key in ("rim", "bore", "inner", "outer")
        or (key.startswith("hole:") and len(indices) >= 3)
    ]


def _scale(flat: Floats, rim: CircleFit, groups: Groups, taken: PointSet) -> float | None:
    """Return mm per flattened unit: from the rim's diameter, else distances, else references."""
    if taken.diameter is not None:
        return taken.diameter / (2.0 * rim.circle.radius)
    if "scale" in groups:
        ends = groups["scale"]
        lengths = np.hypot(*(flat[ends[::2]] - flat[ends[1::2]]).T)
        known = np.array([float(taken.points[index].label) for index in ends[::2]])
        if not (lengths > 0.0).all():
            raise ValueError("scale: both ends of a distance lie on one point")
        return float((known @ lengths) / (lengths @ lengths))
    return 1.0 if "reference" in groups else None


def _line_direction(offsets: Floats, label: str) -> tuple[float, list[float]]:
    """Return the direction of the ray from the centre nearest to points, and how far they lie off.

    Least squared distances from a line through the centre weigh each point's angle with its
    squared radius.
    """
    x, y = offsets.T
    direction = 0.5 * math.atan2(2.0 * float(x @ y), float(x @ x - y @ y))
    along = np.array([math.cos(direction), math.sin(direction)])
    reach = offsets @ along
    if reach.sum() < 0.0:
        direction, along, reach = direction + math.pi, -along, -reach
    if (reach <= 0.0).any():
        raise ValueError(
            f"{label}: its points lie on both sides of the centre; give each side its own label"
        )
    return direction, [float(each) for each in offsets @ np.array([-along[1], along[0]])]


def _hole_values(
    key: str, points: Floats, fit: CircleFit | None, centre: Floats, mm: float, zero: float
) -> dict[str, float]:
    middle = points.mean(axis=0) if fit is None else np.array(fit.circle.centre)
    x, y = middle - centre
    values = {
        f"{key}.radius": math.hypot(x, y) * mm,
        f"{key}.direction": math.atan2(y, x) - zero + TWELVE,
    }
    if fit is not None:
        values[f"{key}.diameter"] = 2.0 * fit.circle.radius * mm
    elif len(points) == 2:
        values[f"{key}.diameter"] = math.dist(*points) * mm
    return values


def _reading(taken: PointSet, solution: _Solution, warnings: list[str]) -> float:
    """Return the standard uncertainty of one reading, in the points' units."""
    if taken.reading is not None:
        return taken.reading
    if solution.degrees_of_freedom == 0:
        warnings.append(
            "too few points to tell how good they are, so no uncertainty is known: take more "
            "points, or give the uncertainty of a reading (reading)"
        )
        return math.inf
    residuals = np.array(solution.residuals)
    spread = math.sqrt(float(residuals @ residuals) / solution.degrees_of_freedom)
    return spread * student_factor(solution.degrees_of_freedom)


def _propagate(
    xy: Floats, sigma: float, solution: _Solution, solve: Callable[[Floats], _Solution]
) -> dict[str, float]:
    if not math.isfinite(sigma):
        return dict.fromkeys(solution.values, math.inf)
    squares = dict.fromkeys(solution.values, 0.0)
    step = max(sigma, 1e-9 * float(np.ptp(xy)))
    for index in range(len(xy)):
        for axis in (0, 1):
            moved = xy.copy()
            moved[index, axis] += step
            for key, value in solve(moved).values.items():
                change = value - solution.values[key]
                if key.startswith("edge:") or key.endswith(".direction"):
                    change = math.remainder(change, TURN)
                squares[key] += (change / step * sigma) ** 2
    return {key: math.sqrt(square) for key, square in squares.items()}


def _widen_for_ratio(values: dict[str, float], uncertainties: dict[str, float], u: float) -> None:
    """Let an unequal scale that could not be seen count against every direction.

    A ratio 1 + e bends a direction by e / 2 sin(2 direction), at most.
    """
    for key, value in values.items():
        if key.startswith("edge:") or key.endswith(".direction"):
            bend = 0.5 * u * math.sin(2.0 * value)
            uncertainties[key] = math.hypot(uncertainties[key], bend)


def _arc_warnings(fits: dict[str, CircleFit]) -> list[str]:
    return [
        f"{key.removeprefix('hole:') or 'hole'}: its points span only "
        f"{to_degrees(fit.span):.0f}°; below {to_degrees(SHORT_ARC):.0f}° radius and centre are "
        "poorly known, take points all round"
        for key, fit in fits.items()
        if fit.is_short_arc
    ]


def _stray_warnings(xy: Floats, groups: Groups, taken: PointSet) -> list[str]:
    """Return a warning for each point that lies far off the circle of the others."""
    found = []
    for key in ("rim", "bore", "inner", "outer"):
        indices = groups.get(key, [])
        if len(indices) < 8 or "reference" in groups or fit_circle(xy[indices]).span < WIDE_ARC:
            continue
        for index in indices:
            others = xy[[each for each in indices if each != index]]
            fit = fit_ellipse(others)
            lengths = (xy[index] - fit.ellipse.centre) @ np.linalg.inv(fit.ellipse.matrix)
            off = (math.hypot(*lengths) - 1.0) * math.prod(fit.ellipse.semi_axes) ** 0.5
            if abs(off) > STRAY * fit.spread + 1e-9 * abs(fit.ellipse.semi_axes[0]):
                point = taken.points[index]
                where = f"line {point.line}" if point.line else f"{point.x:g}, {point.y:g}"
                found.append(
                    f"{key} point at {where} lies {abs(off):.3g} off the circle of the others, "
                    f"{abs(off) / max(fit.spread, 1e-300):.0f} times their spread: a slip?"
                )
    return found


def _measurement(
    taken: PointSet, values: dict[str, Measured], ratio: Measured | None, warnings: list[str]
) -> Measurement:
    if "scale" not in values:
        warnings.append(
            "no scale: lengths are in the units of the points; give the diameter or a distance"
        )
    return Measurement(
        name=taken.name or Path(taken.file).stem,
        outer_diameter=values["outer_diameter"],
        bore_diameter=values.get("bore"),
        concentricity=_concentricity(values),
        rings=_rings(taken, values),
        holes=tuple(
            MeasuredHole(
                name=label or "index",
                diameter=values.get(f"hole:{label}.diameter"),
                radius=values[f"hole:{label}.radius"],
                direction=values[f"hole:{label}.direction"],
            )
            for label in taken.labels("hole")
        ),
        scale=values.get("scale"),
        pixel_ratio=ratio,
        warnings=tuple(warnings),
    )


def _concentricity(values: dict[str, Measured]) -> Concentricity | None:
    if "bore_x" not in values:
        return None
    x, y = values["bore_x"], values["bore_y"]
    offset = math.hypot(x.value, y.value)
    u = max(x.uncertainty, y.uncertainty)
    return Concentricity(
        offset=Measured(offset, u), direction=math.atan2(y.value, x.value) if offset else 0.0
    )


def _rings(taken: PointSet, values: dict[str, Measured]) -> tuple[ColourRing, ...]:
    labels = sorted(
        taken.labels("separation"), key=lambda each: to_dial(values[f"edge:{each}"].value)
    )
    inner, outer = values.get("inner"), values.get("outer")
    if not labels and inner is None and outer is None:
        return ()
    edges = tuple(
        Separation(name=label, direction=_wrapped(values[f"edge:{label}"])) for label in labels
    )
    zones = tuple(ColourZone(name=label) for label in labels) or (ColourZone(),)
    return (ColourRing(inner_diameter=inner, outer_diameter=outer, edges=edges, zones=zones),)


def _wrapped(direction: Measured) -> Measured:
    return Measured(math.remainder(direction.value, TURN), direction.uncertainty)
