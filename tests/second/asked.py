"""What a job asks for, from its files alone: every piece of film, and how it is to be cut.

Nothing of the package is used: TOML by the standard library, shapes by closed forms.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import shapely
from second.drawn import drawn_shape
from second.shapes import (
    between,
    bore,
    disc,
    holes,
    hub_slots,
    openings,
    rectangle,
    ring,
    sector,
    strip,
    wedge,
)
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

Table = dict[str, Any]
MATERIALS = Path(__file__).parents[2] / "materials"
GRID = 1e-9
"""What shapes are rounded to where many are put together, mm: shapely fails on sides that nearly
lie on one another."""
DUST = 1e-6
"""Less than this of a layer is rounding, mm²."""


@dataclass(frozen=True, eq=False)
class Kind:
    """One piece to cut, nominal: ``count`` of it; an outline must lie within ``slack`` mm of it.

    ``disc`` counts from 0, None for a loose part; one disc takes ``per_disc`` of it.
    """

    name: str
    film: str
    shape: Polygon
    count: int
    slack: float = 0.0
    disc: int | None = None
    per_disc: int = 1


@dataclass(frozen=True)
class Tabs:
    """The most bridges that hold a part, and how wide each is, mm."""

    count: int
    width: float


@dataclass(frozen=True)
class Asked:
    """A job as its files tell it; ``kerf`` by film, mm, ``turn`` by film: degrees of a step."""

    job: Table
    folder: Path
    kinds: tuple[Kind, ...]
    films: Mapping[str, Table]
    cutter: Table
    kerf: Mapping[str, float]
    tabs: Tabs | None
    shares: bool

    def of_film(self, film: str) -> tuple[Kind, ...]:
        """Return the kinds of a film."""
        return tuple(kind for kind in self.kinds if kind.film == film)


def asked_of(
    job_file: Path,
    *,
    cutter: str | None = None,
    kerf: Mapping[str, float] | None = None,
    copies: Mapping[int, int] | None = None,
) -> Asked:
    """Read a job and all it names.

    ``cutter`` and ``kerf`` are those of a recut; ``copies`` replaces those of discs, by index.
    """
    job, folder = _toml(job_file), job_file.parent
    kinds = [*_disc_kinds(job, folder, copies or {}), *_loose_kinds(job, folder)]
    films = {kind.film: _material("films", kind.film, folder) for kind in kinds}
    profile = _material("cutters", cutter or job["cutter"], folder)
    own = {} if cutter else job.get("kerf", {})
    widths = {film: _nearest(profile["kerf"], film, table) for film, table in films.items()}
    widths |= {film: width for film, width in {**own, **(kerf or {})}.items() if film in films}
    cutting = job.get("cutting", {})
    tabs = cutting.get("tabs")
    return Asked(
        job=job,
        folder=folder,
        kinds=tuple(kinds),
        films=films,
        cutter=profile,
        kerf={film: width for film, width in widths.items() if width is not None},
        tabs=Tabs(tabs["count"], tabs.get("width", 0.4)) if tabs else None,
        shares=job.get("nesting", {}).get("web") == "shared",
    )


def design_pieces(design: Table) -> list[tuple[int, str, Polygon]]:
    """Return the pieces of a design's layers: layer from 0, film, shape about the middle."""
    found = []
    for number, layer in enumerate(design["layer"]):
        outer = layer.get("outer_diameter", design["outer_diameter"]) / 2.0
        whole = ring(outer, layer.get("inner_diameter", 0.0) / 2.0)
        cut = [
            *([bore(design["bore"])] if "bore" in design else []),
            *holes(design.get("hole", []), layer["name"]),
            *hub_slots(design.get("hub_slot", []), layer["name"]),
            *openings(layer.get("opening", []), outer),
        ]
        cut_out = shapely.union_all(cut, grid_size=GRID)
        is_open = "bore" in design or "inner_diameter" in layer
        speed = design.get("speed_rpm", 0.0)
        for film, blank in _blanks(layer, whole, outer, speed, is_open=is_open):
            pieces = shapely.get_parts(blank.difference(cut_out))
            found += [(number, film, piece) for piece in pieces if piece.area > DUST]
    return found


