"""Put a measured kerf into a user's own cutter profile, and into nothing else.

A shipped profile is never changed: its copy in ``materials/cutters`` of the working folder is.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from jobprep.files.materials.cutter import read_cutter
from jobprep.files.materials.own_profile import no_longer_assumed, own_profile
from jobprep.files.toml.edit import edited
from jobprep.files.write import write_text_atomic

KERF_DECIMALS = 3
"""A kerf is written to 0.001 mm, finer than any coupon shows."""

OUR_NOTE = "measured "
"""Begins the comment beside a kerf; one of the user's own is kept behind it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenKerf:
    """What was written where; ``before`` is the kerf named for this very film until now.

    ``is_copy`` says that the file is a copy of a shipped profile, made for this.
    """

    path: Path
    is_copy: bool
    before: float | None


def write_kerf(cutter: str, folder: Path, film: str, kerf: float, note: str) -> WrittenKerf:
    """Write the kerf of a film into a cutter's profile, where it no longer counts as assumed.

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
    source, target = own_profile(cutter, folder)
    before = read_cutter(source).kerf.get(film)

    def remark(old: str, words: str) -> str:
        is_theirs = words and not words.startswith(OUR_NOTE)
        return f"{OUR_NOTE}{note}" + (f"; before {old}: {words}" if is_theirs else "")

    text = edited(source, {("kerf", film): round(kerf, KERF_DECIMALS)}, remark)
    text = no_longer_assumed(text, f"kerf.{film}")
    target.parent.mkdir(parents=True, exist_ok=True)
    write_text_atomic(target, text)
    return WrittenKerf(path=target, is_copy=source != target, before=before)
