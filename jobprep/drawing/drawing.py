"""A neutral picture: strokes in order, in mm, y up; every format is one writer of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from jobprep.geometry.outline import Path


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """One element of a drawing: a closed contour or open marks.

    ``layer`` is its operation (a class in SVG, a layer in DXF); ``title`` says what it belongs to.
    """

    id: str
    layer: str
    title: str
    paths: tuple[Path, ...]
    closed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """Strokes in order on a page of ``width`` by ``height`` mm, origin at the lower left."""

    width: float
    height: float
    title: str
    strokes: tuple[Stroke, ...]
    colours: Mapping[str, str]
