"""Write a drawing as plain machine code for a cutter with a beam.

The words are those of ISO 6983-1 and of the RS274/NGC language (Kramer, Proctor, Messina, NISTIR
6556, 2000): ``G21`` mm, ``G90`` absolute, ``G17`` the XY plane, ``G94`` feed per minute, ``G0``
travel, ``G1`` lines, ``G2`` and ``G3`` arcs clockwise and anticlockwise with the centre as ``I J``
from the arc's start, ``M3`` and ``M5`` beam on and off, ``S`` power, ``M2`` end. Origin is the
drawing's lower left, y runs up. The beam is off on every travel move.

What a controller makes of ``S`` and ``M3`` is for its manual to say: try every new file without
power first. That is what is written unless a power is asked for: then no ``M3`` occurs at all.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from jobprep.drawing.arcs import split_arc
from jobprep.drawing.drawing import Drawing, Stroke
from jobprep.geometry.outline import Arc, Path, Point, Segment
from jobprep.units import TURN, number, to_per_minute

DECIMALS = 5
"""Of a coordinate, mm. The radii to an arc's start and end then differ by less than 0.00002 mm;
controllers refuse more than 0.002 mm (RS274/NGC)."""

LONGEST_COMMENT = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """How fast an operation goes (mm/s), its power in the controller's own unit, its passes."""

    speed: float
    power: float = 0.0
    passes: int = 1


def gcode_text(drawing: Drawing, operations: Mapping[str, Operation]) -> str:
    """Return the drawing as machine code, the same bytes for the same drawing.

    ``operations`` maps each layer of the drawing to its speed and power; a layer at power 0 is
    run through with the beam off.
    """
    dry = not any(operations[stroke.layer].power for stroke in drawing.strokes)
    lines = [
        f"({_comment(drawing.title)})",
        f"(page {number(drawing.width)} x {number(drawing.height)} mm, origin lower left)",
        *(["(dry run: the beam stays off)"] if dry else []),
        "G21 G90 G17 G94",
        "M5 S0",
    ]
    for stroke in drawing.strokes:
        lines += _stroke_lines(stroke, operations[stroke.layer])
    lines += ["G0 X0 Y0", "M2"]
    return "\n".join(lines) + "\n"


def _stroke_lines(stroke: Stroke, operation: Operation) -> Iterator[str]:
    yield f"({stroke.layer}: {_comment(stroke.title)})"
    feed = f"F{number(to_per_minute(operation.speed), 3)}"
    for path in (path for path in stroke.paths for _ in range(operation.passes)):
        yield f"G0 {_point(path[0].start)}"
        if operation.power > 0.0:
            yield f"M3 S{number(operation.power, 3)}"
        yield from _path_lines(path, feed, stroke.closed)
        if operation.power > 0.0:
            yield "M5"


def _path_lines(path: Path, feed: str, closed: bool) -> Iterator[str]:
    """Yield one block for each segment; a closed path ends on the very digits it starts with."""
    pieces = [piece for segment in path for piece in _pieces(segment)]
    first = here = _point(path[0].start)
    for piece in pieces:
        end = first if closed and piece is pieces[-1] else _point(piece.end)
        if end == here:
            continue  # shorter than the last decimal
        if isinstance(piece, Arc):
            turn = "G3" if piece.sweep > 0.0 else "G2"
            i = number(piece.centre.x - piece.start.x, DECIMALS)
            j = number(piece.centre.y - piece.start.y, DECIMALS)
            yield f"{turn} {end} I{i} J{j} {feed}"
        else:
            yield f"G1 {end} {feed}"
        here = end


def _pieces(segment: Segment) -> tuple[Segment, ...]:
    """Return a segment in blocks of at most half a turn, whose ends never coincide."""
    return split_arc(segment, 0.5 * TURN) if isinstance(segment, Arc) else (segment,)


def _point(point: Point) -> str:
    return f"X{number(point.x, DECIMALS)} Y{number(point.y, DECIMALS)}"


def _comment(text: str) -> str:
    """Return text that cannot end a comment: plain ASCII without parentheses, and short."""
    plain = "".join(char if " " <= char <= "~" and char not in "()" else "_" for char in text)
    return plain[:LONGEST_COMMENT]
