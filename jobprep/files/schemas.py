"""The kinds of file that people write, and the JSON Schema of each."""

from __future__ import annotations

from typing import Any, Literal, get_args

from jobprep.files.design.design import DesignFile
from jobprep.files.job.job import JobFile
from jobprep.files.ledger.ledger import LedgerFile
from jobprep.files.materials.cutter import CutterFile
from jobprep.files.materials.film import FilmFile
from jobprep.files.materials.printer import PrinterFile
from jobprep.files.measurements.corrections import CorrectionFile
from jobprep.files.measurements.points import PointsFile
from jobprep.files.measurements.readings import ReadingsFile
from jobprep.files.toml.json_schema import json_schema_of
from jobprep.files.toml.table import Table

Kind = Literal[
    "job", "design", "film", "cutter", "ledger", "printer", "points", "corrections", "readings"
]

KINDS = get_args(Kind)

_SCHEMAS: dict[str, type[Table[Any]]] = {
    "job": JobFile,
    "design": DesignFile,
    "film": FilmFile,
    "cutter": CutterFile,
    "ledger": LedgerFile,
    "printer": PrinterFile,
    "points": PointsFile,
    "corrections": CorrectionFile,
    "readings": ReadingsFile,
}


def json_schema(kind: Kind) -> dict[str, Any]:
    """Return the JSON Schema of one kind of file."""
    return json_schema_of(_SCHEMAS[kind], f"jobprep {kind} file")
