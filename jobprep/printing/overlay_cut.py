"""The cut of an overlay, laid on its print."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from jobprep.cutting.kerf import tool_paths
from jobprep.cutting.plan import Operation, PlacedPart
from jobprep.disc.beam_checks import CutPart, left_by_beam
from jobprep.disc.part import Part
from jobprep.drawing.drawing import Drawing, Stroke
from jobprep.errors import CannotDoError
from jobprep.geometry.measure import bounds
from jobprep.geometry.outline import Contour, Path, Point, Region
from jobprep.model.cutter import OperationName
from jobprep.model.design import Design
from jobprep.printing.overlays import CROSS_NAMES, cross_points, overlay_outline
from jobprep.printing.registration import PrintFit
from jobprep.printing.sheet_marks import CROSS, cross


def as_printed(design: Design, layer: int) -> PrintFit:
    """Return the place of an overlay whose print has not been measured: at the lower left."""
    reach = max(design.layers[layer - 1].outer_diameter / 2.0, cross_points(design, layer)[2].x)
    return PrintFit(Point(reach + 2.0 * CROSS, reach + 2.0 * CROSS), 0.0, 1.0, 1.0, 0.0)


def overlay_cut(
    design: Design,
    layer: int,
    fit: PrintFit,
    film: str,
    kerf: float,
    bed: tuple[float, float],
    colours: Mapping[OperationName, str],
) -> Drawing:
    """Return the drawing that cuts an overlay out of its printed film, on the cutter's bed.

    The crosses are marks, to see before cutting that they meet those of the print. The beam runs
    half a ``kerf`` of the printed ``film`` on the scrap side, mm; holes come before their outline.

    Raises
    ------
    CannotDoError
        When the overlay would lie beyond the bed, or the beam cannot make all of its outline.
    """
    left_by_beam(design.source, _kerf_cuts(design, layer, film, kerf))
    strokes = (*_marks(design, layer, fit), *_cuts(design, layer, fit, kerf))
    _check_bed((path for stroke in strokes for path in stroke.paths), bed)
    return Drawing(
        width=bed[0],
        height=bed[1],
        title=f"overlay of {design.name}, layer {layer}, {design.layers[layer - 1].name}",
        elements=strokes,
        colours={str(operation): colour for operation, colour in colours.items()},
    )


def _kerf_cuts(design: Design, layer: int, film: str, kerf: float) -> dict[str, CutPart]:
    """Return the pieces of an overlay as parts of its layer."""
    name = f"{design.name}, overlay"
    return {
        f"layer[{layer}].overlay[{number}]": CutPart(
            Part(number=number, name=name, film=film, quantity=1, region=region, layer=layer),
            kerf,
            design,
        )
        for number, region in enumerate(overlay_outline(design, layer), start=1)
    }


def _marks(design: Design, layer: int, fit: PrintFit) -> Iterator[Stroke]:
    for name, at in zip(CROSS_NAMES, cross_points(design, layer), strict=True):
        across, up, _ = cross(at)
        yield Stroke(
            id=f"cross-{name.lower()}",
            layer=str(Operation.MARK),
            title=f"registration cross {name}",
            paths=(fit.path(across), fit.path(up)),
            closed=False,
        )


def _cuts(design: Design, layer: int, fit: PrintFit, kerf: float) -> Iterator[Stroke]:
    regions = [_laid(region, fit) for region in overlay_outline(design, layer)]
    for number, region in enumerate(regions, start=1):
        name = f"{design.name}, overlay"
        part = PlacedPart(number=number, name=name, copy=1, region=region)
        paths = tool_paths(part, kerf)
        inner = [(Operation.CUT_INNER, f"inner-{n}", hole) for n, hole in enumerate(paths.holes, 1)]
        for operation, suffix, contour in (*inner, (Operation.CUT_OUTER, "outer", paths.outer)):
            yield Stroke(
                id=f"overlay-{number}-{suffix}",
                layer=str(operation),
                title=name,
                paths=(contour.segments,),
                closed=True,
            )


def _laid(region: Region, fit: PrintFit) -> Region:
    outer, *holes = (Contour(fit.path(contour.segments)) for contour in region.contours)
    return Region(outer, tuple(holes))


def _check_bed(paths: Iterable[Path], bed: tuple[float, float]) -> None:
    boxes = [bounds(path) for path in paths]
    low = min(min(box.x_min, box.y_min) for box in boxes)
    right, top = max(box.x_max for box in boxes), max(box.y_max for box in boxes)
    if low < 0.0 or right > bed[0] or top > bed[1]:
        raise CannotDoError(
            f"the overlay would lie beyond the bed, {bed[0]:g} × {bed[1]:g} mm: its crosses are "
            "measured from the bed's lower left corner, x to the right, y up"
        )
