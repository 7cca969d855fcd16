"""Write a file of ours as a person would lay it out; the same values give the same bytes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from jobprep.files.toml.table import Table, tables_in
from jobprep.toml_text import toml_text


def laid_out(schema: type[Table[Any]], fields: Mapping[str, Any]) -> str:
    """Return the text of a file from key -> value, as ``fields_of`` of its table gives them.

    Single tables stand in their line, lists of tables under ``[[headings]]`` or, where the table
    says so, one in a line.
    """
    return "\n".join(_blocks(schema, {"format": 1, **fields}, ""))


def row_text(schema: type[Table[Any]], fields: Mapping[str, Any], path: str) -> str:
    """Return a table of a list, ``[[path]]``, from its key -> value."""
    return "\n".join(_blocks(schema, fields, path))


def value_text(value: Any) -> str:
    """Return a value as it stands behind its equals sign; tables in a list stand one on a line."""
    return _pair("key", value).removeprefix("key = ").rstrip("\n")


def _blocks(schema: type[Table[Any]], fields: Mapping[str, Any], path: str) -> Iterator[str]:
    """Yield a table's own lines, then the blocks of the tables listed in it."""
    inner = {
        (info.alias or name): table
        for name, info in schema.model_fields.items()
        if (table := tables_in(info.annotation))
    }
    rows = [
        key
        for key, value in fields.items()
        if key in inner and isinstance(value, list) and key not in schema.rows_in_line
    ]
    text = f"[[{path}]]\n" if path else ""
    yield text + "".join(_pair(key, value) for key, value in fields.items() if key not in rows)
    for key in rows:
        for row in fields[key]:
            yield from _blocks(inner[key], row, f"{path}.{key}".lstrip("."))


def _pair(key: str, value: Any) -> str:
    if isinstance(value, list) and value and isinstance(value[0], Mapping):
        return f"{key} = [\n" + "".join(f"  {_in_line(row)},\n" for row in value) + "]\n"
    text = _in_line(value) if isinstance(value, Mapping) else None
    return f"{key} = {text}\n" if text else toml_text({key: value}).strip() + "\n"


def _in_line(fields: Mapping[str, Any]) -> str:
    return "{ " + ", ".join(_pair(key, value).strip() for key, value in fields.items()) + " }"
