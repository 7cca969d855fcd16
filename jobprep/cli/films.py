"""``jobprep films``: which films there are, which come near a colour, whether a design's fit."""

from __future__ import annotations

from pathlib import Path

import click

from jobprep.cli.encodings import print_json
from jobprep.cli.film_json import film_json
from jobprep.cli.match_films import all_films, match
from jobprep.cli.new_film import new_film
from jobprep.cli.options import ANY_PATH, beside_option, json_option


@click.group()
def films() -> None:
    """List films, choose one by colour, and check those of a design."""


films.add_command(new_film)
films.add_command(match)


@films.command("list")
@beside_option
@json_option("the films")
def list_films(beside: Path, as_json: bool) -> None:
    """List all films: the shipped ones and those beside a job."""
    library = all_films(beside)
    if as_json:
        print_json([film_json(film) for film in library.values()])
    else:
        from jobprep.cli.film_tables import print_films

        print_films(list(library.values()))


@films.command()
@click.argument("name")
@beside_option
@json_option("the film")
def show(name: str, beside: Path, as_json: bool) -> None:
    """Show everything known of the film called NAME."""
    from jobprep.files.materials.library import film_library, unknown_material

    library = film_library(beside)
    if name not in library:
        raise click.BadParameter(unknown_material("film", name, library), param_hint="NAME")
    film = library[name]
    if as_json:
        print_json({**film_json(film), "file": str(library.path(name))})
    else:
        from jobprep.cli.film_tables import print_film

        print_film(film, library.path(name))


@films.command()
@click.argument("design", type=ANY_PATH)
@click.option("--cutter", metavar="NAME", help="Check against this cutter too.")
@json_option("the films")
def check(design: Path, cutter: str | None, as_json: bool) -> None:
    """Check whether the films of a DESIGN can be used.

    Films that are missing or must not be cut are errors; films of different bases, and those that
    the cutter may not cut well or at all, are cautions.
    """
    from jobprep.cli.choose import chosen_cutter
    from jobprep.errors import InputError
    from jobprep.films.check import check_design_films

    profile = None if cutter is None else chosen_cutter(cutter, design.parent)
    found = check_design_films(design, profile)
    if as_json:
        print_json(
            {
                "films": [film_json(film) for film in found.films],
                "errors": [str(problem) for problem in found.errors],
                "cautions": [str(problem) for problem in found.cautions],
            }
        )
    else:
        from jobprep.cli.film_tables import print_check

        print_check(found)
    if found.errors:
        raise InputError(found.errors)
