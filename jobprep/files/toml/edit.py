"""Change single values of a user's own TOML: comments, order, line ends and all else stay."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from jobprep.errors import CannotDoError

BYTE_ORDER_MARK = "\ufeff"

Keys = tuple[str, ...]

Remark = Callable[[str, str], str]
"""From a value as it was written and the words beside it, both empty where there were none, to the
words beside the new one."""


def edited(path: Path, values: Mapping[Keys, float], remark: Remark | None = None) -> str:
    """Return the text of a file with some numbers changed, or added after others of their tables.

    ``values`` are by the keys that lead to them; a table on the way that is missing is added at
    the end. Without a ``remark`` the comment beside a value stays; in an inline table, which has
    no room for one, nothing is remarked. Raises ``CannotDoError`` when more than the values would
    change, as the standard library reads the result.
    """
    from tomlkit import dumps, parse
    from tomlkit.exceptions import TOMLKitError

    raw = path.read_bytes().decode()
    text = raw.removeprefix(BYTE_ORDER_MARK)
    end = "\r\n" if "\r\n" in text else "\n"
    wanted = _read(text)
    try:
        document = parse(text)
        for keys, value in values.items():
            _set(document, keys, value, remark, end)
            wanted = _with_value(wanted, keys, value)
        result = dumps(document)
        is_right = _read(result) == wanted
    except (TOMLKitError, tomllib.TOMLDecodeError):
        is_right = False
    if not is_right:
        lines = "; ".join(f"{keys[-1]} = {value}" for keys, value in values.items())
        raise CannotDoError(f"{path}: cannot be edited; write {lines} there yourself")
    return raw[: len(raw) - len(text)] + result


def _set(table: Any, keys: Keys, value: float, remark: Remark | None, end: str) -> None:
    from tomlkit import item, nl
    from tomlkit import table as new_table
    from tomlkit.items import InlineTable

    *outer, key = keys
    for each in outer:
        if each not in table:
            if not outer[1:]:
                table.add(nl())
            table[each] = new_table()
        table = table[each]
    old = table.get(key)
    new = item(value)
    if old is None:
        _add(table, key, new, end)
    else:
        table[key] = new
    if remark is not None and not isinstance(table, InlineTable):
        trivia = table[key].trivia
        words = trivia.comment.removeprefix("#").strip()
        trivia.comment_ws = "  "
        trivia.comment = f"# {remark('' if old is None else old.as_string(), words)}"


def _add(table: Any, key: str, new: Any, end: str) -> None:
    """Add a value below the last one of a table, before the comments that lead to the next.

    At the top of a file that goes on with tables, the library places it before the first of them.
    """
    from tomlkit import TOMLDocument
    from tomlkit.items import Table

    if not isinstance(table, Table | TOMLDocument):  # in one line, or strewn over dotted keys
        table[key] = new
        return
    body = table.body if isinstance(table, TOMLDocument) else table.value.body
    tail: list[Any] = []
    while body and body[-1][0] is None:
        tail.insert(0, body.pop())
    if body:
        new.trivia.indent = body[-1][1].trivia.indent
    new.trivia.trail = end
    table.append(key, new)
    body.extend(tail)


def _read(text: str) -> dict[str, Any]:
    return tomllib.loads(text.replace("\r\n", "\n"))


def _with_value(values: dict[str, Any], keys: Keys, value: float) -> dict[str, Any]:
    first, *rest = keys
    inner = _with_value(values.get(first, {}), tuple(rest), value) if rest else value
    return {**values, first: inner}
