"""Whether the files a run was planned from are still what they were."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from jobprep.errors import Finding, Source
from jobprep.files.materials.library import shipped_materials
from jobprep.files.toml.lines import file_digest
from jobprep.runs.record import RunRecord

MATERIALS = "materials/"


def changed_inputs(record: RunRecord, run_file: Path) -> Iterator[Finding]:
    """Yield the inputs of a run that have changed or are gone since it was planned."""
    source = Source(str(run_file))
    folder = run_file.parent / record.origin
    for name, digest in record.job.digests.items():
        path = _input_file(folder, name)
        if path is None:
            yield source.error("inputs", f"{name} of this run is no longer there")
        elif file_digest(path) != digest:
            yield source.error("inputs", f"{name} has changed since this run was planned")


def _input_file(folder: Path, name: str) -> Path | None:
    places = [folder / name]
    if name.startswith(MATERIALS):
        places.append(shipped_materials() / name.removeprefix(MATERIALS))
    return next((place for place in places if place.is_file()), None)
