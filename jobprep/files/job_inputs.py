"""The files that a job is planned from, right, wrong or missing."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from jobprep.errors import InputError
from jobprep.files.ledger.find import NAME
from jobprep.files.materials.library import shipped_materials
from jobprep.files.names import real_file
from jobprep.files.toml.lines import read_toml

NAMING = ("design", "drawing", "engraving", "cutter", "file", "machine_file")
"""The fields of a job or design that name a file by its path."""


def job_inputs(job: Path, stock: Path | None = None) -> frozenset[Path]:
    """Return every file and folder that decides what a job's plan is.

    A folder stands for the files added to it or removed. ``stock`` is the ledger that the user
    named; without one, every place where the nearest may be counts.
    """
    found = {job}
    for path in (job, *_named_files(job)):
        found |= {path, *_named_files(path)}
    for materials in (job.parent / "materials", shipped_materials()):
        for folder in (materials / "films", materials / "cutters"):
            found |= {folder, *folder.glob("*.toml")}
    start = job.parent.resolve()
    ledgers = [stock] if stock else [folder / NAME for folder in (start, *start.parents)]
    for ledger in ledgers:
        itself = real_file(ledger)
        found |= {ledger, itself.with_name(f"{itself.name}.journal")}
    return frozenset(found)


def _named_files(path: Path) -> tuple[Path, ...]:
    """Return the files that a job or design names; none where it cannot be read."""
    if path.suffix != ".toml":
        return ()
    try:
        values = read_toml(path).values
    except InputError:
        return ()
    return tuple(path.parent / name for name in _names(values) if "\0" not in name)


def _names(values: object) -> Iterator[str]:
    if isinstance(values, dict):
        for key, value in values.items():
            if key in NAMING and isinstance(value, str) and value:
                yield value
            else:
                yield from _names(value)
    elif isinstance(values, list):
        for value in values:
            yield from _names(value)
