"""The machine from the front: its dial, the disc at the start of its clock, sensor and windows."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from jobprep.disc.apertures import window_region, windows_of
from jobprep.disc.index import index_hole
from jobprep.disc.turning import turning_of
from jobprep.disc.zones import clockwise_angle
from jobprep.drawing.drawing import Element, Fill, Group, Pen, Stroke, straight
from jobprep.drawing.svg import width_of
from jobprep.geometry.affine import moving, scaling
from jobprep.geometry.measure import Bounds, centroid, region_bounds
from jobprep.geometry.outline import Arc, Path, Point, circle, polygon
from jobprep.model.design import Design
from jobprep.model.machine import Machine, MachineWindow
from jobprep.report.diagram import FONT, MARK, OUTLINE, RADIUS, Diagram, words
from jobprep.report.disc_labels import point_at
from jobprep.units import from_degrees, to_dial

ARROW = 1.12 * RADIUS
"""The circle on which the arrow of rotation runs."""
SWEEP = from_degrees(50.0)
FRAME = 1.3 * RADIUS
"""Half the side of the machine's frame where nothing reaches further."""
SENSOR = 4.0


def machine_diagram(design: Design, disc: Sequence[Element]) -> Diagram | None:
    """Draw a machine from the front of its disc; None where no machine is given.

    ``disc`` are the elements of the disc as its design has it, its radius ``RADIUS``.
    """
    machine = design.machine
    if machine is None:
        return None
    scale = 2.0 * RADIUS / design.outer_diameter
    turning = turning_of(design)
    windows = windows_of(design)
    half = max([FRAME, *(_reach(each, scale) for each in windows)])
    corners = ((-half, -half), (half, -half), (half, half), (-half, half))
    elements: list[Element] = [
        Stroke(paths=(polygon(corners).segments,), closed=True, pen=Pen(1.2)),
        Group(elements=tuple(disc), place=moving(turning.base, 0.0, 0.0)),
        *_arrow(turning.sense),
        *_windows(windows, scale),
        *_sensor(design, machine, scale),
    ]
    return Diagram(
        name=f"The machine of {design.name}, seen from the front of the disc",
        frame=Bounds(-half - 2.0, -half - 2.0, half + 2.0, half + 2.0),
        elements=tuple(elements),
        notes=tuple(_notes(design, machine)),
    )


def _reach(window: MachineWindow, scale: float) -> float:
    box = region_bounds(window_region(window))
    return scale * max(map(abs, box)) + 6.0


def _windows(windows: Sequence[MachineWindow], scale: float) -> Iterator[Element]:
    for window in windows:
        region = window_region(window)
        paths = tuple(contour.segments for contour in region.contours)
        outline = Stroke(paths=paths, closed=True, pen=Pen(2.0 / scale, MARK))
        yield Group(elements=(outline,), place=scaling(scale))
        x, y = centroid(region)
        half = (width_of(window.name, FONT) + 8.0) / 2.0
        corners = ((-half, -0.75 * FONT), (half, -0.75 * FONT), (half, 0.75 * FONT))
        box = polygon((*corners, (-half, 0.75 * FONT))).segments
        label = (
            Fill(paths=(box,), colour="#ffffff", opacity=0.85),
            replace(words(window.name, 0.0, 0.0, anchor="middle"), colour="#000000"),
        )
        yield Group(elements=label, place=moving(0.0, scale * x, scale * y))


def _sensor(design: Design, machine: Machine, scale: float) -> Iterator[Element]:
    """Yield the sensor as a cross at the index hole's circle, with a line out to the frame."""
    hole = index_hole(design)
    radius = RADIUS if hole is None else hole.radius * scale
    angle = clockwise_angle(machine.sensor)
    at, out = point_at(angle, radius), point_at(angle, 1.22 * RADIUS)
    yield Stroke(paths=(straight(at, out),), pen=Pen(1.0, MARK, (2.0, 2.0)))
    yield Stroke(paths=(circle(Point(*at), SENSOR).segments,), closed=True, pen=Pen(1.2, MARK))


def _arrow(sense: float) -> Iterator[Element]:
    """Yield an arrow of the sense of rotation, over the upper left or right of the disc."""
    middle = math.pi * 0.25
    start = middle - sense * SWEEP / 2.0
    arc = Arc(Point(0.0, 0.0), ARROW, start, sense * SWEEP)
    yield Stroke(paths=((arc,),), pen=Pen(2.0, OUTLINE))
    end = start + sense * SWEEP
    tip = Point(ARROW * math.cos(end + sense * 0.1), ARROW * math.sin(end + sense * 0.1))
    sides = [
        Point(radius * math.cos(end), radius * math.sin(end))
        for radius in (ARROW - 6.0, ARROW + 6.0)
    ]
    head: Path = polygon((tip, *sides)).segments
    yield Fill(paths=(head,), colour=OUTLINE)


def _notes(design: Design, machine: Machine) -> Iterator[str]:
    hole = index_hole(design)
    yield f"The machine's dial, seen from the front of the disc, which turns {machine.rotation}."
    edge = f"the {design.index.edge} edge of the index hole"
    clock = "the design's 12 o'clock" if hole is None else edge
    dial = f"{to_dial(machine.sensor):g}°"
    yield f"Outlined: windows. Small circle: the sensor, at {dial}; {clock} is at it here."
