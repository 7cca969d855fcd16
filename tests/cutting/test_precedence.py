"""What waits for what: holes for nothing but their parts, parts in holes before the hole."""

from cutting.sheets import hole, placed, sheet_of

from jobprep.cutting.precedence import ContourId, contour_ids, releases
from jobprep.geometry.outline import Point, Region, circle, rectangle


def ring(radius: float, inner: float, x: float = 0.0) -> Region:
    return Region(circle(Point(x, 0.0), radius), (hole(x, 0.0, inner),))


def test_a_hole_is_released_by_its_own_outer_contour() -> None:
    parts = [placed(ring(10.0, 4.0)), placed(Region(rectangle(5.0, 5.0)))]
    parts[1] = placed(Region(circle(Point(50.0, 0.0), 5.0)))
    assert contour_ids(parts) == (ContourId(0, 0), ContourId(0, None), ContourId(1, None))
    assert releases(parts) == {
        ContourId(0, 0): ContourId(0, None),
        ContourId(0, None): None,
        ContourId(1, None): None,
    }


def test_a_part_in_a_hole_waits_for_the_innermost_hole_round_it() -> None:
    parts = [placed(ring(5.0, 1.0)), placed(ring(30.0, 25.0)), placed(ring(20.0, 10.0))]
    free = releases(parts)
    assert free[ContourId(0, None)] == ContourId(2, 0)
    assert free[ContourId(2, None)] == ContourId(1, 0)
    assert free[ContourId(1, None)] is None


def test_a_part_beside_a_hole_but_inside_its_box_does_not_wait() -> None:
    frame = placed(Region(rectangle(40.0, 40.0), (hole(20.0, 20.0, 15.0),)))
    corner = placed(Region(circle(Point(37.0, 37.0), 1.0)))
    assert releases([frame, corner])[ContourId(1, None)] is None


def test_the_releases_are_a_forest_on_a_full_sheet() -> None:
    parts = sheet_of(["nested", "plate", "nested", "sector"], 2)
    free = releases(parts)
    assert set(free) == set(contour_ids(parts))
    for id in free:
        seen = {id}
        while (above := free[id]) is not None:
            assert above not in seen
            seen.add(above)
            id = above
