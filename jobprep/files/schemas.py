"""The kinds of file that people write, and the JSON Schema of each."""

from __future__ import annotations

from typing import Any, Literal, get_args

from jobprep.files.design.design import DesignFile
from jobprep.files.design.machine import MachineFile
from jobprep.files.job.job import JobFile
from jobprep.files.ledger.ledger import LedgerFile
from jobprep.files.materials.cutter import CutterFile
from jobprep.files.materials.film import FilmFile
from jobprep.files.materials.lamp import LampFile
from jobprep.files.materials.printer import PrinterFile
from jobprep.files.measurements.corrections import CorrectionFile
from jobprep.files.measurements.points import PointsFile
from jobprep.files.measurements.readings import ReadingsFile
from jobprep.files.toml.table import Table

Kind = Literal[
    "job",
    "design",
    "machine",
    "film",
    "lamp",
    "cutter",
    "ledger",
    "printer",
    "points",
    "corrections",
    "readings",
]

KINDS = get_args(Kind)

_SCHEMAS: dict[str, type[Table[Any]]] = {
    "job": JobFile,
    "design": DesignFile,
    "machine": MachineFile,
    "film": FilmFile,
    "lamp": LampFile,
    "cutter": CutterFile,
    "ledger": LedgerFile,
    "printer": PrinterFile,
    "points": PointsFile,
    "corrections": CorrectionFile,
    "readings": ReadingsFile,
}


def json_schema(kind: Kind) -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of one kind of file, for editors of TOML."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **_without_null(_SCHEMAS[kind].model_json_schema()),
        "title": f"jobprep {kind} file",
    }


def _without_null(schema: Any) -> Any:
    """Drop "or null" from optional fields: TOML has no null, a field is there or not."""
    if isinstance(schema, list):
        return [_without_null(each) for each in schema]
    if not isinstance(schema, dict):
        return schema
    kept = {key: _without_null(value) for key, value in schema.items()}
    choices = kept.get("anyOf")
    if isinstance(choices, list) and {"type": "null"} in choices:
        choices = [choice for choice in choices if choice != {"type": "null"}]
        del kept["anyOf"]
        kept |= choices[0] if len(choices) == 1 else {"anyOf": choices}
        if kept.get("default", 0) is None:
            del kept["default"]
    return kept
