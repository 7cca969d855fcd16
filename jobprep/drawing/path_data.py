"""Paths as SVG path data (SVG 1.1, 8.3), exact for a cutter or as short as it shows for a page.

An arc command names its end points, not its centre, so near a half turn a rounded end point moves
the centre by many times its own error, and near a full turn nothing is left to find it by. Longer
arcs are therefore written as equal shorter ones; a circle is three. No arc needs the large-arc
flag.

Exact data is absolute: ``M``, ``L``, ``A`` and ``Z``, one command for each segment. Short data
counts each point from the one before, rounded so that no error adds up. What differs from the true
path by less than the last decimal is written more briefly: an arc, almost straight, as a line.
So is what SVG understands without: the line that closes a contour, a command like the one before.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from jobprep.drawing.arcs import split_arc
from jobprep.geometry.outline import Arc, Path, Point, Segment
from jobprep.units import TURN, from_degrees, number


class Spelling(NamedTuple):
    """How coordinates are written: their decimals, mm, the longest arc in one piece, radians."""

    decimals: int
    longest: float
    is_short: bool


EXACT = Spelling(6, from_degrees(170.0), is_short=False)
"""Up to 170 degrees an arc's centre moves by at most 1 / cos(85 degrees), about 11.5 times the
rounding of its end points and as much again for that of its radius: by less than 0.00002 mm. At 180
degrees it could be a hundredth of a mm."""
SHORT = Spelling(2, TURN / 3.0, is_short=True)
"""Finer than any screen or printer shows a sheet."""
SHORTER = SHORT._replace(decimals=1)
MANY = 4000
"""A picture with more segments than this is written to one decimal less: its page stays light, and
what is so fine is not seen at the size of a page."""

_NOUGHT = re.compile(r"^(-?)0\.")
_SPACE = re.compile(r" (?=-)|(?<=\.\d) (?=\.)|(?<=\.\d\d) (?=\.)")

_Coordinates = tuple[str, str]


class _Step(NamedTuple):
    """One command: its letter, for an arc its radius and flags, and where it ends."""

    letter: str
    shape: tuple[str, ...]
    end: _Coordinates


def path_data(paths: Iterable[Path], height: float, spelling: Spelling, *, closed: bool) -> str:
    """Return paths with y turned down on a page ``height`` mm high.

    A closed path ends on the very digits it starts with.
    """
    told = [_steps(path, height, spelling, closed) for path in paths]
    if spelling.is_short:
        return "".join(_shortly(told, spelling.decimals, closed))
    end = ["Z"] if closed else []
    return " ".join(
        word for steps in told for word in [*(" ".join(_words(step)) for step in steps), *end]
    )


def _steps(path: Path, height: float, spelling: Spelling, closed: bool) -> list[_Step]:
    """Return the commands of a path, without those shorter than the last decimal."""

    def at(point: Point) -> _Coordinates:
        x, y = point
        return number(x, spelling.decimals), number(height - y, spelling.decimals)

    first = here = at(path[0].start)
    steps = [_Step("M", (), first)]
    pieces = [piece for segment in path for piece in _pieces(segment, spelling.longest)]
    for piece in pieces:
        is_last = closed and piece is pieces[-1]
        end = first if is_last else at(piece.end)
        if end == here:
            continue
        if isinstance(piece, Arc) and not (spelling.is_short and _is_flat(piece, spelling)):
            # Anticlockwise with y up is anticlockwise on the screen too: SVG's flag 0.
            radius = number(piece.radius, spelling.decimals)
            steps.append(_Step("A", (radius, radius, "0", "0", str(int(piece.sweep < 0.0))), end))
        elif not (spelling.is_short and is_last):
            steps.append(_Step("L", (), end))
        here = end
    return steps


def _pieces(segment: Segment, longest: float) -> tuple[Segment, ...]:
    return split_arc(segment, longest) if isinstance(segment, Arc) else (segment,)


def _is_flat(arc: Arc, spelling: Spelling) -> bool:
    """Whether an arc leaves its chord by less than half of the last decimal."""
    return arc.radius * (1.0 - math.cos(arc.sweep / 2.0)) < 0.5 * 0.1**spelling.decimals


def _words(step: _Step) -> tuple[str, ...]:
    return (step.letter, *step.shape, *step.end)


def _shortly(told: Iterable[Sequence[_Step]], decimals: int, closed: bool) -> Iterator[str]:
    here = ("0", "0")
    for steps in told:
        commands: list[tuple[str, list[str]]] = []
        for letter, shape, end in steps:
            way = [number(float(b) - float(a), decimals) for a, b in zip(here, end, strict=True)]
            if letter == "L" and commands[-1][0] in "ml":  # more of the same
                commands[-1][1].extend(way)
            else:
                commands.append((letter.lower(), [*shape, *way]))
            here = end
        if closed:
            here = steps[0].end
        yield "".join(letter + _joined(numbers) for letter, numbers in commands)
        yield "z" if closed else ""


def _joined(numbers: Iterable[str]) -> str:
    """Return numbers in a row, without a zero or a space that SVG can do without."""
    return _SPACE.sub("", " ".join(_NOUGHT.sub(r"\1.", each) for each in numbers))
