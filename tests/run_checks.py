"""One written run held against the outside: its files, and what its job asks for."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from pathlib import Path
from typing import Any

import shapely
from cut_up_checks import assert_cut_up_is_right
from drawn_numbers import (
    assert_job_sheet_agrees,
    assert_lengths_are_drawn,
    assert_prices,
    assert_sums,
    assert_time_is_drawn,
    assert_two_prices,
)
from interrupted_cut import Tabs, assert_interrupted_cut_gives
from other_formats import assert_same_strokes, dxf_strokes, gcode_strokes, svg_strokes
from second.asked import Asked
from virtual_cut import (
    CutFile,
    assert_cut_gives,
    assert_no_chords,
    read_cut_drawing,
    require,
    virtual_cut,
)
from written_run import Recorded, Run

from jobprep.outputs import SHEET_DISTANCE
from jobprep.planning.plan import OpenedSheet

TOLERANCE = 0.01
"""Of the virtual cut, mm: its own arcs are fine polylines."""
NEAR = 1e-3
"""How much nearer than asked parts may lie, mm: chords of both polygons."""
Tables = dict[str, Any]


def assert_run_is_right(
    folder: Path,
    asked: Asked,
    *,
    all_parts: bool = True,
    whole_discs: bool = True,
    kept: Collection[str] | None = None,
) -> Run:
    """Check everything that can be known of a run.

    ``asked`` is what its job asks for. The stock may be short of ``all_parts``; a recut may be of
    some parts only, so that they make no ``whole_discs``; of some films its nest is ``kept``.
    """
    run = Run(folder, asked, all_parts=all_parts)
    _assert_each_once(run)
    for film in run.summary["films"]:
        indices = run.of_film(film["film"])
        require(len(indices) == len(film["sheets"]), f"sheets of {film['film']}")
        for number, index in enumerate(indices):
            _assert_nest(run, index, is_kept=film["film"] in (kept or ()))
            _assert_sheet(run, film, number, index)
        _assert_all_sheets_drawing(run, film["film"], indices)
    assert_cut_up_is_right(run, run.summary, kept or ())
    assert_sums(run.summary)
    assert_prices(run.summary, asked.job, run.record.job.films)
    are_there = sum(map(len, run.placed)) == sum(kind.count for kind in asked.kinds)
    assert_two_prices(run.summary, asked.job, is_whole=whole_discs and are_there)
    assert_job_sheet_agrees(run.text("job-sheet.html"), run.summary)
    if whole_discs:
        _assert_masses(run)
    return run


def _assert_each_once(run: Run) -> None:
    copies = Counter((each.part, each.copy) for each in run.record.placements)
    require(not copies or max(copies.values()) == 1, "a copy of a part is placed twice")
    require(run.summary["totals"]["parts"] == len(copies), "the summary's number of parts")


def _assert_nest(run: Run, index: int, *, is_kept: bool) -> None:
    """Check clearances, the bed and the film's turns with shapely."""
    sheet, parts, job = run.sheets[index], run.placed[index], run.record.job
    film = job.films[run.record.sheets[index].film]
    kerf = job.kerf[film.name]
    # A kept nest may eat into the web and the margin, down to the film's narrowest web.
    least = film.least_web if is_kept else math.inf
    gap = kerf if job.cutting.share_cuts else 2 * kerf + min(job.nesting.web, least)
    edge = kerf + min(job.nesting.margin, least)
    near_enough = NEAR + 2.0 * run.slack[index]
    tree = shapely.STRtree(parts)
    close = gap - near_enough
    pairs = tree.query(parts, predicate="dwithin", distance=close) if close > 0.0 else []
    near = [(a, b) for a, b in zip(*pairs, strict=True) if a < b] if len(pairs) else []
    require(not near, f"{film.name}: {len(near)} pairs of parts lie nearer than {gap} mm")
    if close <= 0.0:
        cores = [part.buffer(-near_enough) for part in parts]
        crossing = tree.query(cores, predicate="intersects")
        require(all(a == b for a, b in zip(*crossing, strict=True)), "parts lie on one another")
    region = run.outlines[index]
    for part in parts:
        inside = region.covers(part.buffer(-near_enough))
        require(inside, f"{film.name}: a part leaves its sheet")
        distance = region.boundary.distance(part)
        require(
            distance >= edge - near_enough, f"{film.name}: a part lies {distance} mm from the edge"
        )
    fits = sheet.width <= job.cutter.bed[0] + 1e-6 and sheet.height <= job.cutter.bed[1] + 1e-6
    require(fits, f"{film.name}: a sheet is larger than the bed")
    if film.rotation_step is not None:
        for each in run.record.placements:
            if each.sheet == index:
                steps = each.angle / film.rotation_step
                require(abs(steps - round(steps)) < 1e-6, f"{film.name}: turned by {each.angle}")


