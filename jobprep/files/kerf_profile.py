"""Put a measured kerf into a user's own cutter profile, and into nothing else.

A shipped profile is never changed: its copy in ``materials/cutters`` of the working folder is. Of
a user's file a single line is changed or added, so that comments and order stay; the result is
read back before it is written. Where the file's form does not allow that, a new file is written.
"""

from __future__ import annotations

import os
import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from jobprep.errors import CannotDoError, Finding, InputError, Place
from jobprep.files.materials.cutter import read_cutter
from jobprep.files.materials.library import cutter_library, shipped_materials, unknown_material
from jobprep.files.toml.lines import read_toml
from jobprep.files.toml.text import toml_text
from jobprep.files.write import write_text_atomic
from jobprep.units import number

KERF_DECIMALS = 3
"""A kerf is written to 0.001 mm, finer than any coupon tells."""

OUR_NOTE = "# measured "

_LINE = re.compile(r"[^\n]*\n|[^\n]+")
_HEADER = re.compile(r"\s*\[\s*kerf\s*\]\s*(#.*)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenKerf:
    """What was written where; ``before`` is the kerf named for this very film until now.

    ``how`` says whether a line of the user's file was changed, a shipped profile was copied first,
    or the profile was written anew, without its comments, under another name.
    """

    path: Path
    how: Literal["edited", "copied", "new"]
    before: float | None


def write_kerf(cutter: str, folder: Path, film: str, kerf: float, note: str) -> WrittenKerf:
    """Write the kerf of a film into a cutter's profile.

    Parameters
    ----------
    cutter
        The path of a user's profile, ending in ``.toml``, or the name of a cutter.
    folder
        The working folder: a user's own profiles are in its ``materials/cutters``.
    film, kerf, note
        The film's name, the full width of the cut in mm, and a few words on where it is from.

    Raises
    ------
    InputError
        When there is no such cutter, or its file is not right.
    CannotDoError
        When the file cannot be written.
    """
    source, target = _files(cutter, folder)
    read_cutter(source)
    with source.open(encoding="utf-8", newline="") as stream:
        text = stream.read()
    before = tomllib.loads(text.removeprefix("\ufeff").replace("\r\n", "\n"))
    wanted = _with_kerf(before, film, kerf)
    edited = _edited(text, source, film, kerf, note)
    known = before["kerf"].get(film)
    if edited is not None and _values(edited) == wanted:
        target.parent.mkdir(parents=True, exist_ok=True)
        write_text_atomic(target, edited)
        how: Literal["edited", "copied", "new"] = "edited" if source == target else "copied"
    else:
        target, how = _written_anew(target, wanted, film, kerf), "new"
    return WrittenKerf(path=target, how=how, before=known)


def _files(cutter: str, folder: Path) -> tuple[Path, Path]:
    """Return the profile to start from and the one to write."""
    named = Path(cutter)
    if cutter.endswith(".toml"):
        if named.is_file() and not _is_shipped(named):
            return named, named
        if not named.is_file() and named.parent != Path():
            raise InputError([Finding(Place(cutter), "there is no such file")])
    name = named.name.removesuffix(".toml")
    own = folder / "materials" / "cutters" / f"{name}.toml"
    if _is_shipped(own):
        raise CannotDoError(
            f"{own} is a shipped profile, which stays as it is; work in the folder of your job"
        )
    shipped = shipped_materials() / "cutters" / own.name
    for source in (own, shipped):
        if source.is_file():
            return source, own
    message = unknown_material("cutter", name, cutter_library(folder))
    raise InputError([Finding(Place(cutter), message)])


def _is_shipped(path: Path) -> bool:
    return path.resolve().is_relative_to(shipped_materials().resolve())


def _edited(text: str, path: Path, film: str, kerf: float, note: str) -> str | None:
    """Return the text with one line changed or added, None when its form is too unlike ours."""
    lines_of = read_toml(path).source.lines
    lines = _LINE.findall(text)  # as TOML counts them
    value = number(kerf, KERF_DECIMALS)
    at = lines_of.get(f"kerf.{film}")
    if at is not None:
        key = re.escape(film)
        form = rf"(\s*(?:{key}|\"{key}\"|'{key}')\s*=\s*)([0-9.eE+_-]+)(\s*)(#[^\r\n]*)?(\r?\n)?"
        found = re.fullmatch(form, lines[at - 1])
        if found is None:
            return None
        start, old, _, comment, end = (part or "" for part in found.groups())
        if comment and not comment.startswith(OUR_NOTE):
            note = f"{note}; before {old}: {comment.lstrip('# ')}"
        lines[at - 1] = f"{start}{value}  {OUR_NOTE}{note}{end}"
        return "".join(lines)
    header = lines_of.get("kerf")
    if header is None or not _HEADER.fullmatch(lines[header - 1].rstrip("\r\n")):
        return None
    end = "\r\n" if lines[header - 1].endswith("\r\n") else "\n"
    if not lines[header - 1].endswith("\n"):
        lines[header - 1] += end
    lines.insert(header, f"{film} = {value}  {OUR_NOTE}{note}{end}")
    return "".join(lines)


def _values(text: str) -> dict[str, Any] | None:
    try:
        return tomllib.loads(text.removeprefix("\ufeff").replace("\r\n", "\n"))
    except tomllib.TOMLDecodeError:
        return None


def _with_kerf(values: dict[str, Any], film: str, kerf: float) -> dict[str, Any]:
    rounded = float(number(kerf, KERF_DECIMALS))
    return {**values, "kerf": {**values["kerf"], film: rounded}}


def _written_anew(target: Path, wanted: dict[str, Any], film: str, kerf: float) -> Path:
    """Write a profile as a new file beside its place, without comments; return its path."""
    path = target.with_name(f"{target.stem}-measured.toml")
    line = f"{film} = {number(kerf, KERF_DECIMALS)}"
    if path.exists():
        raise CannotDoError(
            f"{os.fspath(target)}: its [kerf] cannot be edited, and {path.name} exists already;"
            f" write {line} there yourself"
        )
    text = toml_text(wanted)
    if _values(text) != wanted:
        raise CannotDoError(f"{os.fspath(target)}: cannot be edited; write {line} there yourself")
    path.parent.mkdir(parents=True, exist_ok=True)
    write_text_atomic(path, text)
    read_cutter(path)
    return path
