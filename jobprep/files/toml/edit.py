"""Change a user's own TOML: comments, order, line ends and all else stay.

Every change is proven: the standard library reads the result, which must hold the old values with
the change and nothing else. This is the only file that knows the library which edits.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

from jobprep.errors import CannotDoError
from jobprep.files.toml.blocks import block_of, count_blocks, with_block, without_block
from jobprep.files.toml.changes import (
    AddItem,
    AddRow,
    Exchange,
    MoveRow,
    Put,
    Take,
    TakeRow,
    TomlChange,
    changed_values,
)
from jobprep.files.toml.lines import field_path
from jobprep.files.toml.text import row_text, value_text

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
    from tomlkit.items import InlineTable, Table, Whitespace

    if not isinstance(table, Table | TOMLDocument):  # in one line, or strewn over dotted keys
        last = table.value.body[-1:] if isinstance(table, InlineTable) else []
        table[key] = new
        if last and isinstance(last[0][1], Whitespace):
            table.value.body.append(last[0])  # before the closing brace, as it was
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


def changed_text(text: str, changes: Iterable[TomlChange]) -> str:
    """Return the text of a file after changes, one after the other.

    Raises ``CannotDoError`` where a change cannot be made without touching something else.
    """
    body = text.removeprefix(BYTE_ORDER_MARK)
    end = "\r\n" if "\r\n" in body else "\n"
    for change in changes:
        body = _proven(body, change, end)
    return text[: len(text) - len(text.removeprefix(BYTE_ORDER_MARK))] + body


def _proven(text: str, change: TomlChange, end: str) -> str:
    """Return the text after one change; raises ``CannotDoError`` unless it is that change alone."""
    from tomlkit.exceptions import TOMLKitError

    try:
        wanted = changed_values(_read(text), [change])
        result = _with_change(text, change, end)
        is_right = _read(result) == wanted
    except (TOMLKitError, tomllib.TOMLDecodeError, LookupError, TypeError, ValueError):
        is_right = False
    if not is_right:
        raise CannotDoError(
            f"{field_path(change.at)} is written in a way that cannot be changed here without"
            " touching something else; change it in an editor"
        )
    return result


def _with_change(text: str, change: TomlChange, end: str) -> str:
    path = field_path(change.at)
    if isinstance(change, AddRow | TakeRow | MoveRow):
        is_blocks = count_blocks(text, path) > 0
        if isinstance(change, AddRow) and (is_blocks or not _has(_read(text), change.at)):
            heading = ".".join(str(key) for key in change.at if isinstance(key, str))
            block = row_text(change.schema, change.fields, heading)
            return with_block(text, path, change.row, block, end)
        if isinstance(change, TakeRow) and is_blocks:
            return without_block(text, path, change.row)
        if isinstance(change, MoveRow) and is_blocks:
            block = block_of(text, path, change.row)
            return with_block(without_block(text, path, change.row), path, change.to, block, end)
    return _with_tomlkit(text, change, end)


def _with_tomlkit(text: str, change: TomlChange, end: str) -> str:
    from tomlkit import dumps, parse

    document = parse(text)
    if isinstance(change, Put):
        _put(document, change, end)
    elif isinstance(change, Take):
        del _inner(document, change.at[:-1])[change.at[-1]]
    elif isinstance(change, Exchange):
        _exchange(document, change, end)
    elif isinstance(change, AddItem) and not _has(document, change.at):
        _put(document, Put(change.at, [change.value]), end)
    else:
        rows = _inner(document, change.at)
        if isinstance(change, AddRow):
            rows.insert(change.row, _item(dict(change.fields), end))
        elif isinstance(change, AddItem):
            rows.insert(change.row, _item(change.value, end))
        elif isinstance(change, TakeRow):
            del rows[change.row]
            if not rows:
                del _inner(document, change.at[:-1])[change.at[-1]]
        else:
            raise LookupError
    return dumps(document)


def _put(document: Any, change: Put, end: str) -> None:
    from tomlkit import table as new_table
    from tomlkit import ws
    from tomlkit.items import InlineTable

    table = document
    *outer, last = change.at
    for depth, key in enumerate(outer):
        if isinstance(key, str) and key not in table:
            if depth == 0:
                table.add(ws(end))
            inner = new_table()
            inner.trivia.trail = end
            table[key] = inner
        table = table[key]
    new = _item(change.value, end)
    if isinstance(table, InlineTable):  # in which no line ends
        new.trivia.trail = ""
    if isinstance(last, int) or last in table:
        table[last] = new
    else:
        _add(table, last, new, end)


def _exchange(document: Any, change: Exchange, end: str) -> None:
    from tomlkit.items import InlineTable

    *outer, old = change.at
    table = _inner(document, outer)
    if isinstance(table, InlineTable):  # which has no comments: written again as a whole
        values = changed_values(table.unwrap(), [change._replace(at=(old,))])
        _inner(document, outer[:-1])[outer[-1]] = _item(values, end)
        return
    del table[old]
    _put(document, Put((*outer, change.key), change.value), end)


def _inner(value: Any, keys: Iterable[str | int]) -> Any:
    for key in keys:
        value = value[key]
    return value


def _has(values: Any, keys: Iterable[str | int]) -> bool:
    try:
        _inner(values, keys)
    except LookupError:
        return False
    return True


def _item(value: Any, end: str) -> Any:
    """Return a value as the library has it, laid out as in files of ours."""
    from tomlkit import item, parse

    if isinstance(value, bool):  # which a parsed document hands out bare
        return item(value)
    return parse(f"key = {value_text(value)}\n".replace("\n", end))["key"]
