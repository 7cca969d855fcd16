"""``jobprep coupon``: shapes to cut and measure, so that the kerf is known."""

from __future__ import annotations

from pathlib import Path

import click

from jobprep.cli.options import ANY_PATH, beside_option, pasteable
from jobprep.cli.own_files import refuse_existing


@click.command()
@click.option("--film", required=True, metavar="NAME", help="The film to cut it from.")
@click.option("--cutter", required=True, metavar="NAME", help="The cutter, by name or path.")
@click.option(
    "--out",
    required=True,
    metavar="FOLDER",
    type=ANY_PATH,
    help="Folder for the drawing and the form.",
)
@beside_option
def coupon(film: str, cutter: str, out: Path, beside: Path) -> None:
    """Draw a kerf coupon, and the form for what you measure on it.

    Cut it exactly on its lines, measure, fill in the form, then run `jobprep kerf`.
    """
    from jobprep.cli.choose import chosen_cutter, chosen_film
    from jobprep.drawing.formats import svg
    from jobprep.files.measurements.coupon_form import kerf_form
    from jobprep.files.write import write_text_atomic
    from jobprep.planning.coupon import (
        BAR_LENGTH,
        STRIPS,
        coupon_cautions,
        coupon_drawing,
        kerf_coupon,
    )

    of_film, of_cutter = chosen_film(film, beside), chosen_cutter(cutter, beside)
    drawing, form = (out / f"coupon-{film}-{of_cutter.name}{end}" for end in (".svg", ".toml"))
    refuse_existing((drawing, form), "name another folder")
    laid = kerf_coupon(of_film, of_cutter)
    texts = {
        drawing: svg.write(coupon_drawing(laid, of_film, of_cutter)),
        form: kerf_form(
            film,
            of_cutter.name,
            form.name,
            strips=STRIPS,
            length=BAR_LENGTH,
            ladder=laid.ladder,
        ),
    }
    out.mkdir(parents=True, exist_ok=True)
    for path, text in texts.items():
        write_text_atomic(path, text)
        click.echo(f"Wrote {path}")
    told = f"Cut the drawing, {laid.width:.0f} × {laid.height:.0f} mm, on its lines, with no offset"
    click.echo(click.wrap_text(f"{told} set in the cutter's driver.", 80))
    click.echo(f"Then fill in the form and run:\n  {pasteable('kerf', form)}")
    for text in coupon_cautions(of_film, of_cutter):
        click.echo(click.wrap_text(f"Take care: {text}", 80, subsequent_indent="  "))
