"""A cut drawing as plain machine code for a cutter with a beam.

The words are those of ISO 6983-1 and of the RS274/NGC language (Kramer, Proctor, Messina, NISTIR
6556, 2000): ``G21`` mm, ``G90`` absolute, ``G17`` the XY plane, ``G94`` feed per minute, ``G0``
travel, ``G1`` lines, ``G2`` and ``G3`` arcs clockwise and anticlockwise with the centre as ``I J``
from the arc's start, ``M3`` and ``M5`` beam on and off, ``S`` power, ``M2`` end. Origin is the
drawing's lower left, y runs up. The beam is off on every travel move.

Controllers differ in the unit of a dwell (``G4``), and the beam stands on while it lasts: one is
written only with the word and the unit that the cutter's profile names.

What a controller makes of ``S`` and ``M3`` is for its manual to say: try every new file without
power first. That is what is written unless a power is asked for: then no ``M3`` occurs at all.
"""

from __future__ import annotations

from collections.abc import Iterator

from jobprep.drawing.arcs import split_arc
from jobprep.drawing.drawing import Drawing, Stroke, counted_from
from jobprep.drawing.formats import Control, Setting
from jobprep.errors import CannotDoError
from jobprep.geometry.outline import Arc, Path, Point, Segment
from jobprep.units import TURN, number, to_ms, to_per_minute

DECIMALS = 5
"""Of a coordinate, mm. The radii to an arc's start and end then differ by less than 0.00002 mm;
controllers refuse more than 0.002 mm (RS274/NGC)."""

LONGEST_COMMENT = 60


def write(drawing: Drawing, control: Control) -> str:
    """Return the drawing as machine code; a layer at power 0 is run through with the beam off."""
    if control.is_knife:
        raise CannotDoError(f"machine code is for beams; {control.name} is a knife")
    strokes = counted_from(drawing, control.origin).strokes
    settings = control.settings
    dry = not any(settings[stroke.layer].power for stroke in strokes)
    lines = [
        f"({_comment(drawing.title)})",
        f"(page {number(drawing.width)} x {number(drawing.height)} mm, origin lower left)",
        *(["(dry run: the beam stays off)"] if dry else []),
        "G21 G90 G17 G94",
        "M5 S0",
    ]
    for stroke in strokes:
        lines += _stroke_lines(stroke, settings[stroke.layer], control.dwell)
    lines += ["G0 X0 Y0", "M2"]
    return "\n".join(lines) + "\n"


def _stroke_lines(stroke: Stroke, setting: Setting, dwell: tuple[str, str] | None) -> Iterator[str]:
    yield f"({stroke.layer}: {_comment(stroke.title)})"
    feed = f"F{number(to_per_minute(setting.speed), 3)}"
    for path in (path for path in stroke.paths for _ in range(setting.passes)):
        yield f"G0 {_point(path[0].start)}"
        if setting.power > 0.0:
            yield f"M3 S{number(setting.power, 3)}"
            if dwell is not None and setting.pierce_time > 0.0:
                word, unit = dwell
                wait = setting.pierce_time if unit == "s" else to_ms(setting.pierce_time)
                yield f"{word}{number(wait, 6 if unit == 's' else 3)}"
        yield from _path_lines(path, feed, stroke.closed)
        if setting.power > 0.0:
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
