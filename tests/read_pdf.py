"""Reads back what a PDF draws, with another library: paths in mm on the paper, and texts.

The operators are those of ISO 32000-1, tables 57, 59 and 60; a unit is 1/72 inch.
"""

from __future__ import annotations

import math
from io import BytesIO
from typing import Any, NamedTuple

from pypdf import PdfReader

MM = 25.4 / 72.0
SAMPLES = 24


class Drawn(NamedTuple):
    """One painted path: its subpaths as points on them, whether filled, its grey or colour."""

    subpaths: list[list[tuple[float, float]]]
    is_filled: bool
    grey: float
    colour: tuple[float, ...] = ()
    width: float = 0.0


class ReadPage(NamedTuple):
    width: float
    height: float
    drawn: list[Drawn]
    text: str
    images: list[list[tuple[float, float]]]
    """Of each picture where its lower left, lower right and upper left corners lie."""

    @property
    def strokes(self) -> list[list[tuple[float, float]]]:
        return [path for each in self.drawn if not each.is_filled for path in each.subpaths]

    def straight(self, length: float, tolerance: float = 0.005) -> list[list[tuple[float, float]]]:
        """Return the strokes of two points that are so long."""
        lines = [path for path in self.strokes if len(path) == 2]
        return [path for path in lines if abs(math.dist(*path) - length) <= tolerance]


def read_pages(data: bytes) -> list[ReadPage]:
    reader = PdfReader(BytesIO(data))
    return [
        ReadPage(
            float(page.mediabox.width) * MM,
            float(page.mediabox.height) * MM,
            *_drawn(page),
        )
        for page in reader.pages
    ]


def _drawn(page: Any) -> tuple[list[Drawn], str, list[list[tuple[float, float]]]]:
    matrix, stack = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0), []
    grey, fill, stroke, width = 0.0, (), (), 0.0
    found: list[Drawn] = []
    images: list[list[tuple[float, float]]] = []
    paths: list[list[tuple[float, float]]] = []

    def at(x: Any, y: Any) -> tuple[float, float]:
        a, b, c, d, e, f = matrix
        x, y = float(x), float(y)
        return (a * x + c * y + e) * MM, (b * x + d * y + f) * MM

    for operands, raw in page.get_contents().operations:
        operator = raw.decode()
        match operator:
            case "q":
                stack.append((matrix, grey, fill, stroke, width))
            case "Q":
                matrix, grey, fill, stroke, width = stack.pop()
            case "cm":
                matrix = _times([float(each) for each in operands], matrix)
            case "G":
                grey, stroke = float(operands[0]), ()
            case "g":
                fill = ()
            case "rg":
                fill = tuple(map(float, operands))
            case "RG":
                stroke = tuple(map(float, operands))
            case "w":
                width = float(operands[0])
            case "Do":
                images.append([at(0, 0), at(1, 0), at(0, 1)])
            case "m":
                paths.append([at(*operands)])
            case "l":
                paths[-1].append(at(*operands))
            case "c":
                paths[-1].extend(
                    _curve(paths[-1][-1], *(at(*operands[i : i + 2]) for i in (0, 2, 4)))
                )
            case "h":
                paths[-1].append(paths[-1][0])
            case "S" | "s" | "f" | "f*" | "n" | "B" | "B*":
                if operator[0] in "fB":
                    found.append(Drawn(paths, True, grey, fill))
                if operator[0] in "SsB":
                    found.append(Drawn(paths, False, grey, stroke, width))
                paths = []
            case "re" | "v" | "y" | "b":
                raise AssertionError(f"operator {operator} is not expected here")
    return found, page.extract_text(), images


def _times(first: list[float], second: tuple[float, ...]) -> tuple[float, ...]:
    a, b, c, d, e, f = first
    g, h, i, j, k, m = second
    return (
        a * g + b * i,
        a * h + b * j,
        c * g + d * i,
        c * h + d * j,
        e * g + f * i + k,
        e * h + f * j + m,
    )


def _curve(*corners: tuple[float, float]) -> list[tuple[float, float]]:
    """Return points on a cubic Bezier curve, its end last (Bernstein form)."""
    points = []
    for step in range(1, SAMPLES + 1):
        t = step / SAMPLES
        weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
        points.append(
            tuple(
                sum(w * p[axis] for w, p in zip(weights, corners, strict=True)) for axis in (0, 1)
            )
        )
    return points
