"""What a run wrote: its record ends with the SHA-256 of every file of its folder, its own, too.

The record's own digest is of all that stands before the list.
"""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Iterable
from pathlib import Path

from jobprep.errors import InputError
from jobprep.files.toml_lines import KEPT_LIMIT, file_digest
from jobprep.files.toml_text import toml_text
from jobprep.input_file import input_bytes

RECORD = "run.toml"
"""The file that makes a folder ours."""

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
    head, mark, _ = text.partition(_MARK)
    known = _rows(text)
    is_own = bool(mark) and known.get(RECORD) == hashlib.sha256(head).hexdigest()
    return known if is_own else None


def is_edited(record: Path) -> bool:
    """Whether a record is not as it was written; what lists no digests does not tell."""
    try:
        text = input_bytes(record, KEPT_LIMIT)
    except InputError:
        return False
    return bool(_rows(text)) and listed_outputs(record) is None


def changed_output(folder: Path, name: str) -> bool:
    """Whether a file beside a record is not as it was written; one that is not listed is not."""
    known = _rows((folder / RECORD).read_bytes()) if (folder / RECORD).is_file() else {}
    try:
        return name in known and file_digest(folder / name) != known[name]
    except InputError:
        return True


def _rows(text: bytes) -> dict[str, str]:
    try:
        rows = tomllib.loads(text.decode())[OUTPUTS]
        return {str(row["file"]): str(row["sha256"]) for row in rows}
    except (ValueError, KeyError, TypeError, RecursionError):
        return {}
