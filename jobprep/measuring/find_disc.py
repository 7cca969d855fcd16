"""Find the disc in a photograph: the largest ellipse that edges support all round.

1. Strong edges of a reduced picture, with their normals.
2. Their normals vote for centres; about each centre the edges that face it vote for radii.
3. Each pair starts a search for ellipses through samples of its edges; the support is the share of
   directions in which an edge lies on the ellipse and along it.
4. The winner is refined on the full picture, edge by edge, to a fraction of a pixel.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from jobprep.geometry.outline import Point
from jobprep.measuring.colour import lab_from_linear
from jobprep.measuring.edge_pixels import EdgePixels, strong_edges
from jobprep.measuring.edge_profile import edge_peaks, edge_positions, sample
from jobprep.measuring.ellipse_fit import (
    Ellipse,
    direct_ellipses,
    ellipse_of,
    fit_ellipse,
    signed_distances,
)
from jobprep.measuring.measured import Floats
from jobprep.measuring.picture import Picture
from jobprep.units import TURN, from_degrees

SEARCH_PIXELS = 420
"""Longer side of the reduced picture in which the disc is looked for."""

LEAST_AXIS_RATIO = 0.78
"""Ellipses narrower than this are not taken for a disc: about 38 degrees of tilt."""

LEAST_SUPPORT = 0.35
"""Share of directions that must show the rim."""

OUTER_SUPPORT = 0.62
"""A larger ellipse wins if it has this share of the best one's support."""

RING_SUPPORT = 0.45
"""The same of one about the same centre: sectors may be missing from the outer ring."""

OUTER_EXCESS = 0.3
"""Of close rims one outside the clearest wins if it stands out at least this share as much."""

BY_HAND = 1.5
"""Working pixels by which a person misses an edge (standard uncertainty);
`common practice, no source`."""

SEED = 20240229
"""The search draws samples; the same picture gives the same disc."""

_BINS = 72
_TRIALS = 160


@dataclass(frozen=True, slots=True, kw_only=True)
class DiscOutline:
    """The rim in the picture; ``support`` is the share of directions in which it was seen.

    ``covariance`` is that of centre and S, in working pixels; ``spread`` the scatter of the edge
    about the ellipse. ``given`` says that a person gave points on it; then its support is 0 where
    the picture shows no edge along them.
    """

    ellipse: Ellipse
    covariance: Floats
    spread: float
    support: float
    given: bool = False


def find_disc(picture: Picture) -> DiscOutline | None:
    """Return the disc's rim, or None where no ellipse has enough support."""
    from scipy import ndimage

    step = max(1.0, max(picture.shape) / SEARCH_PIXELS)
    small = picture.encoded
    if step > 1.0:
        small = ndimage.gaussian_filter(small, (0.45 * step, 0.45 * step, 0))
        rows, columns = (np.arange(0, size - 1e-9, step) for size in picture.shape)
        small = small[np.ix_(rows.astype(int), columns.astype(int))]
    edges = strong_edges(small)
    candidates: list[tuple[Ellipse, float]] = []
    for centre in _vote_centres(edges, small.shape[:2]):
        for radius in _vote_radii(edges, centre, min(small.shape[:2])):
            if not any(_is_known(centre, radius, known) for known in candidates):
                found = _search_ellipse(edges, centre, radius)
                if found is not None:
                    candidates.append(found)
    if not candidates:
        return None
    first, best = max(candidates, key=lambda each: each[1])
    good = [
        each
        for each in candidates
        if each[1] >= (RING_SUPPORT if _is_about(each[0], first) else OUTER_SUPPORT) * best
    ]
    coarse = max(good, key=lambda each: math.prod(each[0].semi_axes))[0]
    x, y = coarse.centre
    xx, xy, yy = coarse.shape
    start = Ellipse(Point(x * step, y * step), (xx * step, xy * step, yy * step))
    return refine_rim(picture, start)


