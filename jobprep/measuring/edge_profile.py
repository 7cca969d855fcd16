"""Where an edge crosses a line of samples, to a fraction of a sample.

Edges are looked for in CIELAB, where equal steps look equal, and placed in linear light, where
blur keeps their middle: the colours either side are taken from the profile's ends, each sample
becomes the share it has of the far one, and the shares add up to the edge's place. That sum is the
same for every symmetric blur.
"""

from __future__ import annotations

import numpy as np

from jobprep.measuring.measured import Floats

LEAST_STEP = 3.5
"""Smallest CIELAB step over an edge that counts as seen in one profile."""


def sample(image: Floats, places: Floats) -> Floats:
    """Sample an image bilinearly at (..., 2) places (column, row); outside, its border."""
    from scipy import ndimage

    at = np.moveaxis(places[..., ::-1], -1, 0)
    channels = [
        ndimage.map_coordinates(channel, at, np.float64, order=1, mode="nearest")
        for channel in np.moveaxis(image, -1, 0)
    ]
    return np.stack(channels, axis=-1)


def edge_positions(linear: Floats, lab: Floats, half: int = 8) -> tuple[Floats, Floats]:
    """Place the strongest edge of each profile.

    Parameters
    ----------
    linear, lab
        (n, m, 3) profiles; ``half`` samples either side of the edge are used to place it.

    Returns
    -------
    Positions in samples (n,), and the CIELAB step across as weight, 0 where there is no edge.
    """
    rise, first = _rise(lab)
    peak = first + np.argmax(rise, axis=1) - 0.5
    return place_edges(linear, lab, peak, half)


def edge_peaks(lab: Floats) -> Floats:
    """Return (n, m): the CIELAB step at samples before which a profile steps most, else 0."""
    rise, first = _rise(lab)
    padded = np.pad(rise, ((0, 0), (2, 2)))
    length = rise.shape[1]
    top = rise >= LEAST_STEP
    for shift in (0, 1, 3, 4):
        neighbour = padded[:, shift : shift + length]
        top &= (rise > neighbour) if shift < 2 else (rise >= neighbour)
    steps = np.zeros(lab.shape[:2])
    steps[:, first : first + length] = np.where(top, rise, 0.0)
    return steps


def _rise(lab: Floats) -> tuple[Floats, int]:
    """Return the step between the means of a few samples either side, and its first sample."""
    count, length = lab.shape[:2]
    width = min(4, max(length // 6, 1))
    total = np.cumsum(np.concatenate([np.zeros((count, 1, 3)), lab], axis=1), axis=1)
    middle = np.arange(width, length - width + 1)
    after = (total[:, middle + width] - total[:, middle]) / width
    before = (total[:, middle] - total[:, middle - width]) / width
    return np.sqrt(((after - before) ** 2).sum(axis=2)), width


def place_edges(linear: Floats, lab: Floats, rough: Floats, half: int) -> tuple[Floats, Floats]:
    """Place the edge near each ``rough`` position; see ``edge_positions``."""
    count, length = lab.shape[:2]
    start = np.clip(np.rint(rough).astype(int) - half, 0, max(length - 2 * half - 1, 0))
    index = start[:, None] + np.arange(min(2 * half + 1, length))
    rows = np.arange(count)[:, None]
    window, colours = linear[rows, index], lab[rows, index]
    end = max(window.shape[1] // 4, 1)
    first, last = window[:, :end].mean(axis=1), window[:, -end:].mean(axis=1)
    step = last - first
    square = np.maximum((step**2).sum(axis=1), 1e-12)
    share = ((window - first[:, None]) * step[:, None]).sum(axis=2) / square[:, None]
    outside = (share < -0.35).any(axis=1) | (share > 1.35).any(axis=1)
    # Half a sample: a sample stands for the stretch half a step either side of it.
    position = start + (1.0 - share).sum(axis=1) - 0.5
    height = np.sqrt(
        ((colours[:, -end:].mean(axis=1) - colours[:, :end].mean(axis=1)) ** 2).sum(axis=1)
    )
    inside = (position > start + 0.5) & (position < start + window.shape[1] - 1.5)
    return position, np.where((height >= LEAST_STEP) & inside & ~outside, height, 0.0)
