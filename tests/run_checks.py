"""One written run held against the outside, from its files alone."""

from __future__ import annotations

import json
import math
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import shapely
from drawn_numbers import (
    assert_job_sheet_agrees,
    assert_lengths_are_drawn,
    assert_prices,
    assert_sums,
    assert_time_is_likely,
)
from interrupted_cut import Tabs, assert_interrupted_cut_gives
from other_formats import assert_same_strokes, dxf_strokes, gcode_strokes, svg_strokes
from shapely.affinity import rotate, translate
from shapely.geometry import Polygon
from virtual_cut import (
    CutFile,
    assert_cut_gives,
    assert_no_chords,
    nominal_polygon,
    read_cut_drawing,
    require,
    virtual_cut,
)

from jobprep.files.run_record import RunRecord, read_run
from jobprep.outputs import SHEET_DISTANCE
from jobprep.planning.plan import OpenedSheet
from jobprep.planning.record import recorded_parts, recorded_sheets

TOLERANCE = 0.01
"""Of the virtual cut, mm: its own arcs are fine polylines."""
NEAR = 1e-3
"""How much nearer than asked parts may lie, mm: chords of both polygons."""
Tables = dict[str, Any]


class Run:
    """A run as written: its record, its summary, and its parts where they lie, sheet by sheet."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.record: RunRecord = read_run(folder / "run.toml")
        self.summary: Tables = json.loads(self.text("summary.json"))
        self.parts = {part.number: part for part in recorded_parts(self.record)}
        self.sheets = recorded_sheets(self.record)
        shapes = {number: nominal_polygon(part.region) for number, part in self.parts.items()}
        self.placed: list[list[Polygon]] = [[] for _ in self.sheets]
        for each in self.record.placements:
            turned = rotate(shapes[each.part], each.angle, origin=(0.0, 0.0), use_radians=True)
            self.placed[each.sheet].append(translate(turned, each.x, each.y))

    def text(self, name: str) -> str:
        return (self.folder / name).read_text(encoding="utf-8")

    def of_film(self, film: str) -> list[int]:
        """Return the indices of the sheets of a film."""
        return [i for i, sheet in enumerate(self.record.sheets) if sheet.film == film]


def assert_run_is_right(
    folder: Path,
    job: Tables,
    *,
    all_parts: bool = True,
    whole_discs: bool = True,
    kept: Collection[str] = (),
) -> Run:
    """Check everything that can be told of a run.

    ``job`` holds the tables of its job's file. The stock may be short of ``all_parts``; a recut may
    be of some parts only, so that they make no ``whole_discs``; of some films the nest is ``kept``.
    """
    run = Run(folder)
    _assert_each_once(run, all_parts)
    for film in run.summary["films"]:
        indices = run.of_film(film["film"])
        require(len(indices) == len(film["sheets"]), f"sheets of {film['film']}")
        for number, index in enumerate(indices):
            _assert_nest(run, index, is_kept=film["film"] in kept)
            _assert_sheet(run, film, number, index)
        _assert_all_sheets_drawing(run, film["film"], indices)
    assert_sums(run.summary)
    assert_prices(run.summary, job, run.record.job.films)
    assert_job_sheet_agrees(run.text("job-sheet.html"), run.summary)
    if whole_discs:
        _assert_masses(run)
    return run


def _assert_each_once(run: Run, all_parts: bool) -> None:
    copies = Counter((each.part, each.copy) for each in run.record.placements)
    require(not copies or max(copies.values()) == 1, "a copy of a part is placed twice")
    asked = sum(part.quantity for part in run.parts.values())
    if all_parts:
        require(len(copies) == asked, f"{len(copies)} parts are placed of {asked}")
    require(run.summary["totals"]["parts"] == len(copies), "the summary's number of parts")
    require(all(run.placed), "a sheet was opened for nothing")


def _assert_nest(run: Run, index: int, *, is_kept: bool) -> None:
    """Check clearances, the bed and the film's turns with shapely."""
    sheet, parts, job = run.sheets[index], run.placed[index], run.record.job
    film = job.films[run.record.sheets[index].film]
    kerf = job.kerf[film.name]
    # A kept nest may eat into the web and the margin, down to the film's narrowest web.
    least = film.least_web if is_kept else math.inf
    gap = kerf if job.cutting.share_cuts else 2 * kerf + min(job.nesting.web, least)
    edge = kerf + min(job.nesting.margin, least)
    tree = shapely.STRtree(parts)
    pairs = tree.query(parts, predicate="dwithin", distance=gap - NEAR) if gap > NEAR else []
    near = [(a, b) for a, b in zip(*pairs, strict=True) if a < b] if len(pairs) else []
    require(not near, f"{film.name}: {len(near)} pairs of parts lie nearer than {gap} mm")
    if gap <= NEAR:
        crossing = tree.query([part.buffer(-NEAR) for part in parts], predicate="intersects")
        require(all(a == b for a, b in zip(*crossing, strict=True)), "parts lie on one another")
    region = nominal_polygon(sheet.region)
    for part in parts:
        inside = region.covers(part.buffer(-NEAR))
        require(inside, f"{film.name}: a part leaves its sheet")
        distance = region.boundary.distance(part)
        require(distance >= edge - NEAR, f"{film.name}: a part lies {distance} mm from the edge")
    fits = sheet.width <= job.cutter.bed[0] and sheet.height <= job.cutter.bed[1]
    require(fits, f"{film.name}: a sheet is larger than the bed")
    if film.rotation_step is not None:
        for each in run.record.placements:
            if each.sheet == index:
                steps = each.angle / film.rotation_step
                require(abs(steps - round(steps)) < 1e-6, f"{film.name}: turned by {each.angle}")


