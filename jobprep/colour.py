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

RGB_TO_XYZ = ((0.4124, 0.3576, 0.1805), LUMINANCE, (0.0193, 0.1192, 0.9505))
"""The four-digit matrix of sRGB: linear red, green and blue to CIE XYZ."""
WHITE = (0.3127 / 0.3290, 1.0, (1.0 - 0.3127 - 0.3290) / 0.3290)
"""D65 as XYZ from its chromaticity 0.3127, 0.3290."""
LAB_KNEE = 6.0 / 29.0
"""Below this CIELAB is a line instead of a cube root (ISO/CIE 11664-4)."""

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


def linear_of_lab(lab: tuple[float, float, float]) -> Channels:
    """Return the linear light of a CIELAB colour under D65, channels below zero as zero."""
    y = (lab[0] + 16.0) / 116.0
    roots = (y + lab[1] / 500.0, y, y - lab[2] / 200.0)
    xyz = [
        white * (root**3 if root > LAB_KNEE else 3.0 * LAB_KNEE**2 * (root - 4.0 / 29.0))
        for white, root in zip(WHITE, roots, strict=True)
    ]
    (a, b, c), (d, e, f), (g, h, i) = RGB_TO_XYZ
    x, y, z = xyz
    whole = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g)
    red = x * (e * i - f * h) - b * (y * i - f * z) + c * (y * h - e * z)
    green = a * (y * i - f * z) - x * (d * i - f * g) + c * (d * z - y * g)
    blue = a * (e * z - y * h) - b * (d * z - y * g) + x * (d * h - e * g)
    return max(0.0, red / whole), max(0.0, green / whole), max(0.0, blue / whole)


def chromaticity(linear: Channels) -> tuple[float, float] | None:
    """Return u' and v' of linear light (ISO/CIE 11664-5), None where it is dark."""
    x, y, z = (
        sum(weight * channel for weight, channel in zip(row, linear, strict=True))
        for row in RGB_TO_XYZ
    )
    total = x + 15.0 * y + 3.0 * z
    return (4.0 * x / total, 9.0 * y / total) if total > 0.0 else None


def darkened(colour: str, share: float) -> str:
    """Return a colour mixed with black, of which ``share`` is left."""
    return hex_of(share * channel for channel in channels(colour))
