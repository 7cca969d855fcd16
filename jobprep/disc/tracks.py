"""Which films are seen for which share of a turn: in each window, else on the circles of a disc."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from jobprep.disc.rings import CircleView, rings_of
from jobprep.disc.windows import WindowView
from jobprep.units import TURN

ALIKE = 0.02
"""Neighbouring rings that show the same films for shares that differ by less are one, with the mean
shares of both: rounded corners begin and end a ring, too."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmShare:
    """The share of turn and area (0..1) for which the same films are seen with the light behind.

    Of a stack that blocks the light only the first film that does is seen: no tint before or behind
    it colours anything.
    """

    films: tuple[str, ...]
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Track:
    """What a ``window``, or where that is empty a ring of the disc (radii in mm), shows in a turn.

    The films ``everywhere`` lie wherever there is film, seen or not.
    """

    window: str
    inner_radius: float
    outer_radius: float
    shares: tuple[FilmShare, ...]
    everywhere: frozenset[str]


def design_tracks(found: Sequence[CircleView], views: Sequence[WindowView]) -> tuple[Track, ...]:
    """Return what is seen in each window, without any on the circles of a design."""
    if views:
        return tuple(map(_of_window, views))
    return tuple(_merged(_of_ring(ring) for ring in rings_of(found)))


def _of_window(view: WindowView) -> Track:
    shares = (
        FilmShare(films=stack, share=view.mean_share(index))
        for index, stack in enumerate(view.stacks)
    )
    return Track(
        window=view.window.name,
        inner_radius=view.radii[0],
        outer_radius=view.radii[1],
        shares=tuple(shares),
        everywhere=view.everywhere,
    )


def _of_ring(ring: Sequence[CircleView]) -> Track:
    """Return the mean over the area of a ring."""
    whole = math.fsum(circle.weight * circle.radius for circle in ring)
    shares: dict[tuple[str, ...], float] = {}
    for circle in ring:
        for stack, _, angle in circle.spans:
            part = circle.weight * circle.radius / whole * angle / TURN
            shares[stack] = shares.get(stack, 0.0) + part
    films = [frozenset(stack) for circle in ring for stack, _, _ in circle.stacks if stack]
    return Track(
        window="",
        inner_radius=ring[0].inner,
        outer_radius=ring[0].outer,
        shares=tuple(FilmShare(films=films, share=share) for films, share in shares.items()),
        everywhere=frozenset.intersection(*films) if films else frozenset(),
    )


def _merged(found: Iterable[Track]) -> Iterator[Track]:
    last: Track | None = None
    for track in found:
        if last is not None and _are_alike(last, track):
            last = _both(last, track)
            continue
        if last is not None:
            yield last
        last = track
    if last is not None:
        yield last


def _are_alike(one: Track, other: Track) -> bool:
    a, b = _by_films(one), _by_films(other)
    return (
        math.isclose(one.outer_radius, other.inner_radius)
        and a.keys() == b.keys()
        and all(abs(a[films] - b[films]) < ALIKE for films in a)
    )


def _both(one: Track, other: Track) -> Track:
    areas = [each.outer_radius**2 - each.inner_radius**2 for each in (one, other)]
    second = _by_films(other)
    shares = (
        replace(each, share=(each.share * areas[0] + second[each.films] * areas[1]) / sum(areas))
        for each in one.shares
    )
    return replace(
        one,
        outer_radius=other.outer_radius,
        shares=tuple(shares),
        everywhere=one.everywhere & other.everywhere,
    )


def _by_films(track: Track) -> Mapping[tuple[str, ...], float]:
    return {each.films: each.share for each in track.shares}
