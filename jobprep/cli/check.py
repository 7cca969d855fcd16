"""``jobprep check``: read a job and everything it names, and say what is wrong with it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from jobprep.cli.encodings import print_json
from jobprep.cli.options import ANY_PATH, json_option, stock_option

if TYPE_CHECKING:
    from jobprep.disc.part import Part
    from jobprep.planning.plan import Checked


@click.command()
@click.argument("job", type=ANY_PATH)
@stock_option
@json_option("the parts and cautions")
def check(job: Path, stock: Path | None, as_json: bool) -> None:
    """Check a JOB and list its parts; nothing is planned or written."""
    from jobprep import pipeline

    checked = pipeline.check(job, stock)
    if as_json:
        print_json(_parts_json(checked))
    else:
        from jobprep.cli.tables import print_parts

        print_parts(checked)


def _parts_json(checked: Checked) -> dict[str, Any]:
    from jobprep.facts.hold import parts_held
    from jobprep.geometry.measure import area, region_bounds

    held = parts_held(checked.job, checked.parts)

    def row(part: Part) -> dict[str, Any]:
        box = region_bounds(part.region)
        return {
            "number": part.number,
            "name": part.name,
            "film": part.film,
            "copies": part.quantity,
            "width_mm": box.width,
            "height_mm": box.height,
            "area_mm2": area(part.region),
            "held_by": held.get(part.number),
        }

    return {
        "title": checked.job.title,
        "parts": [row(part) for part in checked.parts],
        "cautions": list(dict.fromkeys(map(str, checked.cautions))),
    }