def assert_film_left(run: Recorded, told: Tables) -> None:
    """Check with shapely what a recut says is left of web and margin where it kept a nest."""
    film, job = told["film"], run.record.job
    kerf = job.kerf[film]
    web, margin = job.nesting.web, job.nesting.margin
    slots = kerf if job.cutting.share_cuts else 2 * kerf
    for index in run.of_film(film):
        parts, edge = run.placed[index], run.outlines[index].boundary
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
    outline, placed, slack = run.outlines[index], run.placed[index], run.slack[index]
    trimmed = any(path.id.startswith("trim") for path in drawing.paths)
    if trimmed or _is_interrupted(run):
        rule = job.cutting
        tabs = Tabs(rule.tabs, rule.tab_width, rule.share_cuts) if rule.tabs else None
        assert_interrupted_cut_gives(text, outline, placed, kerf, TOLERANCE, tabs, slack)
    else:
        assert_cut_gives(virtual_cut(text, outline, kerf), placed, TOLERANCE + slack, kerf)
    assert_no_chords(path for path in drawing.paths if path.operation != "mark")
    row = film["sheets"][number]
    require(math.isclose(row["sheet_area_mm2"], outline.area, rel_tol=1e-6), "area of a sheet")
    areas = math.fsum(part.area for part in placed)
    edges = math.fsum(part.length for part in placed)
    off = abs(row["part_area_mm2"] - areas)
    require(off < 1e-4 * areas + slack * edges, f"part area of {stem}")
    assert_lengths_are_drawn(drawing, row, stem)
    assert_time_is_drawn(drawing, row, job.cutter, job.films[name], stem)
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
    free = run.outlines[index].area - slots.area
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
    """Check each disc's mass against the areas of its pieces and its films' areal masses.

    Glue is taken off first: ``disc/test_glue.py`` weighs it. It lies between films, so that it is
    at most as large as they are.
    """
    for index, disc in enumerate(run.summary["discs"]):
        own = [kind for kind in run.asked.kinds if kind.disc == index]
        mass = math.fsum(
            kind.per_disc * kind.shape.area * _areal_mass(run.asked.films[kind.film])
            for kind in own
        )
        glue = disc["glue"]["mass_g"] or 0.0
        close = math.isclose(disc["mass_g"] - glue, mass, rel_tol=1e-4)
        require(close, f"{disc['design']} weighs {disc['mass_g']} g, its parts {mass} g")
        films = math.fsum(kind.per_disc * kind.shape.area for kind in own)
        require((disc["glue"]["area_mm2"] or 0.0) < films, f"glue of {disc['design']}")


def _areal_mass(film: Tables) -> float:
    """Return what a mm² of a film weighs, g."""
    if "areal_mass_g_m2" in film:
        return float(film["areal_mass_g_m2"]) / 1e6
    return float(film["density_g_cm3"]) * film["thickness"] / 1e3


def assert_parts_are_asked(run: Run) -> None:
    """Check names and copies of a run's loose parts and discs against the job."""
    loose = [part for part in run.parts.values() if part.disc is None]
    rows = run.asked.job.get("part", [])
    require([part.name for part in loose] == [row["name"] for row in rows], "names of loose parts")
    for part, row in zip(loose, rows, strict=True):
        require(part.quantity == row.get("copies", 1), f"copies of {part.name}")
    orders = run.summary["discs"]
    rows = run.asked.job.get("disc", [])
    require(len(orders) == len(rows), "designs of the run")
    for order, row in zip(orders, rows, strict=True):
        require(order["copies"] == row.get("copies", 1), f"copies of {order['design']}")


def assert_stock_suffices(run: Run, ledger: Iterable[Tables]) -> None:
    """Check that no piece of stock is opened more often than there are of it."""
    job = run.asked.job
    for film in {sheet.film for sheet in run.record.sheets}:
        uncut = (run.record.sheets[index] for index in run.of_film(film))
        cut_up = (each.sheet for each in run.record.cut_up if each.sheet.film == film)
        opened = [*(sheet for sheet in uncut if sheet.cut_from is None), *cut_up]
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
