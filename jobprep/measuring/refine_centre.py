"""Solve for the disc's centre and all directions together, by least squares over all rows."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from jobprep.measuring.edge_rows import INDEPENDENT, EdgeRows
from jobprep.measuring.measured import Floats, Measured


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

    A centre wrong by ``e`` shows as rows that lie ``e`` off, across the ray. Least squares run over
    all rows, with a shift of each whole edge limited by its bias and a shift of all towards their
    bright sides limited by ``growth`` (standard deviation), and over the ``circles``, each as the
    place (x, y) in the disc's plane where it puts the centre, and its uncertainty.
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

    Lines through one centre miss it by no more than their uncertainty, once the growth of dark
    sides is allowed for. A larger miss comes from whole edges that are shifted, by the lamp's slant
    or a lens that bends. The chi-squared of the misses about the best centre is brought to its
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
