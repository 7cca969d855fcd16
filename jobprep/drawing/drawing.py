"""A neutral picture: strokes in order, in mm, y up; every format is one writer of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from jobprep.geometry.outline import Path, mirrored_path, moved_path


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """One element of a drawing: a closed contour or open marks.

    ``id`` is its own in a drawing, ``paths`` are in mm. ``layer`` is its operation (a class in SVG,
    a layer in DXF); ``title`` says what it belongs to.
    """

    id: str
    layer: str
    title: str
    paths: tuple[Path, ...]
    closed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """Strokes in order on a page of ``width`` by ``height`` mm, origin at the lower left.

    ``colours`` maps each layer to the colour of its strokes, ``#rrggbb``.
    """

    width: float
    height: float
    title: str
    strokes: tuple[Stroke, ...]
    colours: Mapping[str, str]


def side_by_side(drawings: Sequence[Drawing], gap: float) -> Drawing:
    """Lay drawings in a row, ``gap`` mm apart, on one page, their lower edges in line.

    The strokes keep their order, one drawing after the other. With more than one drawing every id
    starts with ``sheet-N-``, counted from 1, so that ids stay unique. The drawings must agree on
    their colours.
    """
    if len(drawings) == 1:
        return drawings[0]
    strokes: list[Stroke] = []
    colours: dict[str, str] = {}
    x = 0.0
    for n, drawing in enumerate(drawings, start=1):
        colours |= drawing.colours
        strokes += (_shifted(stroke, f"sheet-{n}-{stroke.id}", x) for stroke in drawing.strokes)
        x += drawing.width + gap
    return Drawing(
        width=x - gap,
        height=max(drawing.height for drawing in drawings),
        title=", ".join(dict.fromkeys(drawing.title for drawing in drawings)),
        strokes=tuple(strokes),
        colours=colours,
    )


def counted_from(drawing: Drawing, corner: str) -> Drawing:
    """Return a drawing whose coordinates count from another corner, towards the page's middle.

    ``corner`` is ``lower-left`` (as drawings are), ``lower-right``, ``upper-left`` or
    ``upper-right``.
    """
    x = 0.5 * drawing.width if corner.endswith("right") else None
    y = 0.5 * drawing.height if corner.startswith("upper") else None
    strokes = tuple(
        replace(stroke, paths=tuple(mirrored_path(path, x=x, y=y) for path in stroke.paths))
        for stroke in drawing.strokes
    )
    return replace(drawing, strokes=strokes)


def _shifted(stroke: Stroke, id: str, x: float) -> Stroke:
    return replace(
        stroke, id=id, paths=tuple(moved_path(path, 0.0, x, 0.0) for path in stroke.paths)
    )
