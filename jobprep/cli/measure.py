"""``jobprep measure``: from points or a photograph of an original to a design."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from jobprep.cli.encodings import print_json
from jobprep.cli.measure_layers import layers
from jobprep.cli.options import ANY_PATH, Between, Length, json_option, pasteable
from jobprep.cli.own_files import refuse_existing
from jobprep.cli.photo_setting import photo_setting

if TYPE_CHECKING:
    from jobprep.measuring.light import LightWay
    from jobprep.measuring.measurement import Measurement
    from jobprep.measuring.write_design import DesignText
    from jobprep.model import Original
    from jobprep.model.taken import Corrections

out_option = click.option("--out", type=ANY_PATH, help="Design file to write; it must not exist.")
snap_option = click.option(
    "--snap",
    type=Between(0.001, 90.0),
    metavar="DEGREES",
    help="Round directions to this step and show what that changed.",
)
snap_length_option = click.option(
    "--snap-mm",
    type=Between(0.001, 100.0),
    metavar="MM",
    help="Round diameters and radii to this step.",
)
corrections_option = click.option(
    "--corrections", type=ANY_PATH, metavar="FILE", help="A TOML file of what you know better."
)


thickness_option = click.option(
    "--thickness",
    type=Length(0.001, 100.0),
    metavar="MM",
    help="The original's thickness; if it is more than the film's, covers are proposed.",
)


mass_option = click.option(
    "--mass",
    type=Between(0.0001, 1e6),
    metavar="G",
    help="What the original weighs, in g: the design says so, and the copy is held against it.",
)


@click.group()
def measure() -> None:
    """Measure an original, or a copy against its design.

    It is measured from points taken by hand, or from a photograph.
    """


measure.add_command(layers)


@measure.command()
@click.argument("file", type=ANY_PATH)
@out_option
@thickness_option
@mass_option
@snap_option
@snap_length_option
@json_option("what was measured")
def points(
    file: Path,
    out: Path | None,
    thickness: float | None,
    mass: float | None,
    snap: float | None,
    snap_mm: float | None,
    as_json: bool,
) -> None:
    """Measure a disc from a FILE of points taken by hand (CSV or TOML).

    Rows are kind,x,y,label: rim, bore, separation, hole and scale points, up to 300; a row y,up or
    y,down says which way y grows.
    """
    from jobprep.files.measurements.points import read_points
    from jobprep.measuring.look import look_in_words
    from jobprep.measuring.points import measure_points
    from jobprep.model import Original

    _refuse_existing(out)
    measurement = measure_points(read_points(file))
    look = look_in_words(measurement)
    if not as_json:
        _print_measurement(measurement)
        if look:
            _print_note("Look", look)
    original = Original(mass=mass, thickness=thickness)
    if out is not None:
        design = _write_design(measurement, out, original, snap, snap_mm, file.parent)
        if not as_json:
            _tell_of_design(design, out, original)
    if as_json:
        _print_json(measurement, out, {"look": look})


@measure.command()
@click.argument("image", type=ANY_PATH)
@click.option(
    "--diameter",
    type=Length(0.001, 10_000.0),
    metavar="MM",
    help="The disc's true diameter; without it, --paper or --scan nothing is in mm.",
)
@click.option(
    "--paper",
    metavar="A4|Letter|WxH",
    help="A whole sheet of paper lies under or beside the disc: it gives scale and white; WxH in mm"
    " as its sides were measured.",
)
@click.option(
    "--scan",
    metavar="DPI|file",
    help="It is a flatbed scan, of this many dots per inch, or as its file says.",
)
@click.option(
    "--also",
    type=ANY_PATH,
    metavar="IMAGE",
    help="A second photograph of the same side: both are joined, each by its uncertainty.",
)
@click.option(
    "--back",
    type=ANY_PATH,
    metavar="IMAGE",
    help="A photograph of the back: mirrored, laid on the front, and joined with it.",
)
@click.option(
    "--also-corrections",
    type=ANY_PATH,
    metavar="FILE",
    help="A correction file of the second photograph; scale and light of --corrections hold for it,"
    " unless it says otherwise.",
)
@click.option(
    "--back-corrections",
    type=ANY_PATH,
    metavar="FILE",
    help="The same of the photograph of the back.",
)
@click.option(
    "--light",
    type=click.Choice(("behind", "paper")),
    help="How the light fell: from behind the disc, or on a disc that lies on white paper, through"
    " its films and back.",
)
@thickness_option
@mass_option
@corrections_option
@out_option
@snap_option
@snap_length_option
@json_option("what was measured")
def photo(
    image: Path,
    diameter: float | None,
    paper: str | None,
    scan: str | None,
    also: Path | None,
    back: Path | None,
    also_corrections: Path | None,
    back_corrections: Path | None,
    light: LightWay | None,
    thickness: float | None,
    mass: float | None,
    corrections: Path | None,
    out: Path | None,
    snap: float | None,
    snap_mm: float | None,
    as_json: bool,
) -> None:
    """Measure the disc in a photograph, IMAGE.

    With --out, a picture of what was found is written beside the design: check it.
    """
    from jobprep.cli.progress import reading_progress
    from jobprep.files.materials.library import film_library
    from jobprep.files.write import write_bytes_atomic
    from jobprep.measuring.overlay import overlay_png
    from jobprep.measuring.photo import measure_photo
    from jobprep.measuring.two_pictures import joined, known_of_other
    from jobprep.model import Original

    others = ((also, also_corrections, "also"), (back, back_corrections, "back"))
    for other, its, which in others:
        if other is None and its is not None:
            raise click.UsageError(f"--{which}-corrections needs the picture: give --{which} IMAGE")
    overlay = None if out is None else out.with_name(f"{out.stem}-overlay.png")
    _refuse_existing(out, overlay)
    films = tuple(film_library(image.parent).values())
    known = _corrections(corrections)
    setting = photo_setting(image, paper, scan, light, known)
    with reading_progress(image.name) as tell:
        found = measure_photo(image, diameter, known, films, setting, tell)
    measurement = found.measurement
    for other, its, which in others:
        if other is not None:
            own = known_of_other(_corrections(its), known)
            setting = photo_setting(other, paper, scan, light, own)
            with reading_progress(other.name) as tell:
                read = measure_photo(other, diameter, own, films, setting, tell)
            is_back = which == "back"
            measurement = joined(measurement, read.measurement, other.name, is_back=is_back)
    if not as_json:
        _print_measurement(measurement)
    original = Original(mass=mass, thickness=thickness)
    if out is not None and overlay is not None:
        design = _write_design(measurement, out, original, snap, snap_mm, image.parent)
        write_bytes_atomic(overlay, overlay_png(found))
        if not as_json:
            _tell_of_design(design, out, original)
            click.echo(f"Wrote {overlay}: check what was found")
    if as_json:
        _print_json(measurement, out, {"overlay": None if overlay is None else str(overlay)})


@measure.command()
@click.argument("design", type=ANY_PATH)
@click.argument("image", type=ANY_PATH)
@corrections_option
@click.option("--out", type=ANY_PATH, help="Picture (SVG) of the design beside the copy.")
@json_option("the verdicts")
@click.pass_context
def compare(
    ctx: click.Context,
    design: Path,
    image: Path,
    corrections: Path | None,
    out: Path | None,
    as_json: bool,
) -> None:
    """Give a verdict on a finished copy in a photograph, IMAGE.

    It is compared with its DESIGN within the [tolerance] of that file: pass, look or fail for each
    line. The exit code is 1 where one fails.
    """
    if out is not None and out.suffix.lower() != ".svg":
        raise click.BadParameter("the picture is an SVG; name a file.svg", param_hint="--out")

    from jobprep.cli.comparison import print_comparison
    from jobprep.comparing.compare import compare_photo
    from jobprep.files.write import write_text_atomic
    from jobprep.pipeline import read_disc
    from jobprep.report.comparison_json import comparison_json
    from jobprep.report.comparison_picture import comparison_svg

    _refuse_existing(out)
    wanted, films = read_disc(design)
    comparison = compare_photo(wanted, films, image, _corrections(corrections))
    if out is not None:
        write_text_atomic(out, comparison_svg(wanted, films, comparison))
    if as_json:
        print_json(comparison_json(comparison))
    else:
        print_comparison(comparison)
        if out is not None:
            click.echo(f"Wrote {out}")
    if comparison.verdict == "fail":
        ctx.exit(1)


def _corrections(path: Path | None) -> Corrections:
    from jobprep.files.measurements.corrections import read_corrections
    from jobprep.model.taken import NO_CORRECTIONS

    return NO_CORRECTIONS if path is None else read_corrections(path)


def _print_measurement(measurement: Measurement) -> None:
    from jobprep.cli.measurement import print_measurement

    print_measurement(measurement)


def _print_json(measurement: Measurement, out: Path | None, more: dict[str, str | None]) -> None:
    from jobprep.cli.measurement_json import measurement_json

    design = None if out is None else str(out)
    print_json({**measurement_json(measurement), **more, "design": design})


def _print_note(title: str, text: str) -> None:
    from jobprep.cli.terminal import console, print_caution

    print_caution(console(), title, text)


def _refuse_existing(*paths: Path | None) -> None:
    refuse_existing(filter(None, paths), "name another file")


def _write_design(
    measurement: Measurement,
    out: Path,
    original: Original,
    snap: float | None,
    snap_mm: float | None,
    folder: Path,
) -> DesignText:
    from jobprep.files.materials.library import film_library
    from jobprep.files.write import write_text_atomic
    from jobprep.measuring.write_design import Snap, design_text

    design = design_text(
        measurement,
        library=film_library(folder),
        original=original,
        snap=Snap(degrees=snap, millimetres=snap_mm),
    )
    write_text_atomic(out, design.text)
    return design


def _tell_of_design(design: DesignText, out: Path, original: Original) -> None:
    for change in design.changes:
        click.echo(f"Rounded {change}")
    click.echo(f"Wrote {out}")
    _tell_what_is_not_seen(out, original)
    if design.unchosen:
        films = "1 film is" if design.unchosen == 1 else f"{design.unchosen} films are"
        shown = pasteable("disc", out)
        click.echo(f'{films} to be chosen in it ("?"): {shown} shows what comes near')
    click.echo(f"A job for it: {pasteable('new', out.parent, '--design', out)}")


def _tell_what_is_not_seen(out: Path, original: Original) -> None:
    asked = [
        f"{option} {unit}"
        for option, unit, value in (
            ("--thickness", "MM", original.thickness),
            ("--mass", "G", original.mass),
        )
        if value is None
    ]
    shown = pasteable("measure", "layers", out)
    click.echo("No picture shows the layers and covers; a caliper and a scale help to find them:")
    click.echo(f"  {' '.join([shown, *asked])}")
