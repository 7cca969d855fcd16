"""How often the light through a turning disc flashes.

A flash is a pair of opposing changes of relative luminance of at least 10 % of the maximum, the
darker state below 0.80; a red flash is a change to or from saturated red, R/(R+G+B) >= 0.8 of
linear values (WCAG 2.2, success criterion 2.3.1 and its definition of flash thresholds). A change
between a film that blocks light and one that does not always counts. Films' colours are those of
their pictures, and films on one another multiply: an estimate of what the eye meets, no
measurement.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from jobprep.colour import luminance, through
from jobprep.disc.timing import light_zones
from jobprep.disc.unchosen import are_chosen
from jobprep.disc.zones import FilmSpan, Zone, repeats
from jobprep.model.design import Design
from jobprep.model.film import Film
from jobprep.units import TURN

LEAST_CHANGE = 0.1
"""Least change of relative luminance that makes a flash (WCAG 2.2)."""
DARKER_BELOW = 0.8
"""The darker state of a flash is below this relative luminance (WCAG 2.2)."""
RED_SHARE = 0.8
"""Least R/(R+G+B) of a saturated red (WCAG 2.2)."""
HAZARD_BAND = (3.0, 30.0)
"""Flash rates that most often trigger seizures, Hz (Harding, Wilkins, Erba, Barkley and Fisher,
Epilepsia 46, 2005, 1423-1425: hazard from 3 Hz; Epilepsy Society (UK), Photosensitive epilepsy: 3
to 30 Hz common, some people up to 60). Rates beyond it are not harmless: 1 to 65 Hz have been seen
(Fisher, Harding, Erba, Barkley and Wilkins, Epilepsia 46, 2005, 1426-1441)."""
ROUNDING = 1e-9
"""A rate this near to the band lies in it: 3 Hz that come from radians per second are no less."""


class Glimpse(NamedTuple):
    """What one span lets through: relative luminance 0..1, whether a film blocks, whether red."""

    luminance: float
    blocks: bool
    red: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Flicker:
    """How a zone (radii in mm) flashes.

    ``flashes`` and ``red_flashes`` count per turn; rates are in Hz. ``repeat_rate`` is how often
    the whole pattern comes round: the slowest beat of an uneven pattern.
    """

    inner_radius: float
    outer_radius: float
    flashes: int
    red_flashes: int
    rate: float
    red_rate: float
    repeat_rate: float

    @property
    def is_hazardous(self) -> bool:
        """Whether flashes, or the beat of their pattern, lie in the hazard band."""
        return self.flashes > 0 and (in_hazard_band(self.rate) or in_hazard_band(self.repeat_rate))

    @property
    def is_red_hazardous(self) -> bool:
        """Whether red flashes, or the beat of their pattern, lie in the hazard band."""
        beat = in_hazard_band(self.red_rate) or in_hazard_band(self.repeat_rate)
        return self.red_flashes > 0 and beat


@dataclass(frozen=True, slots=True, kw_only=True)
class Duty:
    """Share of the turn (0..1) for which a zone (radii in mm) is in no blocking film's shadow.

    None where that depends on a film to be chosen.
    """

    inner_radius: float
    outer_radius: float
    share: float | None


def in_hazard_band(rate: float) -> bool:
    """Whether a flash rate in Hz lies in the hazard band."""
    return HAZARD_BAND[0] - ROUNDING <= rate <= HAZARD_BAND[1] + ROUNDING


def design_flicker(design: Design, films: Mapping[str, Film], omega: float) -> tuple[Flicker, ...]:
    """Return how each zone in the light flashes at a speed (rad/s).

    Steady ones are left out, and those where it depends on a film to be chosen.
    """
    told = (zone for zone in light_zones(design) if _is_told(zone, films))
    found = (_zone_flicker(zone, films, omega) for zone in told)
    return tuple(each for each in found if each.flashes or each.red_flashes)


def light_duty(design: Design, films: Mapping[str, Film]) -> tuple[Duty, ...]:
    """Return for how much of the turn each zone in the light lets some through."""
    return tuple(
        Duty(
            inner_radius=zone.inner_radius,
            outer_radius=zone.outer_radius,
            share=_lit(zone, films) if _is_told(zone, films) else None,
        )
        for zone in light_zones(design)
    )


def _lit(zone: Zone, films: Mapping[str, Film]) -> float:
    return 1.0 - sum(span.angle for span in zone.spans if _is_dark(span, films)) / TURN


def _is_told(zone: Zone, films: Mapping[str, Film]) -> bool:
    """Whether what passes is known all round: behind black film any film may be chosen."""
    return all(_is_dark(span, films) or are_chosen(span.films, films) for span in zone.spans)


def _is_dark(span: FilmSpan, films: Mapping[str, Film]) -> bool:
    return any(films[name].light == "blocks" for name in span.films)


def glimpse(films: Sequence[Film]) -> Glimpse:
    """Return what films on one another let through; none at all lets everything through."""
    if any(film.light == "blocks" for film in films):
        return Glimpse(0.0, True, False)
    light = through(film.colour for film in films)
    total = sum(light)
    return Glimpse(luminance(light), False, total > 0.0 and light[0] / total >= RED_SHARE)


def count_flashes(glimpses: Sequence[Glimpse]) -> int:
    """Return how many flashes a turn through these glimpses holds."""
    return max(_count_swings([each.luminance for each in glimpses]), _count_dark(glimpses))


def count_red_flashes(glimpses: Sequence[Glimpse]) -> int:
    """Return how often a turn through these glimpses changes to saturated red."""
    return sum(now.red and not glimpses[i - 1].red for i, now in enumerate(glimpses))


def _count_dark(glimpses: Sequence[Glimpse]) -> int:
    return sum(now.blocks and not glimpses[i - 1].blocks for i, now in enumerate(glimpses))


def _count_swings(luminances: list[float]) -> int:
    """Count the falls and rises of at least the least change round a turn, from the brightest."""
    brightest = luminances.index(max(luminances))
    high = low = luminances[brightest]
    falling = False
    count = 0
    for light in luminances[brightest + 1 :] + luminances[: brightest + 1]:
        if not falling:
            high = max(high, light)
            if high - light >= LEAST_CHANGE and light < DARKER_BELOW:
                falling, low = True, light
        else:
            low = min(low, light)
            if light - low >= LEAST_CHANGE:
                falling, high = False, light
                count += 1
    return count


def _zone_flicker(zone: Zone, films: Mapping[str, Film], omega: float) -> Flicker:
    glimpses = [glimpse([films[name] for name in span.films]) for span in zone.spans]
    pattern = [(seen, span.angle) for seen, span in zip(glimpses, zone.spans, strict=True)]
    turns_per_second = omega / TURN
    flashes, red_flashes = count_flashes(glimpses), count_red_flashes(glimpses)
    return Flicker(
        inner_radius=zone.inner_radius,
        outer_radius=zone.outer_radius,
        flashes=flashes,
        red_flashes=red_flashes,
        rate=flashes * turns_per_second,
        red_rate=red_flashes * turns_per_second,
        repeat_rate=repeats(pattern) * turns_per_second,
    )
