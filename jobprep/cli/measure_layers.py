"""``jobprep measure layers``: what no picture shows, from a caliper and a scale."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from jobprep.cli.encodings import print_json
from jobprep.cli.options import ANY_PATH, Between, Length, Whole, json_option

if TYPE_CHECKING:
    from jobprep.films.stacks import InstrumentReading, SoughtStack, StackProposal
    from jobprep.model import Design, Film

CALIPER, SCALE = 0.02, 0.5
"""Largest errors of a caliper, mm, and of a kitchen scale, g (common practice, no source)."""


@click.command()
@click.argument("design", type=ANY_PATH, required=False)
@click.option("--diameter", type=Length(0.001, 10_000.0), metavar="MM", help="Of a plain disc.")
@click.option("--bore", type=Length(0.0, 10_000.0), metavar="MM", default=0.0, help="Its bore.")
@click.option(
    "--thickness",
    type=Length(0.001, 100.0),
    metavar="MM",
    help="What a caliper reads where the disc is thickest; by default what the design says of its"
    " original.",
)
@click.option(
    "--thickness-error",
    type=Length(0.0001, 10.0),
    metavar="MM",
    default=CALIPER,
    help=f"The caliper's largest error either way; {CALIPER:g} by default.",
)
@click.option(
    "--mass",
    type=Between(0.0001, 1e6),
    metavar="G",
    help="What a scale reads; by default what the design says of its original.",
)
@click.option(
    "--mass-error",
    type=Between(0.0001, 1e6),
    metavar="G",
    default=SCALE,
    help=f"The scale's largest error either way; {SCALE:g} by default, a kitchen scale's.",
)
@click.option("--film", "names", multiple=True, metavar="NAME", help="A film at hand; repeatable.")
@click.option(
    "--glue",
    type=Length(0.0, 10.0),
    metavar="MM",
    help="How thick a glue line between two layers is; by default what the design says.",
)
@click.option(
    "--most-layers",
    type=Whole(1, 8),
    metavar="N",
    default=6,
    help="The most plain layers to try; 6 by default.",
)
@click.option("--count", type=Whole(1, 1000), default=8, metavar="N", help="How many to show.")
@json_option("the proposals")
def layers(as_json: bool, count: int, **asked: Any) -> None:
    """Propose layers that come near a measured thickness and mass.

    No picture shows how many layers an original has. All that a DESIGN shows in a picture is kept,
    and plain clear layers are proposed; without a DESIGN, give --diameter and --film. The exit code
    is 1 where none fits.
    """
    from jobprep.errors import CannotDoError
    from jobprep.films.stacks import stack_proposals

    design, films = _disc(asked["design"], asked["diameter"], asked["bore"])
    at_hand = _at_hand(films, asked["names"], is_bare=asked["design"] is None)
    sought = _sought(design, films, asked)
    found = stack_proposals(sought, at_hand, asked["most_layers"])
    if as_json:
        print_json(_as_json(sought, found))
    else:
        _print(sought, found[:count], len(found), at_hand)
    if not found[0].fits:
        raise CannotDoError(
            "none fits: measure again, give the errors of your instruments (--thickness-error, "
            "--mass-error), name other films (--film) or a glue line (--glue), or allow more layers"
            " (--most-layers)"
        )


def _disc(
    file: Path | None, diameter: float | None, bore: float
) -> tuple[Design, Mapping[str, Film]]:
    """Return the design, or a plain disc without layers, and the films beside it."""
    from jobprep.files.materials.library import film_library
    from jobprep.model import Design, RoundBore
    from jobprep.pipeline import read_disc

    if (file is None) == (diameter is None):
        raise click.UsageError("give a DESIGN, or --diameter (and --bore) of a plain disc")
    if file is not None:
        return read_disc(file)
    assert diameter is not None
    if bore >= diameter:
        raise click.BadParameter(
            f"{bore:g} mm is not below the diameter, {diameter:g} mm", param_hint="--bore"
        )
    hole = RoundBore(diameter=bore) if bore else None
    name = f"a disc of {diameter:g} mm"
    return Design(name=name, outer_diameter=diameter, bore=hole, layers=()), film_library(Path())


def _at_hand(films: Mapping[str, Film], names: Sequence[str], *, is_bare: bool) -> list[Film]:
    from jobprep.files.materials.library import unknown_material
    from jobprep.films.kept_layers import unseen_films

    for name in names:
        if name not in films:
            raise click.BadParameter(unknown_material("film", name, films), param_hint="--film")
    if names:
        return [films[name] for name in dict.fromkeys(names)]
    known = [each for each in films.values() if each.is_chosen and each.refused is None]
    return known if is_bare else list(unseen_films(known))


def _sought(design: Design, films: Mapping[str, Film], asked: Mapping[str, Any]) -> SoughtStack:
    from jobprep.films.kept_layers import sought_of_design
    from jobprep.films.stacks import InstrumentReading
    from jobprep.model.design import GlueLine

    def reading(what: str) -> InstrumentReading | None:
        value = asked[what]
        value = getattr(design.original, what) if value is None else value
        return None if value is None else InstrumentReading(value, asked[f"{what}_error"])

    thickness, mass = reading("thickness"), reading("mass")
    if thickness is None and mass is None:
        raise click.UsageError(
            "give what a caliper reads (--thickness MM), what a scale reads (--mass G), or both"
        )
    glue = None if asked["glue"] is None else GlueLine(asked["glue"])
    return sought_of_design(design, films, thickness, mass, glue)


def _print(
    sought: SoughtStack, shown: Sequence[StackProposal], fitting: int, at_hand: Sequence[Film]
) -> None:
    from jobprep.cli.terminal import Column, console, number_columns, print_caution, table

    out = console()
    measured = [
        f"{each.value:g} ± {each.error:g} {unit}"
        for each, unit in ((sought.thickness, "mm"), (sought.mass, "g"))
        if each is not None
    ]
    fits = shown[0].fits
    out.print(f"Layers near {' and '.join(measured)}{'' if fits else ': none fits. The nearest:'}")
    rows = [
        (
            _in_words(each, is_kept=bool(sought.kept)),
            f"{each.thickness:.3f} ± {each.thickness_off:.3f}",
            f"{each.mass:.2f} ± {each.mass_off:.2f}",
        )
        for each in shown
    ]
    out.print(table([Column("Layers, in any order", folds=True), *number_columns("mm", "g")], rows))
    for word, text in _remarks(sought, shown, fitting, at_hand):
        print_caution(out, word, text)


def _remarks(
    sought: SoughtStack, shown: Sequence[StackProposal], fitting: int, at_hand: Sequence[Film]
) -> list[tuple[str, str]]:
    names = ", ".join(sorted(film.name for film in at_hand))
    told = [("At hand", f"{names}; --film names others")]
    if fitting > 1:
        more = f"{fitting} stacks fit; " if fitting > len(shown) else ""
        told.append(
            (
                "Caution",
                f"{more}thickness and mass do not decide between those that fit: look at the "
                "edge under a magnifier, or use a finer scale",
            )
        )
    if sought.glue_line.thickness == 0.0:
        told.append(("Glue", "none is counted; --glue gives the thickness of a glue line"))
    told.append(
        (
            "± is",
            "two standard uncertainties, from the films' tolerances and 1 % of density (common "
            "practice, no source); a stack fits within 95 %",
        )
    )
    return told


def _in_words(proposal: StackProposal, *, is_kept: bool) -> str:
    """Return layers in words: half of them on each side of what is kept, or by their number."""
    layers = [" or ".join(names) for names in proposal.layers]
    if is_kept:
        half = (len(layers) + 1) // 2
        return " + ".join([*layers[:half], "what the picture shows", *layers[half:]])
    counts = {words: layers.count(words) for words in layers}
    return " + ".join(
        words if times == 1 else f"{times} × {f'({words})' if ' or ' in words else words}"
        for words, times in counts.items()
    )


def _as_json(sought: SoughtStack, found: Sequence[StackProposal]) -> dict[str, object]:
    def reading(each: InstrumentReading | None) -> dict[str, float] | None:
        return None if each is None else {"value": each.value, "error": each.error}

    return {
        "thickness_mm": reading(sought.thickness),
        "mass_g": reading(sought.mass),
        "glue_line_mm": sought.glue_line.thickness,
        "kept": [share.film.name for share in sought.kept],
        "fits": found[0].fits,
        "proposals": [
            {
                "layers": [list(names) for names in each.layers],
                "thickness_mm": each.thickness,
                "thickness_off_mm": each.thickness_off,
                "mass_g": each.mass,
                "mass_off_g": each.mass_off,
                "chi_square": each.distance,
                "fits": each.fits,
            }
            for each in found
        ],
    }
