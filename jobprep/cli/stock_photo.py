"""A leftover's outline from a photograph, for the shelf."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from jobprep.model import Points


def photographed(photo: Path, paper: str, inset: float | None) -> tuple[Points, tuple[Points, ...]]:
    """Return the outline of the leftover in a photograph, and the holes in it.

    Prints its size and how far it may be off. Raises ``CannotDoError`` where no leftover or no
    sheet is found.
    """
    from jobprep.cli.options import pasteable
    from jobprep.cli.photo_setting import sheet_given
    from jobprep.cutting.leftovers import stored_outline
    from jobprep.errors import CannotDoError
    from jobprep.geometry.measure import area, region_bounds
    from jobprep.geometry.outline import moved_region
    from jobprep.measuring.offcut import find_offcut
    from jobprep.measuring.photo_scale import sheet_in
    from jobprep.measuring.picture import read_picture
    from jobprep.report.words import square_cm

    sheet = sheet_given(paper)
    picture = read_picture(photo)
    try:
        found = find_offcut(picture, sheet_in(picture, sheet), inset)
    except ValueError as error:
        raise CannotDoError(f"{photo}: {error}") from None
    box = region_bounds(found.region)
    region = moved_region(found.region, 0.0, -box.x_min, -box.y_min)
    kept = found.off if inset is None else inset
    click.echo(
        f"The photograph shows a leftover of about {box.width + 2 * kept:.0f} × "
        f"{box.height + 2 * kept:.0f} mm; its outline may be off by {found.off:.1f} mm. Kept "
        f"{kept:.1f} mm inside it: {square_cm(area(region))} cm²"
    )
    click.echo(f"See whether it is right: {pasteable('stock', 'list', '--html', 'shelf.html')}")
    if kept < found.off:
        click.echo("Caution: it may reach beyond the film; --inset keeps less than it may be off")
    return stored_outline(region)
