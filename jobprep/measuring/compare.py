"""Lay a design over the photograph of a finished copy and measure how far it is off."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import numpy as np

from jobprep.measuring.measured import Measured
from jobprep.measuring.overlay import DOUBTFUL, EDGE, HOLE, RIM, Canvas
from jobprep.measuring.photo import PhotoMeasurement, measure_photo
from jobprep.model import Design, Layer
from jobprep.model.taken import NO_CORRECTIONS, Corrections
from jobprep.units import TURN, from_degrees, number, to_dial

FARTHEST = from_degrees(6.0)
"""How far from its place a separation is still taken for that of the design."""

FARTHEST_HOLE = 0.12
"""The same for holes, in disc radii."""


class Deviation(NamedTuple):
    """Copy less design: radians anticlockwise for a direction, mm for a length.

    ``found`` is None where the photograph shows nothing that could be it.
    """

    what: str
    kind: str
    design: float
    found: Measured | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """A design against a photograph.

    ``turn`` is how far the copy lay turned in the picture (radians, anticlockwise), with its
    uncertainty; it is taken out of all directions. ``surplus`` are dial directions, in the design,
    of separations that the design does not have.
    """

    deviations: tuple[Deviation, ...]
    turn: Measured
    surplus: tuple[float, ...]
    photo: PhotoMeasurement
    warnings: tuple[str, ...]


def compare_photo(
    design: Design, path: Path, corrections: Corrections = NO_CORRECTIONS
) -> Comparison:
    """Measure the photograph of a copy and set it against its design.

    The rim's diameter is taken from the design: a photograph knows no millimetres.
    """
    photo = measure_photo(path, design.outer_diameter, corrections)
    return compare_measurement(design, photo)


def compare_measurement(design: Design, photo: PhotoMeasurement) -> Comparison:
    """Set a measured photograph against a design."""
    wanted = _separations(design)
    found = [edge.direction for ring in photo.measurement.rings for edge in ring.edges]
    turn = _turn([angle for _, angle in wanted], found)
    taken: set[int] = set()
    deviations = [_matched(what, angle, found, turn, taken) for what, angle in wanted]
    deviations += _lengths(design, photo)
    deviations += _holes(design, photo, turn)
    matched = [each for each in deviations if each.kind == "direction" and each.found is not None]
    spread = [each.found.uncertainty for each in matched if each.found is not None]
    error = math.sqrt(sum(u * u for u in spread)) / len(spread) if spread else math.inf
    surplus = tuple(
        to_dial(each.value - turn)
        for index, each in enumerate(found)
        if index not in taken and not _is_design_edge(each.value - turn, wanted)
    )
    missing = [each.what for each in deviations if each.found is None]
    said = list(photo.measurement.warnings)
    if missing:
        said.append("not seen in the photograph: " + ", ".join(missing))
    if surplus:
        dials = ", ".join(f"{number(dial, 1)}°" for dial in surplus)
        said.append(f"seen, but not in the design: separations at {dials}")
    return Comparison(
        deviations=tuple(deviations),
        turn=Measured(turn, error),
        surplus=surplus,
        photo=photo,
        warnings=tuple(said),
    )


def comparison_png(design: Design, comparison: Comparison) -> bytes:
    """Return the photograph with the design drawn over it, as PNG.

    The design is drawn solid, turned as the copy lies; what the photograph shows is dashed red.
    """
    photo = comparison.photo
    canvas = Canvas(photo.picture, photo.plane)
    unit = 2.0 / design.outer_diameter
    canvas.circle(0.0, 0.0, 1.0, RIM)
    for layer in design.layers:
        inner, outer = _reach(design, layer)
        for direction in _layer_edges(layer):
            canvas.ray(direction + comparison.turn.value, inner, outer, EDGE)
        for diameter in (layer.inner_diameter, layer.outer_diameter):
            if diameter is not None and diameter < design.outer_diameter:
                canvas.circle(0.0, 0.0, diameter / 2.0 * unit, RIM)
    for hole in design.holes:
        angle, radius = hole.direction + comparison.turn.value, hole.radius * unit
        x, y = radius * math.cos(angle), radius * math.sin(angle)
        canvas.circle(x, y, hole.diameter / 2.0 * unit, HOLE)
    for limits, edges in zip(photo.rings, photo.edges, strict=True):
        for edge in edges:
            canvas.ray(edge.direction, limits.inner, limits.outer, DOUBTFUL, dashed=True)
    for each in photo.holes:
        canvas.circle(each.x, each.y, each.radius, DOUBTFUL, dashed=True)
    return canvas.png()


def _separations(design: Design) -> list[tuple[str, float]]:
    """Return every separation of the design between two different films, by name."""
    return [
        (f"{layer.name}, edge {index}", direction)
        for layer in design.layers
        for index, direction in enumerate(_layer_edges(layer), start=1)
    ]


def _layer_edges(layer: Layer) -> list[float]:
    """Return the leading edges of sectors that differ from the one before."""
    edges, direction = [], layer.start
    for index, sector in enumerate(layer.sectors):
        if sector.film != layer.sectors[index - 1].film:
            edges.append(direction)
        direction -= sector.angle
    return edges


def _reach(design: Design, layer: Layer) -> tuple[float, float]:
    outer = layer.outer_diameter / design.outer_diameter
    inner = 0.05 if layer.inner_diameter is None else layer.inner_diameter / design.outer_diameter
    return inner, outer


def _turn(wanted: list[float], found: list[Measured]) -> float:
    """Return the turn that brings most separations together, then their median rest."""
    if not wanted or not found:
        return 0.0
    best, best_score = 0.0, -1.0
    directions = np.array([each.value for each in found])
    for want in wanted:
        for seen in directions:
            turn = math.remainder(seen - want, TURN)
            off = _remainders(directions[:, None] - turn - np.array(wanted))
            nearest = np.abs(off).min(axis=0)
            # a little in favour of the smallest turn, for discs that repeat themselves
            score = float(np.exp(-((nearest / from_degrees(0.7)) ** 2)).sum()) - 0.05 * abs(turn)
            if score > best_score:
                best, best_score = turn, score
    off = _remainders(directions[:, None] - best - np.array(wanted))
    nearest = off[np.abs(off).argmin(axis=0), np.arange(len(wanted))]
    return best + float(np.median(nearest[np.abs(nearest) < FARTHEST]))


def _remainders(angles: np.ndarray) -> np.ndarray:
    return (angles + math.pi) % TURN - math.pi


def _matched(
    what: str, angle: float, found: list[Measured], turn: float, taken: set[int]
) -> Deviation:
    near = [
        (abs(math.remainder(each.value - turn - angle, TURN)), index)
        for index, each in enumerate(found)
        if index not in taken
    ]
    if not near or min(near)[0] > FARTHEST:
        return Deviation(what, "direction", angle, None)
    index = min(near)[1]
    taken.add(index)
    off = math.remainder(found[index].value - turn - angle, TURN)
    return Deviation(what, "direction", angle, Measured(off, found[index].uncertainty))


def _is_design_edge(direction: float, wanted: list[tuple[str, float]]) -> bool:
    """Say whether a second ring only shows a separation again."""
    return any(
        abs(math.remainder(direction - angle, TURN)) < from_degrees(1.0) for _, angle in wanted
    )


def _lengths(design: Design, photo: PhotoMeasurement) -> list[Deviation]:
    found = photo.measurement
    deviations = []
    bore = getattr(design.bore, "diameter", None)
    if bore is not None:
        off = found.bore_diameter
        deviations.append(
            Deviation(
                "bore diameter",
                "length",
                bore,
                None if off is None else Measured(off.value - bore, off.uncertainty),
            )
        )
    limits = [
        across
        for ring in found.rings
        for across in (ring.inner_diameter, ring.outer_diameter)
        if across is not None
    ]
    for layer in design.layers:
        for side, diameter in (("inner", layer.inner_diameter), ("outer", layer.outer_diameter)):
            if diameter is None or diameter >= design.outer_diameter * 0.999:
                continue
            nearest = min(limits, key=lambda each: abs(each.value - diameter), default=None)
            seen = nearest is not None and abs(nearest.value - diameter) < 0.1 * diameter
            deviations.append(
                Deviation(
                    f"{layer.name}, {side} diameter",
                    "length",
                    diameter,
                    Measured(nearest.value - diameter, nearest.uncertainty)
                    if seen and nearest is not None
                    else None,
                )
            )
    return deviations


def _holes(design: Design, photo: PhotoMeasurement, turn: float) -> list[Deviation]:
    deviations = []
    for hole in design.holes:
        at = np.array([math.cos(hole.direction), math.sin(hole.direction)]) * hole.radius
        best = None
        for each in photo.measurement.holes:
            angle = each.direction.value - turn
            place = np.array([math.cos(angle), math.sin(angle)]) * each.radius.value
            apart = float(np.hypot(*(place - at)))
            if apart < FARTHEST_HOLE * design.outer_diameter / 2.0 and (
                best is None or apart < best[0]
            ):
                best = (apart, each)
        name = f"hole {hole.name}"
        if best is None:
            deviations.append(Deviation(f"{name}, direction", "direction", hole.direction, None))
            continue
        seen = best[1]
        off = math.remainder(seen.direction.value - turn - hole.direction, TURN)
        deviations += [
            Deviation(
                f"{name}, direction",
                "direction",
                hole.direction,
                Measured(off, seen.direction.uncertainty),
            ),
            Deviation(
                f"{name}, radius",
                "length",
                hole.radius,
                Measured(seen.radius.value - hole.radius, seen.radius.uncertainty),
            ),
        ]
        if seen.diameter is not None:
            deviations.append(
                Deviation(
                    f"{name}, diameter",
                    "length",
                    hole.diameter,
                    Measured(seen.diameter.value - hole.diameter, seen.diameter.uncertainty),
                )
            )
    return deviations
