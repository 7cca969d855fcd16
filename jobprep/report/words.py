"""Numbers as a reader of the page wants them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import TYPE_CHECKING

from jobprep.geometry.measure import region_bounds
from jobprep.geometry.outline import Region
from jobprep.units import minutes_and_seconds, number, to_cm2, to_m

if TYPE_CHECKING:
    from jobprep.money.figure import Figure
    from jobprep.summary import CutUpSummary

UNKNOWN = "–"
PARTS_OF_USED, PARTS_OF_OPENED = "Parts / film used", "Parts / sheet opened"
"""The names of the two shares of parts; only the first depends on what is worth keeping."""


def pierce_words(assumed: float | None) -> str:
    """Say what pierce time is in all times although nothing that is written waits for it."""
    return "" if assumed is None else f"Times assume {assumed:g} s for each pierce."


def in_short(text: str) -> str:
    """Return the first clause of a sentence, without its end."""
    return re.split(r"[.:;](?:\s|$)", text, maxsplit=1)[0]


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


def saved_words(length: float, seconds: float) -> str:
    """Say what shared sides save, mm and s; nothing where parts share none."""
    if not length:
        return ""
    text = f"Sides that parts share save {length:.0f} mm of cutting"
    if seconds > 0.0:
        return f"{text} and {duration(seconds)}."
    return f"{text}; starting again takes {duration(-seconds)} more."


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


def stock_words(label: str, piece: str) -> str:
    """Return what to call a piece of stock: a leftover by its label, a sheet by its id if any."""
    return f"Leftover {label}" if label else f"Whole sheet {piece}".rstrip()


def listed(words: Iterable[str]) -> str:
    """Return words as a list in a sentence: with commas, and the last after "and"."""
    *first, last = words
    return f"{', '.join(first)} and {last}" if first else last


def cut_up_words(film: str, cut_up: CutUpSummary) -> str:
    """Say what to cut by hand off a sheet larger than the bed, in one sentence."""
    opened = cut_up.opened
    named = opened.label or opened.piece
    sheet = f"{film}, {dimensions(opened.width, opened.height)}{named and f' ({named})'}"
    count = len(cut_up.cuts)
    cuts = "a straight cut" if count == 1 else f"{count} straight cuts"
    pieces = listed(f"{extent(piece.region)} (sheet {piece.number})" for piece in cut_up.pieces)
    return f"cut {pieces} off {sheet}, by {cuts}"