def given_rim(picture: Picture, points: Floats) -> DiscOutline:
    """Return the rim through points (n, 2) that a person gave.

    Where the points lie on an edge that the picture shows, the edge counts, else the points alone.

    Raises
    ------
    ValueError
        No ellipse goes through the points.
    """
    fit = fit_ellipse(points)
    seen = refine_rim(picture, fit.ellipse)
    if seen is not None:
        off = np.abs(signed_distances(seen.ellipse, points))
        if float(np.median(off)) <= BY_HAND and off.max() <= 3.0 * BY_HAND:
            return replace(seen, given=True)
    spread = max(fit.spread if len(points) > 5 else 0.0, BY_HAND)
    unit = fit.covariance / fit.spread**2 if fit.spread > 0.0 else np.eye(5) / len(points)
    covariance = np.where(np.isfinite(unit), unit, 1.0) * spread**2
    return DiscOutline(
        ellipse=fit.ellipse, covariance=covariance, spread=spread, support=0.0, given=True
    )


def _is_known(centre: Floats, radius: float, known: tuple[Ellipse, float]) -> bool:
    """Return whether a search would only find a known ellipse again."""
    ellipse, support = known
    size = math.sqrt(math.prod(ellipse.semi_axes))
    near, alike = (0.25, 0.15) if support > 0.7 else (0.06, 0.05)
    return math.dist(centre, ellipse.centre) < near * size and abs(math.log(radius / size)) < alike


def _is_about(outer: Ellipse, inner: Ellipse) -> bool:
    """Return whether an ellipse lies about another as two rings of a disc do."""
    size = math.sqrt(math.prod(inner.semi_axes))
    return math.dist(outer.centre, inner.centre) < 0.08 * size


def refine_rim(picture: Picture, start: Ellipse) -> DiscOutline | None:
    """Refine a rough rim on the full picture; None where too little of it is seen."""
    ellipse = _outermost(picture, start)
    if ellipse is None:
        return None
    angles = np.arange(720) * TURN / 720
    pixels = start.semi_axes[0]
    for reach in (0.012 * pixels, 0.012 * pixels):
        places, weights = _rim_edges(picture, ellipse, angles, max(reach, 6.0))
        keep = weights > 0.0
        for limit in (4.0, 3.0, 2.5):
            off = np.abs(signed_distances(ellipse, places))
            spread = 1.4826 * float(np.median(off[keep])) if keep.any() else 0.0
            keep = (weights > 0.0) & (off <= limit * max(spread, 0.2))
            if keep.sum() < LEAST_SUPPORT * len(angles) * 0.7:
                return None
            try:
                fit = fit_ellipse(places[keep], start=ellipse)
            except ValueError:
                return None
            ellipse = fit.ellipse
    near = (weights > 0.0) & (off <= max(3.0 * fit.spread, 1.5))
    support = float(np.mean(near))
    if support < LEAST_SUPPORT:
        return None
    return DiscOutline(
        ellipse=ellipse, covariance=fit.covariance, spread=fit.spread, support=support
    )


def _outermost(picture: Picture, start: Ellipse) -> Ellipse | None:
    """Return the largest well supported ellipse near a rough one.

    A clear border outside the colours makes two close rims; the strongest edge on a normal may be
    either. So all edges on each normal are kept, and ellipses of several sizes pick their own.
    """
    angles = np.arange(360) * TURN / 360
    size = start.semi_axes[0]
    places, rays, weights = _all_rim_edges(picture, start, angles, 0.06 * size)
    if len(places) < 60:
        return None
    found: list[tuple[float, Ellipse]] = []
    for factor in np.arange(0.955, 1.05, 0.01):
        ellipse: Ellipse | None = _scaled(start, factor)
        for tolerance in (0.014, 0.008, 0.005):
            assert ellipse is not None
            ellipse = _picked(ellipse, places, rays, weights, max(tolerance * size, 1.5))
            if ellipse is None:
                break
        if ellipse is not None and ellipse.semi_axes[1] > LEAST_AXIS_RATIO * ellipse.semi_axes[0]:
            shares = [
                _share(_scaled(ellipse, 1.0 + outward), places, rays, weights)
                for outward in (0.0, 0.012, 0.02, 0.03)
            ]
            found.append((shares[0] - sum(shares[1:]) / 3.0, ellipse))
    if not found:
        return None
    highest, best = max(found, key=lambda each: each[0])
    around = best.at(np.linspace(0.0, TURN, 48, endpoint=False))
    outer = [
        (excess, ellipse)
        for excess, ellipse in found
        if excess >= OUTER_EXCESS * highest
        and signed_distances(ellipse, around).max() < -0.008 * size
    ]
    return max(outer, key=lambda each: each[0])[1] if outer else best


