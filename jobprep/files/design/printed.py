"""Artwork and words printed on the overlay of a layer of a design file."""

from __future__ import annotations

import re
from collections.abc import Iterator

from jobprep.errors import Finding
from jobprep.files.toml.field_types import DialAngle, Length, LetterHeight, RelativePath, Text
from jobprep.files.toml.problems import did_you_mean, listed, shown
from jobprep.files.toml.table import Table, key
from jobprep.model import ArcText, Artwork
from jobprep.model.design import TEXT_FIELDS


class ArtworkTable(Table[Artwork]):
    """An SVG or PNG on the layer's printed overlay: its middle on the centre, seen in a ring."""

    file: RelativePath
    width: Length | None = None
    inner_diameter: Length | None = None
    outer_diameter: Length | None = None
    direction: DialAngle = key("angle", default=0.0)

    def faults(self) -> Iterator[Finding]:
        """Yield a kind of file that cannot be read."""
        if not self.file.lower().endswith((".svg", ".png")):
            message = f"{shown(self.file)} is not artwork that can be read; give an .svg or .png"
            yield Finding.error("file", message)


class ArcTextTable(Table[ArcText]):
    """Words along a circle of the overlay; {disc}, {copy}, {copies} and {date} are filled in."""

    words: Text
    diameter: Length
    height: LetterHeight = 2.5
    direction: DialAngle = key("angle", default=0.0)

    def faults(self) -> Iterator[Finding]:
        """Yield words in braces that stand for nothing."""
        for name in re.findall(r"\{(.*?)\}", self.words):
            if name not in TEXT_FIELDS:
                known = did_you_mean(name, TEXT_FIELDS) or f" There are: {listed(TEXT_FIELDS)}"
                yield Finding.error("words", f"{shown(name)} in braces is not known.{known}")
