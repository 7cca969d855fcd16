"""What a page says of the light through a turning disc, as name and value."""

from __future__ import annotations

from collections.abc import Iterator

from jobprep.disc.facts import DiscFacts
from jobprep.units import number, to_ms


def light_facts(facts: DiscFacts) -> Iterator[tuple[str, str]]:
    """Yield how long light passes, how often it flashes and what seems to stand under a lamp."""
    if facts.timing is not None:
        yield "One turn", f"{to_ms(facts.timing.turn):.3f} ms"
    for duty in facts.duty:
        place = _radii(duty.inner_radius, duty.outer_radius)
        yield f"Light passes, radius {place}", f"{duty.share:.1%} of the turn".replace("%", " %")
    for flicker in facts.flicker:
        place = _radii(flicker.inner_radius, flicker.outer_radius)
        yield f"Flashes, radius {place}", f"{flicker.rate:.4g} Hz"
        if flicker.red_flashes:
            yield f"Flashes of saturated red, radius {place}", f"{flicker.red_rate:.4g} Hz"
    for ring in facts.standing:
        place = _radii(ring.inner_radius, ring.outer_radius)
        speeds = ", ".join(  # to be broken between them alone
            f"{number(speed, 2)} r/min at {rate:g} Hz".replace(" ", "\N{NO-BREAK SPACE}")
            for rate, speed in ring.speeds
        )
        yield f"{ring.bars} bars seem to stand, radius {place}", speeds


def _radii(inner: float, outer: float) -> str:
    return f"{number(inner, 2)} to {number(outer, 2)} mm"
