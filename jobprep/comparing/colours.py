"""The colours of a copy, sector by sector: white balance, differences, films that changed places.

The picture's white is taken from a white place where somebody names one. Else it is the one under
which most of the copy has the colours of the design, within what a camera's own balance leaves: a
few wrong films do not pull it over.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

import numpy as np

from jobprep.comparing.alignment import Alignment
from jobprep.comparing.expected import Expected, FilmPlace
from jobprep.comparing.verdict import COVERAGE, JudgedLine, judged
from jobprep.light.difference import ciede2000
from jobprep.measuring.colour import Lab, lab_from_linear, linear_from_lab, nearest_films
from jobprep.measuring.disc_plane import polar
from jobprep.measuring.edge_profile import sample
from jobprep.measuring.light import CAMERA_OFF
from jobprep.measuring.measured import Floats, Measured
from jobprep.measuring.photo import PhotoMeasurement
from jobprep.measuring.unwrap import is_spoilt
from jobprep.measuring.zones import OTHER_COLOUR, OTHER_SHARE
from jobprep.model import Film
from jobprep.model.design import film_word
from jobprep.units import from_degrees

COLOUR_TOLERANCE = 15.0
"""CIEDE2000 difference up to which a film counts as that of the design; from there on ``measure
photo`` no longer proposes it either (common practice, no source)."""

LARGEST_EXPOSURE, LARGEST_CAST = math.log(4.0), math.log(1.5)
"""How far brightness, and each channel beside it, may be off (natural logarithm; two stops and half
a stop about; common practice, no source)."""

LEAST_LIGHT = 0.02
"""Linear light below which a channel says nothing of the balance."""

MOST_TRIED = 40
"""Places whose balance is tried, the largest."""

UNKNOWN = "its film is to be chosen, and no colour was measured"

LEAST_PIXELS = 30
FEW_PIXELS = 3.5
"""Pixels along the border of a place that are left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenColour:
    """What the photograph shows at a place of the design; ``remark`` where that is nothing."""

    place: FilmPlace
    lab: Lab | None
    remark: str = ""


class Balance(NamedTuple):
    """Factors of red, green and blue light that were taken out, and where they are from."""

    factors: tuple[float, float, float]
    source: Literal["white place", "films", "none"]


NO_BALANCE = Balance((1.0, 1.0, 1.0), "none")


def seen_colours(
    wanted: Expected, photo: PhotoMeasurement, alignment: Alignment, glare: Floats
) -> tuple[SeenColour, ...]:
    """Return the median colour of each place of the design, glare and borders left out."""
    return tuple(_seen(wanted, photo, alignment, glare, place) for place in wanted.places)


def _seen(
    wanted: Expected,
    photo: PhotoMeasurement,
    alignment: Alignment,
    glare: Floats,
    place: FilmPlace,
) -> SeenColour:
    rim = wanted.design.outer_diameter / 2.0
    border = FEW_PIXELS / photo.plane.pixels
    low, high = place.inner_radius / rim + border, place.outer_radius / rim - border
    middle = (low + high) / 2.0
    margin = min(border / middle + wanted.design.tolerance.angle, 0.3 * place.angle)
    half = place.angle / 2.0 - margin
    if high <= low or 2.0 * half * middle < 2.0 / photo.plane.pixels:
        return SeenColour(place=place, lab=None, remark="too small to tell its colour")
    radii = np.linspace(low, high, 24)
    count = int(np.clip(half / from_degrees(0.5), 5, 240))
    directions = place.middle + np.linspace(-half, half, count)
    points = photo.plane.to_picture(polar(radii, np.asarray(alignment.to_photo(directions))))
    pixels = lab_from_linear(sample(photo.picture.linear, points)[~is_spoilt(glare, points)])
    if len(pixels) < LEAST_PIXELS:
        return SeenColour(place=place, lab=None, remark="spoilt by glare")
    middle_lab = np.median(pixels, axis=0).astype(np.float64)
    apart = np.sqrt(((pixels - middle_lab) ** 2).sum(axis=1))
    is_mixed = float((apart > OTHER_COLOUR).mean()) > OTHER_SHARE
    remark = "of more than one colour" if is_mixed else ""
    return SeenColour(place=place, lab=Lab(*map(float, middle_lab)), remark=remark)


