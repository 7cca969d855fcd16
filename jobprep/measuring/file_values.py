"""Values found in a file of measurements: numbers that can be computed with, and words for them."""

from __future__ import annotations

LARGEST = 1e6
"""Greatest coordinate or length read, in whatever unit: pixels, mm."""

_SHOWN = 60
"""Longest value repeated in a message, in characters."""


def number(raw: object) -> float | None:
    """Return a number, also one written as text, None when it is none or beyond ``LARGEST``."""
    if isinstance(raw, bool) or not isinstance(raw, (int, float, str)):
        return None
    try:
        value = float(raw)
    except (ValueError, OverflowError):
        return None
    return value if abs(value) <= LARGEST else None


def shown(raw: object) -> str:
    """Write a value found in a file, shortened."""
    if isinstance(raw, int) and not isinstance(raw, bool) and abs(raw) >= 10**_SHOWN:
        return "a number far too large"
    if isinstance(raw, list | dict):
        return "a list" if isinstance(raw, list) else "a table"
    text = repr(raw[: 2 * _SHOWN] if isinstance(raw, str) else raw)
    return text if len(text) <= _SHOWN else f"{text[:_SHOWN]}...'"
