"""Find the separations of a ring, and place them to a fraction of a pixel.

A separation is a step in colour that all radii show in one direction. Steps are looked for with the
median over the radii, which a speck, a hair, a glare spot or a grain of the table does not move;
then each radius places the edge for itself, and enough of them must agree on one line through the
centre. What agrees only in part is kept and called doubtful; what does not, is dropped.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from jobprep.colour import LUMINANCE
from jobprep.measuring.colour import lab_from_linear, srgb_from_linear
from jobprep.measuring.disc_plane import DiscPlane, polar
from jobprep.measuring.edge_profile import sample
from jobprep.measuring.measured import Floats, Measured
from jobprep.measuring.picture import Picture
from jobprep.measuring.shade import contrast
from jobprep.measuring.unwrap import RingLimits, Unwrapped, is_spoilt
from jobprep.units import TURN, from_degrees

LEAST_STEP = 1.6
"""Smallest median CIELAB step looked at."""

GROUND_RATIO = 3.0
"""How far a step must stand out from those either side: a grainy table steps everywhere."""

FAINT_STEP = 6.0
SHADE_STEP = 3.0
"""CIELAB step below which an edge is called doubtful, or left out."""

WHOLE_SHARE = 0.75
SURE_SHARE = 0.65
DOUBTFUL_SHARE = 0.45
"""Share of radii that agree on an edge: free of doubt, taken in, mentioned."""

BEYOND, ALIKE = 1.2, 0.35
"""How far out, in disc radii, the line of an edge is followed beyond the rim, and which share of
its step there betrays a line of the ground; `common practice, no source`."""

MOST_GRAINS, LIKE_GROUND = 4.0, 15.0
"""Steps of a grainy ground up to which a step may be one of its own, and the CIELAB distance up to
which a place may show it through clear film; `common practice, no source`."""

GIVEN = from_degrees(0.5)
"""Standard uncertainty of a direction that a person gave."""

LEAST_CLEAR = 0.25
"""Share of the radii that glare must leave for an edge to be looked for."""

CLOSEST = from_degrees(2.0)
"""Edges nearer to each other than this are not told apart."""

ROW_PIXELS = 2.0
"""Radial distance of the rows that place an edge."""

BRIGHTNESS_STEP = 20.0
"""Above this step in CIELAB lightness an edge is placed by luminance alone.

JPEG keeps colour at half the sharpness, in encoded values; where the edge is mostly one of colour
the places in linear and encoded light are averaged two to one. How far they lie apart goes into the
uncertainty, since a camera may have sharpened or smoothed in either.
"""

GRAIN = 6.0
"""Half pixels by which an edge may be misplaced where the light beside it changes by a whole step:
a quarter of the profile that places it."""

LEAST_BIAS = 0.15
"""Pixels an edge may lie off as a whole for reasons that its rows do not show."""

INDEPENDENT = 5.0
"""Rows that share their noise: two pixels apart, smoothed by three, in JPEG blocks of eight."""


SHARED = 0.35
"""How much more noise rows share, for each pixel of blur: a Gaussian's noise agrees over 2 √π times
its deviation, against ``INDEPENDENT`` rows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeRows:
    """One separation as its rows saw it.

    ``direction`` in radians anticlockwise, ``radii`` and ``off`` (n,) the rows that agree and their
    distances from the ray, anticlockwise positive, in disc radii; ``error`` the standard
    uncertainty of one row, ``bias`` that of a shift of the whole edge, across the ray; ``step`` the
    CIELAB step, ``share`` the share of rows that agree, ``contrast`` how much brighter the
    anticlockwise side is (``shade.contrast``), ``of_ground`` whether it looks like a line of the
    ground seen through clear film.
    """

    ring: int
    direction: float
    radii: Floats
    off: Floats
    error: float
    bias: float
    step: float
    share: float
    contrast: float = 0.0
    of_ground: bool = False
    rim_in_doubt: bool = False

    @property
    def is_sure(self) -> bool:
        """Whether it may stand in a design: seen at most radii, and no mere shade."""
        return self.share >= SURE_SHARE and self.step >= SHADE_STEP and not self.of_ground

    @property
    def miss(self) -> float:
        """How far the line of the rows misses the centre, in disc radii."""
        if len(self.radii) < 3:
            return 0.0
        design = np.column_stack([np.ones(len(self.radii)), self.radii])
        return abs(float(np.linalg.lstsq(design, self.off, rcond=None)[0][0]))

    @property
    def doubt(self) -> str:
        """Why this may not be an edge; empty if it is one."""
        if self.rim_in_doubt:
            return "the rim was poorly seen"
        if self.share == 0.0:
            return "given, not seen"
        if self.of_ground:
            return "it looks like a line of the ground seen through clear film"
        if self.step < SHADE_STEP:
            return f"a mere shade: colours differ by {self.step:.1f}"
        if self.share < WHOLE_SHARE:
            return f"seen at only {100 * self.share:.0f} % of the radii"
        if self.step < FAINT_STEP:
            return f"faint: colours differ by {self.step:.1f}"
        return ""


