"""The solids of a hub: closed, true to their closed forms, printable, and they go together."""

import math

import numpy as np
import pytest
from disc.designs import FILMS
from hypothesis import given, settings

pytest.importorskip("manifold3d")

from hub.hub_designs import PLA, film_solids, hubs, manifold, shape, slots, wheel
from manifold3d import Error, Manifold

from jobprep.disc.hub import HubPart, PrintedHub, printed_hub
from jobprep.errors import CannotDoError
from jobprep.geometry.measure import area
from jobprep.geometry.offset import offset
from jobprep.geometry.outline import Region, reversed_contour
from jobprep.hub.solids import CHORD, FLARE_SLOPE, Allowance, Solid, hub_solids
from jobprep.model import Bore, Design, FlatBore, KeyedBore, SquareBore

NONE = Allowance(0.0, 0.0)
USUAL = Allowance(0.2, 0.2)


def built(
    design: Design, allowance: Allowance = NONE
) -> tuple[PrintedHub, tuple[tuple[HubPart, Solid], ...]]:
    hub = printed_hub(design, FILMS)
    assert hub is not None
    return hub, tuple(zip(hub.parts, hub_solids(hub, allowance), strict=True))


def edges_meet(solid: Solid) -> bool:
    """Whether every edge belongs to two triangles that run along it in opposite directions."""
    edges: dict[tuple[int, int], int] = {}
    for a, b, c in solid.triangles.tolist():
        for edge in ((a, b), (b, c), (c, a)):
            edges[edge] = edges.get(edge, 0) + 1
    return all(n == 1 and edges.get((b, a)) == 1 for (a, b), n in edges.items())


def volume(solid: Solid) -> float:
    """Divergence theorem: a sixth of the triple products of all triangles."""
    a, b, c = (solid.vertices[solid.triangles[:, i]] for i in range(3))
    return float(np.sum(a * np.cross(b, c)) / 6.0)


def normals(solid: Solid) -> tuple[np.ndarray, np.ndarray]:
    """Return unit normals and heights of the triangles' middles, slivers left out."""
    corners = solid.vertices[solid.triangles]
    found = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    lengths = np.linalg.norm(found, axis=1)
    real = lengths > 1e-9
    return found[real] / lengths[real, None], corners[real, :, 2].mean(axis=1)


@given(hubs())
@settings(max_examples=12, deadline=None)
def test_solids_are_closed_and_as_large_as_their_numbers(design: Design) -> None:
    for part, solid in built(design)[1]:
        assert edges_meet(solid)
        assert volume(solid) == pytest.approx(part.body.mass / PLA, rel=1e-3)
        # They lie inside their nominal part: never a fit tighter than stated.
        assert volume(solid) <= part.body.mass / PLA * (1.0 + 1e-9)
        assert solid.vertices[:, 2].min() == 0.0
        assert solid.vertices[:, 2].max() == pytest.approx(part.thickness + part.tab_height)


@given(hubs())
@settings(max_examples=8, deadline=None)
def test_allowances_take_away_and_stay_closed(design: Design) -> None:
    nominal, made_good = built(design)[1], built(design, Allowance(0.15, 0.1))[1]
    for (_, before), (_, after) in zip(nominal, made_good, strict=True):
        assert edges_meet(after)
        assert volume(after) < volume(before)


@given(hubs())
@settings(max_examples=10, deadline=None)
def test_nothing_overhangs(design: Design) -> None:
    """Without a flare no face looks down but the flat back; with one, 35° from upright at most."""
    for allowance, steepest in ((NONE, 0.0), (Allowance(0.1, 0.1), math.sin(math.radians(35.0)))):
        for _, solid in built(design, allowance)[1]:
            facing, height = normals(solid)
            down = facing[:, 2] < -steepest - 1e-6
            assert down.any()
            assert np.all(height[down] < 1e-9)


@pytest.mark.slow
@given(hubs())
@settings(max_examples=8, deadline=None)
def test_the_assembly_goes_together_with_its_clearance(design: Design) -> None:
    """Flanges, spacer and films as they lie in the disc: no two share space, tabs keep off."""
    hub, parts = built(design)
    solids = [manifold(solid, part) for part, solid in parts]
    films = list(film_solids(design))
    bodies = [*solids, *films]
    for index, body in enumerate(bodies):
        assert body.status() == Error.NoError
        for other in bodies[:index]:
            assert abs((body ^ other).volume()) < 1e-6
    assert design.hub is not None
    clearance = design.hub.clearance
    tabs = solids[0].trim_by_plane((0.0, 0.0, 1.0), parts[0][0].bottom + parts[0][0].thickness)
    for other in (*solids[1:], *films):
        gap = _gap_in_plane(tabs, other)
        assert clearance - 1e-6 <= gap <= clearance + 2.0 * CHORD + 1e-6
    # The stack fills the room between the flanges, but for the glue.
    glue = design.glue_line[0]
    lowest = min(film.bounding_box()[2] for film in films)
    assert lowest - (parts[0][0].bottom + parts[0][0].thickness) == pytest.approx(glue, abs=1e-9)
    clutch = parts[-1][0]
    assert clutch.bottom - parts[0][0].bottom - parts[0][0].thickness == pytest.approx(hub.clamped)


