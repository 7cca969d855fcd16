"""``jobprep cutter``: the cutters there are, one of your own, and how fast it cuts a film."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from jobprep.cli.cutter_steps import choose, steps
from jobprep.cli.encodings import print_json
from jobprep.cli.options import Between, Size, beside_option, beside_words, json_option, pasteable
from jobprep.cli.questions import known, needed
from jobprep.drawing.formats import FORMATS

if TYPE_CHECKING:
    from jobprep.model import Cutter

KINDS = ("co2", "diode", "knife")
KIND = click.Choice(KINDS)
SPEED = Between(0.001, 10_000.0)
WAVELENGTH = Between(100.0, 20_000.0)


@click.group()
def cutter() -> None:
    """List cutters, describe your own, and find its speed and power."""


@cutter.command("list")
@beside_option
@json_option("the cutters")
def list_cutters(beside: Path, as_json: bool) -> None:
    """List all cutters: the shipped ones and those beside a job."""
    from jobprep.files.materials.library import cutter_library

    library = cutter_library(beside)
    if as_json:
        print_json([_json(each) for each in library.values()])
    else:
        from jobprep.cli.cutter_tables import print_cutters

        print_cutters(list(library.values()))


@cutter.command()
@click.argument("name")
@beside_option
@json_option("the cutter")
def show(name: str, beside: Path, as_json: bool) -> None:
    """Show everything known of the cutter called NAME."""
    from jobprep.files.materials.library import cutter_library, unknown_material

    library = cutter_library(beside)
    if name not in library:
        raise click.BadParameter(unknown_material("cutter", name, library), param_hint="NAME")
    if as_json:
        print_json({**_json(library[name]), "file": str(library.path(name))})
    else:
        from jobprep.cli.cutter_tables import print_cutter

        print_cutter(library[name], library.path(name))


@cutter.command()
@click.argument("name")
@click.option("--kind", type=KIND, help="A CO2 laser, a diode laser, or a drag knife.")
@click.option("--bed", type=Size(), metavar="WxH", help="The area its head reaches, as 600x400.")
@click.option(
    "--title", metavar="WORDS", help="What to call it on the job sheet; its name by default."
)
@click.option("--cut-speed", type=SPEED, metavar="MM/S", help="How fast it cuts film.")
@click.option("--mark-speed", type=SPEED, metavar="MM/S", help="How fast it engraves.")
@click.option("--travel-speed", type=SPEED, metavar="MM/S", help="How fast its head moves.")
@click.option("--wavelength", type=WAVELENGTH, metavar="NM", help="Of the laser's light.")
@click.option(
    "--format",
    "formats",
    multiple=True,
    type=click.Choice(FORMATS, case_sensitive=False),
    help="A format that its driver reads; all by default.",
)
@beside_option
def new(
    name: str,
    kind: str | None,
    bed: tuple[float, float] | None,
    title: str | None,
    cut_speed: float | None,
    mark_speed: float | None,
    travel_speed: float | None,
    wavelength: float | None,
    formats: tuple[str, ...],
    beside: Path,
) -> None:
    """Describe your own cutter as NAME, beside your jobs.

    At a terminal it asks for whatever no option gives. What you do not know is taken from a shipped
    cutter and is marked as assumed, in the profile and in every plan.
    """
    from jobprep.cli.new_material import material_path, write_material
    from jobprep.files.materials.cutter import read_cutter
    from jobprep.files.materials.new_cutter import CutterAnswers, cutter_text

    path = material_path("cutter", name, beside)
    kind = needed(kind, "--kind", "Its kind", KIND)
    bed = needed(bed, "--bed", "The area its head reaches, width x height, such as 600x400", Size())
    if kind == "knife" and wavelength is not None:
        raise click.UsageError("a knife has no --wavelength")
    if kind == "diode":
        wavelength = known(wavelength, "The wavelength on its label, nm", WAVELENGTH)
    answers = CutterAnswers(
        title=title or name,
        kind=kind,  # type: ignore[arg-type]  # one of KINDS
        bed=bed,
        cut_speed=known(cut_speed, "How fast it cuts film, mm/s", SPEED),
        mark_speed=known(mark_speed, "How fast it engraves, mm/s", SPEED),
        travel_speed=known(travel_speed, "How fast its head moves at most, mm/s", SPEED),
        wavelength=wavelength,
        formats=formats,
    )
    made = write_material(path, cutter_text(answers), read_cutter)
    _say_next(name, made, beside)


cutter.add_command(steps)
cutter.add_command(choose)


def _say_next(name: str, made: Cutter, beside: Path) -> None:
    """Print which values are only assumed, and how to find them."""
    if made.assumed:
        names = ", ".join(made.assumed)
        words = f"Still assumed, with the values of a shipped cutter: {names}."
        click.echo(click.wrap_text(words, 80))
    film = ("--film", "FILM", "--cutter", name)
    if made.kind != "knife":
        click.echo("Next, with each film (jobprep films list) for FILM:")
        where = beside_words(beside)
        test = pasteable("cutter", "steps", name, *film[:2], *where, "--out", "steps")
        click.echo(f"  {test} \\\n    --speeds LOW-HIGH --powers LOW-HIGH")
        click.echo(f"  {pasteable('coupon', *film, *where, '--out', 'coupon')}")
    click.echo(f'Use it in a job: cutter = "{name}"')
    for text in made.cautions:
        click.echo(click.wrap_text(f"Take care: {text}", 80, subsequent_indent="  "))


def _json(cutter: Cutter) -> dict[str, Any]:
    from jobprep.files.materials.cutter import CutterFile

    return {"name": cutter.name, **CutterFile.fields_of(cutter), "cautions": list(cutter.cautions)}