class _Rows(NamedTuple):
    """Rows across one edge: places in samples from the ray, and what they agree on."""

    off: Floats
    agrees: Floats
    step: Floats
    size: float
    bias: float
    contrast: float = 0.0
    sides: Floats | None = None


def find_separations(
    picture: Picture,
    plane: DiscPlane,
    glare: Floats,
    disc: Unwrapped,
    ring: RingLimits,
    number: int,
) -> tuple[EdgeRows, ...]:
    """Return a ring's separations, anticlockwise."""
    margin = max(0.012, 4.0 / plane.pixels)
    rows = (disc.radii > ring.inner + margin) & (disc.radii < ring.outer - margin)
    if rows.sum() < 4:
        return ()
    steps, directions, reach = _median_steps(disc, rows, ring, plane)
    ground = ground_of(disc, plane)
    rough = _peaks(steps, directions, max(CLOSEST, 1.1 * reach))
    found = [
        placed
        for index, direction in enumerate(rough)
        if (
            placed := place_separation(
                picture, plane, glare, ground, ring, number, direction, _room(rough, index)
            )
        )
    ]
    return tuple(_distinct(found))


def place_separation(
    picture: Picture,
    plane: DiscPlane,
    glare: Floats,
    ground: Ground,
    ring: RingLimits,
    number: int,
    direction: float,
    room: float,
) -> EdgeRows | None:
    """Place one separation near a direction; ``room`` (radians) is free of others either side."""
    pixel = 1.0 / plane.pixels
    margin = max(0.012, 4.0 * pixel)
    low, high = ring.inner + margin, ring.outer - margin
    radii = np.arange(low, high, ROW_PIXELS * pixel)
    half = 12
    reach = half + 8
    # near the centre neighbours come closer than the profile reaches: leave those radii out
    radii = radii[radii * min(room, 0.8) > (half + 2) * 0.5 * pixel]
    if len(radii) < 6:
        return None
    clear = ~is_spoilt(glare, plane.to_picture(polar(radii, np.array([direction]))))[:, 0]
    radii = radii[clear]
    if len(radii) < 6 or len(radii) < LEAST_CLEAR * len(clear):
        return None
    for _ in range(8):
        along = np.array([math.cos(direction), math.sin(direction)])
        across = np.array([-along[1], along[0]])
        steps = np.arange(-reach, reach + 1) * 0.5 * pixel
        points = radii[:, None, None] * along + steps[None, :, None] * across
        rows = _rows_of(_smoothed(sample(picture.linear, plane.to_picture(points))), half)
        off = rows.off * 0.5 * pixel
        if rows.agrees.sum() < 6:
            return None
        turn, agree, error = _agree(radii, off, rows.agrees, pixel)
        direction += turn
        off = off - turn * radii
        if abs(turn) < 0.02 * pixel:
            break
    share = float(agree.mean())
    if share < DOUBTFUL_SHARE:
        return None
    # a grain along the edge errs alike over a good part of it: two independent stretches
    grainy = 0.25 * GRAIN * min(ground.grain / rows.size, 1.0) * pixel
    alike = agree.sum() / (2.0 * INDEPENDENT)
    error = math.hypot(error, grainy * math.sqrt(alike))
    return EdgeRows(
        ring=number,
        direction=direction,
        radii=radii[agree],
        off=off[agree],
        error=error * math.hypot(1.0, SHARED * picture.softness),
        bias=max(0.5 * rows.bias, LEAST_BIAS) * pixel,
        step=rows.size,
        share=share,
        contrast=rows.contrast,
        of_ground=_goes_on(picture, plane, direction, rows.step, half) or _on_ground(rows, ground),
    )


