"""What must fit together in a bore."""

from __future__ import annotations

import math
from collections.abc import Iterator

from jobprep.errors import Finding
from jobprep.files.design_schema import BoreTable
from jobprep.files.findings import not_below
from jobprep.units import number

_SIZES = ("diameter", "square", "flat", "key_width", "key_depth")


def bore_findings(bore: BoreTable, outer: float | None) -> Iterator[Finding]:
    """Yield which fields of a bore do not go together, or do not fit the disc."""
    given = [key for key in _SIZES if getattr(bore, key) is not None]
    if ("diameter" in given) == ("square" in given):
        yield Finding.error("bore", "give either diameter or square")
    elif "square" in given and len(given) > 1:
        yield Finding.error(f"bore.{given[1]}", "does not go with square, only with diameter")
    elif "flat" in given and len(given) > 2:
        yield Finding.error(f"bore.{given[2]}", "a bore has either a flat or a key, not both")
    elif ("key_width" in given) != ("key_depth" in given):
        yield Finding.error("bore", "a key needs both key_width and key_depth")
    else:
        yield from _sizes(bore, outer)


def bore_reach(bore: BoreTable) -> float:
    """Return how far a bore reaches from the centre, mm."""
    if bore.square is not None:
        return bore.square / math.sqrt(2.0)
    radius = (bore.diameter or 0.0) / 2.0
    if bore.key_width is not None and bore.key_depth is not None:
        return math.hypot(radius + bore.key_depth, bore.key_width / 2.0)
    return radius


def _sizes(bore: BoreTable, outer: float | None) -> Iterator[Finding]:
    diameter = bore.diameter
    if diameter is not None and bore.flat is not None:
        if not diameter / 2.0 <= bore.flat < diameter:
            message = (
                f"{number(bore.flat)} mm from the flat to the opposite side is not between half the"
                f" diameter and the diameter, {number(diameter / 2.0)} and {number(diameter)} mm"
            )
            yield Finding.error("bore.flat", message)
    yield from not_below("bore.key_width", bore.key_width, diameter, "the diameter")
    if outer is not None and 2.0 * bore_reach(bore) >= outer:
        across = number(2.0 * bore_reach(bore))
        message = f"{across} mm across is not below the outer diameter, {number(outer)} mm"
        yield Finding.error("bore", message)
