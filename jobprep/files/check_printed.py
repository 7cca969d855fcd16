"""What must fit together in the artwork and words printed on a layer's overlay."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from jobprep.errors import Finding
from jobprep.files.design_schema import ArcTextTable, ArtworkTable, DesignFile, LayerTable
from jobprep.files.findings import not_below
from jobprep.files.problems import did_you_mean, listed, shown
from jobprep.files.tables import Tables
from jobprep.model.design import TEXT_FIELDS
from jobprep.units import number

FORMATS = (".svg", ".png")


def printed_findings(tables: Tables[DesignFile], disc_outer: float | None) -> Iterator[Finding]:
    """Yield what of the artwork and words cannot be printed; ``disc_outer`` is the disc's, mm."""
    for path, layer in tables.rows("layer", LayerTable):
        outer = layer.outer_diameter or disc_outer
        for count, artwork in enumerate(layer.artwork, 1):
            folder = tables.file.path.parent
            yield from _artwork(f"{path}.artwork[{count}]", artwork, outer, folder)
        for count, text in enumerate(layer.text, 1):
            yield from _text(f"{path}.text[{count}]", text, layer, outer)


def _artwork(
    path: str, artwork: ArtworkTable, outer: float | None, folder: Path
) -> Iterator[Finding]:
    if Path(artwork.file).suffix.lower() not in FORMATS:
        message = f"{shown(artwork.file)} is not artwork that can be read; give an .svg or .png"
        yield Finding.error(f"{path}.file", message)
    elif not (folder / artwork.file).is_file():
        message = f"{shown(artwork.file)} is not there; give a file's path relative to this one"
        yield Finding.error(f"{path}.file", message)
    if artwork.outer_diameter is not None and outer is not None and artwork.outer_diameter > outer:
        message = f"{number(artwork.outer_diameter)} mm is more than the layer's, {number(outer)}"
        yield Finding.error(f"{path}.outer_diameter", f"{message} mm")
    ring = artwork.outer_diameter or outer
    yield from not_below(
        f"{path}.inner_diameter", artwork.inner_diameter, ring, "the outer diameter"
    )


def _text(
    path: str, text: ArcTextTable, layer: LayerTable, outer: float | None
) -> Iterator[Finding]:
    for name in re.findall(r"\{(.*?)\}", text.words):
        if name not in TEXT_FIELDS:
            known = did_you_mean(name, TEXT_FIELDS) or f" There are: {listed(TEXT_FIELDS)}"
            message = f"{shown(name)} in braces is not known.{known}"
            yield Finding.error(f"{path}.words", message)
    top = text.diameter + 2.0 * text.height
    if outer is not None and top > outer:
        message = f"its letters reach to {number(top)} mm, beyond the layer's {number(outer)} mm"
        yield Finding.error(f"{path}.diameter", message)
    if layer.inner_diameter is not None and text.diameter < layer.inner_diameter:
        inner = number(layer.inner_diameter)
        message = f"{number(text.diameter)} mm is less than the layer's inner diameter, {inner} mm"
        yield Finding.error(f"{path}.diameter", message)
