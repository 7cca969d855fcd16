"""A measured kerf for the terminal."""

from __future__ import annotations

from collections.abc import Sequence

from jobprep.cli.terminal import Column, console, number_columns, table
from jobprep.files.kerf_profile import WrittenKerf
from jobprep.measuring.kerf import COVERAGE, KerfFit, mean_kerf
from jobprep.model.kerf import KerfMeasurements


def print_kerf(
    measured: KerfMeasurements,
    fits: Sequence[KerfFit],
    cautions: Sequence[str],
    written: WrittenKerf | None,
) -> None:
    """Print the kerf in both senses, along each direction, and its cautions."""
    out = console()
    subject = " on ".join(filter(None, (measured.film, measured.cutter)))
    out.print(f"Kerf of {subject}" if subject else "Kerf", style="bold")
    rows = [
        (
            fit.along,
            f"{fit.kerf.value:.3f}",
            f"{fit.expanded:.3f}",
            f"{fit.kerf.value / 2.0:.3f}",
            "1, taken" if fit.scale is None else f"{fit.scale.value:.4f}",
            f"{len(fit.readings) - len(fit.outliers)} of {len(fit.readings)}",
        )
        for fit in fits
    ]
    headings = ("Kerf mm", "± mm, 95 %", "Per edge mm", "Scale", "Readings")
    out.print(table([Column("Along"), *number_columns(*headings)], rows))
    mean = mean_kerf(fits)
    which = "mean of both, " if len(fits) == 2 else ""
    out.print(
        f"kerf = {mean.value:.3f} ± {COVERAGE * mean.uncertainty:.3f} mm, {which}the full width of"
        f" the cut; each edge loses {mean.value / 2.0:.3f} mm"
    )
    for fit in fits:
        for index in fit.outliers:
            reading = fit.readings[index]
            out.print(
                f"Left out: {reading.place}: {reading.reading:g} mm lies"
                f" {fit.offs[index]:+.2f} mm off the others",
                soft_wrap=True,
            )
    for caution in cautions:
        out.print(f"Caution: {caution}")
    if written is None:
        name = measured.film or "FILM"
        out.print(
            f"To plan with it, put {name} = {mean.value:.3f} under [kerf] of a job, or add"
            f" --apply {measured.cutter or 'CUTTER'} here for every job on this cutter."
        )
    else:
        rest = "the rest of your file is as it was"
        if written.is_copy:
            rest = "a copy of the shipped profile, which stays as it is"
        before = "" if written.before is None else f", until now {written.before:g}"
        out.print(
            f"Wrote {measured.film} = {mean.value:.3f}{before} to {written.path}: {rest}",
            soft_wrap=True,
        )