def judged_colours(
    wanted: Expected,
    seen: Sequence[SeenColour],
    films: Mapping[str, Film],
    white: Floats | None,
) -> tuple[tuple[JudgedLine, ...], Balance]:
    """Judge the colour of every place, and find films that changed places."""
    told = [each for each in seen if each.lab is not None and not _is_unknown(wanted, each)]
    raw = np.array([each.lab for each in told], dtype=np.float64).reshape(-1, 3)
    stacks = np.array([wanted.stacks.index(each.place.stack) for each in told], dtype=np.intp)
    if not len(told):
        return tuple(_untold(wanted, each) for each in seen), NO_BALANCE
    areas = np.array([each.place.area for each in told])
    balance = _white_balance(white) if white is not None else _balance(wanted, raw, stacks, areas)
    taken = _assigned(wanted.differences(_balanced(raw, balance), raw), stacks)
    if white is None:
        balance = _balance(wanted, raw, stacks[taken], areas)
        taken = _assigned(wanted.differences(_balanced(raw, balance), raw), stacks)
    colours = _balanced(raw, balance)
    differences = wanted.differences(colours, raw)
    lines = {
        each.place.what: _judged(wanted, told, index, taken, colours, differences, films)
        for index, each in enumerate(told)
    }
    judged_ = (lines.get(each.place.what) or _untold(wanted, each) for each in seen)
    return tuple(judged_), balance


def _is_unknown(wanted: Expected, seen: SeenColour) -> bool:
    return bool(wanted.unknown[wanted.stacks.index(seen.place.stack)])


def _untold(wanted: Expected, seen: SeenColour) -> JudgedLine:
    line = _line(seen.place)
    if _is_unknown(wanted, seen):
        return replace(line, verdict="cannot tell", remark=UNKNOWN)
    return replace(line, remark=seen.remark)


def _line(place: FilmPlace) -> JudgedLine:
    return JudgedLine(
        what=place.what,
        kind="colour",
        verdict="look",
        tolerance=COLOUR_TOLERANCE,
        radius=(place.inner_radius + place.outer_radius) / 2.0,
        direction=place.middle,
    )


def _judged(
    wanted: Expected,
    told: Sequence[SeenColour],
    index: int,
    taken: Floats,
    colours: Floats,
    differences: Floats,
    films: Mapping[str, Film],
) -> JudgedLine:
    place = told[index].place
    own = wanted.stacks.index(place.stack)
    off = Measured(float(differences[index, own]), CAMERA_OFF)
    line = replace(_line(place), off=off, verdict=judged(off, COLOUR_TOLERANCE))
    other = told[taken[index]].place
    if other.stack != place.stack:
        gain = off.value - float(differences[index, wanted.stacks.index(other.stack)])
        is_sure = gain > COVERAGE * math.sqrt(2.0) * CAMERA_OFF
        is_swap = told[taken[taken[index]]].place == place
        word = "exchanged with" if is_swap else "exchanged: has the film of"
        return replace(
            line, verdict="fail" if is_sure else "look", remark=f"{word} {_seen_from(place, other)}"
        )
    if told[index].remark:
        return replace(line, verdict="look", remark=told[index].remark)
    if line.verdict != "pass":
        return replace(line, remark=_looks_like(colours[index], films))
    alike = [
        each
        for number, each in enumerate(wanted.stacks)
        if each != place.stack
        and not wanted.unknown[number]
        and float(ciede2000(wanted.colours[number], wanted.colours[own])) < COVERAGE * CAMERA_OFF
    ]
    if alike:
        names = " or ".join(_words(each) for each in alike)
        return replace(line, verdict="cannot tell", remark=f"{names} looks the same")
    return line


