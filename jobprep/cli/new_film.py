"""``jobprep films new``: describe a film of your own from a caliper, a scale and a look."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from jobprep.cli.options import Between, Length, Size, Whole, beside_option, beside_words, pasteable
from jobprep.cli.questions import known, needed

if TYPE_CHECKING:
    from jobprep.model import Film

LIGHTS = ("passes", "scatters", "blocks")
LIGHT = click.Choice(LIGHTS)
THICKNESS = Length(0.001, 100.0)
MASS = Between(0.0001, 1e6)


class Hex(click.ParamType):  # type: ignore[type-arg]  # an older click has no arguments
    """A colour written ``#rrggbb``."""

    name = "colour"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """Return the colour; raises ``BadParameter`` for anything else."""
        text = f"#{str(value).strip().removeprefix('#')}"
        if not re.fullmatch("#[0-9a-fA-F]{6}", text):
            self.fail(f'"{value}" is not a colour, such as "#f29a0c"', param, ctx)
        return text


@click.command("new")
@click.argument("name")
@click.option(
    "--base",
    metavar="BASE",
    help="What it is made of, as its data sheet says: polyester, acrylic ...",
)
@click.option("--thickness", type=THICKNESS, metavar="MM", help="Of one sheet, by caliper.")
@click.option("--stack", type=THICKNESS, metavar="MM", help="Of several sheets, instead.")
@click.option("--sheets", type=Whole(2, 1000), metavar="N", help="How many; 10 by default.")
@click.option("--piece", type=Size(), metavar="WxH", help="A piece that was weighed.")
@click.option("--mass", type=MASS, metavar="G", help="What it weighs.")
@click.option("--sheet", type=Size(), metavar="WxH", help="A sheet as bought, such as 508x610.")
@click.option("--light", type=LIGHT, help="Whether light passes, is scattered, or is blocked.")
@click.option("--colour", type=Hex(), metavar="#RRGGBB", help="What it looks like, in pictures.")
@click.option("--price", type=Between(0.0, 1e9), metavar="AMOUNT", help="What a sheet costs.")
@click.option(
    "--title", metavar="WORDS", help="What to call it on the job sheet; its name by default."
)
@beside_option
def new_film(name: str, beside: Path, **given: Any) -> None:
    """Describe your own film as NAME, beside your jobs.

    At a terminal it asks for whatever no option gives. Thin film is measured as a stack of ten
    sheets; a piece of known size on a scale gives its mass. What you do not measure is marked as
    assumed.
    """
    from jobprep.cli.new_material import material_path, write_material
    from jobprep.files.materials.film import read_film
    from jobprep.files.materials.new_film import FilmAnswers, film_text, refuse_base

    path = material_path("film", name, beside)
    _check_pairs(given)
    base = needed(given["base"], "--base", "What it is made of, such as polyester", click.STRING)
    refuse_base(base)
    measured, sheets = _thickness(given)
    piece, mass = _weighed(given)
    sheet = needed(given["sheet"], "--sheet", "A sheet as bought, such as 508x610", Size())
    light = needed(given["light"], "--light", "Whether light passes it", LIGHT)
    answers = FilmAnswers(
        title=given["title"] or name,
        base=base,
        measured=measured,
        sheets=sheets,
        piece=piece,
        mass=mass,
        sheet=sheet,
        light=light,
        colour=known(given["colour"], "What it looks like, #rrggbb", Hex()),
        price=known(given["price"], "What a sheet costs", Between(0.0, 1e9)),
    )
    _say_next(name, write_material(path, film_text(answers), read_film), beside)


def _check_pairs(given: dict[str, Any]) -> None:
    """Raise ``UsageError`` where one option needs another, or two say the same."""
    if given["thickness"] is not None and given["stack"] is not None:
        raise click.UsageError("give either --thickness of one sheet or --stack of several")
    if given["sheets"] is not None and given["stack"] is None:
        raise click.UsageError("--sheets counts those of a --stack; give that too")
    if (given["piece"] is None) != (given["mass"] is None):
        raise click.UsageError("--piece and --mass belong together: its size and its mass")
    if given["piece"] is not None and min(given["piece"]) < 1.0:
        raise click.UsageError("a --piece to weigh is at least 1 mm wide and high")


def _thickness(given: dict[str, Any]) -> tuple[float, int]:
    """Return what the caliper read, and of how many sheets."""
    if given["stack"] is not None:
        return given["stack"], given["sheets"] or 10
    question = "Thickness of one sheet by caliper, mm"
    stack = None
    if given["thickness"] is None:
        stack = known(None, "Thickness of ten sheets in a stack, mm", THICKNESS)
    if stack is not None:
        return stack, 10
    return needed(given["thickness"], "--thickness or --stack", question, THICKNESS), 1


def _weighed(given: dict[str, Any]) -> tuple[tuple[float, float] | None, float | None]:
    """Return the size and mass of a piece, None where nobody weighed one."""
    piece = known(given["piece"], "Size of a piece to weigh, such as 100x100", Size())
    if piece is None:
        return None, None
    return piece, needed(given["mass"], "--mass", "What it weighs, g", MASS)


def _say_next(name: str, film: Film, beside: Path) -> None:
    click.echo(f'Use it in a design: film = "{name}". Next, with your cutter for CUTTER:')
    words = ("--film", name, *beside_words(beside))
    click.echo(f"  {pasteable('cutter', 'steps', 'CUTTER', *words, '--out', 'steps')} \\")
    click.echo("    --speeds LOW-HIGH --powers LOW-HIGH")
    click.echo(f"  {pasteable('coupon', '--cutter', 'CUTTER', *words, '--out', 'coupon')}")
    for text in film.cautions:
        click.echo(click.wrap_text(f"Take care: {text}", 80, subsequent_indent="  "))
