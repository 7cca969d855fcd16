"""``jobprep kerf``: from what was measured on a coupon to the kerf."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from jobprep.cli.encodings import print_json
from jobprep.cli.options import ANY_PATH, json_option

if TYPE_CHECKING:
    from jobprep.files.kerf_profile import WrittenKerf
    from jobprep.measuring.kerf import KerfFit
    from jobprep.model.kerf import KerfMeasurements, KerfReading


@click.command()
@click.argument("measurements", type=ANY_PATH)
@click.option(
    "--scan",
    type=ANY_PATH,
    metavar="IMAGE",
    help="A flatbed scan of the coupon's bars and strips, lying as they were cut: they count beside"
    " the readings of the file.",
)
@click.option(
    "--dpi",
    default="file",
    metavar="DPI|file",
    help="The scan's dots per inch; by default as its file says.",
)
@click.option(
    "--apply",
    "cutter",
    metavar="CUTTER",
    help="Write it into your profile of this cutter, by path or name.",
)
@json_option("the result")
def kerf(
    measurements: Path, scan: Path | None, dpi: str, cutter: str | None, as_json: bool
) -> None:
    """Compute the kerf from the MEASUREMENTS of a coupon.

    MEASUREMENTS is a TOML or CSV file; with --scan it may have no readings yet. A caliper that
    grips all strips at once measures the kerf better than a scan. Nothing is written unless --apply
    names a cutter; a shipped profile is copied first, into materials/cutters of this folder.
    """
    from jobprep.cli.kerf_table import print_kerf
    from jobprep.errors import Finding, InputError, Place
    from jobprep.files.measurements.readings import read_readings
    from jobprep.measuring.kerf import doubts, fit_kerfs, refusals

    measured = read_readings(measurements, may_be_empty=scan is not None)
    if scan is not None:
        measured = replace(measured, readings=(*measured.readings, *_scanned(scan, dpi)))
    fits = fit_kerfs(measured.readings)
    refused = list(refusals(fits))
    if refused:
        place = Place(str(measurements))
        raise InputError(Finding(place, sentence) for sentence in refused)
    if cutter is not None:
        _refuse_other(measurements, measured, cutter)
    cautions = list(doubts(fits, _in_use(measured)))
    written = None if cutter is None else _write(measured, fits, cutter)
    if as_json:
        _print_json(measured, fits, cautions, written)
    else:
        print_kerf(measured, fits, cautions, written)


def _scanned(scan: Path, dpi: str) -> tuple[KerfReading, ...]:
    """Return the readings that a scan of the coupon's parts gives."""
    from jobprep.cli.photo_setting import scan_pixel
    from jobprep.errors import CannotDoError, Place
    from jobprep.measuring.picture import read_picture
    from jobprep.measuring.scanned_parts import (
        SCANNED_PIXELS,
        scanned_kerfs,
        scanned_parts,
    )
    from jobprep.planning.coupon import rectangles_drawn

    full = scan_pixel(scan, dpi, "--dpi")
    picture = read_picture(scan, SCANNED_PIXELS)
    pixel = full / picture.reduction
    try:
        parts = scanned_parts(picture, pixel)
        return scanned_kerfs(parts, rectangles_drawn(), pixel, Place(str(scan)))
    except ValueError as error:
        raise CannotDoError(f"{scan}: {error}") from None


def _refuse_other(path: Path, measured: KerfMeasurements, cutter: str) -> None:
    """Raise ``InputError`` for a measurement of another cutter or of no known film."""
    from jobprep.errors import Finding, InputError, Place
    from jobprep.files.materials.library import film_library, unknown_material

    problems = []
    films = film_library(Path())
    if not measured.film:
        message = "missing; name the film, to write its kerf into a profile"
        problems.append(Finding(Place(str(path), None, "film"), message))
    elif measured.film not in films:
        message = unknown_material("film", measured.film, films)
        problems.append(Finding(Place(str(path), None, "film"), message))
    name = Path(cutter).name.removesuffix(".toml")
    if measured.cutter and Path(measured.cutter).name.removesuffix(".toml") != name:
        message = f"measured on {measured.cutter}, so it is not written into the profile of {name}"
        problems.append(Finding(Place(str(path), None, "cutter"), message))
    if problems:
        raise InputError(problems)


def _in_use(measured: KerfMeasurements) -> float | None:
    """Return the kerf that planning uses now, None where film or cutter are unknown."""
    from jobprep.files.materials.library import cutter_library, film_library

    films, cutters = film_library(Path()), cutter_library(Path())
    if measured.film in films and measured.cutter in cutters:
        return cutters[measured.cutter].kerf_for(films[measured.film])
    return None


def _write(measured: KerfMeasurements, fits: Sequence[KerfFit], cutter: str) -> WrittenKerf:
    from jobprep.files.kerf_profile import write_kerf
    from jobprep.measuring.kerf import COVERAGE, mean_kerf

    mean = mean_kerf(fits)
    each = ", ".join(f"{fit.along} {fit.kerf.value:.3f}" for fit in fits)
    note = f"±{COVERAGE * mean.uncertainty:.3f} mm (95 %): {each}"
    return write_kerf(cutter, Path(), measured.film, mean.value, note)


def _print_json(
    measured: KerfMeasurements,
    fits: Sequence[KerfFit],
    cautions: Sequence[str],
    written: WrittenKerf | None,
) -> None:
    from jobprep.measuring.kerf import COVERAGE, differ, mean_kerf

    mean = mean_kerf(fits)
    values = {
        "film": measured.film,
        "cutter": measured.cutter,
        "kerf_mm": mean.value,
        "kerf_uncertainty_95_mm": COVERAGE * mean.uncertainty,
        "per_edge_mm": mean.value / 2.0,
        "directions_differ": differ(fits),
        "directions": [
            {
                "along": fit.along,
                "kerf_mm": fit.kerf.value,
                "kerf_uncertainty_95_mm": fit.expanded,
                "scale": None if fit.scale is None else fit.scale.value,
                "readings": len(fit.readings),
                "left_out": [str(fit.readings[index].place) for index in fit.outliers],
            }
            for fit in fits
        ],
        "cautions": list(cautions),
        "written_to": None if written is None else str(written.path),
    }
    print_json(values)
