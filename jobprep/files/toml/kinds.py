"""What kind of file a TOML file is, so that one named by mistake is called by its name."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from jobprep.errors import Finding, InputError
from jobprep.files.toml.lines import TomlFile, read_toml

_MARKS = {
    "a job": ("disc", "part", "cutter", "stock"),
    "a design": ("layer", "outer_diameter", "bore"),
    "a film": ("base", "thickness", "sheet"),
    "a cutter": ("bed", "travel_speed", "cut_speed"),
    "a lamp": ("colour_temperature_k", "illuminant", "spectrum"),
    "a machine": ("rotation", "window", "sensor_angle"),
    "a run record": ("placements", "sheets"),
}
"""Fields that give each kind of file away."""


def read_kind(path: Path, kind: str, asked_by: Finding | None = None) -> TomlFile:
    """Read a TOML file of a kind, such as ``a design``, as ``read_toml`` does.

    Raises ``InputError`` also when the file clearly is of another kind.
    """
    return of_kind(read_toml(path, asked_by=asked_by), kind)


def of_kind(file: TomlFile, kind: str) -> TomlFile:
    """Return a parsed file; raises ``InputError`` when it clearly is of another kind."""
    other = _kind_given_away(file.values, kind)
    if other:
        message = f"this file is {other}, but {kind} is needed here"
        raise InputError([file.source.error("", message)])
    return file


def likeliest_kind(values: Mapping[str, object]) -> str:
    """Return the kind that the fields of a file give away, such as ``a design``, or nothing."""
    return _kind_given_away(values, "")


def _kind_given_away(values: Mapping[str, object], kind: str) -> str:
    """Return the kind a file clearly is, if that is another than the one expected."""
    marks = {name: sum(key in values for key in keys) for name, keys in _MARKS.items()}
    likeliest = max(marks, key=lambda name: marks[name])
    return likeliest if marks[likeliest] >= 2 and marks.get(kind, 0) == 0 else ""
