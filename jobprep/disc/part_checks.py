"""Checks of parts as outlines: vanished ones, those no beam can cut, too weak or too large ones.

Terminology
-----------
web       the narrowest strip of film between two contours of a part
neck      a strip of a part between two stretches of its outer contour that hold it together
tongue    a strip that is held at one end only, such as a sharp tip
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator

from jobprep.disc.beam_checks import beam_losses
from jobprep.disc.marks import DRAWN_CLEARANCE, OFF_THE_PART, lies_on
from jobprep.disc.part import Part
from jobprep.disc.stroke_font import number_paths
from jobprep.errors import CannotDoError, Finding
from jobprep.geometry.distance import narrowest_web
from jobprep.geometry.measure import path_length, signed_area
from jobprep.geometry.offset import offset_contour
from jobprep.geometry.outline import Contour, Path
from jobprep.geometry.segment import end_direction, start_direction
from jobprep.model.design import NO_FILM, Beam, Design
from jobprep.model.film import Film
from jobprep.units import from_degrees

SHARPEST = from_degrees(30.0)
"""A corner sharper than this counts as a tongue."""
SLACK = 0.5
"""Area of a tongue that is accepted, in squares of half the least web, and length of its two sides,
in least webs: rounding of curved corners and the blunt ends of narrow sectors."""
MANY_EDGES = 2000
"""With more places than this that the beam cannot make, an outline must be drawn again, and how
weak it is, which takes most of the time, is not examined."""


def check_vanished(design: Design, parts: tuple[Part, ...]) -> Iterator[Finding]:
    """Yield the layers and sectors of which no part is left, and those that fell to pieces."""
    made = Counter((part.layer, sector) for part in parts for sector in part.sectors)
    for number, layer in enumerate(design.layers, start=1):
        if not layer.sectors:
            yield from _pieces(f"layer[{number}]", "layer", made[number, 0])
        for index, sector in enumerate(layer.sectors, start=1):
            if sector.film != NO_FILM:
                path = f"layer[{number}].sector[{index}]"
                yield from _pieces(path, "sector", made[number, index])


def _pieces(path: str, what: str, count: int) -> Iterator[Finding]:
    if count == 0:
        yield Finding.error(
            path,
            f"nothing is left of this {what}: what is cut out of it, or its joint gaps, are wider"
            " than it is",
        )
    elif count > 1:
        yield Finding.caution(
            path,
            f"this {what} falls into {count} pieces, each cut and laid by itself",
        )


def check_part(
    path: str,
    part: Part,
    film: Film,
    kerf: float,
    design: Design | None = None,
) -> Iterator[Finding]:
    """Yield everything doubtful about the outline of a part of a design; kerf in mm."""
    try:
        if film.is_chosen:  # else nobody knows how wide the cut will be, nor what holds
            yield from _outline_faults(path, part, film, kerf, design)
    except CannotDoError as problem:
        yield Finding.error(path, f"part {part.number}: {problem}")


def _outline_faults(
    path: str, part: Part, film: Film, kerf: float, design: Design | None
) -> Iterator[Finding]:
    """Yield what is lost or weak; raises ``CannotDoError`` where that takes too long to find."""
    losses = tuple(beam_losses(path, part, kerf, design))
    yield from losses
    is_lost = any(finding.is_error for finding in losses)
    if not (is_lost and len(part.region.outer.segments) > MANY_EDGES):
        yield from _narrow(path, part, film)


def check_engraving(path: str, part: Part) -> Iterator[Finding]:
    """Yield what is drawn to be engraved on a loose part and does not lie on it."""
    if not all(lies_on(mark, part.region, DRAWN_CLEARANCE) for mark in part.marks):
        yield Finding.error(f"{path}.engraving", OFF_THE_PART)


def check_marks(path: str, part: Part, design: Design) -> Iterator[Finding]:
    """Yield marks of a sector that found no room, or that stand in the light."""
    if not part.sector:
        return
    if design.beam is not None and any(_crosses_beam(mark, design.beam) for mark in part.marks):
        yield Finding.caution(
            path,
            f"the marks of part {part.number} stand in the light beam; marks ="
            " { number = false, tick = false } leaves them out",
        )
    tick = 1 if design.marks.tick else 0
    number = len(number_paths(part.number, 1.0)) if design.marks.number else 0
    if len(part.marks) == tick + number:
        return
    if part.marks and len(part.marks) != tick:
        what, hint = "tick", "mark its leading side by hand"
    elif part.marks or not tick:
        what, hint = "number", "label it when it drops"
    else:
        what, hint = "marks", "label it when it drops, front up"
    yield Finding.caution(path, f"part {part.number} has no room for its {what}; {hint}")


def _crosses_beam(mark: Path, beam: Beam) -> bool:
    radii = [math.hypot(*segment.start) for segment in mark]
    radii.append(math.hypot(*mark[-1].end))
    return any(abs(radius - beam.radius) < beam.width / 2.0 for radius in radii)


def _narrow(path: str, part: Part, film: Film) -> Iterator[Finding]:
    """Yield strips of a part narrower than the film's least web."""
    least = film.least_web
    outer = part.region.outer
    shrunk = offset_contour(outer, -least / 2.0)
    if not shrunk:
        yield Finding.error(
            path,
            f"part {part.number} is nowhere {least:g} mm wide, the least that holds in {part.film}",
        )
        return
    web = narrowest_web(part.region, least)
    if web < least:
        yield Finding.caution(
            path,
            f"part {part.number} has a web of {web:.3g} mm; the least that holds in {part.film} is"
            f" {least:g} mm",
        )
    if len(shrunk) > 1:
        yield Finding.caution(
            path,
            f"part {part.number} hangs together by a neck narrower than {least:g} mm, the least"
            f" that holds in {part.film}",
        )
    elif _has_tongue(outer, shrunk[0], least / 2.0):
        yield Finding.caution(
            path,
            f"part {part.number} has a tip or tongue narrower than {least:g} mm, the least that"
            f" holds in {part.film}",
        )


def _has_tongue(outer: Contour, shrunk: Contour, radius: float) -> bool:
    """Whether shrinking by a radius and growing back loses more than corners have to lose.

    A corner of interior angle a loses an area of radius² (cot(a/2) - (pi - a)/2): the kite up to
    the rounded corner less the sector of the round, and as much of the length of the outline as
    radius times twice that. A hair has hardly any area, but two long sides.
    """
    grown = offset_contour(shrunk, radius)
    lost_area = signed_area(outer) - sum(map(signed_area, grown))
    lost_length = path_length(outer.segments) - sum(path_length(each.segments) for each in grown)
    allowed = SLACK
    segments = outer.segments
    for before, after in zip(segments[-1:] + segments[:-1], segments, strict=True):
        ux, uy = end_direction(before)
        vx, vy = start_direction(after)
        turn = math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)
        if turn > 0.0:
            angle = max(math.pi - turn, SHARPEST)
            allowed += 1.0 / math.tan(angle / 2.0) - (math.pi - angle) / 2.0
    return lost_area > allowed * radius * radius or lost_length > 2.0 * allowed * radius
