"""What plan writes is read again, however large; what would be too large is refused beforehand."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from jobprep.disc.part import Part
from jobprep.errors import CannotDoError
from jobprep.geometry.outline import Region, polygon
from jobprep.input_file import MEGABYTE
from jobprep.runs import size, text
from jobprep.runs.outputs import is_edited
from jobprep.runs.record import RecordedPlacement, RunRecord
from jobprep.runs.recorded_run import recorded_run
from jobprep.runs.size import refuse_large
from jobprep.runs.text import read_run, write_run

ACROSS, DOWN, APART = 24, 29, 20.0
"""Parts in a row of a sheet of 508 × 610 mm, rows, and from part to part, mm."""


def star(number: int) -> Region:
    """Return a polygon of 30 corners whose coordinates have all their digits."""
    radius = 8.0 + 1e-4 * number
    return Region(
        polygon(
            (radius * math.cos(math.tau * each / 30), radius * math.sin(math.tau * each / 30))
            for each in range(30)
        )
    )


def large(record: RunRecord, count: int) -> RunRecord:
    """Return a record of different black parts in rows, on as many sheets as they take."""
    whole = next(sheet for sheet in record.sheets if sheet.film == "black")
    parts = tuple(
        Part(number=n + 1, name=f"star {n + 1}", film="black", quantity=1, region=star(n))
        for n in range(count)
    )
    each = ACROSS * DOWN
    places = tuple(
        RecordedPlacement(
            part=n + 1,
            copy=0,
            sheet=n // each,
            angle=0.0,
            x=24.0 + APART * (n % ACROSS),
            y=24.0 + APART * (n % each // ACROSS),
        )
        for n in range(count)
    )
    return replace(
        record,
        job=replace(record.job, discs=()),
        parts=parts,
        sheets=(replace(whole, is_bought=True),) * math.ceil(count / each),
        placements=places,
        unplaced={part.number: 0 for part in parts},
    )


def test_a_record_of_megabytes_is_read_again(shop: Path) -> None:
    """Records of more than 5 MB were once written and not read; here a comment fills them."""
    path = shop / "run" / "run.toml"
    record = read_run(path)
    with path.open("a", encoding="utf-8") as file:
        file.write(f"# {'star ' * 20}\n" * (6 * MEGABYTE // 100))
    assert path.stat().st_size > 6 * MEGABYTE
    assert read_run(path) == record


@pytest.mark.slow
def test_thousands_of_different_parts_are_read_again(shop: Path) -> None:
    record = large(read_run(shop / "run" / "run.toml"), 3500)
    path = shop / "large.toml"
    path.write_text(write_run(record), encoding="utf-8")
    assert path.stat().st_size > 6 * MEGABYTE
    assert not is_edited(path)
    assert read_run(path) == record


def test_a_hundred_of_them_are_proven(shop: Path) -> None:
    record = large(read_run(shop / "run" / "run.toml"), 100)
    (shop / "large.toml").write_text(write_run(record), encoding="utf-8")
    assert recorded_run(shop / "large.toml").cautions == ()


def test_a_job_whose_record_could_not_be_read_is_refused_before_it_is_planned(shop: Path) -> None:
    record = read_run(shop / "run" / "run.toml")
    part = replace(record.parts[0], region=star(1), quantity=10_000)
    refuse_large(record.job, [part] * 9)
    with pytest.raises(CannotDoError, match=r"more than 16 MB of its run\.toml.*fewer parts"):
        refuse_large(record.job, [part] * 12)


def test_what_is_refused_beforehand_is_at_least_what_is_written(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    record = large(read_run(shop / "run" / "run.toml"), 300)
    written = len(write_run(record).encode())
    monkeypatch.setattr(size, "LARGEST_RECORD", written + size.ROOM_FOR_THE_REST)
    with pytest.raises(CannotDoError):
        refuse_large(record.job, record.parts)


def test_a_record_too_large_to_be_read_is_not_written(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    record = large(read_run(shop / "run" / "run.toml"), 300)
    room = len(write_run(record).encode()) + text.ROOM_FOR_OUTPUTS
    monkeypatch.setattr(text, "LARGEST_RECORD", room)
    write_run(record)
    monkeypatch.setattr(text, "LARGEST_RECORD", room - 1)
    with pytest.raises(CannotDoError, match="could not be read again"):
        write_run(record)
