"""Hold the photograph of a finished copy against its design, and give a verdict on each line."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from jobprep.comparing.alignment import (
    Alignment,
    CopyFit,
    SeenCopy,
    fit,
    ring_directions,
    ring_radii,
)
from jobprep.comparing.colours import Balance, SeenColour, judged_colours, seen_colours
from jobprep.comparing.expected import Expected, expected
from jobprep.comparing.lines import (
    Turned,
    circle_lines,
    edge_lines,
    hole_lines,
    in_doubt,
    side_lines,
    turned,
)
from jobprep.comparing.verdict import JudgedLine, Verdict, worst
from jobprep.measuring.assemble import white_place
from jobprep.measuring.colour import lab_from_linear
from jobprep.measuring.disc_plane import polar
from jobprep.measuring.doubts import NO_INDEX
from jobprep.measuring.edge_profile import sample
from jobprep.measuring.glare import glare_mask
from jobprep.measuring.measured import Floats
from jobprep.measuring.photo import PhotoMeasurement, measure_photo
from jobprep.measuring.unwrap import is_spoilt, unwrap
from jobprep.measuring.zones import ground_colour
from jobprep.model import Design, Film
from jobprep.model.taken import NO_CORRECTIONS, Corrections


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """A design against a photograph.

    ``turned`` is how the copy lay in the picture, which is taken out of all directions. Where the
    copy is mirrored, its lines hold it against the mirrored design. ``colours`` are the places of
    the design as seen, before the white balance.
    """

    lines: tuple[JudgedLine, ...]
    fit: CopyFit
    turned: Turned
    wanted: Expected
    colours: tuple[SeenColour, ...]
    balance: Balance
    photo: PhotoMeasurement

    @property
    def verdict(self) -> Verdict:
        """The verdict on the whole copy: that of its worst line."""
        return worst(line.verdict for line in self.lines)

    @property
    def is_mirrored(self) -> bool:
        """Whether the photograph shows the design mirrored."""
        return self.fit.alignment.is_mirrored

    @property
    def cautions(self) -> tuple[str, ...]:
        """What to know of the photograph; a hole that is missing has a line of its own."""
        said = self.photo.measurement.warnings
        return tuple(warning for warning in said if warning != NO_INDEX)


def compare_photo(
    design: Design,
    films: Mapping[str, Film],
    path: Path,
    corrections: Corrections = NO_CORRECTIONS,
) -> Comparison:
    """Measure the photograph of a copy and hold it against its design.

    The rim's diameter is taken from the design: a photograph knows no millimetres.

    Raises
    ------
    CannotDoError
        The photo extra is missing, or no disc is found.
    InputError
        The picture cannot be read.
    """
    photo = measure_photo(path, corrections=known_of_copy(design, corrections))
    return compare_measured(design, films, photo, white_place(photo.picture, corrections))


def known_of_copy(design: Design, corrections: Corrections) -> Corrections:
    """Return the corrections that a copy is measured with: its diameter is that of its design.

    Its zero is found by comparing, whatever the picture's is said to be; paper, scan and light do
    not count.
    """
    size = design.outer_diameter
    return replace(corrections, diameter=size, zero=0.0, paper=None, scan=None, light=None)


def compare_measured(
    design: Design,
    films: Mapping[str, Film],
    photo: PhotoMeasurement,
    white: Floats | None = None,
) -> Comparison:
    """Hold a photograph, measured without a zero of its own, against a design.

    ``white`` is the linear light of a white place.
    """
    glare = glare_mask(photo.picture, photo.plane)
    wanted = expected(design, films, ground_colour(unwrap(photo.picture, photo.plane, glare)))
    found = fit(wanted, _seen(wanted, photo, glare))
    lies = turned(wanted, photo.measurement, found.alignment)
    alignment = Alignment(lies.turn.value, found.alignment.is_mirrored)
    colours = seen_colours(wanted, photo, alignment, glare)
    told, balance = judged_colours(wanted, colours, films, white)
    measured = (
        *edge_lines(wanted, photo.measurement, lies),
        *circle_lines(wanted, photo.measurement),
        *hole_lines(wanted, photo.measurement, lies),
    )
    if photo.doubt:
        measured = tuple(map(in_doubt, measured))
    return Comparison(
        lines=(*side_lines(found), *measured, *told),
        fit=found,
        turned=lies,
        wanted=wanted,
        colours=colours,
        balance=balance,
        photo=photo,
    )


def _seen(wanted: Expected, photo: PhotoMeasurement, glare: Floats) -> SeenCopy:
    rim = wanted.design.outer_diameter / 2.0
    places = photo.plane.to_picture(polar(ring_radii(wanted), ring_directions()))
    differences = wanted.differences(lab_from_linear(sample(photo.picture.linear, places)))
    differences[is_spoilt(glare, places)] = math.nan
    measured = photo.measurement
    holes = [(each.radius.value / rim, each.direction.value) for each in measured.holes]
    edges = [edge.direction.value for ring in measured.rings for edge in ring.edges]
    return SeenCopy(
        edges=np.array(edges),
        holes=np.array(holes).reshape(-1, 2),
        differences=differences,
    )
