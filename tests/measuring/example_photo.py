"""Make the measured example's files: ``python tests/measuring/example_photo.py``.

The photograph is of a wheel that never existed; the files beside it are what measuring it gives.
"""

from __future__ import annotations

import io
import sys
from functools import cache
from pathlib import Path

from PIL import Image

sys.path.insert(0, str(Path(__file__).parent.parent))

from measuring.synthetic import Scene, photograph

from jobprep.files.materials.library import film_library
from jobprep.measuring.overlay import overlay_png
from jobprep.measuring.photo import DiscReading, measure_photo, prepare_photo, read_disc
from jobprep.measuring.write_design import DesignText, Snap, design_text

FOLDER = Path(__file__).parent.parent.parent / "examples" / "05-measured-wheel"
EDGES = (8.0, 68.0, 143.5, 233.5)
FILMS = ("amber", "green", "black", "violet")
HOLE_DIAL, HOLE_RADIUS, HOLE_DIAMETER = 190.0, 54.0, 3.0
DIAMETER, BORE, INNER = 120.0, 6.35, 30.0


def scene() -> Scene:
    """Return the harbour museum's wheel on a workbench, seen a little from one side."""
    library = film_library()
    colours = [library[film].colour if film != "black" else "#0c0c0d" for film in FILMS]
    radius = DIAMETER / 2
    return Scene(
        seed=1905,
        width=960,
        height=720,
        size=0.31,
        tilt=11.0,
        tilt_axis=20.0,
        distance=6.0,
        blur=0.8,
        noise=2.0,
        jpeg=88,
        light=(0.15, -0.2),
        glare=(-0.3, 0.55, 0.06),
        dirt=14,
        background="wood",
        background_colour=(150, 110, 75),
        rings=[(INNER / 2 / radius, 1.0, list(EDGES), colours)],
        hub=library["clear"].colour,
        bore=BORE / 2 / radius,
        hole=(HOLE_RADIUS / radius, HOLE_DIAL, HOLE_DIAMETER / 2 / radius),
    )


@cache
def example_reading() -> DiscReading:
    """Return the example's photograph as read, once in a process."""
    return read_disc(prepare_photo(FOLDER / "photo.jpg"))


def measured(photo: Path) -> tuple[DesignText, bytes]:
    """Return the design and the overlay that measuring the photograph gives."""
    library = film_library()
    found = measure_photo(photo, DIAMETER, films=tuple(library.values()))
    design = design_text(
        found.measurement,
        name="Harbour night wheel",
        library=library,
        snap=Snap(degrees=0.5),
    )
    return design, overlay_png(found)


if __name__ == "__main__":
    path = photograph(scene(), FOLDER / "photo.jpg")
    design, overlay = measured(path)
    (FOLDER / "measured-wheel.toml").write_text(design.text, encoding="utf-8")
    with Image.open(io.BytesIO(overlay)) as picture:
        picture.save(FOLDER / "overlay.jpg", quality=85)
    for change in design.changes:
        sys.stdout.write(f"{change}\n")
