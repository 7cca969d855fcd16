"""``jobprep print``: templates, patterns and labels as PDF at actual size."""

from __future__ import annotations

import datetime
import math
from pathlib import Path
from typing import TYPE_CHECKING

import click

from jobprep.cli.options import ANY_PATH, stock_option
from jobprep.cli.own_files import make_folder, write_own_files

if TYPE_CHECKING:
    from jobprep.files.materials.printer import PrinterScales


def _scale(_context: click.Context, _option: click.Parameter, given: float | None) -> float | None:
    if given is None:
        return None
    from jobprep.files.materials.printer import LEAST_SCALE, MOST_SCALE

    if math.isfinite(given) and LEAST_SCALE <= given <= MOST_SCALE:
        return given
    raise click.BadParameter(
        f"{given:g} is not between {LEAST_SCALE:g} and {MOST_SCALE:g}: it is 100 divided by the "
        "length of the printed bar in mm; further off, the printer is set to fit the page"
    )


def _date(_context: click.Context, _option: click.Parameter, given: str) -> str:
    try:
        return datetime.date.fromisoformat(given).isoformat() if given else ""
    except ValueError:
        raise click.BadParameter(f'"{given}" is not a date, as 2026-03-01') from None


@click.command("print")
@click.argument("job", type=ANY_PATH)
@click.option("--out", required=True, type=ANY_PATH, help="Folder to write the PDFs to.")
@click.option(
    "--paper",
    default="A4",
    show_default=True,
    metavar="A4|A3|A5|Letter|WxH",
    help="The paper to print on; WxH in mm.",
)
@click.option(
    "--scale-x",
    type=float,
    metavar="SCALE",
    callback=_scale,
    help="Correct a printer that is off across: 100 / the printed bar's length.",
)
@click.option(
    "--scale-y",
    type=float,
    metavar="SCALE",
    callback=_scale,
    help="The same for the bar that runs up.",
)
@click.option(
    "--printer",
    metavar="NAME",
    help="Save the scales under this name beside the job, or use saved ones.",
)
@click.option(
    "--date", metavar="DATE", default="", callback=_date, help="Print this date on it; YYYY-MM-DD."
)
@click.option("--mirror", is_flag=True, help="Mirror the pages, to print on the back of film.")
@stock_option
def print_sheets(
    job: Path,
    out: Path,
    paper: str,
    scale_x: float | None,
    scale_y: float | None,
    printer: str | None,
    date: str,
    mirror: bool,
    stock: Path | None,
) -> None:
    """Draw templates, patterns, labels and overlays of a JOB as PDF.

    JOB is a job's file, or the folder of a run, which is printed as it was planned, with the
    outlines of its sheets if its job asks for them.

    Every page is at actual size and carries a 100 mm bar across and one up. Print without
    fitting to the page, measure the bars, and give the scales if they are off.
    """
    from jobprep.cli.job_or_run import job_or_run
    from jobprep.drawing.pdf import is_own_pdf, pdf_bytes
    from jobprep.printing.artwork import read_figures
    from jobprep.printing.page import Printing
    from jobprep.printing.paper import paper_size
    from jobprep.printing.sheets import FILES, print_cautions
    from jobprep.printing.sheets import print_sheets as sheets

    try:
        size = paper_size(paper)
    except ValueError as error:
        raise click.BadParameter(str(error), param_hint="--paper") from None
    chosen = job_or_run(job, stock)
    scales = _scales(chosen.folder, printer, scale_x, scale_y)
    printing = Printing(*scales, mirror)
    figures = read_figures(chosen.job.discs, chosen.folder)
    found = sheets(chosen.job, chosen.parts, figures, size, printing, date, chosen.sheets)
    title = chosen.job.title
    files = {name: pdf_bytes(pages, f"{title}: {name}") for name, pages in found.items()}
    write_own_files(out, files, is_own_pdf, FILES)
    if printer is not None:
        _keep(chosen.folder, printer, scales)
    for caution in print_cautions(chosen.job, chosen.parts, figures):
        click.echo(click.wrap_text(f"Caution: {caution}.", 80, subsequent_indent="  "))
    for name, pages in found.items():
        click.echo(f"{name}: {len(pages)} {'page' if len(pages) == 1 else 'pages'}")
    click.echo(f"Written to {out}")


def _scales(
    folder: Path, printer: str | None, scale_x: float | None, scale_y: float | None
) -> PrinterScales:
    """Return the scales given, else those kept of the printer, else none."""
    from jobprep.files.materials.printer import PrinterScales, printer_path, read_printer

    kept = PrinterScales(1.0, 1.0)
    if printer is not None:
        path = printer_path(folder, printer)
        if path.is_file() or (scale_x is None and scale_y is None):
            kept = read_printer(path)
    return PrinterScales(
        kept.scale_x if scale_x is None else scale_x, kept.scale_y if scale_y is None else scale_y
    )


def _keep(folder: Path, printer: str, scales: PrinterScales) -> None:
    """Write a printer's scales unless they are the ones kept."""
    from jobprep.files.materials.printer import printer_path, printer_text
    from jobprep.files.write import write_text_atomic

    path = printer_path(folder, printer)
    text = printer_text(path, scales)
    if text is None:
        return
    make_folder(path.parent)
    write_text_atomic(path, text)
    click.echo(f"Kept in {path}")
