"""Colours as sRGB: how they are written, how much light they are (IEC 61966-2-1:1999).

A colour is text, ``#rrggbb``, in files and drawings. Its channels are red, green and blue from 0 to
1: encoded as they are written, or linear as light adds up.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Channels = tuple[float, float, float]

LUMINANCE = (0.2126, 0.7152, 0.0722)
"""Weights of linear red, green and blue in relative luminance (as in WCAG 2.2, too)."""

Value = TypeVar("Value", float, "NDArray[np.float64]")
"""A channel, or an array of them."""


def channels(colour: str) -> Channels:
    """Return the encoded channels of ``#rrggbb``."""
    red, green, blue = (int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
    return red, green, blue


def hex_of(encoded: Iterable[float]) -> str:
    """Return the nearest ``#rrggbb`` of encoded channels."""
    return "#" + "".join(f"{round(255.0 * channel):02x}" for channel in encoded)


def decode(encoded: Value) -> Value:
    """Return the linear light of an encoded channel."""
    is_low = encoded <= 0.04045
    power: Value = ((encoded + 0.055) / 1.055) ** 2.4
    return is_low * (encoded / 12.92) + (1.0 - is_low) * power


def encode(linear: Value) -> Value:
    """Encode linear light of 0 to 1."""
    is_low = linear <= 0.0031308
    power: Value = linear ** (1.0 / 2.4)
    return is_low * (12.92 * linear) + (1.0 - is_low) * (1.055 * power - 0.055)


def through(colours: Iterable[str]) -> Channels:
    """Return the linear light that comes through films of these colours on one another.

    Their linear channels are multiplied; no film at all lets everything through.
    """
    red = green = blue = 1.0
    for colour in colours:
        r, g, b = map(decode, channels(colour))
        red, green, blue = red * r, green * g, blue * b
    return red, green, blue


def luminance(linear: Channels) -> float:
    """Return the relative luminance of linear light, 0 to 1."""
    return sum(weight * channel for weight, channel in zip(LUMINANCE, linear, strict=True))


def darkened(colour: str, share: float) -> str:
    """Return a colour mixed with black, of which ``share`` is left."""
    return hex_of(share * channel for channel in channels(colour))
