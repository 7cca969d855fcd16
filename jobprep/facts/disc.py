"""All facts of a disc, in the order they are shown."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from jobprep.disc.facts import DiscFacts
from jobprep.facts import (
    balance,
    hold,
    layers,
    light,
    mass,
    original,
    rim_speed,
    standing,
    strobe,
    thickness,
    timing,
    uncertainty,
    unchosen,
    windows,
)
from jobprep.facts.told import Told

FACTS = (
    unchosen,
    layers,
    mass,
    original,
    thickness,
    hold,
    balance,
    rim_speed,
    timing,
    uncertainty,
    windows,
    light,
    strobe,
    standing,
)


def disc_told(disc: DiscFacts) -> Iterator[Told]:
    """Yield every fact of a disc."""
    return (fact.told(disc) for fact in FACTS)


def disc_data(disc: DiscFacts) -> dict[str, Any]:
    """Return what is known of a disc as plain data; every key names its unit."""
    return {key: value for each in disc_told(disc) for key, value in each.data.items()}
