"""``jobprep hub``: the flanges that clamp a disc, for a 3-D printer."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from jobprep.cli.encodings import print_json
from jobprep.cli.options import ANY_PATH, Length, json_option

if TYPE_CHECKING:
    from jobprep.disc.hub import PrintedHub
    from jobprep.model import Design, Film

WIDTH = 80


@click.command()
@click.argument("design", type=ANY_PATH)
@click.option(
    "--out",
    required=True,
    metavar="FOLDER",
    type=ANY_PATH,
    help="Folder for the parts as 3MF and STL.",
)
@click.option(
    "--hole-shrink",
    type=Length(0.0, 1.0),
    default=0.2,
    show_default=True,
    metavar="MM",
    help="How much too narrow your printer makes a hole.",
)
@click.option(
    "--flare",
    type=Length(0.0, 1.0),
    default=0.2,
    show_default=True,
    metavar="MM",
    help="How far its first layer spreads; 0 if its software sees to that.",
)
@json_option("the parts")
def hub(design: Path, out: Path, hole_shrink: float, flare: float, as_json: bool) -> None:
    """Draw the printed hub of a DESIGN, as 3MF and STL in mm.

    One flange has tabs that go through the disc's hub slots, the other has holes for them. A spacer
    makes up for films that are thinner than the original. Printed holes come out small and first
    layers wide: both are corrected; the defaults are common practice, no source.
    """
    from jobprep.cli.own_files import write_own_files
    from jobprep.disc.hub import printed_hub
    from jobprep.errors import InputError
    from jobprep.hub.hub_files import NAMES, hub_files, is_own
    from jobprep.hub.solids import Allowance
    from jobprep.pipeline import read_disc

    read, films = read_disc(design)
    cautions = _checked(read, films)
    found = printed_hub(read, films)
    if found is None:
        message = "there is none in this design; add a table [hub], which may be empty"
        raise InputError([read.source.error("hub", message)])
    files = hub_files(found, Allowance(hole_shrink, flare), read.name)
    write_own_files(out, files, is_own, NAMES)
    if as_json:
        print_json({**_json(found), "cautions": cautions, "files": sorted(files)})
        return
    for line in _lines(read, found):
        click.echo(line)
    for caution in cautions:
        click.echo(_wrapped(f"Caution: {caution}."))
    click.echo(f"Written to {out}: {', '.join(files)}")


def _checked(design: Design, films: Mapping[str, Film]) -> list[str]:
    """Return the cautions of a hub that turns; raises ``InputError`` with what is wrong."""
    from jobprep.disc.feature_checks import check_features
    from jobprep.disc.hub import printed_hub
    from jobprep.disc.hub_checks import check_hub
    from jobprep.errors import InputError
    from jobprep.films.unchosen import unchosen_findings

    notes = list(check_hub(design, films))
    has_open = design.hub is not None and printed_hub(design, films) is None
    open_ = unchosen_findings(design, films) if has_open else ()
    found = (*open_, *check_features(design, films), *notes)
    errors = [each for each in found if each.is_error]
    if errors:
        raise InputError(map(design.source.located, errors))
    return [note.message for note in notes]


def _lines(design: Design, hub: PrintedHub) -> Iterator[str]:
    """Yield the parts, and what lies between the flanges."""
    yield f"{design.name}: hub"
    yield ""
    yield f"{'Part':<14}{'Plate mm':>10}{'With tabs mm':>14}{'Mass g':>9}"
    for part in hub.parts:
        tall = f"{part.thickness + part.tab_height:.2f}" if part.tabs else ""
        yield f"{part.name:<14}{part.thickness:>10.2f}{tall:>14}{part.body.mass:>9.3f}"
    yield ""
    glue = hub.clamped - hub.film.nominal - hub.spacer
    stack = [f"film {hub.film.nominal:.3f} mm"]
    stack += [f"spacer {hub.spacer:.3f} mm"] if hub.spacer else []
    stack += [f"glue on the flanges {glue:.3f} mm"] if glue > 0.0 else []
    yield f"Between the flanges {hub.clamped:.3f} mm: {', '.join(stack)}"
    yield _wrapped(
        "Print every part on its flat side, full and without support, in layers that divide its"
        " thickness."
    )


def _json(hub: PrintedHub) -> dict[str, Any]:
    """Return the parts for programs; every key names its unit."""
    return {
        "parts": [
            {
                "name": part.name,
                "plate_mm": part.thickness,
                "tabs_mm": part.tab_height if part.tabs else 0.0,
                "mass_g": part.body.mass,
            }
            for part in hub.parts
        ],
        "between_flanges_mm": hub.clamped,
        "film_mm": hub.film.nominal,
        "spacer_mm": hub.spacer,
    }


def _wrapped(text: str) -> str:
    return click.wrap_text(text, WIDTH, subsequent_indent="  ")
