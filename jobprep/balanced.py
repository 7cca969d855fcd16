"""Balance a design file: read it, propose what would balance the disc, prove the new file."""

from __future__ import annotations

import itertools
import math
import tomllib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from jobprep.disc.correction import Correction
from jobprep.disc.facts import disc_facts
from jobprep.errors import CannotDoError, Source
from jobprep.files.design_text import design_text
from jobprep.files.materials import film_library
from jobprep.files.read_design import design_from, read_design
from jobprep.files.toml_lines import TomlFile
from jobprep.model import Design, Film

SAME_MOMENT = 1e-9
"""How far the unbalance read back may be off, as a share of mass times radius: rounding."""


def read_disc(path: Path, speed: float | None = None) -> tuple[Design, Mapping[str, Film]]:
    """Read a design and the films beside it; ``speed`` in r/min replaces that of the file.

    Sectors that the file gives in milliseconds keep the angles they have at its own speed.
    """
    films = film_library(path.parent)
    design = read_design(path, films)
    return (design if speed is None else replace(design, speed=speed)), films


def balanced_text(correction: Correction, path: Path, films: Mapping[str, Film]) -> str:
    """Return the file of a corrected design, read back and computed again before it is returned.

    Raises
    ------
    CannotDoError
        When the correction is not enough, or the new file does not bear it out.
    """
    if correction.design is None or correction.after is None or not correction.is_enough:
        raise CannotDoError(f"{path}: {correction.message}")
    text = f"# Balanced from {path.name}: {correction.action}.\n" + design_text(correction.design)
    file = TomlFile(path, tomllib.loads(text), Source(str(path)), "")
    again, problems = design_from(file, films)
    if again is None or problems:
        reasons = "; ".join(problem.message for problem in problems)
        raise CannotDoError(f"{path}: the corrected design is not valid: {reasons}")
    facts = disc_facts(again, films)
    moment = facts.mass.unbalance - correction.after.unbalance
    scale = facts.mass.mass * again.outer_diameter
    if abs(moment) > SAME_MOMENT * scale or not math.isclose(
        facts.mass.mass, correction.after.mass, rel_tol=SAME_MOMENT
    ):
        raise CannotDoError(f"{path}: the corrected design, read again, does not weigh the same")
    return text


def free_path(path: Path) -> Path:
    """Return a name beside a design file that nothing has yet: ``wheel-balanced.toml``, ..."""
    stem = f"{path.stem}-balanced"
    names = (stem if n == 1 else f"{stem}-{n}" for n in itertools.count(1))
    return next(found for name in names if not (found := path.with_name(f"{name}.toml")).exists())
