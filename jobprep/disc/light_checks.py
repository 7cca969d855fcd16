"""Checks of the light through windows: colours not known in the lamp, alike in one light only."""

from __future__ import annotations

from collections.abc import Iterator

from jobprep.disc.facts import DiscFacts
from jobprep.disc.window_light import is_lamp_named
from jobprep.errors import Finding

FIELD = "machine.lamp"


def check_light(facts: DiscFacts) -> Iterator[Finding]:
    """Yield films whose colour in the machine's lamp is not known, and metameric stacks."""
    if not is_lamp_named(facts.design):
        return
    named = [each for each in facts.window_lights if each.is_lamp_given]
    lacking = sorted({name for each in named for name in each.lacking})
    if lacking:
        films = ", ".join(lacking)
        has = "it has no spectrum" if len(lacking) == 1 else "they have no spectra"
        yield Finding.caution(
            FIELD,
            f"the colour of {films} in the lamp {named[0].lamp.name} is not known, since {has}"
            " (transmission in the film's file); the colours given are those of daylight,"
            " multiplied by channels",
        )
    pairs = dict.fromkeys(pair for light in named for pair in light.metamers)
    yield from (Finding.caution(FIELD, pair.said(named[0].lamp)) for pair in pairs)
