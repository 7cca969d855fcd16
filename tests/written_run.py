"""A run as written, beside what its job asks for.

The pieces that count are those that the second virtual cut finds in the drawings: shapes of the
job, where they lie. The record must say the same of every one of them.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

from second.asked import Asked, Kind
from second.held import Found
from second_cut import SIMPLIFIED, TOLERANCE, second_cut
from shapely.affinity import rotate, translate
from shapely.geometry import Polygon
from virtual_cut import boundary_distance, nominal_polygon, require

from jobprep.runs.record import RunRecord
from jobprep.runs.recorded_run import recorded_run

Tables = dict[str, Any]
TEXTS = (".svg", ".json", ".html")


class Recorded:
    """The record of a run, and its parts where it says that they lie, sheet by sheet."""

    def __init__(self, folder: Path) -> None:
        run = recorded_run(folder)
        require(not run.cautions, f"a record as it was written has cautions: {run.cautions}")
        self.record: RunRecord = run.record
        self.parts = {part.number: part for part in self.record.parts}
        self.sheets = self.record.sheets
        self.outlines = [nominal_polygon(sheet.region) for sheet in self.sheets]
        shapes = {number: nominal_polygon(part.region) for number, part in self.parts.items()}
        self.placed: list[list[Polygon]] = [[] for _ in self.sheets]
        self.copies: list[list[tuple[int, int]]] = [[] for _ in self.sheets]
        for each in self.record.placements:
            turned = rotate(shapes[each.part], each.angle, origin=(0.0, 0.0), use_radians=True)
            self.placed[each.sheet].append(translate(turned, each.x, each.y))
            self.copies[each.sheet].append((each.part, each.copy))

    def of_film(self, film: str) -> list[int]:
        """Return the indices of the sheets of a film."""
        return [i for i, sheet in enumerate(self.record.sheets) if sheet.film == film]


class Run(Recorded):
    """A run with its summary and the pieces found in its drawings.

    ``placed`` are the shapes of the job where they were found, ``slack`` how far an outline may
    lie from them, mm, sheet by sheet; ``kinds`` says which kind each part and copy (from 0) is.
    The stock may be too short for ``all_parts``.
    """

    def __init__(self, folder: Path, asked: Asked, *, all_parts: bool = True) -> None:
        super().__init__(folder)
        self.folder, self.asked = folder, asked
        texts = {path.name for path in folder.iterdir() if path.suffix in TEXTS}
        files = {name: self.text(name) for name in sorted(texts)}
        self.summary: Tables = json.loads(files["summary.json"])
        cut = second_cut(asked, files, all_parts=all_parts)
        recorded = [sheet.film for sheet in self.record.sheets]
        require([sheet.film for sheet in cut] == recorded, "the record has other sheets")
        self.kinds: dict[tuple[int, int], Kind] = {}
        for index, sheet in enumerate(cut):
            off = boundary_distance(sheet.outline, self.outlines[index])
            require(off < TOLERANCE, f"sheet {index} of the record is another")
            kerf = asked.kerf[sheet.film]
            require(self.record.job.kerf[sheet.film] == kerf, f"another kerf of {sheet.film}")
            self._match(index, sheet.found, TOLERANCE + SIMPLIFIED * kerf)
        self.outlines = [sheet.outline for sheet in cut]
        self.placed = [[each.shape for each in sheet.found] for sheet in cut]
        self.slack = [max(each.kind.slack for each in sheet.found) for sheet in cut]

    def _match(self, index: int, found: Iterable[Found], slack: float) -> None:
        """Note which kind each recorded placement of a sheet is; there must be as many of both."""
        left = list(found)
        for copy, shape in zip(self.copies[index], self.placed[index], strict=True):
            near = [(boundary_distance(shape, each.shape), n) for n, each in enumerate(left)]
            off, nearest = min(near, default=(float("inf"), 0))
            require(bool(left), f"part {copy[0]} of the record is not drawn")
            limit = slack + left[nearest].kind.slack
            require(off < limit, f"part {copy[0]} is drawn {off:.4f} mm off its place")
            self.kinds[copy] = left.pop(nearest).kind
        require(not left, f"{len(left)} parts are drawn, but not in the record")

    def text(self, name: str) -> str:
        return (self.folder / name).read_text(encoding="utf-8")

    def asks_for(self, asked: Asked, copies: Iterable[tuple[int, int]]) -> Asked:
        """Return a job that asks for some of this run's parts and copies (from 0) alone."""
        counts = Counter(self.kinds[copy] for copy in copies)
        kinds = tuple(replace(kind, count=count) for kind, count in counts.items())
        return replace(asked, kinds=kinds)
