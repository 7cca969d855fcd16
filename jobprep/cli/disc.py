"""``jobprep disc``: the mass, balance and timing of a finished disc, and what would balance it."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from jobprep.cli.encodings import print_json
from jobprep.cli.options import A_FILE, ANY_PATH, Between, json_option

if TYPE_CHECKING:
    from jobprep.disc.correction import Correction
    from jobprep.disc.facts import DiscFacts
    from jobprep.model import Design, Film

SPEEDS = (0.001, 100_000.0)
"""Speeds taken for one, r/min, as in design files."""


@click.command()
@click.argument("design", type=ANY_PATH)
@click.option(
    "--speed",
    type=Between(*SPEEDS),
    metavar="RPM",
    help="Compute for this speed instead of the design's.",
)
@click.option(
    "--correct",
    metavar="FILM",
    help="Propose what would balance it, with this film, instead of showing all facts.",
)
@click.option(
    "--by",
    type=click.Choice(["dot", "hole", "sector"]),
    help="Propose only this: counterweight dots, relief holes, a filled open sector.",
)
@click.option(
    "--apply",
    "applied",
    is_flag=True,
    help="Write the proposal that balances it and leaves it thinnest as a new design beside it.",
)
@click.option(
    "--picture",
    type=A_FILE,
    metavar="FILE.svg",
    help="Draw the disc, its stack and its timing.",
)
@json_option("the facts")
def disc(
    design: Path,
    speed: float | None,
    correct: str | None,
    by: str | None,
    applied: bool,
    picture: Path | None,
    as_json: bool,
) -> None:
    """Show the mass, thickness, balance and timing of a disc.

    Directions are read like a dial: degrees clockwise from 12 o'clock, seen from the front.
    """
    if correct is None and (by or applied):
        raise click.UsageError("--by and --apply need --correct FILM")
    if picture is not None and picture.suffix.lower() != ".svg":
        raise click.BadParameter("the picture is an SVG; name a file.svg", param_hint="--picture")

    if picture is not None:
        _refuse_foreign(picture)

    from jobprep.disc.facts import disc_facts
    from jobprep.pipeline import read_disc
    from jobprep.units import from_rpm

    read, films = read_disc(design, None if speed is None else from_rpm(speed))
    facts = disc_facts(read, films)
    proposals = () if correct is None else _proposals(read, films, correct, by)
    written = _apply(proposals, design, films) if applied else None
    if picture is not None:
        from jobprep.files.write import write_text_atomic
        from jobprep.report.disc_picture import disc_svg

        write_text_atomic(picture, disc_svg(read, films, facts))
    if as_json:
        found = _json(read, films, facts, proposals, written)
        print_json(found)
        return
    from jobprep.cli.facts import print_corrections, print_facts

    if correct is None:
        print_facts(facts, _cautions(read, films, facts))
    else:
        print_corrections(facts, proposals, films[correct])
    for path in (written, picture):
        if path is not None:
            click.echo(f"Written: {path}")


def _refuse_foreign(picture: Path) -> None:
    """Raise ``CannotDoError`` where another file stands, or where the picture has no folder.

    This is asked before anything is written.
    """
    from jobprep.errors import CannotDoError
    from jobprep.report.diagram import is_own_svg

    if not picture.parent.is_dir():
        raise CannotDoError(f"{picture} cannot be written: there is no folder {picture.parent}")
    if picture.exists() and not is_own_svg(picture.read_bytes()):
        raise CannotDoError(
            f"{picture} exists already and is no picture of jobprep's; name another"
        )


def _proposals(
    design: Design, films: Mapping[str, Film], film: str, by: str | None
) -> tuple[Correction, ...]:
    from jobprep.disc.correction import propose_corrections
    from jobprep.files.materials.library import unknown_material

    if film not in films:
        raise click.BadParameter(unknown_material("film", film, films), param_hint="--correct")
    refused = films[film].refused
    if refused is not None:
        message = f'"{film}" must not be cut: {refused}'
        raise click.BadParameter(message, param_hint="--correct")
    found = propose_corrections(design, films, film)
    return tuple(each for each in found if by in (None, each.kind))


def _apply(proposals: tuple[Correction, ...], path: Path, films: Mapping[str, Film]) -> Path | None:
    """Write the sufficient correction that leaves the disc thinnest, the first of equals.

    Returns None when there is nothing to correct.

    Raises ``CannotDoError`` when none is enough.
    """
    from jobprep.errors import CannotDoError
    from jobprep.files.write import write_text_atomic
    from jobprep.pipeline import balanced_text

    enough = [each for each in proposals if each.is_enough and each.design is not None]
    if not enough:
        reasons = "\n".join(f"{path}: {each.kind}: {each.message}" for each in proposals)
        raise CannotDoError(
            f"{path}: nothing proposed balances the disc; nothing was written\n{reasons}"
        )
    best = min(enough, key=lambda each: _thickness(each, films))
    if not best.action:
        return None
    target = _free_path(path)
    write_text_atomic(target, balanced_text(best, path, films))
    return target


def _free_path(path: Path) -> Path:
    """Return a name beside a design file that nothing has yet: ``wheel-balanced.toml``, ..."""
    stem = f"{path.stem}-balanced"
    names = (stem if n == 1 else f"{stem}-{n}" for n in itertools.count(1))
    return next(found for name in names if not (found := path.with_name(f"{name}.toml")).exists())


def _thickness(correction: Correction, films: Mapping[str, Film]) -> float:
    from jobprep.disc.thickness import disc_thickness

    return 0.0 if correction.design is None else disc_thickness(correction.design, films).nominal


def _cautions(design: Design, films: Mapping[str, Film], facts: DiscFacts) -> tuple[str, ...]:
    from jobprep.disc.checks import disc_cautions

    return tuple(note.message for note in disc_cautions(design, films, facts))


def _json(
    design: Design,
    films: Mapping[str, Film],
    facts: DiscFacts,
    proposals: tuple[Correction, ...],
    written: Path | None,
) -> dict[str, Any]:
    from jobprep.disc.checks import disc_cautions
    from jobprep.facts.disc import whole_data
    from jobprep.summary_json import correction_json

    found = whole_data(facts, disc_cautions(design, films, facts))
    if proposals:
        found["corrections"] = [correction_json(each) for each in proposals]
        found["written"] = None if written is None else str(written)
    return found
