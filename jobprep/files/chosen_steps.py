"""Put the speed and power that were chosen on a test into a user's own cutter profile."""

from __future__ import annotations

from pathlib import Path

from jobprep.errors import InputError
from jobprep.files.materials.cutter import read_cutter
from jobprep.files.materials.own_profile import no_longer_assumed, own_profile
from jobprep.files.toml.edit import Keys, edited
from jobprep.files.write import write_text_atomic

OUR_NOTE = "chosen by test"
"""The comment beside a chosen value; one of the user's own is kept behind it."""


def write_steps(cutter: str, folder: Path, film: str, speed: float, power: float) -> Path:
    """Write the speed (mm/s) and power that cut a film into a cutter's profile; return its path.

    They no longer count as assumed there.

    Raises
    ------
    InputError
        When there is no such cutter, it is a knife, or its file is not right.
    CannotDoError
        When the file cannot be edited.
    """
    source, target = own_profile(cutter, folder)
    if read_cutter(source).kind == "knife":
        raise InputError.of(source, "a knife has no power to choose")

    def remark(old: str, words: str) -> str:
        is_theirs = words and not words.startswith(OUR_NOTE)
        return OUR_NOTE + (f"; before {old}: {words}" if is_theirs else "")

    chosen: dict[Keys, float] = {
        ("cut_speed", film): _short(speed),
        ("cut_power", film): _short(power),
    }
    text = no_longer_assumed(edited(source, chosen, remark), f"cut_speed.{film}")
    target.parent.mkdir(parents=True, exist_ok=True)
    write_text_atomic(target, text)
    return target


def _short(value: float) -> float:
    return int(value) if value.is_integer() else value
