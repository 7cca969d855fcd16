"""What the beam of a cutter cannot make of a part, for check, plan and recut alike.

A slot as narrow as the kerf or narrower closes, since the beam alone is wider, and a round beam
leaves film standing in every inside corner. What is lost is the distance of an outline from its
closing by half a kerf (``geometry.closing``).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from jobprep.disc.feature_widths import FeatureWidth, feature_widths, polar_place
from jobprep.disc.part import Part
from jobprep.errors import CannotDoError, Finding, Source
from jobprep.geometry.closing import Gap, closing
from jobprep.geometry.distance import distance
from jobprep.geometry.measure import Bounds, bounds, region_bounds
from jobprep.geometry.offset import offset_contour
from jobprep.geometry.outline import Contour, Point, Region, moved_region
from jobprep.model.design import Design
from jobprep.units import number

TOUCH = 1e-6
"""Edges closer than this touch, mm: rounding of the file's numbers."""

SPARE = 0.001
"""How much wider than the kerf a slot must be, mm: below it the two sides of its cut are one line,
and no kerf is known that well (common practice, no source)."""

DEEPEST = 2.0
"""Kerfs deep that film may be left standing, in a corner of 23 degrees; beyond, a part is not
what was drawn."""

WORTH_A_LOOK = 0.5
"""Less film than this, in kerfs, is not reported: an inside corner of 60 degrees. A right angle,
which ordinary parts have many of, leaves a fifth of a kerf, and everybody expects that of a round
beam."""


class CutPart(NamedTuple):
    """A part, the kerf it is to be cut with, mm, and the design it belongs to, if any."""

    part: Part
    kerf: float
    design: Design | None


def left_by_beam(source: Source, cuts: Mapping[str, CutPart]) -> tuple[Finding, ...]:
    """Return what the beam leaves in the corners of parts; keys are their fields in a source.

    Raises ``CannotDoError`` with all that it cannot make of them.
    """
    lost: dict[str, None] = {}
    left: list[Finding] = []
    for path, cut in cuts.items():
        for finding in beam_losses(path, *cut):
            if finding.is_error:
                lost[f"{cut.part.name}: {finding.message}"] = None
            else:
                left.append(source.located(finding))
    if lost:
        raise CannotDoError("\n".join(lost))
    return tuple(left)


def beam_losses(path: str, part: Part, kerf: float, design: Design | None) -> Iterator[Finding]:
    """Yield what a beam as wide as the kerf, mm, cannot make of a part.

    Features of the part's ``design`` that are no wider than the kerf are refused at their own
    field, at ``path`` holes that are not, and whatever of an outline keeps film more than
    ``DEEPEST`` kerfs deep or closes off a place that the beam could have cut.
    """
    if kerf <= 0.0:
        return
    lost = [] if design is None else _lost_features(part, kerf, design)
    for feature in lost:
        what = f"{feature.name}, {number(feature.width, 3)} mm wide, {feature.place},"
        yield Finding.error(feature.field, f"{what} {_vanishes(part, kerf)}")
    told = [region_bounds(region) for feature in lost for region in feature.regions]
    gaps: list[Gap] = []
    holes: list[Contour] = []
    for contour in part.region.contours:
        found = closing(contour, (kerf + SPARE) / 2.0)
        if not found.loops and not _is_in(_middle(contour), told):
            holes.append(contour)
        gaps += (gap for gap in found.gaps if not _is_in(gap.deepest, told))
    if holes:
        yield Finding.error(path, _lost_holes(part, kerf, holes))
    refused = [gap for gap in gaps if gap.closes or gap.depth > DEEPEST * kerf]
    if refused:
        yield Finding.error(path, _lost_gaps(part, kerf, refused))
    shallow = [gap for gap in gaps if gap not in refused and gap.depth > WORTH_A_LOOK * kerf]
    if shallow:
        yield Finding.caution(path, _standing_film(part, kerf, shallow))


def _lost_features(part: Part, kerf: float, design: Design) -> list[FeatureWidth]:
    """Return the features too narrow for the beam that are cut out of a part."""
    return [
        feature
        for feature in feature_widths(design)
        if feature.width <= kerf + SPARE + TOUCH
        and part.layer in feature.layers
        and any(_touch(part, turn, region) for turn in part.turns for region in feature.regions)
    ]


def _touch(part: Part, turn: float, cut_out: Region) -> bool:
    """Return whether a part, turned to one of its places in the disc, ends at what is cut out."""
    return distance(moved_region(part.region, turn, 0.0, 0.0), cut_out, TOUCH) < TOUCH


def _vanishes(part: Part, kerf: float) -> str:
    return (
        f"vanishes under the kerf of {kerf:g} mm in {part.film}; it must be wider than "
        f"{kerf + SPARE:g} mm"
    )


def _lost_holes(part: Part, kerf: float, holes: Sequence[Contour]) -> str:
    first = holes[0]
    return (
        f"a hole in part {part.number}, {number(_widest(first, kerf), 3)} mm wide, "
        f"{_place(part, _middle(first))}, {_vanishes(part, kerf)}{_more(holes, 'hole')}"
    )


def _lost_gaps(part: Part, kerf: float, gaps: Sequence[Gap]) -> str:
    worst = max(gaps, key=lambda gap: (gap.closes, gap.depth))
    what = (
        "where the beam does not get through to what lies behind"
        if worst.closes
        else f"and film {number(worst.depth, 2)} mm deep would be left standing there"
    )
    return (
        f"the outline of part {part.number} narrows to {number(worst.width, 3)} mm "
        f"{_place(part, worst.place)}, {what}: the kerf of {kerf:g} mm in {part.film} needs more "
        f"than {kerf + SPARE:g} mm{_more(gaps, 'place')}"
    )


def _standing_film(part: Part, kerf: float, gaps: Sequence[Gap]) -> str:
    worst = max(gaps, key=lambda gap: gap.depth)
    corners = "a narrow corner" if len(gaps) == 1 else f"{len(gaps)} narrow corners"
    deep = "" if len(gaps) == 1 else "at most "
    return (
        f"the kerf of {kerf:g} mm in {part.film} leaves film standing in {corners} of part "
        f"{part.number}, {deep}{number(worst.depth, 2)} mm deep, {_place(part, worst.deepest)}"
    )


def _more(found: Sequence[object], what: str) -> str:
    rest = len(found) - 1
    return f"; {rest} more {what}{'s' if rest > 1 else ''} too" if rest else ""


def _place(part: Part, point: Point) -> str:
    """Say where something is: on the disc, or as the outline of a loose part has it."""
    if part.layer:
        return polar_place(math.hypot(point.x, point.y), math.atan2(point.y, point.x))
    return f"at ({number(point.x, 2)}, {number(point.y, 2)})"


def _middle(contour: Contour) -> Point:
    box = bounds(contour.segments)
    return Point(0.5 * (box.x_min + box.x_max), 0.5 * (box.y_min + box.y_max))


def _is_in(point: Point, boxes: Iterable[Bounds]) -> bool:
    return any(
        box.x_min - TOUCH <= point.x <= box.x_max + TOUCH
        and box.y_min - TOUCH <= point.y <= box.y_max + TOUCH
        for box in boxes
    )


def _widest(hole: Contour, kerf: float) -> float:
    """Return how wide a hole is that vanishes under a kerf, at its widest, to 0.0001 mm."""
    low, high = 0.0, kerf + SPARE
    while high - low > 1e-4:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if offset_contour(hole, -middle / 2.0) else (low, middle)
    return high
