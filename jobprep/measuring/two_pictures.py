"""Two photographs of one disc: what is known of both, and their measurements joined."""

from __future__ import annotations

from dataclasses import replace

from jobprep.measuring.combine import combined, mirrored
from jobprep.measuring.measurement import Measurement
from jobprep.model.taken import Corrections


def known_of_other(own: Corrections, first: Corrections) -> Corrections:
    """Return the corrections of a second photograph: its own, and the scale and light of the first.

    What its own say of scale or light wins.
    """
    known = replace(own, light=own.light or first.light, diameter=own.diameter or first.diameter)
    if own.paper is None and own.scan is None:
        known = replace(known, paper=first.paper, scan=first.scan)
    return known


def joined(first: Measurement, other: Measurement, name: str, *, is_back: bool) -> Measurement:
    """Return two measurements of one disc as one, the ``other`` named by its picture.

    Raises ``CannotDoError`` where the two do not show one disc, or it looks the same after a turn.
    """
    return combined(first, mirrored(other) if is_back else other, name)
