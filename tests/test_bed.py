"""Sheets lie on the cutter's bed, turned where they must be, or are refused with the reason."""

from pathlib import Path

import pytest

from jobprep import pipeline
from jobprep.errors import CannotDoError

JOB = """\
format = 1
title = "One plate"
cutter = "bench-co2"

[[part]]
name = "plate"
film = "{film}"
copies = 1
rectangle = {{ size = [60, 40] }}

[[stock]]
film = "{film}"
size = [{size}]

[nesting]
evaluations = 200
"""


def job(folder: Path, size: str, film: str = "clear") -> Path:
    path = folder / "job.toml"
    path.write_text(JOB.format(size=size, film=film), encoding="utf-8")
    return path


def test_a_sheet_that_fits_only_turned_is_turned(tmp_path: Path) -> None:
    """The bed is 900 x 620 mm."""
    planned = pipeline.plan(pipeline.check(job(tmp_path, "610, 900")))
    sheet = planned.films[0].sheets[0].sheet
    assert (sheet.width, sheet.height) == pytest.approx((900.0, 610.0))


def test_a_sheet_that_fits_stays_as_it_is(tmp_path: Path) -> None:
    planned = pipeline.plan(pipeline.check(job(tmp_path, "900, 610")))
    sheet = planned.films[0].sheets[0].sheet
    assert (sheet.width, sheet.height) == pytest.approx((900.0, 610.0))


def test_a_sheet_larger_than_the_bed_is_refused_when_the_job_is_checked(tmp_path: Path) -> None:
    with pytest.raises(CannotDoError) as caught:
        pipeline.check(job(tmp_path, "1000, 610"))
    assert str(caught.value) == (
        "clear: a sheet of 1000 × 610 mm is larger than the bed of bench-co2, 900 × 620 mm; "
        "cut it to size first and list the pieces under [[stock]]"
    )


def test_a_sheet_with_a_grain_is_not_turned(tmp_path: Path) -> None:
    films = tmp_path / "materials" / "films"
    films.mkdir(parents=True)
    text = (Path(__file__).parent.parent / "materials" / "films" / "clear.toml").read_text("utf-8")
    grained = text.replace("format = 1\n", "format = 1\nrotation_step = 180\n")
    (films / "grained.toml").write_text(grained, encoding="utf-8")
    with pytest.raises(CannotDoError, match="larger than the bed"):
        pipeline.check(job(tmp_path, "610, 900", "grained"))
