"""From the checked tables of a job file to the frozen job."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path, PurePath

from jobprep.files.check_job import piece_outline
from jobprep.files.job_schema import (
    SHARED,
    CuttingTable,
    JobFile,
    PartTable,
    PricesTable,
    StockTable,
)
from jobprep.files.polygons import corners
from jobprep.files.toml_lines import TomlFile
from jobprep.model import (
    Cutter,
    Cutting,
    Design,
    DiscOrder,
    DrawnShape,
    Film,
    Job,
    Leftovers,
    LoosePart,
    Nesting,
    PolygonShape,
    Prices,
    RectangleShape,
    RingShape,
    SectorShape,
    Shape,
    StockPiece,
)
from jobprep.units import from_degrees, from_minutes, from_per_m, from_per_m2, from_percent

SECONDS = 5.0
"""Time to search for a nest when the job gives no budget, s."""


def job_values(
    table: JobFile,
    file: TomlFile,
    designs: Iterable[Design],
    cutter: Cutter,
    films: Mapping[str, Film],
) -> Job:
    """Return a job, still without digests and cautions; ``designs`` belong to its discs in turn."""
    nesting, leftovers = table.nesting, table.leftovers
    orders = zip(designs, table.disc, strict=True)
    return Job(
        title=table.title,
        cutter=cutter,
        films=films,
        discs=tuple(
            DiscOrder(
                design=design,
                copies=disc.copies,
                folder=PurePath(disc.design).parent.as_posix(),
            )
            for design, disc in orders
        ),
        parts=tuple(_loose_part(part, file.path.parent) for part in table.part),
        stock=tuple(map(_stock_piece, table.stock)),
        kerf={film: float(width) for film, width in table.kerf.items()},
        nesting=Nesting(
            web=0.0 if nesting.web == SHARED else float(nesting.web),
            margin=float(nesting.margin),
            seconds=SECONDS if nesting.seconds is None else float(nesting.seconds),
            evaluations=nesting.evaluations,
            seed=nesting.seed,
        ),
        prices=_prices(table.prices),
        cutting=_cutting(table.cutting, share_cuts=nesting.web == SHARED),
        leftovers=Leftovers(
            smallest_side=float(leftovers.smallest_side),
            smallest_area=float(leftovers.smallest_area),
            disc_diameter=leftovers.disc_diameter,
            shape=leftovers.shape,
            cut_trim=leftovers.cut_trim,
        ),
        source=file.source,
    )


def _prices(prices: PricesTable) -> Prices:
    return Prices(
        currency=prices.currency,
        cutter_per_hour=prices.cutter_per_hour,
        sheet=dict(prices.sheet),
        per_area={film: from_per_m2(price) for film, price in prices.per_m2.items()},
        per_length={film: from_per_m(price) for film, price in prices.per_m.items()},
        labour_per_hour=prices.labour_per_hour,
        assembly_time=from_minutes(prices.assembly_minutes),
        gluing_time=from_minutes(prices.gluing_minutes),
        setup_time=from_minutes(prices.setup_minutes),
        spoilage=from_percent(prices.spoilage_percent),
    )


def _cutting(table: CuttingTable, *, share_cuts: bool) -> Cutting:
    tabs = table.tabs
    return Cutting(
        tabs=tabs.count if tabs else 0,
        tab_width=float(tabs.width) if tabs else Cutting().tab_width,
        lead_in=float(table.lead_in),
        lead_out=float(table.lead_out),
        overcut=table.overcut,
        heat_spread=float(table.heat_spread),
        share_cuts=share_cuts,
    )


def _loose_part(part: PartTable, folder: Path) -> LoosePart:
    return LoosePart(name=part.name, film=part.film, copies=part.copies, shape=_shape(part, folder))


def _shape(part: PartTable, folder: Path) -> Shape:
    if part.ring is not None:
        return RingShape(
            outer_diameter=float(part.ring.outer_diameter),
            inner_diameter=float(part.ring.inner_diameter),
        )
    if part.disc is not None:
        return RingShape(outer_diameter=float(part.disc.diameter))
    if part.sector is not None:
        return SectorShape(
            outer_diameter=float(part.sector.outer_diameter),
            inner_diameter=float(part.sector.inner_diameter),
            angle=from_degrees(part.sector.degrees),
        )
    if part.rectangle is not None:
        width, height = part.rectangle.size
        return RectangleShape(
            width=float(width),
            height=float(height),
            corner_radius=float(part.rectangle.corner_radius),
        )
    if part.polygon is not None:
        return PolygonShape(points=corners(part.polygon))
    return DrawnShape(path=folder / (part.drawing or ""))


def _stock_piece(piece: StockTable) -> StockPiece:
    return StockPiece(
        film=piece.film,
        outline=corners(piece_outline(piece)),
        count=piece.count,
        label=piece.label or "",
        defects=tuple(map(corners, piece.defects)),
        price=piece.price,
    )
