"""A whole job as plain data: its files by name, TOML ones as tables, so that parts can be dropped.

``actions.toml`` is no file of the program: it says what to do with the run once it is planned.
"""

from __future__ import annotations

import datetime
import json
import tomllib
from pathlib import Path
from typing import Any

Tables = dict[str, Any]
Case = dict[str, Tables | str]
"""File name -> its tables, or its text if it is no TOML."""

JOB, ACTIONS = "job.toml", "actions.toml"


def write_case(case: Case, folder: Path) -> Path:
    """Write a case into a folder; return its job file."""
    for name, content in case.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        text = content if isinstance(content, str) else toml_of(content)
        path.write_text(text, encoding="utf-8")
    return folder / JOB


def read_case(folder: Path) -> Case:
    """Read a case as ``write_case`` writes it."""
    case: Case = {}
    for path in sorted(folder.rglob("*")):
        if path.is_file():
            text = path.read_text(encoding="utf-8")
            name = path.relative_to(folder).as_posix()
            case[name] = tomllib.loads(text) if path.suffix == ".toml" else text
    return case


def tables_of(case: Case, name: str) -> Tables:
    """Return the tables of a file, empty where it is not there."""
    content = case.get(name, {})
    assert not isinstance(content, str), f"{name} is no TOML"
    return content


def toml_of(tables: Tables) -> str:
    """Return tables as TOML: plain values, then ``[name]`` and ``[[name]]``, the rest inline."""
    plain, nested = [], []
    for key, value in tables.items():
        if isinstance(value, dict):
            nested += ["", f"[{_key(key)}]", *_pairs(value)]
        elif isinstance(value, list) and value and all(isinstance(row, dict) for row in value):
            for row in value:
                nested += ["", f"[[{_key(key)}]]", *_pairs(row)]
        else:
            plain.append(f"{_key(key)} = {_value(value)}")
    return "\n".join([*plain, *nested]) + "\n"


def _pairs(table: Tables) -> list[str]:
    return [f"{_key(key)} = {_value(value)}" for key, value in table.items()]


def _key(key: str) -> str:
    return key if key.replace("-", "").replace("_", "").isalnum() else json.dumps(key)


def _value(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(_pairs(value)) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, datetime.date):
        return value.isoformat()
    return json.dumps(value, ensure_ascii=False)
