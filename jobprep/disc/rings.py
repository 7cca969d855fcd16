"""Which films lie on one another along a circle about the axis, from the pieces as they are cut."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from jobprep.disc.features import bore_reach
from jobprep.disc.pieces import DiscPiece, design_pieces, dot_pieces
from jobprep.disc.timing import seen_in_light
from jobprep.disc.turning import Turning, turning_of
from jobprep.geometry.measure import surrounds
from jobprep.geometry.outline import Arc
from jobprep.geometry.radial import CONCENTRIC, RadialContour, radial_contours
from jobprep.model.design import Design
from jobprep.model.film import Film
from jobprep.units import TURN

SAME = 1e-9
"""Radii (mm) and angles (radians) nearer than this are one."""
LOOKS = (
    (0.046910077030668, 0.118463442528095),
    (0.230765344947158, 0.239314335249683),
    (0.5, 0.284444444444444),
    (0.769234655052842, 0.239314335249683),
    (0.953089922969332, 0.118463442528095),
)
"""Where it is looked between two radii at which an outline begins or ends, as shares of the way,
and how much each look counts in a mean: Gauss-Legendre (Abramowitz and Stegun, table 25.4).
"""


JOINT = 1.01
"""A gap is cut across by circles a little askew, so that it is wider on them by a part of this."""

Span = tuple[tuple[str, ...], float, float]
"""A stack, the moment from which it passes, and the angle over which it does."""


class CircleView(NamedTuple):
    """What passes along a circle: ``stacks`` of films, each from a moment over an angle of a turn.

    Of those that look alike with the light behind them ``spans`` make one. No outline begins or
    ends between the radii ``inner`` and ``outer``, for which the circle stands with its ``weight``.
    """

    radius: float
    inner: float
    outer: float
    weight: float
    stacks: tuple[Span, ...]
    spans: tuple[Span, ...]


class _Piece(NamedTuple):
    piece: DiscPiece
    contours: tuple[RadialContour, ...]


def design_circles(design: Design, films: Mapping[str, Film]) -> tuple[CircleView, ...]:
    """Return what is seen on the circles of a design that light can reach: outside bore and hub."""
    hub = (design.hub_diameter or 0.0) / 2.0
    bore = 0.0 if design.bore is None else bore_reach(design.bore)
    return tuple(circles(design, films, turning_of(design), max(hub, bore)))


def rings_of(found: Iterable[CircleView]) -> Iterator[list[CircleView]]:
    """Yield the circles between each two radii, from the inside out."""
    return (list(ring) for _, ring in itertools.groupby(found, lambda each: each.inner))


def closed(spans: Sequence[Span]) -> list[tuple[tuple[str, ...], float]]:
    """Return each stack and its angle as they follow one another all round."""
    cycle = [(stack, angle) for stack, _, angle in spans]
    if len(cycle) > 1 and cycle[0][0] == cycle[-1][0]:
        _, last = cycle.pop()
        cycle[0] = (cycle[0][0], cycle[0][1] + last)
    return cycle


def circles(
    design: Design, films: Mapping[str, Film], turning: Turning, beyond: float
) -> Iterator[CircleView]:
    """Yield what is seen on circles outside a radius (mm), wherever an outline begins or ends.

    A place that does not move sees it pass in the order of the spans. What is no wider than the
    design's joint gaps counts with what passes before it: no light is that narrow.
    """
    hair = JOINT * max((abs(layer.joint_gap) for layer in design.layers), default=0.0)
    pieces = [
        _Piece(piece, radial_contours(piece.region))
        for piece in (*design_pieces(design), *dot_pieces(design))
    ]
    radii = sorted({beyond, *(each for each in _radii(pieces) if each > beyond)})
    for inner, outer in itertools.pairwise(radii):
        if outer - inner > SAME:
            for share, weight in LOOKS:
                radius = inner + share * (outer - inner)
                stacks = tuple(_wide(list(_stacks(pieces, radius, turning)), hair / radius))
                spans = tuple(
                    _joined((seen_in_light(each[0], films), *each[1:]) for each in stacks)
                )
                yield CircleView(radius, inner, outer, weight, stacks, spans)


def _radii(pieces: Sequence[_Piece]) -> Iterator[float]:
    """Yield the radii at which an outline begins, ends or has a corner."""
    for piece, contours in pieces:
        for outline, contour in zip(piece.region.contours, contours, strict=True):
            ends = [end for each in contour.branches for end in (each.inner, each.outer)]
            if len(outline.segments) == 1 and ends:
                # A whole circle has no corner where its arc happens to start.
                yield from (min(ends), max(ends))
                continue
            yield from ends
            for segment in outline.segments:
                if isinstance(segment, Arc) and math.hypot(*segment.centre) <= CONCENTRIC:
                    yield segment.radius


def _stacks(pieces: Sequence[_Piece], radius: float, turning: Turning) -> Iterator[Span]:
    """Yield each stack with the moment from which it passes, and for which angle."""
    changes: list[tuple[float, int, bool]] = []
    present: set[int] = set()
    for number, (piece, contours) in enumerate(pieces):
        own = sorted(_passing(contours, radius, turning))
        changes += [(at, number, begins) for at, begins in own]
        if own and not own[0][1]:
            present.add(number)
        elif not own and surrounds(piece.region, (radius, 0.0)):  # no contour meets the circle
            present.add(number)
    found: list[Span] = []
    at = 0.0
    for until, number, begins in [*sorted(changes), (TURN, -1, False)]:
        if until - at > SAME:
            stack = tuple(pieces[each].piece.film for each in sorted(present))
            found.append((stack, at, until - at))
            at = until
        if begins:
            present.add(number)
        else:
            present.discard(number)
    yield from _joined(found)


def _joined(spans: Iterable[Span]) -> Iterator[Span]:
    """Yield spans, those of one stack that follow one another as one."""
    for stack, own in itertools.groupby(spans, lambda each: each[0]):
        first, *others = own
        _, start, angle = others[-1] if others else first
        yield stack, first[1], start + angle - first[1]


def _wide(spans: Sequence[Span], least: float) -> Iterator[Span]:
    """Yield spans, those no wider than an angle joined to the one before them."""
    wide = [index for index, (_, _, angle) in enumerate(spans) if angle > least]
    if not wide:
        yield from spans
        return
    if wide[0] > 0:
        stack = spans[wide[-1]][0]  # a turn ends with what it begins with
        yield stack, spans[0][1], spans[wide[0]][1] - spans[0][1]
    for index, following in zip(wide, [*wide[1:], len(spans)], strict=True):
        stack, start, _ = spans[index]
        end = spans[following][1] if following < len(spans) else TURN
        yield stack, start, end - start


def _passing(
    contours: Sequence[RadialContour], radius: float, turning: Turning
) -> Iterator[tuple[float, bool]]:
    """Yield the moments at which a piece begins or ends to pass on a circle."""
    for contour in contours:
        for branch in contour.branches:
            if branch.inner < radius < branch.outer:
                # Film lies to the left of its contour: anticlockwise of a branch that rises.
                at = turning.since_start(turning.sensor - branch.angle(radius))
                yield at, (branch.rising > 0.0) != (turning.sense > 0.0)
