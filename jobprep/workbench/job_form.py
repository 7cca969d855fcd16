"""What a job's file may hold, as a page asks for it: all of it from the file's own declarations.

Terminology
-----------
kind     how a field is asked for: "number" (also a length with its unit), "text", "flag",
         "choice", "list" (of numbers or points), "table", "rows" ([[tables]]), "named" (a value for
         each film)
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

from jobprep.files.job.job import JobFile
from jobprep.files.schemas import json_schema
from jobprep.files.toml.table import Table, tables_in

Schema = Mapping[str, Any]
FormField = dict[str, Any]


@cache
def job_form() -> tuple[FormField, ...]:
    """Return the fields of a job's file, in the order in which they are declared.

    Each has its ``key``, ``kind``, ``words`` (what is allowed, as messages say it), whether it is
    ``required``, its ``default`` where it has one, and what its kind needs: ``choices``, or the
    ``fields`` of its table with ``one_of``, those keys of which a table has just one.
    """
    schema = json_schema("job")
    return tuple(_fields(JobFile, schema, schema["$defs"]))


def _fields(table: type[Table[Any]], schema: Schema, tables: Schema) -> Iterator[FormField]:
    required = schema.get("required", ())
    inner = {
        info.alias or name: tables_in(info.annotation) for name, info in table.model_fields.items()
    }
    for key, declared in schema["properties"].items():
        if "const" in declared:  # nothing to choose
            continue
        field: FormField = {"key": key, "required": key in required}
        if declared.get("default") not in (None, [], {}, ""):
            field["default"] = declared["default"]
        yield field | _kind(declared, inner[key], tables)


def _kind(declared: Schema, inner: type[Table[Any]] | None, tables: Schema) -> FormField:
    words = _plain(declared.get("description", ""))
    if inner is not None:
        own = tables[inner.__name__]
        return {
            "kind": "rows" if declared.get("type") == "array" else "table",
            "words": _plain(own["description"]),
            "fields": list(_fields(inner, own, tables)),
            "one_of": list(inner.one_of()),
        }
    if declared.get("type") == "object":
        value = next(_values(declared))
        return {"kind": "named", "words": _plain(value["description"])}
    if declared.get("type") == "boolean":
        return {"kind": "flag", "words": "true or false"}
    if "enum" in declared:
        return {"kind": "choice", "words": words, "choices": list(declared["enum"])}
    if declared.get("type") == "array":
        return {"kind": "list", "words": words}
    is_number = any(each.get("type") in ("number", "integer") for each in _alternatives(declared))
    return {"kind": "number" if is_number else "text", "words": words}


def _values(declared: Schema) -> Iterator[Schema]:
    """Yield what the values of a table keyed by film may be."""
    if declared.get("additionalProperties"):
        yield declared["additionalProperties"]
    yield from declared.get("patternProperties", {}).values()


def _alternatives(declared: Schema) -> Iterator[Schema]:
    yield declared
    for each in declared.get("anyOf", ()):
        yield from _alternatives(each)


def _plain(words: str) -> str:
    return words.replace("`", "").rstrip(".")
