"""``jobprep cut-print``: the cut drawing of a printed overlay, laid on the print."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING

import click

from jobprep.cli.options import A_FILE, ANY_PATH
from jobprep.units import mm_of

if TYPE_CHECKING:
    from jobprep.model import Film, Job
    from jobprep.printing.overlays import Overlay
    from jobprep.printing.registration import PrintFit

FARTHEST = 10_000.0
"""Farthest place of a cross on a bed, mm."""

GOOD_FIT = 0.05
"""Crosses farther than this, mm, from where the fit puts them were not measured well."""
PRINTED = (
    "Ink or toner burns with the film and adds its own fumes: ask the makers of film and printer."
)


@click.command("cut-print")
@click.argument("job", type=ANY_PATH)
@click.option(
    "--out",
    required=True,
    type=A_FILE,
    metavar="FILE.svg",
    help="The drawing to write.",
)
@click.option("--film", required=True, metavar="FILM", help="The film that was printed on.")
@click.option(
    "--design", "disc_name", metavar="NAME", help="The design, where the job has several."
)
@click.option("--layer", "layer_name", metavar="NAME", help="The layer, where several are printed.")
@click.option(
    "--cross",
    "crosses",
    multiple=True,
    metavar="A=X,Y",
    help="Where a printed cross lies on the bed, mm from its lower left; three or four of A to D.",
)
def cut_print(
    job: Path,
    out: Path,
    film: str,
    disc_name: str | None,
    layer_name: str | None,
    crosses: tuple[str, ...],
) -> None:
    """Draw the cut of an overlay that `jobprep print` made of a JOB.

    JOB is a job's file or the folder of a run. Lay the printed film on the cutter, read where its
    crosses lie, and give them here: the cut then follows the print, however it is shifted, turned
    or out of scale.
    """
    if out.suffix.lower() != ".svg":
        raise click.BadParameter("the drawing is an SVG; name a file.svg", param_hint="--out")
    measured = dict(map(_cross, crosses))
    if len(measured) < len(crosses):
        raise click.BadParameter("a cross is given twice", param_hint="--cross")

    from jobprep.cli.job_or_run import job_or_run
    from jobprep.drawing.formats import svg
    from jobprep.files.write import write_text_atomic
    from jobprep.printing.overlay_cut import overlay_cut

    chosen = job_or_run(job)
    overlay = _chosen(chosen.job, disc_name, layer_name)
    design, cutter = overlay.order.design, chosen.job.cutter
    fit = _fit(overlay, measured)
    printed = _film(chosen.job, film, chosen.folder)
    kerf = _kerf(chosen.job, printed)
    drawing = overlay_cut(
        design, overlay.layer, fit, printed.name, kerf, cutter.bed, cutter.colours
    )
    write_text_atomic(out, svg.write(drawing))
    if measured:
        _tell(fit)
    else:
        click.echo("No --cross is given: the drawing is not laid on a print.")
    for caution in dict.fromkeys((PRINTED, *printed.cautions, *cutter.cautions)):
        click.echo(click.wrap_text(f"Caution: {caution}", 80, subsequent_indent="  "))
    click.echo(f"Written to {out}")


def _cross(text: str) -> tuple[str, tuple[float, float]]:
    name, _, place = text.partition("=")
    try:
        x, y = (mm_of(value) for value in place.split(","))
    except ValueError:
        x = y = math.nan
    if name.strip().upper() in ("A", "B", "C", "D") and max(abs(x), abs(y)) <= FARTHEST:
        return name.strip().upper(), (x, y)
    raise click.BadParameter(
        f'"{text}" is not a cross and its place in mm, as A=12.35,40.1', param_hint="--cross"
    )


def _chosen(job: Job, disc_name: str | None, layer_name: str | None) -> Overlay:
    """Return the one overlay that fits the names; raises ``UsageError`` unless there is one."""
    from jobprep.printing.overlays import overlays_of

    found = overlays_of(job.discs, job.films)
    wanted = [
        each
        for each in found
        if disc_name in (None, each.order.design.name)
        and layer_name in (None, each.order.design.layers[each.layer - 1].name)
    ]
    if len(wanted) == 1:
        return wanted[0]
    if not found:
        raise click.UsageError(
            "no layer of this job has an opaque zone, artwork or words, so it has no overlay"
        )
    names = "; ".join(
        f'--design "{each.order.design.name}" '
        f'--layer "{each.order.design.layers[each.layer - 1].name}"'
        for each in found
    )
    raise click.UsageError(f"name one of the overlays: {names}")


def _fit(overlay: Overlay, measured: dict[str, tuple[float, float]]) -> PrintFit:
    from jobprep.geometry.outline import Point
    from jobprep.printing.overlay_cut import as_printed
    from jobprep.printing.overlays import CROSS_NAMES, cross_points
    from jobprep.printing.registration import fit_print

    design = overlay.order.design
    if not measured:
        return as_printed(design, overlay.layer)
    drawn = dict(zip(CROSS_NAMES, cross_points(design, overlay.layer), strict=True))
    names = sorted(measured)
    try:
        return fit_print(
            [drawn[name] for name in names], [Point(*measured[name]) for name in names]
        )
    except ValueError as error:
        raise click.BadParameter(str(error), param_hint="--cross") from None


def _film(job: Job, name: str, folder: Path) -> Film:
    """Return the printed film; raises ``BadParameter`` for one that cannot be an overlay."""
    from jobprep.files.materials.library import film_library, unknown_material

    films = {**film_library(folder), **job.films}
    if name not in films:
        raise click.BadParameter(unknown_material("film", name, films), param_hint="--film")
    refused = films[name].refused
    if refused is not None:
        raise click.BadParameter(f'"{name}" must not be cut: {refused}', param_hint="--film")
    if films[name].light == "blocks":
        message = f'"{name}" lets no light through; an overlay is printed on clear film'
        raise click.BadParameter(message, param_hint="--film")
    return films[name]


def _kerf(job: Job, film: Film) -> float:
    kerf = job.kerf[film.name] if film.name in job.kerf else job.cutter.kerf_for(film)
    if kerf is None:
        message = f'no kerf is known for "{film.name}" on {job.cutter.name}; give one under [kerf]'
        raise click.BadParameter(message, param_hint="--film")
    return kerf


def _tell(fit: PrintFit) -> None:
    from jobprep.units import to_degrees

    click.echo(
        f"The print lies at {fit.shift.x:.2f}, {fit.shift.y:.2f} mm, turned by "
        f"{to_degrees(fit.turn):.2f}°,\nand is {fit.scale_x:.4f} times as long across, "
        f"{fit.scale_y:.4f} up; the crosses fit to {fit.residual:.3f} mm."
    )
    if fit.residual > GOOD_FIT:
        click.echo(f"Caution: a cross is off by more than {GOOD_FIT:g} mm; measure it again.")
