"""Numbers as a reader of the page wants them."""

from __future__ import annotations

from jobprep.geometry.measure import region_bounds
from jobprep.geometry.outline import Region
from jobprep.money.figure import Figure
from jobprep.units import minutes_and_seconds, number, to_cm2, to_m

UNKNOWN = "–"


def metres(length: float) -> str:
    """Return a length in m, without the unit."""
    return f"{to_m(length):.2f}"


def square_cm(size: float) -> str:
    """Return an area in cm², without the unit."""
    return f"{to_cm2(size):.0f}"


def share(part: float) -> str:
    """Return a share in per cent."""
    return f"{part:.0%}".replace("%", " %")


def duration(seconds: float) -> str:
    """Return a time in minutes and seconds."""
    minutes, rest = minutes_and_seconds(seconds)
    return f"{minutes} min {rest:02d} s" if minutes else f"{rest} s"


def money(amount: float | None, currency: str = "") -> str:
    """Return an amount, a dash where nobody gave a price."""
    return UNKNOWN if amount is None else f"{amount:.2f} {currency}".rstrip()


def price_words(figure: Figure, currency: str = "") -> tuple[str, str]:
    """Return one of the two prices, and what stands beside it."""
    amount = "not known" if figure.amount is None else money(figure.amount, currency)
    return amount, "; ".join(figure.notes)


def extent(region: Region) -> str:
    """Return the size of the upright box around a region."""
    box = region_bounds(region)
    return dimensions(box.width, box.height)


def dimensions(width: float, height: float) -> str:
    """Return a width and height in mm."""
    return f"{number(width, 1)} × {number(height, 1)} mm"
