"""The parts of a printed hub as closed triangle meshes, corrected for a printer.

Every solid lies inside its nominal part and comes within ``CHORD`` of its outline: holes are
drawn around their circles, plates and tabs inside theirs. So a fit is never tighter than stated,
and at most twice ``CHORD`` looser.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from jobprep.disc.hub import HubPart, PrintedHub
from jobprep.errors import CannotDoError, extra
from jobprep.geometry.distance import narrowest_web
from jobprep.geometry.flatten import Polygons, flatten_alike, flatten_inside, flatten_outside
from jobprep.units import number

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from jobprep.hub.faces import Ring, Triangles

CHORD = 0.001
"""How far the flat sides of a solid may lie inside its round outline, mm."""
FLARE_SLOPE = 1.5
"""How much higher than wide the bevel is that corrects a flare: 34° from the upright, 35° beside
a bore's corners, where 45° prints without support (common practice, no source)."""
LEAST_LEFT = 0.1
"""Narrowest wall that a printer's allowances may leave, mm."""
GUARD = 0.015
"""How far a guard keeps off its hole, and how far it may lie off that line, mm: together and at a
corner less than half of the narrowest wall."""


class Allowance(NamedTuple):
    """What a printer does to a part, mm.

    ``hole_shrink`` is how much narrower a hole comes out, as a diameter; ``flare`` how far the
    first layer spreads sideways.
    """

    hole_shrink: float
    flare: float


class Solid(NamedTuple):
    """A closed mesh: corners in mm, (n, 3), and triangles, (m, 3), anticlockwise from outside.

    The bore's axis is x = y = 0, the flat back z = 0.
    """

    name: str
    vertices: NDArray[np.float64]
    triangles: NDArray[np.int64]


def hub_solids(hub: PrintedHub, allowance: Allowance) -> tuple[Solid, ...]:
    """Return the parts of a hub, each with its flat back down as it is printed.

    Raises
    ------
    CannotDoError
        When the library for solids is not installed, or the allowances use up a wall.
    """
    try:
        import manifold3d  # noqa: F401
    except ModuleNotFoundError:
        message = f"solids need one more package: {extra('hub')}"
        raise CannotDoError(message) from None
    needed = LEAST_LEFT + allowance.hole_shrink + 2.0 * allowance.flare
    wall = min(narrowest_web(part.plate(), needed) for part in hub.parts)
    if wall < needed:
        raise CannotDoError(
            f"a hole shrink of {number(allowance.hole_shrink)} mm and a flare of"
            f" {number(allowance.flare)} mm use up the hub's narrowest wall, {number(wall)} mm"
        )
    return tuple(_solid(part, allowance) for part in hub.parts)


def _solid(part: HubPart, allowance: Allowance) -> Solid:
    flare = min(allowance.flare, part.thickness / (2.0 * FLARE_SLOPE))
    heights = (FLARE_SLOPE * flare, part.thickness) if flare else (part.thickness,)
    # Parts that differ in their thickness alone have the same faces.
    flat = replace(part, name="", bottom=0.0, thickness=0.0, density=0.0, tab_height=0.0)
    faces = _faces(flat, allowance.hole_shrink / 2.0, flare)
    return _built(part.name, faces, (0.0, *heights), part.thickness + part.tab_height)


class _Faces(NamedTuple):
    """The outlines of a plate, those of its tabs, and the triangles of its faces.

    ``first`` are the plate's rings at its back, ``full`` in front of the bevel, corner for corner.
    The faces count the corners of the rings, then of tabs, then of ``guards``. ``tops`` are the
    faces of the tabs.
    """

    first: tuple[Ring, ...]
    full: tuple[Ring, ...]
    tabs: tuple[Ring, ...]
    back_guards: tuple[Ring, ...]
    front_guards: tuple[Ring, ...]
    back: Triangles
    front: Triangles
    tops: tuple[Triangles, ...]


@lru_cache(maxsize=4)
def _faces(part: HubPart, wider: float, flare: float) -> _Faces:
    """Return the faces of a plate, its holes wider all round, the edges of its back drawn back."""
    import numpy as np
    from manifold3d import triangulate

    from jobprep.hub.faces import face_triangles

    outlines = part.plate(wider, flare), part.plate(wider)
    first, full = (_rings(flat) for flat in flatten_alike(outlines, CHORD))
    tabs = tuple(np.array(flatten_inside(tab, CHORD).outer) for tab in part.tab_regions())
    back_guards, front_guards = (
        _rings(flatten_inside(part.plate(wider + GUARD, drawn_back), GUARD))[1:]
        for drawn_back in (flare, 0.0)
    )
    front_guards += tuple(
        np.array(flatten_outside(tab, GUARD).outer)[::-1] for tab in part.tab_regions(GUARD)
    )
    return _Faces(
        first=first,
        full=full,
        tabs=tabs,
        back_guards=back_guards,
        front_guards=front_guards,
        back=face_triangles(first[0], first[1:], back_guards),
        front=face_triangles(full[0], (*full[1:], *(tab[::-1] for tab in tabs)), front_guards),
        tops=tuple(triangulate([tab]) for tab in tabs),
    )


def _rings(flat: Polygons) -> tuple[Ring, ...]:
    import numpy as np

    return tuple(np.array(ring) for ring in (flat.outer, *flat.holes))


def _built(name: str, faces: _Faces, heights: Sequence[float], tip: float) -> Solid:
    """Return the solid of a plate with its edges at these heights and its tabs up to the tip."""
    import numpy as np

    corners = _Corners()
    levels = [corners.added(faces.first, heights[0])]
    levels += [corners.added(faces.full, height) for height in heights[1:]]
    roots = corners.added(faces.tabs, heights[-1])
    tips = corners.added(faces.tabs, tip)
    back = [*levels[0], *corners.added(faces.back_guards, heights[0])]
    front = [
        *levels[-1],
        *(root[::-1] for root in roots),
        *corners.added(faces.front_guards, heights[-1]),
    ]
    triangles = [
        np.concatenate(back)[faces.back[:, ::-1]],
        np.concatenate(front)[faces.front],
        *(ring[top] for ring, top in zip(tips, faces.tops, strict=True)),
    ]
    for below, above in [*itertools.pairwise(levels), (roots, tips)]:
        for low, high in zip(below, above, strict=True):
            triangles += _wall(low, high)
    return Solid(name, corners.all(), np.concatenate(triangles))


def _wall(low: NDArray[np.int64], high: NDArray[np.int64]) -> Iterable[Triangles]:
    """Yield the triangles between two rings of corners that lie above each other."""
    import numpy as np

    low_next, high_next = np.roll(low, -1), np.roll(high, -1)
    yield np.column_stack((low, low_next, high_next))
    yield np.column_stack((low, high_next, high))


class _Corners:
    """The corners of a solid so far."""

    def __init__(self) -> None:
        self._placed: list[NDArray[np.float64]] = []
        self._count = 0

    def added(self, rings: Sequence[Ring], height: float) -> list[NDArray[np.int64]]:
        """Add rings at a height; return the numbers of each one's corners."""
        import numpy as np

        numbers = []
        for ring in rings:
            self._placed.append(np.column_stack((ring, np.full(len(ring), height))))
            numbers.append(np.arange(self._count, self._count + len(ring)))
            self._count += len(ring)
        return numbers

    def all(self) -> NDArray[np.float64]:
        """Return all of them, (n, 3)."""
        import numpy as np

        return np.concatenate(self._placed)
