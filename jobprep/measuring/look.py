"""What a measured disc looks like, in words: the order shows whether it is mirrored."""

from __future__ import annotations

from jobprep.measuring.measured import Measured
from jobprep.measuring.measurement import Measurement
from jobprep.units import number, to_dial


def look_in_words(measurement: Measurement) -> str:
    """Return what lies where, clockwise from the zero at 12 o'clock, "" of a bare disc.

    Directions are dial degrees from 0 to 360, of every ring together.
    """
    places = [
        (_dial(edge.direction), f"{edge.name or 'an edge'} from")
        for ring in measurement.rings
        for edge in ring.edges
    ]
    places += [(_dial(hole.direction), f"hole {hole.name} at") for hole in measurement.holes]
    if not places:
        return ""
    told = ", ".join(f"{what} {number(dial, 1)}°" for dial, what in sorted(places))
    return (
        f"Clockwise from 12 o'clock, with its zero on top: {told}. "
        "If the disc in front of you runs the other way round, y grows the other way."
    )


def _dial(direction: Measured) -> float:
    """Return a direction as it is shown, so that what lies at 12 o'clock comes first."""
    return round(to_dial(direction.value), 1) % 360.0
