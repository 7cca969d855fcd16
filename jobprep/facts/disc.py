"""All facts of a disc, in the order they are shown."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from jobprep.disc.facts import DiscFacts
from jobprep.errors import Finding
from jobprep.facts import (
    balance,
    hold,
    lamp,
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
    lamp,
    light,
    strobe,
    standing,
)


def disc_told(disc: DiscFacts) -> Iterator[Told]:
    """Yield every fact of a disc."""
    return (fact.told(disc) for fact in FACTS)


def named_told(disc: DiscFacts) -> Iterator[tuple[str, Told]]:
    """Yield every fact of a disc with its name."""
    return ((fact.__name__.rpartition(".")[2], fact.told(disc)) for fact in FACTS)


def whole_data(disc: DiscFacts, cautions: Iterable[Finding]) -> dict[str, Any]:
    """Return what is known of a disc, its name and what to know of it, as plain data."""
    words = [caution.message for caution in cautions]
    return {"name": disc.name, **disc_data(disc), "cautions": words}


def disc_data(disc: DiscFacts) -> dict[str, Any]:
    """Return what is known of a disc as plain data; every key names its unit."""
    return {key: value for each in disc_told(disc) for key, value in each.data.items()}