class Ground(NamedTuple):
    """What lies round the disc: its median CIELAB colour and its ``grain``.

    That is 1.5 times the median difference of two places six pixels apart.
    """

    colour: Floats
    grain: float


def ground_of(disc: Unwrapped, plane: DiscPlane) -> Ground:
    """Return the ground just outside the rim."""
    rows = (disc.radii > 1.03) & (disc.radii < 1.075)
    lab = disc.lab[rows].astype(np.float64)
    apart = max(1, round(GRAIN * len(disc.directions) / (TURN * plane.pixels)))
    steps = np.sqrt(((lab - np.roll(lab, apart, axis=1)) ** 2).sum(axis=2))
    return Ground(np.median(lab.reshape(-1, 3), axis=0), 1.5 * float(np.median(steps)))


def _on_ground(rows: _Rows, ground: Ground) -> bool:
    """Say whether both sides look like a grainy ground, and their step is one of its own."""
    if rows.sides is None or rows.size > MOST_GRAINS * ground.grain:
        return False
    off = np.sqrt(((rows.sides - ground.colour) ** 2).sum(axis=1))
    return bool((off < LIKE_GROUND).all())


def _goes_on(picture: Picture, plane: DiscPlane, direction: float, step: Floats, half: int) -> bool:
    """Say whether the ground beyond the rim steps like an edge, in its line: a grain, a board."""
    pixel = 1.0 / plane.pixels
    radii = np.arange(1.03, BEYOND, ROW_PIXELS * pixel)
    along = np.array([math.cos(direction), math.sin(direction)])
    steps = np.array([-half, 1 - half, half - 1, half]) * 0.5 * pixel
    across = steps[:, None] * np.array([-along[1], along[0]])
    lab = lab_from_linear(
        sample(picture.linear, plane.to_picture(radii[:, None, None] * along + across))
    )
    rise = np.median(lab[:, 2:].mean(axis=1) - lab[:, :2].mean(axis=1), axis=0)
    return float(rise @ step) > ALIKE * float(step @ step)


def given_separation(number: int, direction: float) -> EdgeRows:
    """Return a separation that a person gave and the picture does not show."""
    return EdgeRows(
        ring=number,
        direction=direction,
        radii=np.ones(1),
        off=np.zeros(1),
        error=0.0,
        bias=GIVEN,
        step=0.0,
        share=0.0,
    )