def assert_film_left(run: Run, told: Tables) -> None:
    """Check with shapely what a recut says is left of web and margin where it kept a nest."""
    film, job = told["film"], run.record.job
    kerf = job.kerf[film]
    web, margin = job.nesting.web, job.nesting.margin
    slots = kerf if job.cutting.share_cuts else 2 * kerf
    for index in run.of_film(film):
        parts, edge = run.placed[index], nominal_polygon(run.sheets[index].region).boundary
        margin = min([margin, *(part.distance(edge) - kerf for part in parts)])
        pairs = shapely.STRtree(parts).query(parts, predicate="dwithin", distance=slots + web)
        apart = [parts[a].distance(parts[b]) for a, b in zip(*pairs, strict=True) if a < b]
        web = min([web, *(distance - slots for distance in apart)])
    require(abs(told["web_left_mm"] - web) < NEAR, f"{film}: web {told['web_left_mm']}, not {web}")
    close = abs(told["margin_left_mm"] - margin) < NEAR
    require(close, f"{film}: margin {told['margin_left_mm']}, not {margin}")


def _assert_sheet(run: Run, film: Tables, number: int, index: int) -> None:
    """Cut one sheet in the computer; hold its numbers and its other formats against its SVG."""
    job, sheet = run.record.job, run.sheets[index]
    name = film["film"]
    stem = name if len(film["sheets"]) == 1 else f"{name}-sheet-{number + 1}"
    text = run.text(f"{stem}.svg")
    drawing = read_cut_drawing(text)
    kerf = job.kerf[name]
    outline = nominal_polygon(sheet.region)
    trimmed = any(path.id.startswith("trim") for path in drawing.paths)
    if trimmed or _is_interrupted(run):
        rule = job.cutting
        tabs = Tabs(rule.tabs, rule.tab_width, rule.share_cuts) if rule.tabs else None
        assert_interrupted_cut_gives(text, outline, run.placed[index], kerf, TOLERANCE, tabs)
    else:
        assert_cut_gives(virtual_cut(text, outline, kerf), run.placed[index], TOLERANCE, kerf)
    assert_no_chords(path for path in drawing.paths if path.operation != "mark")
    row = film["sheets"][number]
    require(math.isclose(row["sheet_area_mm2"], outline.area, rel_tol=1e-6), "area of a sheet")
    areas = math.fsum(part.area for part in run.placed[index])
    require(math.isclose(row["part_area_mm2"], areas, rel_tol=1e-4), f"part area of {stem}")
    assert_lengths_are_drawn(drawing, row, stem)
    assert_time_is_likely(drawing, row, job.cutter, job.films[name], stem)
    _assert_leftovers(run, row, index, kerf)
    _assert_other_formats(run, stem, drawing, sheet, name)


def _is_interrupted(run: Run) -> bool:
    rule, cutter = run.record.job.cutting, run.record.job.cutter
    overcut = cutter.overcut if rule.overcut is None else rule.overcut
    return bool(rule.tabs or rule.lead_in or rule.lead_out or rule.share_cuts or overcut)


def _assert_leftovers(run: Run, row: Tables, index: int, kerf: float) -> None:
    total = math.fsum(piece["area_mm2"] for piece in row["leftovers"])
    close = math.isclose(total, row["leftover_mm2"], rel_tol=1e-9, abs_tol=1e-6)
    require(close, f"leftovers of {total} mm2, not {row['leftover_mm2']}")
    keep = run.record.job.leftovers
    for piece in row["leftovers"]:
        least = min(piece["width_mm"], piece["height_mm"])
        require(least >= keep.smallest_side - 1e-6, f"a leftover only {least} mm wide is kept")
        require(piece["area_mm2"] >= keep.smallest_area - 1e-6, "a leftover too small is kept")
    slots = shapely.union_all([part.buffer(kerf) for part in run.placed[index]])
    free = nominal_polygon(run.sheets[index].region).area - slots.area
    require(total <= free * (1 + 1e-6) + 1.0, f"{total} mm2 are kept where {free} are left")


def _assert_other_formats(
    run: Run, stem: str, drawing: CutFile, sheet: OpenedSheet, film: str
) -> None:
    strokes = svg_strokes(drawing)
    cutter = run.record.job.cutter
    if (run.folder / f"{stem}.dxf").exists():
        assert_same_strokes(strokes, dxf_strokes(run.text(f"{stem}.dxf")), f"{stem}.dxf", 1e-5)
    if (run.folder / f"{stem}.gcode").exists():
        size = (sheet.width, sheet.height)
        passes = cutter.passes_for(run.record.job.films[film])
        code = gcode_strokes(run.text(f"{stem}.gcode"), cutter.origin, size, passes)
        assert_same_strokes(strokes, code, f"{stem}.gcode", 5e-5)