def _scaled(ellipse: Ellipse, factor: float) -> Ellipse:
    xx, xy, yy = ellipse.shape
    return Ellipse(ellipse.centre, (factor * xx, factor * xy, factor * yy))


def _picked(
    ellipse: Ellipse, places: Floats, rays: Floats, weights: Floats, tolerance: float
) -> Ellipse | None:
    """Fit the strongest edge of each ray within a tolerance of an ellipse."""
    near = np.abs(signed_distances(ellipse, places)) < tolerance
    seen = np.zeros(int(rays.max()) + 1)
    np.maximum.at(seen, rays[near], weights[near])
    near &= weights >= 0.999 * seen[rays]
    if near.sum() < 40:
        return None
    try:
        return fit_ellipse(places[near], weights[near] ** 2, ellipse).ellipse
    except ValueError:
        return None


def _share(ellipse: Ellipse, places: Floats, rays: Floats, weights: Floats) -> float:
    """Return how well edges show an ellipse: the mean of their share of rays and their weight."""
    near = np.abs(signed_distances(ellipse, places)) < 1.5
    seen = np.zeros(360)
    np.maximum.at(seen, rays[near], weights[near])
    return float((seen > 0.0).mean() + seen.mean()) / 2.0


def _vote_centres(edges: EdgePixels, shape: tuple[int, ...], count: int = 4) -> list[Floats]:
    """Return the places that most edges face, best first."""
    from scipy import ndimage

    cell = 4.0
    grid = (int(shape[0] / cell) + 1, int(shape[1] / cell) + 1)
    reach = np.arange(0.06, 0.62, 0.008) * min(shape[:2])
    votes = np.zeros(grid)
    weight = np.minimum(edges.strengths, 0.05) * _rarity(edges)
    for sign in (-1.0, 1.0):
        lines = edges.places[:, None] + sign * reach[None, :, None] * edges.normals[:, None]
        column, row = np.rint(np.moveaxis(lines, -1, 0) / cell).astype(int)
        inside = (column >= 0) & (row >= 0) & (column < grid[1]) & (row < grid[0])
        flat = (row * grid[1] + column)[inside]
        each = np.broadcast_to(weight[:, None], inside.shape)[inside]
        votes += np.bincount(flat, each, votes.size).reshape(grid)
    votes = ndimage.gaussian_filter(votes, 1.5)
    found = []
    for _ in range(count):
        row, column = np.unravel_index(int(np.argmax(votes)), grid)
        found.append(np.array([column * cell, row * cell], dtype=np.float64))
        y, x = np.ogrid[: grid[0], : grid[1]]
        votes[(y - row) ** 2 + (x - column) ** 2 < (0.06 * min(shape[:2]) / cell) ** 2] = 0.0
    return found


def _rarity(edges: EdgePixels) -> Floats:
    """Return how rare each edge's direction is: a grain has one, a disc has them all."""
    across = np.arctan2(edges.normals[:, 1], edges.normals[:, 0])
    bins = (across / (0.5 * TURN) % 1.0 * _BINS).astype(int) % _BINS
    counts = np.bincount(bins, minlength=_BINS).astype(float)
    around = (counts + np.roll(counts, 1) + np.roll(counts, -1)) / 3.0
    return np.asarray(around.mean() / np.maximum(around[bins], 1.0))


