"""A plan and a job's parts as the page draws them.

In outlines y grows downwards, as in SVG, from the part's own origin or the sheet's lower left
corner, mm.
"""

from __future__ import annotations

from typing import Any

from jobprep.cutting.plan import PlacedPart
from jobprep.disc.part import Part
from jobprep.drawing.path_data import SHORT, path_data
from jobprep.geometry.measure import region_bounds
from jobprep.geometry.outline import Region
from jobprep.money.costs import Costs
from jobprep.planning.plan import Checked, FilmPlan, OpenedSheet
from jobprep.report.words import money, price_words


def costs_json(costs: Costs) -> dict[str, Any]:
    """Return the two prices in the words of every report, and what a disc of each design uses."""
    return {
        "prices": [
            {"name": name, "amount": amount, "notes": notes}
            for name, figure in costs.two_prices
            for amount, notes in [price_words(figure, costs.currency)]
        ],
        "each": [
            {
                "design": disc.design,
                "copies": disc.copies,
                "amount": money(disc.used.amount, costs.currency),
            }
            for disc in costs.discs
        ],
    }


def film_plan_json(film: FilmPlan) -> dict[str, Any]:
    """Return the sheets of a film, each with its parts where they lie and what is kept of it."""
    return {
        "film": film.film.name,
        "sheets": [
            {
                **sheet_json(each.sheet),
                "parts": [_placed(part) for part in each.cuts.parts],
                "leftovers": [outline_json(region) for region in each.leftovers],
            }
            for each in film.sheets
        ],
    }


def _placed(part: PlacedPart) -> dict[str, Any]:
    """Return a part where it lies; the outline of a cut part is its own, in the sheet's place."""
    return {"number": part.number, "copy": part.copy, "d": outline_json(part.region)}


def sheet_json(sheet: OpenedSheet) -> dict[str, Any]:
    """Return a sheet's size, label and outline."""
    return {
        "width": sheet.width,
        "height": sheet.height,
        "label": sheet.label,
        "outline": outline_json(sheet.region),
    }


def films_of(checked: Checked) -> list[dict[str, str]]:
    """Return the films that a job's parts are cut from."""
    names = dict.fromkeys(part.film for part in checked.parts)
    films = [checked.job.films[name] for name in names]
    return [{"name": film.name, "title": film.title, "colour": film.colour} for film in films]


def parts_of(checked: Checked) -> list[dict[str, Any]]:
    """Return the parts of a job with their outlines."""
    return [_part(part) for part in checked.parts]


def _part(part: Part) -> dict[str, Any]:
    return {
        "number": part.number,
        "name": part.name,
        "film": part.film,
        "copies": part.quantity,
        **shape_json(part.region),
    }


def shape_json(region: Region) -> dict[str, Any]:
    """Return an outline with its box, ``x`` and ``y`` of its lower left corner upwards."""
    box = region_bounds(region)
    return {
        "d": outline_json(region),
        "x": box.x_min,
        "y": box.y_min,
        "width": box.width,
        "height": box.height,
    }


def outline_json(region: Region) -> str:
    """Return an outline with its holes as the data of an SVG path."""
    paths = [contour.segments for contour in (region.outer, *region.holes)]
    return path_data(paths, 0.0, SHORT, closed=True)
