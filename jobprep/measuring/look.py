"""What a measured disc looks like, in words: a mirrored one is noticed by its order."""

from __future__ import annotations

from jobprep.measuring.measurement import Measurement
from jobprep.units import number, to_dial


def look_in_words(measurement: Measurement) -> str:
    """Return what lies where, clockwise from the zero at 12 o'clock, "" of a bare disc.

    Directions are dial degrees from 0 to 360, of every ring together.
    """
    places = [
        (to_dial(edge.direction.value), f"{edge.name or 'an edge'} from")
        for ring in measurement.rings
        for edge in ring.edges
    ]
    places += [
        (to_dial(hole.direction.value), f"hole {hole.name} at") for hole in measurement.holes
    ]
    if not places:
        return ""
    told = ", ".join(f"{what} {_degrees(dial)}" for dial, what in sorted(places))
    return (
        f"Clockwise from 12 o'clock, with its zero on top: {told}. "
        "If the disc in front of you runs the other way round, y grows the other way."
    )


def _degrees(dial: float) -> str:
    return f"{number(round(dial, 1) % 360.0, 1)}°"