def _blanks(
    layer: Table, whole: BaseGeometry, outer: float, speed: float, *, is_open: bool
) -> Iterable[tuple[str, BaseGeometry]]:
    """Yield film and shape of each sector, or of the whole layer, before anything is cut out.

    Along a joint lies a strip as wide as its gap, half on either side. Without anything open in
    the middle the sides are lines that meet there.
    """
    rows = layer.get("sector", [])
    if len(rows) < 2:
        film = rows[0]["film"] if rows else layer["film"]
        if film != "none":
            yield film, whole
        return
    half = layer.get("joint_gap", 0.0) / 2.0
    start = layer.get("start_angle", 0.0)
    for index, (row, width) in enumerate(zip(rows, _widths(rows, speed), strict=True)):
        neighbours = rows[index - 1], rows[(index + 1) % len(rows)]
        first, last = (0.0 if each["film"] == "none" else half for each in neighbours)
        if is_open:
            shape = wedge(start, width, outer)
            for side, shift in ((start, first), (start + width, last)):
                joint = strip(side, abs(shift), outer)
                shape = shape.difference(joint) if shift > 0.0 else shape.union(joint)
        else:
            shape = between(start, width, outer, (first, last))
        if row["film"] != "none":
            yield row["film"], whole.intersection(shape)
        start += width


def _widths(rows: list[Table], speed: float) -> list[float]:
    """Return the degrees of sectors: given, by time, or a share of what is left of the circle."""
    fixed = [row.get("degrees", 6.0 * speed * row.get("ms", 0.0) / 1000.0) for row in rows]
    shares = [row.get("share", 0.0) for row in rows]
    if any(shares):
        left = 360.0 - sum(fixed)
        return [
            left * share / sum(shares) if share else width
            for width, share in zip(fixed, shares, strict=True)
        ]
    return [width * 360.0 / sum(fixed) for width in fixed]


def _disc_kinds(job: Table, folder: Path, copies: Mapping[int, int]) -> Iterable[Kind]:
    for index, row in enumerate(job.get("disc", [])):
        design = _toml(folder / row["design"])
        count = copies.get(index, row.get("copies", 1))
        for layer, film, shape in design_pieces(design):
            name = f"{design['name']}, {design['layer'][layer]['name']}"
            yield Kind(name, film, shape, count, disc=index)
        for dot in design.get("dot", []):
            patch = disc(dot["diameter"] / 2.0)
            name, number = f"{design['name']}, {dot['name']}", dot.get("count", 1)
            yield Kind(name, dot["film"], patch, count * number, disc=index, per_disc=number)


def _loose_kinds(job: Table, folder: Path) -> Iterable[Kind]:
    for row in job.get("part", []):
        shape, slack = _loose_shape(row, folder)
        yield Kind(row["name"], row["film"], shape, row.get("copies", 1), slack)


def _loose_shape(row: Table, folder: Path) -> tuple[BaseGeometry, float]:
    if "ring" in row:
        size = row["ring"]
        return ring(size["outer_diameter"] / 2.0, size.get("inner_diameter", 0.0) / 2.0), 0.0
    if "disc" in row:
        return disc(row["disc"]["diameter"] / 2.0), 0.0
    if "sector" in row:
        size = row["sector"]
        radii = size["outer_diameter"] / 2.0, size.get("inner_diameter", 0.0) / 2.0
        return sector(*radii, -size["degrees"] / 2.0, size["degrees"]), 0.0
    if "rectangle" in row:
        return rectangle(*row["rectangle"]["size"], row["rectangle"].get("corner_radius", 0.0)), 0.0
    if "bar" in row:
        length, width = row["bar"]["length"], row["bar"]["width"]
        return rectangle(length, width, width / 2.0), 0.0
    if "polygon" in row:
        return Polygon(row["polygon"]), 0.0
    return drawn_shape(folder / row["drawing"])


def _material(kind: str, name: str, folder: Path) -> Table:
    own = folder / "materials" / kind / f"{name}.toml"
    return _toml(own if own.exists() else MATERIALS / kind / f"{name}.toml")


def _nearest(values: Mapping[str, float], film: str, table: Table) -> float | None:
    keys = (film, table["base"], "any")
    return next((values[key] for key in keys if key in values), None)


def _toml(path: Path) -> Table:
    return tomllib.loads(path.read_text(encoding="utf-8"))
