"""Rows of ``[[lists]]`` in the text of a file: whole blocks of lines, with what leads to them.

A block begins at the comments right above its heading and goes on to the next heading that is not
inside it. The proof that a change did what it should stands where it is used, in ``edit.py``.
"""

from __future__ import annotations

from jobprep.files.toml.lines import headings


def with_block(text: str, path: str, index: int, block: str, end: str) -> str:
    """Return text with a block before the row that has an index; at the end after the last one."""
    lines = text.splitlines(keepends=True)
    rows = _rows(text, path)
    at = len(lines) if not rows else _span(lines, text, rows[-1])[1]
    if index < len(rows):
        at = _span(lines, text, rows[index])[0]
    if at and not lines[at - 1].endswith("\n"):
        lines[at - 1] += end
    added = block.rstrip("\n").replace("\n", end) + end
    before = end if at and lines[at - 1].strip() else ""
    after = end if at < len(lines) and lines[at].strip() else ""
    return "".join([*lines[:at], before, added, after, *lines[at:]])


def without_block(text: str, path: str, index: int) -> str:
    """Return text without a row and the comments that are its own."""
    lines = text.splitlines(keepends=True)
    start, end = _span(lines, text, _rows(text, path)[index])
    while end < len(lines) and not lines[end].strip() and (start == 0 or _is_blank(lines, start)):
        end += 1
    return "".join([*lines[:start], *lines[end:]])


def block_of(text: str, path: str, index: int) -> str:
    """Return the lines of a row with the comments that are its own, whatever their line ends."""
    lines = text.splitlines(keepends=True)
    start, end = _span(lines, text, _rows(text, path)[index])
    return "".join(lines[start:end]).replace("\r\n", "\n")


def count_blocks(text: str, path: str) -> int:
    """Return how many rows a list has as blocks; none where it is written in one value."""
    return len(_rows(text, path))


def _is_blank(lines: list[str], start: int) -> bool:
    return not lines[start - 1].strip()


def _rows(text: str, path: str) -> list[str]:
    return [
        found
        for found, _ in headings(text.replace("\r\n", "\n"))
        if found.startswith(f"{path}[") and found.endswith("]") and "." not in found[len(path) :]
    ]


def _span(lines: list[str], text: str, row: str) -> tuple[int, int]:
    """Return the first line of a row's block and the one after its last, from 0."""
    found = headings(text.replace("\r\n", "\n"))
    at = next(index for index, (path, _) in enumerate(found) if path == row)
    after = at + 1
    while after < len(found) and found[after][0].startswith(f"{row}."):
        after += 1
    start = _led(lines, found[at][1] - 1)
    end = len(lines) if after == len(found) else _led(lines, found[after][1] - 1)
    own = end
    while own > found[at][1] and (not lines[own - 1].strip() or _is_comment(lines[own - 1])):
        own -= 1
    # Comments right below its last field are its own; what follows a blank line is not.
    while own < end and _is_comment(lines[own]):
        own += 1
    return start, own


def _led(lines: list[str], heading: int) -> int:
    while heading and _is_comment(lines[heading - 1]):
        heading -= 1
    return heading


def _is_comment(line: str) -> bool:
    return line.lstrip(" \t").startswith("#")
