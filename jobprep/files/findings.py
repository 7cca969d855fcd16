"""What checks find: a field and what is wrong there, before the file's name and line are added."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from jobprep.errors import Finding
from jobprep.files.toml.problems import shown
from jobprep.geometry.polygons import Corners, corners, defect_faults, polygon_fault
from jobprep.model import rectangle_points
from jobprep.units import number


def not_below(path: str, found: float | None, limit: float | None, name: str) -> Iterator[Finding]:
    """Yield a finding when a length reaches its limit; nothing when either is unknown."""
    if found is not None and limit is not None and found >= limit:
        message = f"{number(found)} mm is not below {name}, {number(limit)} mm"
        yield Finding.error(path, message)


def repeated(rows: Iterable[tuple[str, str | None]], field: str) -> Iterator[Finding]:
    """Yield a finding for every table whose name an earlier one has; rows are (path, name)."""
    first: dict[str, str] = {}
    for path, name in rows:
        if name is None:
            continue
        if name in first:
            message = f"{shown(name)} is already the {field} of {first[name]}"
            yield Finding.error(f"{path}.{field}", message)
        first.setdefault(name, path)


def piece_outline(
    size: Sequence[float] | None, outline: Sequence[Sequence[float]] | None
) -> Sequence[Sequence[float]]:
    """Return the corners of a piece of film that is given by its size or by its outline, mm."""
    if outline is not None:
        return outline
    width, height = size or (0.0, 0.0)
    return rectangle_points(width, height)


def piece_faults(
    outline: Sequence[Sequence[float]],
    defects: Sequence[Sequence[Sequence[float]]],
    beyond: str,
    cleaned: Callable[[Sequence[Sequence[float]]], Corners] = corners,
) -> Iterator[Finding]:
    """Yield what makes an outline no piece of film, and ``beyond`` of defects that leave it.

    What is compared are ``cleaned`` polygons.
    """
    fault = polygon_fault(outline)
    if fault:
        yield Finding.error("outline", fault)
    right: dict[str, Corners] = {}
    for count, defect in enumerate(defects, 1):
        if its := polygon_fault(defect):
            yield Finding.error(f"defects[{count}]", its)
        else:
            right[f"defects[{count}]"] = cleaned(defect)
    if not fault:
        paths = ["outline", *right]
        for each in defect_faults(cleaned(outline), [*right.values()]):
            yield Finding.error(paths[each.contour], beyond if each.contour else each.message)
