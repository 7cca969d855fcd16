"""How often the light through a turning disc flashes, window by window or ring by ring.

Where the machine has windows, or the design a beam, the light is what passes them, from exact
areas; else it is judged on every circle outside the hub that light can reach. A film's colour is
the one that was measured, else that of its picture, and films on one another multiply: an estimate
of what the eye meets, no measurement.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from jobprep.colour import Channels, linear_of_lab, through
from jobprep.disc.flashing import Flashing, Glow, flashing
from jobprep.disc.rings import CircleView, rings_of
from jobprep.disc.unchosen import are_chosen
from jobprep.disc.windows import WindowView
from jobprep.model.film import Film
from jobprep.units import TURN

DARK: Channels = (0.0, 0.0, 0.0)
LEAST_PERCENT = 10.0
"""A light that does not flash and flickers by less than this in per cent is steady."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Flicker:
    """How the light flashes through a ``window``, or on circles between two radii (mm).

    ``window`` is empty for circles. Rates are in Hz.
    """

    window: str
    inner_radius: float
    outer_radius: float
    rate: float
    red_rate: float
    flashing: Flashing


@dataclass(frozen=True, slots=True, kw_only=True)
class Duty:
    """The share of a turn and of the area for which light passes, 0..1: of a window or of circles.

    It is None where a film that is to be chosen lies there.
    """

    window: str
    inner_radius: float
    outer_radius: float
    share: float | None


def design_flicker(
    circles: Sequence[CircleView],
    films: Mapping[str, Film],
    omega: float,
    views: Sequence[WindowView],
) -> tuple[Flicker, ...]:
    """Return how the light flashes at a speed (rad/s), steady ones left out.

    ``views`` are what the design's windows see; without any it is judged on its ``circles``.
    """
    found = _of_windows(films, omega, views) if views else _of_circles(circles, films, omega)
    return tuple(
        each
        for each in found
        if each.flashing.changes
        or each.flashing.red_changes
        or each.flashing.percent_flicker >= LEAST_PERCENT
    )


def light_duty(
    circles: Sequence[CircleView], films: Mapping[str, Film], views: Sequence[WindowView]
) -> tuple[Duty, ...]:
    """Return for how much of a turn light passes each window, or the circles outside the hub."""
    if views:
        return tuple(
            Duty(
                window=view.window.name,
                inner_radius=view.radii[0],
                outer_radius=view.radii[1],
                share=view.mean_open,
            )
            for view in views
        )
    return tuple(_duties(circles, films))


def glow_of(stack: Sequence[str], films: Mapping[str, Film]) -> Channels:
    """Return the linear light through films on one another; none at all lets everything through."""
    if any(films[name].light == "blocks" for name in stack):
        return DARK
    red, green, blue = 1.0, 1.0, 1.0
    for name in stack:
        film = films[name]
        own = through([film.colour]) if film.lab is None else linear_of_lab(film.lab)
        red, green, blue = red * own[0], green * own[1], blue * own[2]
    return red, green, blue


def _of_windows(
    films: Mapping[str, Film], omega: float, views: Sequence[WindowView]
) -> Iterator[Flicker]:
    for view in views:
        lights = [glow_of(stack, films) for stack in view.stacks]
        glows = [
            Glow(
                moment.at,
                (
                    _mixed(moment.shares, lights, 0),
                    _mixed(moment.shares, lights, 1),
                    _mixed(moment.shares, lights, 2),
                ),
            )
            for moment in view.moments
        ]
        yield _flicker(view.window.name, view.radii, flashing(glows, omega), omega)


def _mixed(shares: Sequence[float], lights: Sequence[Channels], channel: int) -> float:
    return math.fsum(share * light[channel] for share, light in zip(shares, lights, strict=True))


def _of_circles(
    found: Sequence[CircleView], films: Mapping[str, Film], omega: float
) -> Iterator[Flicker]:
    """Yield the worst of the circles between two radii; neighbours that flash alike are one."""
    last: Flicker | None = None
    for ring in rings_of(found):
        known = [circle for circle in ring if _is_told(circle, films)]
        if len(known) < len(ring):
            continue
        flashes = [flashing(list(_jumps(circle, films)), omega) for circle in known]
        worst = max(flashes, key=lambda each: (each.most_red, each.most, each.percent_flicker))
        radii = (ring[0].inner, ring[0].outer)
        now = _flicker("", radii, worst, omega)
        if last is not None and _alike(last, now):
            now = replace(last, outer_radius=radii[1])
        elif last is not None:
            yield last
        last = now
    if last is not None:
        yield last


def _flicker(window: str, radii: tuple[float, float], found: Flashing, omega: float) -> Flicker:
    turns = omega / TURN
    return Flicker(
        window=window,
        inner_radius=radii[0],
        outer_radius=radii[1],
        rate=len(found.changes) / 2.0 * turns,
        red_rate=len(found.red_changes) / 2.0 * turns,
        flashing=found,
    )


def _alike(one: Flicker, other: Flicker) -> bool:
    a, b = one.flashing, other.flashing
    return (
        math.isclose(one.outer_radius, other.inner_radius)
        and (one.rate, one.red_rate, a.most, a.most_red)
        == (other.rate, other.red_rate, b.most, b.most_red)
        and abs(a.percent_flicker - b.percent_flicker) < 0.5
        and abs(a.flicker_index - b.flicker_index) < 0.005
    )


def _jumps(circle: CircleView, films: Mapping[str, Film]) -> Iterator[Glow]:
    for stack, start, angle in circle.spans:
        light = glow_of(stack, films)
        yield Glow(start, light)
        yield Glow(start + angle, light)


def _duties(found: Sequence[CircleView], films: Mapping[str, Film]) -> Iterator[Duty]:
    last: Duty | None = None
    for ring in rings_of(found):
        inner, outer = ring[0].inner, ring[0].outer
        share: float | None = None
        if all(_is_told(circle, films) for circle in ring):
            weights = [circle.weight * circle.radius for circle in ring]
            lit = [
                weight * _lit(circle, films) for weight, circle in zip(weights, ring, strict=True)
            ]
            share = math.fsum(lit) / math.fsum(weights)
        if last is not None and math.isclose(last.outer_radius, inner) and _same(last.share, share):
            last = replace(last, outer_radius=outer)
            continue
        if last is not None:
            yield last
        last = Duty(window="", inner_radius=inner, outer_radius=outer, share=share)
    if last is not None:
        yield last


def _same(one: float | None, other: float | None) -> bool:
    return one is other or (one is not None and other is not None and abs(one - other) < 1e-9)


def _lit(circle: CircleView, films: Mapping[str, Film]) -> float:
    dark = (angle for stack, _, angle in circle.spans if _is_dark(stack, films))
    return 1.0 - math.fsum(dark) / TURN


def _is_told(circle: CircleView, films: Mapping[str, Film]) -> bool:
    """Whether what passes is known all round: behind black film any film may be chosen."""
    return all(_is_dark(stack, films) or are_chosen(stack, films) for stack, _, _ in circle.spans)


def _is_dark(stack: Sequence[str], films: Mapping[str, Film]) -> bool:
    return any(films[name].light == "blocks" for name in stack)