def _median_steps(
    disc: Unwrapped, rows: Floats, ring: RingLimits, plane: DiscPlane
) -> tuple[Floats, Floats, float]:
    """Return the step across each direction, median over the radii, and how wide it looks."""
    count = len(disc.directions)
    spacing = TURN / count
    middle = (ring.inner + 2.0 * ring.outer) / 3.0
    pixel = 1.0 / (plane.pixels * middle)
    gap = max(1, round(1.5 * pixel / spacing))
    width = max(2, round(max(from_degrees(0.9), 5.0 * pixel) / spacing))
    lab = disc.lab[rows].astype(np.float64)
    lab[disc.spoilt[rows]] = np.nan
    total = np.concatenate([lab, lab[:, : 2 * (gap + width)]], axis=1)
    broken = np.isnan(total[..., :1])
    total = np.cumsum(np.nan_to_num(total), axis=1)
    total = np.concatenate([np.zeros((len(lab), 1, 3)), total], axis=1)
    lost = np.concatenate([np.zeros((len(lab), 1, 1)), np.cumsum(broken, axis=1)], axis=1)
    start = np.arange(count)
    far = start + width + 2 * gap
    before = (total[:, start + width] - total[:, start]) / width
    after = (total[:, far + width] - total[:, far]) / width
    spoilt = (lost[:, far + width] - lost[:, start])[..., 0] > 0
    rises = after - before
    usable = (~spoilt).mean(axis=0) >= LEAST_CLEAR
    steps = np.median(rises, axis=0)
    partly = usable & spoilt.any(axis=0)
    if partly.any():
        held = np.where(spoilt[:, partly, None], np.nan, rises[:, partly])
        steps[partly] = np.nanmedian(held, axis=0)
    steps[~usable] = 0.0
    directions = (start + width + gap - 0.5) * spacing
    return np.sqrt((steps**2).sum(axis=1)), directions % TURN, (2 * gap + width) * spacing


def _peaks(steps: Floats, directions: Floats, closest: float) -> list[float]:
    """Return directions of the highest steps, none closer to a higher one."""
    count = len(steps)
    near, far = round(closest / TURN * count), round(4.0 * closest / TURN * count)
    flank = np.concatenate([np.arange(-far, -near), np.arange(near + 1, far + 1)])
    found: list[tuple[float, float]] = []
    middles: list[float] = []
    for index in np.argsort(steps, kind="stable")[::-1]:
        if steps[index] < LEAST_STEP or len(found) >= 60:
            break
        direction = float(directions[index])
        ground = float(np.median(steps[(index + flank) % count]))
        if steps[index] > GROUND_RATIO * ground and not any(
            _belongs(direction, float(steps[index]), other, height, closest)
            for other, height in found
        ):
            found.append((direction, float(steps[index])))
            middles.append(direction + _plateau(steps, index, near) * TURN / count)
    return sorted(middles)


def _belongs(direction: float, step: float, other: float, height: float, closest: float) -> bool:
    """Say whether a step is only the foot of a higher one."""
    apart = abs(math.remainder(direction - other, TURN))
    return apart <= closest or (apart <= 2.0 * closest and step < 0.4 * height)


def _plateau(steps: Floats, index: int, near: int) -> float:
    """Return how far the middle of the plateau about a peak lies from it, in steps."""
    window = np.arange(-near, near + 1)
    high = window[steps[(index + window) % len(steps)] > 0.8 * steps[index]]
    return float(high.mean())


def _room(rough: list[float], index: int) -> float:
    if len(rough) < 2:
        return TURN / 2.0
    here = rough[index]
    before, after = rough[index - 1], rough[(index + 1) % len(rough)]
    return min((here - before) % TURN, (after - here) % TURN)


def _smoothed(linear: Floats) -> Floats:
    """Average each row with its neighbours: noise falls, an edge along the ray stays sharp."""
    padded = np.concatenate([linear[:1], linear, linear[-1:]])
    return np.asarray((padded[:-2] + padded[1:-1] + padded[2:]) / 3.0)


