"""Where light meets a disc: its machine's windows, and the beam, which is a round one."""

from __future__ import annotations

import math
from collections.abc import Iterator

from jobprep.geometry.covered import Aperture
from jobprep.geometry.outline import Point, Region, circle, moved_region, rectangle
from jobprep.geometry.shapes import annular_sector
from jobprep.model.design import Beam, Design
from jobprep.model.machine import MachineWindow
from jobprep.units import from_dial


def windows_of(design: Design) -> tuple[MachineWindow, ...]:
    """Return the machine's windows that lie before the disc, else its beam as a round one."""
    machine, beam = design.machine, design.beam
    if machine is not None and machine.windows:
        return machine.windows
    if beam is None or beam.width >= 2.0 * beam.radius:
        return ()
    return (beam_window(beam),)


def beam_window(beam: Beam) -> MachineWindow:
    """Return a beam as a round window at 12 o'clock."""
    direction = from_dial(0.0)
    return MachineWindow(name="beam", direction=direction, radius=beam.radius, diameter=beam.width)


def window_region(window: MachineWindow) -> Region:
    """Return a window's outline in the machine, the axis as origin, mm."""
    sector = window.sector
    if sector is not None:
        start = window.direction - sector.angle / 2.0
        inner, outer = sector.inner_diameter / 2.0, sector.outer_diameter / 2.0
        return annular_sector(inner, outer, start, sector.angle)
    radius = window.radius or 0.0
    x, y = radius * math.cos(window.direction), radius * math.sin(window.direction)
    if window.size is None:
        return Region(circle(Point(x, y), (window.diameter or 0.0) / 2.0))
    along, across = window.size
    centred = moved_region(Region(rectangle(across, along)), 0.0, -across / 2.0, -along / 2.0)
    return moved_region(centred, window.direction, x, y)


def light_bands(design: Design) -> tuple[tuple[float, float], ...]:
    """Return between which radii (mm) light meets a disc as it turns, from the inside out.

    Bands that overlap are one. None where neither window nor beam is given: then light may pass
    anywhere.
    """
    found: list[tuple[float, float]] = []
    for low, high in sorted(_bands(design)):
        if found and low <= found[-1][1]:
            found[-1] = (found[-1][0], max(high, found[-1][1]))
        else:
            found.append((low, high))
    return tuple(found)


def _bands(design: Design) -> Iterator[tuple[float, float]]:
    for window in () if design.machine is None else design.machine.windows:
        yield Aperture(window_region(window)).radii
    if design.beam is not None:
        half = design.beam.width / 2.0
        yield max(0.0, design.beam.radius - half), design.beam.radius + half