def _facing(edges: EdgePixels, centre: Floats) -> tuple[Floats, Floats, Floats]:
    """Return radius, direction and facing (cosine of normal to radius) about a centre."""
    offset = edges.places - centre
    radius = np.maximum(np.hypot(offset[:, 0], offset[:, 1]), 1e-9)
    facing = np.abs((offset * edges.normals).sum(axis=1)) / radius
    return radius, np.arctan2(offset[:, 1], offset[:, 0]), facing


def _vote_radii(edges: EdgePixels, centre: Floats, size: int, count: int = 6) -> list[float]:
    """Return mean radii at which edges that face the centre lie in most directions."""
    radius, direction, facing = _facing(edges, centre)
    good = facing > math.cos(from_degrees(22.0))
    bins = ((direction[good] / TURN) % 1.0 * _BINS).astype(int) % _BINS
    ratio = 1.04
    levels = np.log(np.maximum(radius[good], 1.0)) / math.log(ratio)
    top = math.log(size * 0.75) / math.log(ratio)
    seen = np.zeros((int(top) + 8, _BINS), dtype=bool)
    for shift in (-2, -1, 0, 1, 2):  # a tilted rim spreads over several levels
        level = np.rint(levels).astype(int) + shift
        inside = (level >= 0) & (level < len(seen))
        seen[level[inside], bins[inside]] = True
    cover = seen.mean(axis=1)
    cover[: int(math.log(size * 0.12) / math.log(ratio))] = 0.0
    found: list[float] = []
    for level in np.argsort(cover)[::-1]:
        value = ratio ** float(level)
        if cover[level] < LEAST_SUPPORT or len(found) >= count:
            break
        if all(abs(math.log(value / other)) > 0.06 for other in found):
            found.append(value)
    return found


def _search_ellipse(
    edges: EdgePixels, centre: Floats, radius: float
) -> tuple[Ellipse, float] | None:
    """Return the best supported ellipse near a circle, and its support."""
    distance, direction, facing = _facing(edges, centre)
    band = (np.abs(distance / radius - 1.0) < 0.24) & (facing > math.cos(from_degrees(28.0)))
    near = edges.chosen(band)
    if len(near.places) < 30:
        return None
    picks = _samples(((direction[band] / TURN) % 1.0 * 6).astype(int) % 6)
    centres, matrices = direct_ellipses(near.places[picks])
    good = _plausible(centres, matrices, centre, radius)
    if not good.any():
        return None
    centres, matrices = centres[good], matrices[good]
    scores, _ = _supports(near, centres, matrices)
    first = int(np.argmax(scores))
    best, best_score = ellipse_of(centres[first], matrices[first]), float(scores[first])
    for _ in range(3):
        members = _support(near, best)[1]
        if members.sum() < 20:
            break
        try:
            trial = fit_ellipse(near.places[members], start=best).ellipse
        except ValueError:
            break
        score = _support(near, trial)[0]
        place, shape = np.array(trial.centre), trial.matrix
        if not _plausible(place[None], shape[None], centre, radius)[0] or score < best_score:
            break
        best, best_score = trial, score
    return (best, best_score) if best_score >= LEAST_SUPPORT else None


def _samples(sixth: Floats) -> Floats:
    """Return the indices (trials, 7) of samples: one from each sixth of a turn, others anywhere."""
    random = np.random.default_rng(SEED)
    groups = [np.flatnonzero(sixth == index) for index in range(6)]
    chosen = [group[random.integers(len(group), size=_TRIALS)] for group in groups if len(group)]
    others = random.integers(len(sixth), size=(_TRIALS, 7 - len(chosen)))
    return np.column_stack([*chosen, others])


