"""JSON Schema of a declared table, for editors that complete and check TOML."""

from __future__ import annotations

from typing import Any

from jobprep.files.toml.table import Table


def json_schema_of(table: type[Table[Any]], title: str) -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a file that holds a table."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **_without_null(table.model_json_schema()),
        "title": title,
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
