"""A planned job whose record is edited, and the edits.

Its parts are laid by hand, so that every sentence about an edit is known.
"""

from __future__ import annotations

import copy
import hashlib
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from case_files import Tables

from jobprep.toml_text import toml_text

WHEEL: Tables = {
    "format": 1,
    "name": "Lantern wheel",
    "outer_diameter": 80,
    "hole": [{"name": "index", "diameter": 3, "radius": 34, "angle": 60}],
    "layer": [
        {
            "name": "colour",
            "inner_diameter": 20,
            "sector": [{"film": "amber", "degrees": 130}, {"film": "none", "degrees": 230}],
        },
        {"name": "mask", "film": "black", "inner_diameter": 20},
    ],
}
JOB: Tables = {
    "format": 1,
    "title": "Lanterns",
    "cutter": "bench-co2",
    "disc": [{"design": "wheel.toml", "copies": 2}],
    "part": [
        {"name": "plate", "film": "amber", "copies": 3, "rectangle": {"size": [40, 30]}},
        {"name": "ring", "film": "amber", "ring": {"outer_diameter": 50, "inner_diameter": 40}},
    ],
    "stock": [
        {"film": "amber", "label": "A7", "outline": [[0, 0], [260, 0], [260, 180], [0, 180]]}
    ],
    "nesting": {"evaluations": 200},
    "leftovers": {"shape": "outline"},  # the default when its record of format 1 was written
}
PLACES = (
    *((1, 0, 0, 20.0, 60.0), (1, 1, 0, 70.0, 60.0), (3, 0, 0, 10.0, 110.0), (3, 1, 0, 60.0, 110.0)),
    *(
        (3, 2, 0, 110.0, 110.0),
        (4, 0, 0, 150.0, 50.0),
        (2, 0, 1, 50.0, 50.0),
        (2, 1, 1, 150.0, 50.0),
    ),
)
"""Part, copy, sheet, x and y."""

Edit = Callable[[Tables], Any]


def text_of(values: Tables, digest: str = "") -> str:
    """Return the text of a record; its own digest is right unless another one is given."""
    values = {key: each for key, each in values.items() if key != "outputs"}
    head = toml_text(values).rstrip("\n")
    digest = digest or hashlib.sha256(head.encode()).hexdigest()
    return f"{head}\n\n" + toml_text({"outputs": [{"file": "run.toml", "sha256": digest}]})


def edited(folder: Path, values: Tables, edit: Edit) -> Path:
    """Write an edited record, with the digest that it had before; return its path."""
    changed = copy.deepcopy(values)
    edit(changed)
    path = folder / "run" / "run.toml"
    digest = tomllib.loads(path.read_text())["outputs"][0]["sha256"]
    path.write_text(text_of(changed, digest))
    return path


def put(*keys: str | int, to: Any) -> Edit:
    """Set the value at the end of a way."""

    def edit(values: Any) -> None:
        for key in keys[:-1]:
            values = values[key]
        values[keys[-1]] = to

    return edit


def drop(*keys: str | int) -> Edit:
    def edit(values: Any) -> None:
        for key in keys[:-1]:
            values = values[key]
        del values[keys[-1]]

    return edit


def both(*edits: Edit) -> Edit:
    def edit(values: Tables) -> None:
        for each in edits:
            each(values)

    return edit