def _plausible(centres: Floats, matrices: Floats, centre: Floats, radius: float) -> Floats:
    """Return which ellipses, (m, 2) and (m, 2, 2), are a tilted disc about where it was voted."""
    xx, xy, yy = matrices[:, 0, 0], matrices[:, 0, 1], matrices[:, 1, 1]
    mean, half = (xx + yy) / 2.0, np.hypot((xx - yy) / 2.0, xy)
    long, short = mean + half, mean - half
    return np.asarray(
        (short > LEAST_AXIS_RATIO * long)
        & (short > 0.7 * radius)
        & (long < 1.4 * radius)
        & (np.hypot(*(centres - centre).T) < 0.3 * radius)
    )


def _support(edges: EdgePixels, ellipse: Ellipse) -> tuple[float, Floats]:
    """Return the share of directions with an edge on and along the ellipse, and those edges."""
    scores, members = _supports(edges, np.array([ellipse.centre]), ellipse.matrix[None])
    return float(scores[0]), members[0]


def _supports(edges: EdgePixels, centres: Floats, matrices: Floats) -> tuple[Floats, Floats]:
    """Return the same of ellipses (m, 2) and (m, 2, 2): shares (m,), members (m, edges)."""
    inverse = np.linalg.inv(matrices)
    unit = (edges.places - centres[:, None]) @ inverse
    length = np.maximum(np.hypot(unit[..., 0], unit[..., 1]), 1e-9)
    gradient = (unit / length[..., None]) @ inverse
    steep = np.hypot(gradient[..., 0], gradient[..., 1])
    along = np.abs((gradient * edges.normals).sum(axis=-1)) / steep
    members = (np.abs(length - 1.0) < 1.2 * steep) & (along > math.cos(from_degrees(15.0)))
    trial, edge = np.nonzero(members)
    direction = np.arctan2(unit[trial, edge, 1], unit[trial, edge, 0])
    bins = ((direction / TURN) % 1.0 * _BINS).astype(int) % _BINS
    seen = np.zeros((len(centres), _BINS))
    np.maximum.at(seen, (trial, bins), edges.weights[edge])
    return seen.mean(axis=1), members


def _rim_profiles(
    picture: Picture, ellipse: Ellipse, angles: Floats, reach: float
) -> tuple[Floats, Floats, Floats, Floats]:
    """Return base points, normals, steps along them and samples in linear light."""
    unit = np.column_stack([np.cos(angles), np.sin(angles)])
    normal = unit @ np.linalg.inv(ellipse.matrix)
    normal /= np.hypot(normal[:, 0], normal[:, 1])[:, None]
    steps = np.arange(-reach, reach + 0.25, 0.5)
    base = ellipse.at(angles)
    places = base[:, None, :] + steps[None, :, None] * normal[:, None, :]
    return base, normal, steps, sample(picture.linear, places)


def _rim_edges(
    picture: Picture, ellipse: Ellipse, angles: Floats, reach: float
) -> tuple[Floats, Floats]:
    """Return the strongest edge on each normal of the ellipse, and its weight (0: none seen)."""
    base, normal, steps, linear = _rim_profiles(picture, ellipse, angles, reach)
    position, weight = edge_positions(linear, lab_from_linear(linear))
    offset = steps[0] + position * 0.5
    return base + offset[:, None] * normal, weight


def _all_rim_edges(
    picture: Picture, ellipse: Ellipse, angles: Floats, reach: float
) -> tuple[Floats, Floats, Floats]:
    """Return every edge on each normal of the ellipse, which normal it lies on, and its weight.

    The weight, 0..1, sets a step against the ordinary step on these normals.
    """
    base, normal, steps, linear = _rim_profiles(picture, ellipse, angles, reach)
    rises = edge_peaks(lab_from_linear(linear))
    ray, index = np.nonzero(rises)
    offset = steps[0] + (index - 0.5) * 0.5
    rise = rises[ray, index]
    ordinary = float(np.median(rise)) if len(rise) else 1.0
    return base[ray] + offset[:, None] * normal[ray], ray, 1.0 - np.exp(-rise / ordinary)