def _rows_of(linear: Floats, half: int) -> _Rows:
    """Place each row's edge; a row counts whose step looks like the rows' median step."""
    lab = lab_from_linear(linear)
    middle = lab.shape[1] // 2
    end = half // 2
    left = slice(middle - half, middle - half + end)
    right = slice(middle + half - end + 1, middle + half + 1)
    rise = lab[:, right].mean(axis=1) - lab[:, left].mean(axis=1)
    step = np.median(rise, axis=0)
    size = math.sqrt(float(step @ step))
    if size < 1e-6:
        nothing = np.zeros(len(lab))
        return _Rows(nothing, nothing > 1.0, step, 0.0, 0.0)
    likeness = (rise @ step) / size**2
    rest = np.sqrt(((rise - likeness[:, None] * step) ** 2).sum(axis=1)) / size
    window = linear[:, middle - half : middle + half + 1]
    light = window @ np.array(LUMINANCE) if abs(step[0]) > BRIGHTNESS_STEP else window
    light = light.reshape(*window.shape[:2], -1)
    off = _shares_sum(light, end) - half
    alike = (likeness > 0.5) & (likeness < 1.7)
    whole = (linear[alike] if alike.any() else linear).mean(axis=0)
    mean = whole[None, middle - half : middle + half + 1]
    encoded = float(_shares_sum(srgb_from_linear(mean), end)[0]) - half
    apart = encoded - float(_shares_sum(mean, end)[0]) + half
    if abs(step[0]) <= BRIGHTNESS_STEP:
        off = off + apart / 3.0
    doubt = abs(apart) * (0.15 if abs(step[0]) > BRIGHTNESS_STEP else 0.3)
    agrees = (likeness > 0.6) & (likeness < 1.5) & (rest < 0.5) & (np.abs(off) < half - 1)
    before, after = mean[0, :end].mean(axis=0), mean[0, -end:].mean(axis=0)
    doubt = math.hypot(doubt, GRAIN * _unevenness(whole, before, after, middle - half))
    sides = lab_from_linear(np.array([before, after]))
    return _Rows(off, agrees, step, size, doubt, float(contrast(before, after)), sides)


def _unevenness(mean: Floats, before: Floats, after: Floats, margin: int) -> float:
    """Return by which share of the step the light farther out differs from that used, both sides.

    Rows beside a grain that runs along the edge all err alike, so their scatter does not show it.
    """
    step = after - before
    off = [mean[:margin].mean(axis=0) - before, mean[-margin:].mean(axis=0) - after]
    shares = [float(each @ step) / max(float(step @ step), 1e-12) for each in off]
    return min(math.hypot(*shares), 1.0)


def _shares_sum(window: Floats, end: int) -> Floats:
    """Return where each profile passes from its first to its last colour (``edge_profile``)."""
    first, last = window[:, :end].mean(axis=1), window[:, -end:].mean(axis=1)
    step = last - first
    square = np.maximum((step**2).sum(axis=1), 1e-12)
    share = ((window - first[:, None]) * step[:, None]).sum(axis=2) / square[:, None]
    return np.asarray((1.0 - np.clip(share, -0.6, 1.6)).sum(axis=1) - 0.5)


def _agree(radii: Floats, off: Floats, keep: Floats, pixel: float) -> tuple[float, Floats, float]:
    """Return the turn that brings the ray to its rows, the rows that agree, and their error.

    Rows agree on a straight line, which need not run through the centre yet: that is what shows
    where the centre must move (see ``refine_centre``).
    """
    design = np.column_stack([np.ones(len(radii)), radii])
    inner, outer = np.array_split(np.flatnonzero(keep), 2)
    ends = np.array([[1.0, np.median(radii[half])] for half in (inner, outer)])
    middles = np.array([np.median(off[half]) for half in (inner, outer)])
    line = np.linalg.lstsq(ends, middles, rcond=None)[0]
    agree = keep
    error = pixel
    for limit in (4.0, 3.0, 2.5, 2.5):
        rest = off - design @ line
        spread = 1.4826 * float(np.median(np.abs(rest[agree])))
        error = min(max(spread, 0.1 * pixel), 1.0 * pixel)
        agree = keep & (np.abs(rest) <= limit * error)
        if agree.sum() < 4:
            return 0.0, agree, error
        line = np.linalg.lstsq(design[agree], off[agree], rcond=None)[0]
    turn = float((off[agree] @ radii[agree]) / (radii[agree] @ radii[agree]))
    return turn, agree, error