def _seen_from(place: FilmPlace, other: FilmPlace) -> str:
    """Return the name of another place, without the layer where that is the same."""
    layer, comma, rest = other.what.partition(", ")
    return rest if comma and place.what.startswith(f"{layer}, ") else other.what


def _looks_like(lab: Floats, films: Mapping[str, Film]) -> str:
    nearest = nearest_films((lab[0], lab[1], lab[2]), films.values(), 1, stacks=False)
    if nearest and nearest[0].difference < COLOUR_TOLERANCE:
        return f"looks like {nearest[0].films[0]}"
    return ""


def _words(stack: Sequence[str]) -> str:
    return " on ".join(map(film_word, stack)) or "an opening"


def _assigned(differences: Floats, stacks: Floats) -> Floats:
    """Return for each place the one whose film it has, each once: least differences in sum."""
    from scipy.optimize import linear_sum_assignment

    stay = np.where(np.eye(len(stacks), dtype=bool), 0.0, 1e-3)
    change = np.where(stacks[:, None] == stacks, 0.0, COVERAGE * CAMERA_OFF)
    _, columns = linear_sum_assignment(differences[:, stacks] + stay + change)
    return np.asarray(columns)


def _balanced(raw: Floats, balance: Balance) -> Floats:
    if balance == NO_BALANCE:
        return raw
    linear = linear_from_lab(raw) / np.array(balance.factors)
    return lab_from_linear(np.clip(linear, 0.0, 1.0))


def _white_balance(white: Floats) -> Balance:
    red, green, blue = (float(each) for each in np.maximum(white, LEAST_LIGHT))
    return Balance((red, green, blue), "white place")


def _balance(wanted: Expected, raw: Floats, stacks: Floats, areas: Floats) -> Balance:
    """Return the balance under which most of the copy has the colours of its stacks.

    Tried are none, the one that each of the largest places asks for, and the median of all.
    """
    seen = linear_from_lab(raw)
    own = linear_from_lab(wanted.colours[stacks])
    # What looks like the ground shows the ground, not its film.
    is_film = ciede2000(raw, np.array(wanted.ground)) > COVERAGE * CAMERA_OFF
    lit = (seen > LEAST_LIGHT) & (own > LEAST_LIGHT) & is_film[:, None]
    logs = np.where(lit, np.log(np.maximum(seen, 1e-9) / np.maximum(own, 1e-9)), math.nan)
    largest = [k for k in np.argsort(-areas, kind="stable")[:MOST_TRIED] if lit[k].sum() > 1]
    median = np.array([_weighted_median(logs[lit[:, c], c], areas[lit[:, c]]) for c in range(3)])
    tried = [NO_BALANCE, *(_within_reason(row) for row in (*logs[largest], median))]

    def misfit(balance: Balance) -> float:
        differences = wanted.differences(_balanced(raw, balance), raw)
        off = differences[np.arange(len(stacks)), stacks]
        return float((areas * np.minimum(off, COLOUR_TOLERANCE)).sum())

    return min(tried, key=misfit)


def _within_reason(logs: Floats) -> Balance:
    """Return a balance no farther off than cameras leave; a dark channel goes with the others."""
    exposure = float(np.clip(np.nanmedian(logs), -LARGEST_EXPOSURE, LARGEST_EXPOSURE))
    casts = np.clip(np.nan_to_num(logs - exposure), -LARGEST_CAST, LARGEST_CAST)
    red, green, blue = (float(each) for each in np.exp(exposure + casts))
    return Balance((red, green, blue), "films")


def _weighted_median(values: Floats, weights: Floats) -> float:
    """Return the median; of two halves that weigh the same the mean of their inner values."""
    if not len(values):
        return 0.0
    order = np.argsort(values)
    values, total = values[order], np.cumsum(weights[order])
    half = total[-1] / 2.0
    low = values[np.searchsorted(total, half * (1.0 - 1e-9))]
    high = values[min(np.searchsorted(total, half * (1.0 + 1e-9)), len(values) - 1)]
    return float(low + high) / 2.0