def _gap_in_plane(a: Manifold, b: Manifold) -> float:
    """Return how far two solids are apart at the heights both of them have."""
    low = max(a.bounding_box()[2], b.bounding_box()[2])
    high = min(a.bounding_box()[5], b.bounding_box()[5])
    assert high > low
    height = low + 0.5 * (high - low)
    first, second = (each.slice(height).to_polygons() for each in (a, b))
    from shapely.geometry import MultiPolygon, Polygon
    from shapely.ops import unary_union

    def whole(rings: list[np.ndarray]) -> MultiPolygon | Polygon:
        found = Polygon()
        for ring in rings:
            found = found.symmetric_difference(Polygon(ring))
        return unary_union(found)

    return float(whole(first).distance(whole(second)))


def test_the_original_thickness_lies_between_the_flanges() -> None:
    _, ((axle, back), *_, (clutch, front)) = built(wheel(slots(), thickness=1.2))
    inner = axle.bottom + axle.thickness
    assert clutch.bottom + float(front.vertices[:, 2].min()) - inner == pytest.approx(1.2)
    assert float(back.vertices[:, 2].max()) == pytest.approx(2.0 + 1.2 + 2.0 - 0.15)


@pytest.mark.parametrize(
    "bore",
    [
        None,
        SquareBore(side=7.0, direction=0.3),
        FlatBore(diameter=8.0, across=7.2, direction=2.0),
        KeyedBore(diameter=8.0, key_width=2.5, key_depth=1.0, direction=1.0),
    ],
)
def test_holes_are_widened_and_edges_drawn_back(bore: Bore | None) -> None:
    """Volume with allowances by Simpson's rule over exact outlines: exact, since areas of parallel
    outlines are quadratic in their distance (Steiner). Holes keep sharp corners, where the exact
    outline is round: (1 - pi/4) d² a right-angled corner, below the bound here."""
    hub, parts = built(wheel(slots(), bore=bore), USUAL)
    assert hub.spacer > 0.0
    for part, solid in parts:
        widened = _grown(part.plate(), 0.1, 0.0)
        first, middle = (_grown(part.plate(), 0.1 + f, f) for f in (0.2, 0.1))
        bevel = FLARE_SLOPE * 0.2
        expected = bevel / 6.0 * (first + 4.0 * middle + widened)
        expected += (part.thickness - bevel) * widened
        expected += sum(area(tab) for tab in part.tab_regions()) * part.tab_height
        assert volume(solid) == pytest.approx(expected, rel=5e-4)


def _grown(plate: Region, holes: float, rim: float) -> float:
    """Return the area of a plate with wider holes and a smaller rim."""
    (outer,) = offset(Region(plate.outer), -rim).regions
    grown = (offset(Region(reversed_contour(hole)), holes).regions[0] for hole in plate.holes)
    return area(outer) - sum(map(area, grown))


def test_chords_stay_within_what_is_stated() -> None:
    """Every corner of the rim lies within CHORD of its circle, and so does every chord's middle."""
    _, ((_, solid), *_) = built(wheel(slots()))
    corners = solid.vertices[solid.triangles]
    upright = np.ptp(corners[:, :, 2], axis=1) > 0.0
    sides = np.unique(corners[upright].reshape(-1, 3), axis=0)  # faces have corners in them, too
    sides = sides[sides[:, 2] == 0.0][:, :2]
    radii = np.hypot(sides[:, 0], sides[:, 1])
    rim = sides[radii > 19.0]
    order = np.argsort(np.arctan2(rim[:, 1], rim[:, 0]))
    middles = (rim[order] + np.roll(rim[order], -1, axis=0)) / 2.0
    assert np.hypot(*rim.T) == pytest.approx(20.0, abs=1e-9)
    assert np.hypot(*middles.T).min() >= 20.0 - CHORD
    bore = sides[radii < 5.0]
    order = np.argsort(np.arctan2(bore[:, 1], bore[:, 0]))
    middles = (bore[order] + np.roll(bore[order], -1, axis=0)) / 2.0
    assert np.hypot(*middles.T).min() >= 4.0 - 1e-9  # an axle of the nominal diameter goes in
    assert np.hypot(*bore.T).max() <= 4.0 + CHORD


def test_plates_have_the_outlines_of_another_library() -> None:
    """A cut through a solid half-way up is the nominal plate, by shapely."""
    from shapely.geometry import Polygon

    for part, solid in built(wheel(slots(5, length=6.0)))[1]:
        rings = manifold(solid, part).slice(part.bottom + part.thickness / 3.0).to_polygons()
        cut = Polygon()
        for ring in rings:
            cut = cut.symmetric_difference(Polygon(ring))
        assert cut.symmetric_difference(shape(part.plate())).area < 0.3  # mm² along 250 mm of edge


def test_a_very_thin_spacer_keeps_its_bevel_printable() -> None:
    _, (_, (part, solid), _) = built(wheel(slots(), thickness=0.375), Allowance(0.0, 0.5))
    assert part.name == "spacer"
    facing, height = normals(solid)
    steep = facing[:, 2] < -math.sin(math.atan(1.0 / FLARE_SLOPE)) - 1e-6
    assert np.all(height[steep] < 1e-9)
    assert edges_meet(solid)


def test_allowances_that_use_up_a_wall_are_refused() -> None:
    hub = printed_hub(wheel(slots(circle=11.6)), FILMS)  # 0.8 mm to the bore
    assert hub is not None
    with pytest.raises(CannotDoError, match=r"use up the hub's narrowest wall, 0\.8 mm"):
        hub_solids(hub, Allowance(0.3, 0.3))


def test_the_same_hub_gives_the_same_solids() -> None:
    first, second = (built(wheel(slots()), USUAL)[1] for _ in range(2))
    for (_, a), (_, b) in zip(first, second, strict=True):
        assert np.array_equal(a.vertices, b.vertices)
        assert np.array_equal(a.triangles, b.triangles)
