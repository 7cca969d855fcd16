"""The manual's page of all keys, made from the schemas of the files.

``python tests/manual_reference.py`` writes it again; a test compares it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, get_args

from jobprep.files.schemas import Kind, json_schema
from jobprep.files.toml.length import EXAMPLES

PAGE = Path(__file__).parent.parent / "examples" / "manual" / "reference.md"
START = "<!-- reference: made by tests/manual_reference.py -->\n"
LENGTHS = f"""\
A length, size, coordinate or kerf is a number of mm, or text with its unit (mm, cm or in):
{EXAMPLES}. A key that names its unit, such as `thickness_mm`, takes a
number alone.
"""
END = "<!-- end of reference -->\n"


def reference() -> str:
    """Return the reference of all files that people write, as Markdown."""
    return "\n".join([LENGTHS, *(line for kind in get_args(Kind) for line in _file(kind))]) + "\n"


def with_reference(page: str) -> str:
    """Return the page with its reference part made again."""
    before, rest = page.split(START)
    _, after = rest.split(END)
    return before + START + reference() + END + after


def _file(kind: str) -> Iterator[str]:
    schema = json_schema(kind)  # type: ignore[arg-type]
    tables = schema.get("$defs", {})
    yield f"## {kind.capitalize()} file\n"
    yield f"{_words(schema['description'])}\n"
    yield from _rows(schema, tables)
    for path, table in _inner_tables(schema, tables):
        yield f"**`{path}`**: {_words(table['description'])}\n"
        yield from _rows(table, tables)


def _rows(table: Mapping[str, Any], tables: Mapping[str, Any]) -> Iterator[str]:
    yield "| key | value |"
    yield "|---|---|"
    required = table.get("required", ())
    for key, value in table["properties"].items():
        words = _words(value.get("description", "")) or _of_table(value, tables)
        if key in required:
            words += "; required"
        elif value.get("default") not in (None, [], {}, ""):
            words += f"; default {_toml(value['default'])}"
        yield f"| `{key}` | {words} |"
    yield ""


def _of_table(value: Mapping[str, Any], tables: Mapping[str, Any]) -> str:
    if "$ref" in value:
        return f"a table: {_first_small(tables[_name(value)]['description'])}"
    if value.get("type") == "boolean":
        return "true or false"
    if value.get("type") == "object":
        inner = (value.get("additionalProperties"), *value.get("patternProperties", {}).values())
        return f"a table, NAME = {next(filter(None, inner))['description']}"
    if value.get("type") == "array":
        return "a list of tables"
    raise ValueError(f"no words for {value}")


def _inner_tables(
    table: Mapping[str, Any], tables: Mapping[str, Any], at: str = ""
) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Yield the tables inside a table, with their paths, in the order of its keys."""
    for key, value in table["properties"].items():
        path = f"{at}.{key}".lstrip(".")
        inner = tables.get(_name(value.get("items", value)))
        if inner is not None:
            yield f"[[{path}]]" if "items" in value else f"[{path}]", inner
            yield from _inner_tables(inner, tables, path)


def _name(value: Mapping[str, Any]) -> str:
    return str(value.get("$ref", "")).rpartition("/")[2]


def _words(text: str) -> str:
    return text.replace("``", "`")


def _first_small(text: str) -> str:
    return _words(text[:1].lower() + text[1:].rstrip("."))


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        return f"{value:g}"
    return f'"{value}"' if isinstance(value, str) else str(value)


if __name__ == "__main__":
    PAGE.write_text(with_reference(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
