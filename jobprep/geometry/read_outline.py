"""Read a part's outline from a drawing: one outer outline with holes, made of lines and arcs."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from itertools import chain
from pathlib import Path as FilePath

from jobprep.errors import InputError
from jobprep.geometry.join_paths import OutlineError, join_region
from jobprep.geometry.measure import bounds
from jobprep.geometry.outline import Path, Region
from jobprep.input_file import MEGABYTE, input_bytes
from jobprep.units import to_m

LARGEST_FILE = 5 * MEGABYTE
"""Largest drawing read, in bytes."""

LONGEST_SENTENCE = 300
"""Characters of what a parser says that are passed on."""

FARTHEST = 10_000.0
"""Greatest coordinate of a drawing, mm; no sheet is as large, and it is usually a wrong unit."""


def read_outline(path: FilePath, tolerance: float = 0.01) -> Region:
    """Read the outline drawn in an SVG or DXF file; the suffix says which.

    Lines and circular arcs come over exactly. Ellipses, Bezier curves and splines become arcs that
    stay within ``tolerance`` mm of them; ends that lie within ``tolerance`` of each other are
    joined. Coordinates are those of the drawing in mm, y up.

    Raises
    ------
    InputError
        With one sentence, if the file is not the drawing of one part.
    """
    with _explained(path):
        return join_region(_paths(path, tolerance), tolerance)


def read_strokes(path: FilePath, tolerance: float = 0.01) -> tuple[Path, ...]:
    """Read the lines drawn in an SVG or DXF file as they stand, open or closed.

    Coordinates and the tolerance are those of ``read_outline``.

    Raises
    ------
    InputError
        With one sentence, if the file holds anything but lines, or none.
    """
    with _explained(path):
        found = tuple(each for each in _paths(path, tolerance) if each)
        if not found:
            raise OutlineError("draws nothing")
        return found


@contextmanager
def _explained(path: FilePath) -> Iterator[None]:
    try:
        yield
    except OutlineError as error:
        sentence = " ".join(str(error).split())  # parsers put line ends into theirs
        if len(sentence) > LONGEST_SENTENCE:
            sentence = f"{sentence[:LONGEST_SENTENCE]}..."
        raise InputError.of(path, sentence) from error


def _paths(path: FilePath, tolerance: float) -> list[Path]:
    suffix = path.suffix.lower()
    if suffix not in (".svg", ".dxf"):
        raise OutlineError("is neither .svg nor .dxf; save the drawing as one of these")
    data = input_bytes(path, LARGEST_FILE)
    if suffix == ".svg":
        from jobprep.geometry.read_svg import read_svg

        paths = read_svg(data, tolerance)
    else:
        from jobprep.geometry.read_dxf import read_dxf

        paths = read_dxf(path, tolerance)
    _check_numbers(paths)
    return paths


def _check_numbers(paths: Iterable[Path]) -> None:
    for segment in chain.from_iterable(paths):
        if not all(map(math.isfinite, (*segment.start, *segment.end))):
            raise OutlineError("holds a number that is not finite")
        if max(map(abs, bounds((segment,)))) > FARTHEST:
            raise OutlineError(
                f"reaches farther than {to_m(FARTHEST):g} m from its origin; check its unit and "
                "draw it near the origin"
            )
