"""The basic shapes and paths of a drawing as lines and arcs in mm (SVG 2, chapters 9 and 10)."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from xml.etree import ElementTree

from jobprep.geometry.affine import Affine
from jobprep.geometry.fit_arcs import elliptic_path
from jobprep.geometry.join_paths import OutlineError
from jobprep.geometry.outline import Line, Path, Segment
from jobprep.geometry.svg_document import element_name, label_of
from jobprep.geometry.svg_lengths import NUMBER, Lengths, row
from jobprep.geometry.svg_path_data import path_data_paths, too_many_segments
from jobprep.geometry.svg_style import Style
from jobprep.units import TURN

LONGEST_POINTS = 1_000_000
"""Characters of a polygon's corners."""

_POINTS = re.compile(rf"\s*+(?>{row(NUMBER, NUMBER)}\s*+)?")


def shape_paths(
    element: ElementTree.Element,
    style: Style,
    lengths: Lengths,
    to_mm: Affine,
    tolerance: float,
) -> Iterator[Path]:
    """Yield the paths of one drawn shape; curves become arcs within ``tolerance``, mm.

    Raises
    ------
    OutlineError
        If it cannot be read.
    """
    try:
        yield from filter(None, _paths(_Shape(element, style, lengths), to_mm, tolerance))
    except OutlineError:
        raise
    except (ArithmeticError, AttributeError, LookupError, TypeError, ValueError) as error:
        name, own_id = element_name(element), element.get("id", "without id")
        raise OutlineError(f"has a <{name}> ({own_id}) that cannot be read") from error


@dataclass(frozen=True, slots=True)
class _Shape:
    """An element with what its lengths depend on."""

    element: ElementTree.Element
    style: Style
    lengths: Lengths

    def at(self, *keys: str) -> list[float]:
        """Return lengths that may be of any sign, 0 where they are missing."""
        return [self.lengths.of(self.element, self.style, key) or 0.0 for key in keys]

    def sizes(self, *keys: str) -> list[float | None]:
        """Return lengths of at least 0, None where they are missing or ``auto``."""
        return [self.lengths.size(self.element, self.style, key) for key in keys]


def _paths(shape: _Shape, to_mm: Affine, tolerance: float) -> Iterator[Path]:
    name = element_name(shape.element)
    if name == "path":
        data = shape.element.get("d", "")
        if data.strip():
            shape.lengths.scale.note_plain("the data of a path")
        yield from path_data_paths(data, to_mm, tolerance)
    elif name == "circle":
        (radius,) = shape.sizes("r")
        yield _oval(shape, radius, radius, to_mm, tolerance)
    elif name == "ellipse":
        yield _oval(shape, *_radii(shape), to_mm, tolerance)
    elif name == "rect":
        yield _rect(shape, to_mm, tolerance)
    elif name == "line":
        yield _lines([shape.at("x1", "y1"), shape.at("x2", "y2")], to_mm)
    else:
        points = _points(shape)
        yield _lines([*points, *points[:1]] if name == "polygon" else points, to_mm)


def _lines(points: Iterable[Sequence[float]], to_mm: Affine) -> Path:
    """Return straight lines from point to point."""
    return tuple(Line(a, b) for a, b in pairwise([to_mm.at(*point) for point in points]))


def _points(shape: _Shape) -> list[tuple[float, float]]:
    text = shape.element.get("points", "")
    if len(text) > LONGEST_POINTS:
        raise OutlineError(too_many_segments())
    if not _POINTS.fullmatch(text):
        raise OutlineError(
            f"has points on {label_of(shape.element)} that are not pairs of numbers; correct them"
        )
    numbers = [float(number) for number in re.findall(NUMBER, text)]
    if any(numbers):
        shape.lengths.scale.note_plain(f"the points of {label_of(shape.element)}")
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def _radii(shape: _Shape) -> tuple[float | None, float | None]:
    """Return rx and ry; the one that is not given is as the other (SVG 2, section 7.4)."""
    rx, ry = shape.sizes("rx", "ry")
    return (ry if rx is None else rx), (rx if ry is None else ry)


def _oval(
    shape: _Shape, rx: float | None, ry: float | None, to_mm: Affine, tolerance: float
) -> Path:
    centre = to_mm.at(*shape.at("cx", "cy"))
    if not (rx and ry):
        return ()
    u, v = to_mm.turned(rx, 0.0), to_mm.turned(0.0, ry)
    return elliptic_path(centre, u, v, 0.0, TURN, tolerance)


def _rect(shape: _Shape, to_mm: Affine, tolerance: float) -> Path:
    """Return a rectangle, corners rounded by quarter ellipses where it says so."""
    x, y = shape.at("x", "y")
    width, height = shape.sizes("width", "height")
    rx, ry = (radius or 0.0 for radius in _radii(shape))
    if not (width and height):
        return ()
    rx, ry = min(rx, 0.5 * width), min(ry, 0.5 * height)
    if not (rx > 0.0 and ry > 0.0):
        box = [(x, y), (x + width, y), (x + width, y + height), (x, y + height), (x, y)]
        return _lines(box, to_mm)
    left, right, top, bottom = x + rx, x + width - rx, y + ry, y + height - ry
    u, v = to_mm.turned(rx, 0.0), to_mm.turned(0.0, ry)
    corners = [
        elliptic_path(to_mm.at(*corner), u, v, 0.25 * TURN * i, 0.25 * TURN, tolerance)
        for i, corner in enumerate(((right, bottom), (left, bottom), (left, top), (right, top)))
    ]
    rounded = [arcs for arcs in corners if arcs]
    segments: list[Segment] = []
    for before, arcs in zip(rounded[-1:] + rounded, rounded, strict=False):
        segments += (Line(before[-1].end, arcs[0].start), *arcs)
    return tuple(segments)
