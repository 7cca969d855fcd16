"""What a run wrote: its record ends with the SHA-256 of every file of its folder, its own, too.

The record's own digest is of all that stands before the list.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from jobprep.errors import InputError
from jobprep.files.toml.lines import file_digest
from jobprep.input_file import MEGABYTE, decoded, input_bytes
from jobprep.toml_text import toml_text
from jobprep.toml_values import toml_values

RECORD = "run.toml"
"""The file that makes a folder ours."""

LARGEST_RECORD = 20 * MEGABYTE
"""Of a record that is read, in bytes: that of some 10,000 different parts."""

OUTPUTS = "outputs"
"""The table of the record that lists the digest of every file of the run."""

_MARK = b"\n\n[[outputs]]\n"


def list_outputs(record: Path, names: Iterable[str]) -> None:
    """Add the digests of files beside it to a record, which is among them."""
    if not record.is_file():
        return
    head = record.read_bytes().rstrip(b"\n")
    digests = {name: file_digest(record.parent / name) for name in names}
    digests[RECORD] = hashlib.sha256(head).hexdigest()
    rows = [{"file": name, "sha256": digest} for name, digest in digests.items()]
    record.write_bytes(head + b"\n\n" + toml_text({OUTPUTS: rows}).encode())


def listed_outputs(record: Path) -> dict[str, str] | None:
    """Return name and digest of each file a record lists, None when it is not as it was written."""
    text = record.read_bytes()
    rows = _rows(record, text)
    return rows if _is_own(text, rows) else None


def is_edited(record: Path) -> bool:
    """Whether a record is not as it was written; what lists no digests does not tell."""
    try:
        text = input_bytes(record, LARGEST_RECORD)
    except InputError:
        return False
    rows = _rows(record, text)
    return bool(rows) and not _is_own(text, rows)


def changed_output(folder: Path, name: str) -> bool:
    """Whether a file beside a record is not as it was written; one that is not listed is not."""
    record = folder / RECORD
    try:
        rows = _rows(record, input_bytes(record, LARGEST_RECORD))
    except InputError:
        return False
    try:
        return name in rows and file_digest(folder / name) != rows[name]
    except InputError:
        return True


def _is_own(text: bytes, rows: Mapping[str, str]) -> bool:
    """Whether a record's own digest is that of its text."""
    head, mark, _ = text.partition(_MARK)
    return bool(mark) and rows.get(RECORD) == hashlib.sha256(head).hexdigest()


def _rows(record: Path, text: bytes) -> dict[str, str]:
    """Return name and digest of each file that a record's text lists; none where it is unusable.

    Where the list ends the record, as it is written, that alone is parsed: a run from a large shelf
    has a long record.
    """
    _, mark, listed = text.partition(_MARK)
    try:
        rows: Any = toml_values(record, decoded(record, mark + listed if mark else text))[OUTPUTS]
        return {str(row["file"]): str(row["sha256"]) for row in rows}
    except (InputError, KeyError, TypeError):
        return {}
