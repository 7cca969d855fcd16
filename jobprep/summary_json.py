"""Numbers as plain data for programs; every key names its unit.

Angles are degrees here, directions dial degrees (clockwise from 12 o'clock, from the front).
"""

from __future__ import annotations

from typing import Any

from jobprep.disc.correction import Correction
from jobprep.facts.disc import disc_data
from jobprep.geometry.measure import area, region_bounds
from jobprep.geometry.outline import Region
from jobprep.money.costs import Costs, FilmCosts
from jobprep.money.figure import Figure
from jobprep.money.lines import SheetCosts
from jobprep.planning.plan import OpenedSheet
from jobprep.runs.recut import Recut
from jobprep.summary import CutUpSummary, Summary, Use


def summary_json(summary: Summary) -> dict[str, Any]:
    """Return the summary as plain data for ``summary.json``; the keys name their units."""
    costs = summary.costs
    return {
        "title": summary.title,
        "cutter": summary.cutter,
        "assumed_pierce_time_s": summary.assumed_pierce_time,
        **prices_json(costs),
        "films": [
            {
                "film": film.film,
                "title": film.title,
                "kerf_mm": film.kerf,
                **_use_json(film.use),
                **_lines_json(own),
                "sheets": [
                    {
                        "sheet": number,
                        **_opened_json(sheet.opened),
                        **_use_json(sheet.use),
                        **_lines_json(lines),
                        "leftovers": [_leftover_json(piece) for piece in sheet.leftovers],
                    }
                    for number, (sheet, lines) in enumerate(
                        zip(film.sheets, own.sheets, strict=True), start=1
                    )
                ],
                "cut_up": [
                    _cut_up_json(each, lines)
                    for each, lines in zip(film.cut_up, own.cut_up, strict=True)
                ],
            }
            for film, own in zip(summary.films, costs.films, strict=True)
        ],
        "discs": [
            {
                "design": disc.design,
                "copies": disc.copies,
                "used_each": figure_json(own_costs.used),
                **disc_data(disc.facts),
            }
            for disc, own_costs in zip(summary.discs, costs.discs, strict=True)
        ],
        "totals": {
            "sheets": sum(len(film.sheets) for film in summary.films),
            **_use_json(summary.use),
            **_lines_json(costs),
        },
        "cautions": list(summary.cautions),
        "hazards": [
            {"text": hazard.text, "sources": list(hazard.sources)} for hazard in summary.hazards
        ],
    }


def _opened_json(opened: OpenedSheet) -> dict[str, Any]:
    return {
        "label": opened.label,
        "piece": opened.piece,
        "to_buy": opened.is_bought,
        "width_mm": opened.width,
        "height_mm": opened.height,
        "sheet_area_mm2": area(opened.region),
        "price": opened.price,
    }


def _cut_up_json(cut_up: CutUpSummary, lines: SheetCosts) -> dict[str, Any]:
    """Return a sheet that is cut up by hand; x and y from its lower left corner."""
    boxes = [(piece, region_bounds(piece.region)) for piece in cut_up.pieces]
    return {
        **_opened_json(cut_up.opened),
        "cuts_mm": [[*cut.start, *cut.end] for cut in cut_up.cuts],
        "pieces": [
            {
                "sheet": piece.number,
                "x_mm": box.x_min,
                "y_mm": box.y_min,
                "width_mm": box.width,
                "height_mm": box.height,
                "turned": piece.is_turned,
            }
            for piece, box in boxes
        ],
        **_use_json(cut_up.use),
        **_lines_json(lines),
        "leftovers": [_leftover_json(piece) for piece in cut_up.leftovers],
    }


def recut_json(again: Recut, before: Summary, after: Summary) -> dict[str, Any]:
    """Return what a recut changes, film by film, and the new summary."""
    return {
        "cutter": {"before": before.cutter, "after": after.cutter},
        "before": prices_json(before.costs),
        "after": prices_json(after.costs),
        "films": [
            {
                "film": change.after.film.name,
                "nest_kept": change.nest_kept,
                "why": change.why,
                "web_left_mm": change.left and change.left.web,
                "margin_left_mm": change.left and change.left.margin,
                "parts_that_stay": change.stayed,
                "kerf_mm": {"before": change.before.kerf, "after": change.after.kerf},
                "before": _use_json(old.use),
                "after": _use_json(new.use),
            }
            for change, old, new in zip(again.changes, before.films, after.films, strict=True)
        ],
        "with_the_old_drawings": [
            {
                "part": each.part.number,
                "name": each.part.name,
                "width_mm": each.width,
                "height_mm": each.height,
                "off_mm": each.off,
            }
            for each in again.wrong_sizes
        ],
        "summary": summary_json(after),
    }


def _use_json(use: Use) -> dict[str, Any]:
    return {
        "parts": use.parts,
        "part_area_mm2": use.part_area,
        "utilisation": use.utilisation,
        "utilisation_of_opened": use.utilisation_of_opened,
        "cut_length_mm": use.cut_length,
        "saved_by_shared_sides_mm": use.saved_length,
        "saved_by_shared_sides_s": use.saved_seconds,
        "mark_length_mm": use.mark_length,
        "pierces": use.pierces,
        "travel_mm": use.travel_length,
        "cutting_time_s": use.seconds,
        "film_used_mm2": use.film_area,
        "leftover_mm2": use.leftover_area,
        "scrap_mm2": use.scrap_area,
    }


def prices_json(costs: Costs) -> dict[str, Any]:
    """Return the currency and the two prices of a plan."""
    prices = {name.replace(" ", "_"): figure_json(price) for name, price in costs.two_prices}
    return {"currency": costs.currency, **prices}


def figure_json(figure: Figure) -> dict[str, Any]:
    """Return an amount, how it came about, and what stands beside it."""
    return {"amount": figure.amount, "how": figure.how, "notes": list(figure.notes)}


def _lines_json(costs: Costs | FilmCosts | SheetCosts) -> dict[str, Any]:
    """Return two of the lines that ``used`` is added up from."""
    return {"film_cost": costs.film_used.amount, "cutter_cost": costs.cutter.amount}


def _leftover_json(piece: Region) -> dict[str, Any]:
    box = region_bounds(piece)
    return {
        "x_mm": box.x_min,
        "y_mm": box.y_min,
        "width_mm": box.width,
        "height_mm": box.height,
        "area_mm2": area(piece),
    }


def correction_json(correction: Correction) -> dict[str, Any]:
    """Return a proposal that would balance a disc as plain data."""
    after = correction.after
    return {
        "kind": correction.kind,
        "action": correction.action or None,
        "outcome": correction.outcome,
        "enough": correction.is_enough,
        "unbalance_before_g_mm": correction.before.unbalance,
        "unbalance_after_g_mm": None if after is None else after.unbalance,
        "permissible_g_mm": correction.permissible,
        "mass_after_g": None if after is None else after.mass,
    }
