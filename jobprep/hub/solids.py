"""The parts of a printed hub as closed triangle meshes, made good for a printer.

Every solid lies inside its nominal part and comes within ``CHORD`` of its outline: holes are
drawn around their circles, plates and tabs inside theirs. So a fit is never tighter than stated,
and at most twice ``CHORD`` looser.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, NamedTuple

from jobprep.disc.hub import HubPart, PrintedHub
from jobprep.errors import CannotDoError, extra
from jobprep.geometry.distance import narrowest_web
from jobprep.geometry.flatten import Polygons, flatten_alike, flatten_inside
from jobprep.units import number

if TYPE_CHECKING:
    import numpy as np
    from manifold3d import Manifold
    from numpy.typing import NDArray

CHORD = 0.001
"""How far the flat sides of a solid may lie inside its round outline, mm."""
FLARE_SLOPE = 1.5
"""How much higher than wide the bevel is that makes good a flare: 34° from the upright, 35° beside
a bore's corners, where 45° prints without support (common practice, no source)."""
LEAST_LEFT = 0.1
"""Narrowest wall that a printer's allowances may leave, mm."""


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
    import numpy as np
    from manifold3d import Manifold, OpType

    # The tabs begin inside the plate, so that no two faces of the union coincide.
    root, tip = part.thickness / 2.0, part.thickness + part.tab_height
    tabs = (flatten_inside(tab, CHORD) for tab in part.tab_regions)
    bodies = [_plate(part, allowance), *(_prism((root, tip), (tab, tab)) for tab in tabs)]
    mesh = Manifold.batch_boolean(bodies, OpType.Add).to_mesh64()
    return Solid(
        part.name,
        np.array(mesh.vert_properties, dtype=np.float64)[:, :3],
        np.array(mesh.tri_verts, dtype=np.int64),
    )


def _plate(part: HubPart, allowance: Allowance) -> Manifold:
    """Return a plate, its holes widened and the edges of its first layers drawn back."""
    wider = allowance.hole_shrink / 2.0
    flare = min(allowance.flare, part.thickness / (2.0 * FLARE_SLOPE))
    if flare == 0.0:
        flat = flatten_inside(part.plate(wider), CHORD)
        return _prism((0.0, part.thickness), (flat, flat))
    first, full = flatten_alike((part.plate(wider, flare), part.plate(wider)), CHORD)
    return _prism((0.0, FLARE_SLOPE * flare, part.thickness), (first, full, full))


def _prism(heights: Sequence[float], outlines: Sequence[Polygons]) -> Manifold:
    """Return the solid between polygons that lie above each other corner for corner."""
    import numpy as np
    from manifold3d import Manifold, Mesh64, triangulate

    rings = [(outline.outer, *outline.holes) for outline in outlines]
    corners = [
        (point.x, point.y, height)
        for height, level in zip(heights, rings, strict=True)
        for ring in level
        for point in ring
    ]
    per_level = len(corners) // len(heights)
    bottom = top = triangulate([np.array(ring) for ring in rings[0]])
    if rings[-1] != rings[0]:
        top = triangulate([np.array(ring) for ring in rings[-1]])
    faces = [bottom[:, ::-1], top + (len(heights) - 1) * per_level]
    a, b = _sides(map(len, rings[0]))
    for below in range(0, len(corners) - per_level, per_level):
        above = below + per_level
        faces += [
            np.column_stack((a + below, b + below, b + above)),
            np.column_stack((a + below, b + above, a + above)),
        ]
    triangles = np.concatenate(faces).astype(np.uint64)
    return Manifold(Mesh64(np.array(corners), triangles))


def _sides(sizes: Iterable[int]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the corners, counted through, at which the sides of polygons begin and end."""
    import numpy as np

    starts, ends, first = [], [], 0
    for size in sizes:
        ring = np.arange(first, first + size)
        starts.append(ring)
        ends.append(np.roll(ring, -1))
        first += size
    return np.concatenate(starts), np.concatenate(ends)
