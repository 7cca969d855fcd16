"""What to set on the cutter for each film, as far as its profile says."""

from __future__ import annotations

from typing import get_args

from jobprep.model import Cutter, Film, Job, OperationName
from jobprep.planning.plan import FilmPlan, Plan
from jobprep.report.markup import Markup, element, join
from jobprep.report.table import chip, table
from jobprep.units import number

OPERATIONS: dict[OperationName, str] = {
    "mark": "marks",
    "cut-inner": "inner cuts",
    "cut-outer": "outer cuts",
}


def settings_table(plan: Plan) -> Markup:
    """Return the settings of every film of a plan."""
    cutter = plan.job.cutter
    strength = "Blade force" if cutter.kind == "knife" else "Power"
    names = ("Film", "Thick mm", "Kerf mm", "Cut mm/s", "Mark mm/s", strength, "Passes")
    rows = [_row(film_plan, plan.job) for film_plan in plan.films]
    return element(
        "section",
        element("h2", "Cutter settings"),
        element("div", table(names, rows), class_="whole settings"),
        element("p", *_colours(cutter)),
        element(
            "p",
            "The drawings lie half a kerf outside the parts already: set no offset in the cutter's "
            "program. Speeds are those of the cutter's profile. Where it says by test, no profile "
            "knows: try it on a scrap of the same film, and write it down here.",
            class_="note",
        ),
    )


def _row(film_plan: FilmPlan, job: Job) -> tuple[str, ...]:
    film, cutter = film_plan.film, job.cutter
    kerf = "" if film.name in job.kerf else _assumed("kerf", film, cutter)
    speed = cutter.cut_speed_for(film)
    return (
        film.title,
        number(film.thickness),
        f"{number(film_plan.kerf)}{kerf}",
        _by_test() if speed is None else f"{number(speed)}{_assumed('cut_speed', film, cutter)}",
        f"{number(cutter.mark_speed)}{_assumed('mark_speed', film, cutter)}",
        _power(cutter, film) or _by_test(),
        str(cutter.passes_for(film)) if cutter.passes else _by_test(),
    )


def _assumed(name: str, film: Film, cutter: Cutter) -> str:
    is_assumed = any(each.partition(".")[0] == name for each in cutter.assumed_for(film))
    return " (assumed)" if is_assumed else ""


def _power(cutter: Cutter, film: Film) -> str:
    """Return what to set for each operation: the profile's words, else its power if it has one."""
    return ", ".join(
        f"{OPERATIONS[name]} {cutter.settings.get(name) or number(cutter.power_for(film, name))}"
        for name in get_args(OperationName)
        if cutter.settings.get(name) or cutter.power_for(film, name)
    )


def _by_test() -> Markup:
    return element("span", "by test", class_="blank")


def _colours(cutter: Cutter) -> list[Markup]:
    """Say in which colour the drawings ask for which operation."""
    used = [(OPERATIONS[name], cutter.colours[name]) for name in get_args(OperationName)]
    return [
        join("Colours of the drawings: "),
        *(
            join(", " if index else "", chip(colour), f"{name} {colour}")
            for index, (name, colour) in enumerate(used)
        ),
        join("."),
    ]
