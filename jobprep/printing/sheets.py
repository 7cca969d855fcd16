"""Every print sheet of a job, by the name of its file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from jobprep.disc.part import Part
from jobprep.drawing.drawing import Drawing
from jobprep.model.job import Job
from jobprep.planning.plan import OpenedSheet
from jobprep.printing.arc_text import text_cautions
from jobprep.printing.artwork import Figures, artwork_cautions
from jobprep.printing.assembly_template import assembly_templates
from jobprep.printing.labels import labels
from jobprep.printing.lay_out import lay_out
from jobprep.printing.letters import letter_cautions
from jobprep.printing.overlays import opaque_zones, overlays
from jobprep.printing.page import AS_DRAWN, Printing, printed
from jobprep.printing.paper import Paper
from jobprep.printing.patterns import patterns
from jobprep.printing.sheet_outlines import sheet_outlines
from jobprep.units import number

FILES = {
    "assembly.pdf": "Assembly templates",
    "patterns.pdf": "Paper patterns to cut out, one trial disc",
    "labels.pdf": "Labels, to cut out",
    "overlays.pdf": "Overlays, to print on clear film",
    "sheet-outlines.pdf": "Outlines of the sheets, to lay the film on",
}
"""Every file there may be, and what heads its pages."""


def print_sheets(
    job: Job,
    parts: Sequence[Part],
    figures: Figures,
    paper: Paper,
    printing: Printing = AS_DRAWN,
    date: str = "",
    sheets: Sequence[OpenedSheet] = (),
) -> dict[str, tuple[Drawing, ...]]:
    """Return the pages of each file: assembly templates, patterns, labels, overlays, outlines.

    ``sheets`` are those of a run, whose outlines are drawn where the job asks for them.

    A file without pages is left out. ``figures`` holds the artwork of the job's discs. ``printing``
    is done to every page, and printed on it. ``date`` stands on labels and overlays.
    """
    notes = _notes(printing)
    templates = [
        piece
        for index, order in enumerate(job.discs)
        for piece in assembly_templates(
            order.design, job.films, [part for part in parts if part.disc == index]
        )
    ]
    pieces = (
        templates,
        patterns(job.discs, parts, job.films),
        labels(job.discs, job.title, date),
        overlays(job.discs, job.films, figures, date),
        sheet_outlines(sheets, job.films) if job.cutting.sheet_outline else (),
    )
    return {
        name: tuple(
            printed(page, printing)
            for page in lay_out(each, paper, title, notes, each_alone=each is templates)
        )
        for (name, title), each in zip(FILES.items(), pieces, strict=True)
        if each
    }


def print_cautions(job: Job, parts: Sequence[Part], figures: Figures) -> Iterator[str]:
    """Yield what the maker should know of the print sheets."""
    yield from letter_cautions(_names(job, parts))
    yield from artwork_cautions(job.discs, figures)
    for order in job.discs:
        for layer in range(1, len(order.design.layers) + 1):
            black = opaque_zones(order.design, layer, job.films)
            yield from text_cautions(order.design, layer, black)


def _names(job: Job, parts: Sequence[Part]) -> Iterator[str]:
    yield job.title
    for order in job.discs:
        yield order.design.name
        for layer in order.design.layers:
            yield layer.name
            yield from (sector.name for sector in layer.sectors)
        yield from (hole.name for hole in order.design.holes)
    yield from (part.name for part in parts if part.disc is None)
    yield from (job.films[name].title for name in dict.fromkeys(part.film for part in parts))


def _notes(printing: Printing) -> tuple[str, ...]:
    """Return what a page must say of how it is printed."""
    said = []
    if (printing.scale_x, printing.scale_y) != (1.0, 1.0):
        x, y = number(printing.scale_x, 5), number(printing.scale_y, 5)
        said.append(f"corrected for one printer, × {x} across, × {y} up (100/L times that)")
    if printing.is_mirrored:
        said.append("mirrored: it reads right through the film")
    return (f"This page is {' and '.join(said)}.",) if said else ()