def _distinct(found: list[EdgeRows]) -> list[EdgeRows]:
    """Drop edges that settled on the same place as a better seen one."""
    chosen: list[EdgeRows] = []
    for edge in sorted(found, key=lambda each: -each.share * min(each.step, 20.0)):
        if all(
            abs(math.remainder(edge.direction - other.direction, TURN)) > CLOSEST / 2.0
            for other in chosen
        ):
            chosen.append(edge)
    return sorted(chosen, key=lambda each: each.direction % TURN)


class Refined(NamedTuple):
    """The step (x, y) the centre must move, the turn of every edge, and the covariance of these.

    ``growth`` is by how much the dark side of a full contrast looks wider (``shade``).
    """

    step: Floats
    turns: Floats
    covariance: Floats
    growth: Measured


def refine_centre(
    edges: tuple[EdgeRows, ...],
    circles: tuple[tuple[float, float, float], ...],
    growth: float,
) -> Refined:
    """Solve for the centre, all directions and the growth of dark sides together.

    A centre wrong by ``e`` shows as rows that lie ``e`` off, across the ray: least squares over all
    rows, with a shift of each edge as a whole held to its bias, a shift of all towards their bright
    sides held to ``growth`` (standard deviation), and over circles as (x, y, uncertainty): where,
    in the disc's plane, each puts the centre.
    """
    number = len(edges)
    count = 3 + 2 * number
    normal, right = np.zeros((count, count)), np.zeros(count)
    for index, edge in enumerate(edges):
        weight = (0.2 if edge.doubt else 1.0) / (edge.error**2 * INDEPENDENT)
        rows = np.zeros((len(edge.radii), count))
        rows[:, 0] = -math.sin(edge.direction)
        rows[:, 1] = math.cos(edge.direction)
        rows[:, 2 + index] = edge.radii
        rows[:, 2 + number + index] = 1.0
        rows[:, -1] = edge.contrast
        normal += weight * rows.T @ rows
        right += weight * rows.T @ edge.off
        normal[2 + number + index, 2 + number + index] += 1.0 / edge.bias**2
    for x, y, uncertainty in circles:
        normal[:2, :2] += np.eye(2) / uncertainty**2
        right[:2] += np.array([x, y]) / uncertainty**2
    normal[:2, :2] += np.eye(2) / 0.05**2  # perspective is bounded
    normal[-1, -1] += 1.0 / growth**2
    covariance = np.linalg.inv(normal)
    solution = covariance @ right
    return Refined(
        solution[:2],
        solution[2 : 2 + number],
        covariance[: 2 + number, : 2 + number],
        Measured(float(solution[-1]), math.sqrt(covariance[-1, -1])),
    )


def unexplained_shift(edges: tuple[EdgeRows, ...], growth: float) -> float:
    """Return the standard deviation, in disc radii, of shifts that the edges' biases leave open.

    Lines through one centre miss it by no more than they are uncertain, once the growth of dark
    sides is allowed for. What they miss it by beyond that shifts edges as a whole: the lamp's
    slant, a lens that bends. The chi-squared of the misses about the best centre is brought to its
    expectation (R. Birge, Physical Review 40 (1932) 207-227, from memory).
    """
    misses, variances, designs = [], [], []
    for edge in edges:
        if len(edge.radii) < 4:
            continue
        design = np.column_stack([np.ones(len(edge.radii)), edge.radii])
        unit = np.linalg.inv(design.T @ design)
        misses.append((unit @ design.T @ edge.off)[0])
        variances.append(edge.bias**2 + edge.error**2 * INDEPENDENT * unit[0, 0])
        designs.append((-math.sin(edge.direction), math.cos(edge.direction), edge.contrast))
    freedom = len(misses) - 2
    if freedom < 1:
        return 0.0
    spread = np.sqrt(variances)
    rows = np.vstack([np.array(designs) / spread[:, None], (0.0, 0.0, 1.0 / growth)])
    target = np.append(np.array(misses) / spread, 0.0)
    centre = np.linalg.lstsq(rows, target, rcond=None)[0]
    excess = float(((target - rows @ centre) ** 2).sum()) / freedom - 1.0
    return math.sqrt(max(excess, 0.0) * float((spread**2).mean()))
