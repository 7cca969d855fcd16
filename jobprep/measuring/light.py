"""From how a film looks in a photograph to what it lets through, as a CIELAB colour.

Each channel of linear light is divided by that of white in the same picture. With the light behind
it, a film is seen through once. On white paper the light goes through it to the paper and back, so
each channel is squared; its root is close to a single pass. Light that the film itself reflects,
and light reflected between film and paper, is left out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, NamedTuple, get_args

import numpy as np

from jobprep.light.difference import ciede2000
from jobprep.measuring.colour import Lab, lab_from_linear
from jobprep.measuring.measured import Floats

LightWay = Literal["behind", "paper"]
LIGHT_WAYS = get_args(LightWay)

CAMERA_OFF = 2.5
"""Standard uncertainty of a colour in a balanced photograph, CIEDE2000 (common practice, no
source)."""

TWO_PASSES_OFF = 2.5
"""The same for what undoing a second pass leaves out (common practice, no source)."""

UNBALANCED_OFF = math.log(1.5) / math.sqrt(3.0)
"""Standard uncertainty of a channel's logarithm where no white is known: a camera's own balance may
leave half a stop either way (common practice, no source)."""

LEAST_WHITE = 0.02
"""Least linear light of white in a channel."""

TWO_PASSES = (
    "the light went through the films twice, to the paper and back: each colour is undone to a "
    "single pass by the root of its channels, which leaves out what film and paper reflect to and "
    "fro, so it only comes near"
)
UNSAID = (
    "how the light fell was not said, so colours are as they look: with --light behind they are "
    "what the films let through, with --light paper the second pass through a film on white paper "
    "is undone"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lighting:
    """How the light fell: ``white`` is the linear colour (3,) of white, None where none is known.

    ``white_off`` is the standard uncertainty of white at the disc, as a share of it.
    """

    way: LightWay | None = None
    white: Floats | None = None
    white_off: float = 0.0


UNKNOWN_LIGHT = Lighting()


class FilmColour(NamedTuple):
    """A CIELAB colour and its standard uncertainty as a CIEDE2000 difference."""

    lab: Lab
    off: float


def film_colour(seen: Floats, scatter: Floats, lighting: Lighting) -> FilmColour:
    """Return the colour of a film from its linear colour (3,) and the scatter (3,) of it."""
    through = _through(seen, lighting)
    lab = lab_from_linear(through)
    off = [CAMERA_OFF]
    if lighting.way == "paper":
        off.append(TWO_PASSES_OFF)
    balance = UNBALANCED_OFF if lighting.white is None else 0.0
    for channel in range(3):
        moved = seen.copy()
        moved[channel] = moved[channel] * math.exp(balance) + scatter[channel]
        off.append(float(ciede2000(lab, lab_from_linear(_through(moved, lighting)))))
    brighter = _through(seen * (1.0 + lighting.white_off), lighting)
    off.append(float(ciede2000(lab, lab_from_linear(brighter))))
    return FilmColour(Lab(*(float(value) for value in lab)), math.hypot(*off))


def light_warnings(lighting: Lighting) -> tuple[str, ...]:
    """Return the cautions about colours found under such light."""
    if lighting.way is None:
        return (UNSAID,)
    told = (TWO_PASSES,) if lighting.way == "paper" else ()
    if lighting.white is None:
        said = (
            "no white is known, so the camera's own balance stands: name a white place in a "
            "correction file (white = [x, y]), or lay the disc on a sheet of paper (--paper a4)"
        )
        return (*told, said)
    return told


def _through(seen: Floats, lighting: Lighting) -> Floats:
    """Return what a film lets through once, each channel 0..1."""
    white = np.ones(3) if lighting.white is None else np.maximum(lighting.white, LEAST_WHITE)
    ratio = np.clip(seen / white, 0.0, 1.0)
    return np.asarray(np.sqrt(ratio) if lighting.way == "paper" else ratio)