def _assert_all_sheets_drawing(run: Run, film: str, indices: Sequence[int]) -> None:
    """Check that the drawing of all sheets holds what those of each hold, side by side."""
    own = sorted(path.name for path in run.folder.glob(f"{film}-sheet-*.svg"))
    if len(indices) == 1:
        require(not own, f"{film}: {own} beside the drawing of its only sheet")
        return
    require(len(own) == len(indices), f"{film}: {own} for {len(indices)} sheets")
    whole = svg_strokes(read_cut_drawing(run.text(f"{film}.svg")))
    expected, x = [], 0.0
    for number, index in enumerate(indices, start=1):
        each = svg_strokes(read_cut_drawing(run.text(f"{film}-sheet-{number}.svg")))
        expected += [
            stroke._replace(
                start=(stroke.start[0] + x, stroke.start[1]), end=(stroke.end[0] + x, stroke.end[1])
            )
            for stroke in each
        ]
        x += run.sheets[index].width + SHEET_DISTANCE
    assert_same_strokes(expected, whole, f"{film}.svg", 1e-5)


def _assert_masses(run: Run) -> None:
    """Check each disc's mass against the areas of its parts and its films' areal masses."""
    films = run.record.job.films
    for index, disc in enumerate(run.summary["discs"]):
        own = [part for part in run.parts.values() if part.disc == index]
        if own and len(own) == len({part.number for part in own}):
            mass = math.fsum(
                part.per_disc * nominal_polygon(part.region).area * films[part.film].areal_mass
                for part in own
            )
            close = math.isclose(disc["mass_g"], mass, rel_tol=1e-4)
            require(close, f"{disc['design']} weighs {disc['mass_g']} g, its parts {mass} g")


def assert_parts_are_asked(run: Run, job: Tables) -> None:
    """Check the loose parts of a run against the shapes of the job: names, copies and areas."""
    loose = [part for part in run.parts.values() if part.disc is None]
    rows = job.get("part", [])
    require([part.name for part in loose] == [row["name"] for row in rows], "names of loose parts")
    for part, row in zip(loose, rows, strict=True):
        require(part.quantity == row.get("copies", 1), f"copies of {part.name}")
        area = _asked_area(row)
        if area is not None:
            found = nominal_polygon(part.region).area
            require(math.isclose(found, area, rel_tol=1e-4), f"{part.name}: {found} mm2, {area}")
    orders = run.summary["discs"]
    require(len(orders) == len(job.get("disc", [])), "designs of the run")
    for order, row in zip(orders, job.get("disc", []), strict=True):
        require(order["copies"] == row.get("copies", 1), f"copies of {order['design']}")


def _asked_area(row: Mapping[str, Any]) -> float | None:
    """Return a shape's area by its closed form, None for a drawing."""
    if "disc" in row:
        return math.pi * row["disc"]["diameter"] ** 2 / 4.0
    if "ring" in row or "sector" in row:
        shape = row.get("ring") or row["sector"]
        turn = shape.get("degrees", 360.0) / 360.0
        inner = shape.get("inner_diameter", 0.0)
        return turn * math.pi * (shape["outer_diameter"] ** 2 - inner**2) / 4.0
    if "rectangle" in row:
        width, height = row["rectangle"]["size"]
        radius = row["rectangle"].get("corner_radius", 0.0)
        return width * height - (4.0 - math.pi) * radius**2
    if "bar" in row:
        length, width = row["bar"]["length"], row["bar"]["width"]
        return (length - width) * width + math.pi * width**2 / 4.0
    if "polygon" in row:
        return Polygon(row["polygon"]).area
    return None


def assert_stock_suffices(run: Run, job: Tables, ledger: Iterable[Tables]) -> None:
    """Check that no piece of stock is opened more often than there are of it."""
    for film in {sheet.film for sheet in run.record.sheets}:
        opened = [run.record.sheets[index] for index in run.of_film(film)]
        listed = [piece for piece in job.get("stock", []) if piece["film"] == film]
        labels = Counter(sheet.label for sheet in opened if sheet.label and not sheet.piece)
        require(not labels or max(labels.values()) == 1, f"{film}: a leftover is opened twice")
        if listed:
            require(
                not any(sheet.is_bought for sheet in opened), f"{film}: bought, although listed"
            )
            known = {piece.get("label", "") for piece in listed}
            require(set(labels) <= known, f"{film}: leftovers {labels} that are not there")
            whole = sum(not sheet.label for sheet in opened)
            there = sum(piece.get("count", 1) for piece in listed if "label" not in piece)
            require(whole <= there, f"{film}: {whole} sheets of {there}")
        counts = {piece["id"]: piece.get("count", 1) for piece in ledger if piece["film"] == film}
        for piece, used in Counter(sheet.piece for sheet in opened if sheet.piece).items():
            require(used <= counts.get(piece, 0), f"{used} of {piece} opened")
