"""Path data of SVG as lines and arcs in mm. The only file that knows the parser of path data.

What reaches the parser has passed the grammar here, in time that grows with its length, and where
the parser mirrors a control point that the standard does not, that is set right.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

from jobprep.geometry.affine import Affine
from jobprep.geometry.fit_arcs import bezier, elliptic_path, fit_arcs
from jobprep.geometry.join_paths import MOST_SEGMENTS, OutlineError
from jobprep.geometry.outline import Line, Path, Segment
from jobprep.geometry.svg_lengths import NUMBER, row

_MOVE = rf"[Mm]\s*+{row(NUMBER, NUMBER)}\s*+"
COMMANDS = (
    rf"[LlTt]\s*+{row(NUMBER, NUMBER)}",
    rf"[HhVv]\s*+{row(NUMBER)}",
    rf"[Cc]\s*+{row(*[NUMBER] * 6)}",
    rf"[SsQq]\s*+{row(*[NUMBER] * 4)}",
    rf"[Aa]\s*+{row(NUMBER, NUMBER, NUMBER, '[01]', '[01]', NUMBER, NUMBER)}",
    "[Zz]",
)
_PATH_DATA = re.compile(rf"\s*+(?>{_MOVE}(?>(?>{_MOVE}|{'|'.join(COMMANDS)})\s*+)*)?")
"""The grammar of path data (SVG 2, section 9.3.9)."""


def path_data_paths(data: str, to_mm: Affine, tolerance: float) -> Iterator[Path]:
    """Yield each subpath of a path's data."""
    from svgelements import Close, CubicBezier, Move, QuadraticBezier
    from svgelements import Path as PathData

    if not _PATH_DATA.fullmatch(data):
        raise ValueError(data)
    if len(re.findall(r"[0-9.]+", data)) > 7 * MOST_SEGMENTS:  # an arc takes 7 numbers
        raise OutlineError(too_many_segments())
    run: list[Segment] = []
    control: _Control | None = None
    for command in PathData(data):
        if isinstance(command, Move):
            yield tuple(run)
            run, control = [], None
            continue
        if isinstance(command, QuadraticBezier | CubicBezier):
            control = _smoothed(command, control)
        else:
            control = None
        run += _command(command, to_mm, tolerance)
        if len(run) > MOST_SEGMENTS:
            raise OutlineError(too_many_segments())
        if isinstance(command, Close):
            yield tuple(run)
            run = []
    yield tuple(run)


class _Control(NamedTuple):
    """The last control point of a curve, and whether the curve is cubic."""

    point: Any
    is_cubic: bool


def _smoothed(curve: Any, before: _Control | None) -> _Control:
    """Set the first control point of a smooth curve, and return its last.

    It mirrors that of the curve before where both are cubic or both quadratic, and is the start
    elsewhere (SVG 2, sections 9.3.6 and 9.3.7); the parser mirrors that of any curve.
    """
    is_cubic = hasattr(curve, "control2")
    if curve.smooth:
        mirrors = before is not None and before.is_cubic == is_cubic
        first = before.point.reflected_across(curve.start) if before and mirrors else curve.start
        if is_cubic:
            curve.control1 = first
        else:
            curve.control = first
    return _Control(curve.control2 if is_cubic else curve.control, is_cubic)


def _command(command: Any, to_mm: Affine, tolerance: float) -> Iterable[Segment]:
    """Return the segments of one path command."""
    from svgelements import Arc as EllipticArc
    from svgelements import CubicBezier, QuadraticBezier

    start, end = to_mm.at(*command.start), to_mm.at(*command.end)
    if isinstance(command, EllipticArc):
        if command.rx > 0.0 and command.ry > 0.0:
            cos, sin = math.cos(command.get_rotation()), math.sin(command.get_rotation())
            u = to_mm.turned(command.rx * cos, command.rx * sin)
            v = to_mm.turned(-command.ry * sin, command.ry * cos)
            first, sweep = float(command.get_start_t()), float(command.sweep)
            return elliptic_path(to_mm.at(*command.center), u, v, first, sweep, tolerance)
    elif isinstance(command, CubicBezier):
        controls = (to_mm.at(*command.control1), to_mm.at(*command.control2))
        return fit_arcs(bezier([start, *controls, end]), tolerance)
    elif isinstance(command, QuadraticBezier):
        return fit_arcs(bezier([start, to_mm.at(*command.control), end]), tolerance)
    return (Line(start, end),)


def too_many_segments() -> str:
    """Return the sentence for an outline that is refused by its number of segments."""
    return f"has more than {MOST_SEGMENTS} segments; simplify the outline"
