"""The exported schemas describe what the readers accept."""

from __future__ import annotations

import datetime
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from files.sample_job import DESIGN, JOB

from jobprep.cli.schema import KINDS as OFFERED
from jobprep.files.materials.library import shipped_materials
from jobprep.files.schemas import KINDS, Kind, json_schema
from jobprep.files.starter import starter_files


def fits(value: Any, schema: dict[str, Any], root: dict[str, Any]) -> bool:
    """Whether a value fits the keywords that our schemas use; unknown keywords fail the test."""
    if "$ref" in schema:
        return fits(value, root["$defs"][schema["$ref"].rpartition("/")[2]], root)
    if "anyOf" in schema:
        return any(fits(value, choice, root) for choice in schema["anyOf"])
    known = {
        "type", "properties", "required", "additionalProperties", "items", "enum", "const",
        "minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum", "minLength", "maxLength",
        "pattern", "minItems", "maxItems", "title", "description", "default", "$schema", "$defs",
        "propertyNames", "patternProperties", "format",
    }  # fmt: skip
    assert set(schema) <= known, set(schema) - known
    kinds: dict[str, Any] = {
        "object": dict, "array": list, "string": str, "number": (int, float), "integer": int,
        "boolean": bool,
    }  # fmt: skip
    kind = schema.get("type")
    if schema.get("format") == "date":
        return type(value) is datetime.date  # a local date of TOML; JSON has only text for it
    if kind and not isinstance(value, kinds[kind]):
        return False
    if isinstance(value, bool) != (kind == "boolean"):
        return False
    if isinstance(value, dict):
        properties = dict(schema.get("properties", {}))
        extra = schema.get("additionalProperties", True)
        for pattern, each in schema.get("patternProperties", {}).items():
            properties |= {key: each for key in value if re.search(pattern, key)}
        return set(schema.get("required", ())) <= set(value) and all(
            fits(each, properties[key], root)
            if key in properties
            else isinstance(extra, dict) and fits(each, extra, root)
            for key, each in value.items()
        )
    if isinstance(value, list):
        size_fits = schema.get("minItems", 0) <= len(value) <= schema.get("maxItems", 10**9)
        return size_fits and all(fits(each, schema["items"], root) for each in value)
    if isinstance(value, str) and "pattern" in schema and not re.search(schema["pattern"], value):
        return False
    if isinstance(value, int | float) and not isinstance(value, bool):
        return (
            schema.get("minimum", value) <= value <= schema.get("maximum", value)
            and schema.get("exclusiveMinimum", value - 1) < value
            and value < schema.get("exclusiveMaximum", value + 1)
            and schema.get("const", value) == value
        )
    return value in schema.get("enum", [schema.get("const", value)])


def texts_of(kind: str) -> list[str]:
    starter = starter_files()
    if kind == "job":
        return [JOB, starter["job.toml"]]
    if kind == "design":
        return [DESIGN, starter["harbour-lamp.toml"]]
    written = Path(__file__).parents[1] / "written" / "first"
    samples = {
        "ledger": "workshop/stock.toml",
        "points": "measured/lens.toml",
        "corrections": "measured/corrections.toml",
        "readings": "measured/coupon-clear-bench-co2.toml",
        "printer": "measured/printer.toml",
    }
    if kind in samples:
        return [(written / samples[kind]).read_text("utf-8")]
    folder = shipped_materials() / f"{kind}s"
    return [path.read_text("utf-8") for path in sorted(folder.glob("*.toml"))]


@pytest.mark.parametrize("kind", KINDS)
def test_schema_accepts_what_is_right(kind: Kind) -> None:
    schema = json_schema(kind)
    for text in texts_of(kind):
        assert fits(tomllib.loads(text), schema, schema)


@pytest.mark.parametrize("kind", KINDS)
def test_schema_refuses_what_is_wrong(kind: Kind) -> None:
    schema = json_schema(kind)
    for text in texts_of(kind):
        values = tomllib.loads(text)
        assert not fits({**values, "bogus": 1}, schema, schema)
        assert not fits({**values, "format": 2}, schema, schema)
        for key in schema.get("required", ()):
            rest = {name: value for name, value in values.items() if name != key}
            assert not fits(rest, schema, schema)


@pytest.mark.parametrize("kind", KINDS)
def test_every_field_is_described(kind: Kind) -> None:
    schema = json_schema(kind)
    for table in [schema, *schema.get("$defs", {}).values()]:
        assert table["description"]
        assert table["additionalProperties"] is False


def test_the_command_offers_every_kind() -> None:
    """It names them without loading the schemas, which takes time."""
    assert OFFERED == KINDS


@pytest.mark.parametrize("text", ["4.75 in", "4 3/4 in", "12 cm", "0.5mm"])
def test_schema_accepts_a_length_with_its_unit(text: str) -> None:
    schema = json_schema("design")
    values = tomllib.loads(DESIGN)
    assert fits({**values, "outer_diameter": text}, schema, schema)
    assert not fits({**values, "outer_diameter": text[:-1]}, schema, schema)
    assert not fits({**values, "original": {"thickness_mm": text}}, schema, schema)


def test_schema_holds_no_null() -> None:
    assert "null" not in str([json_schema(kind) for kind in KINDS])
