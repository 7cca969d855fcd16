"""What must fit together in a design file."""

from __future__ import annotations

import math
from collections.abc import Iterator

from jobprep.errors import Finding
from jobprep.files.check_bore import bore_findings, bore_reach
from jobprep.files.check_hub import hub_findings
from jobprep.files.check_printed import printed_findings
from jobprep.files.design_schema import (
    BeamTable,
    BoreTable,
    DesignFile,
    DotTable,
    HoleTable,
    HubSlotTable,
    IndexTable,
    LayerTable,
    OpeningTable,
)
from jobprep.files.findings import not_below, repeated
from jobprep.files.problems import did_you_mean, listed, shown
from jobprep.files.sector_angles import sector_degrees
from jobprep.files.tables import Tables
from jobprep.model import NO_FILM
from jobprep.units import number

MOST_PIECES = 500
"""Sectors of all layers of a disc."""

MOST_CUTS = 12_000
"""Pieces of all layers, each as often as something may be cut out of it."""


def check_design(tables: Tables[DesignFile]) -> list[Finding]:
    """Return everything in a design that contradicts itself."""
    outer = tables.number("outer_diameter")
    speed = tables.number("speed_rpm")
    bore = tables.table("bore", BoreTable)
    reach = 0.0
    findings: list[Finding] = []
    if bore is not None:
        faults = list(bore_findings(bore, outer))
        findings += faults
        reach = 0.0 if faults else bore_reach(bore)
    layers = list(tables.rows("layer", LayerTable))
    for path, layer in layers:
        findings += _layer(path, layer, outer)
        findings += _sectors(path, layer, speed)
    findings += _size(tables, [layer for _, layer in layers])
    if outer is not None:
        findings += _places(tables, outer, reach)
    findings += hub_findings(tables, reach)
    findings += printed_findings(tables, outer)
    findings += _names(tables)
    if "balance_grade" in tables.file.values and "speed_rpm" not in tables.file.values:
        findings.append(Finding.error("balance_grade", "a balance grade needs speed_rpm"))
    return [tables.file.source.located(finding) for finding in findings]


def _size(tables: Tables[DesignFile], layers: list[LayerTable]) -> Iterator[Finding]:
    """Yield what makes a design larger than can be looked at in a few seconds."""
    pieces = sum(len(layer.sector) or 1 for layer in layers)
    if pieces > MOST_PIECES:
        yield Finding.error("layer", f"{pieces} sectors in all; at most {MOST_PIECES} are read")
    holes = sum(1 for _ in tables.rows("hole", HoleTable))
    holes += sum(slot.count for _, slot in tables.rows("hub_slot", HubSlotTable))
    cuts = sum(
        (len(layer.sector) or 1) * (holes + sum(opening.count for opening in layer.opening))
        for layer in layers
    )
    if cuts > MOST_CUTS:
        message = (
            f"sectors times holes, slots and openings come to {cuts}, layer by layer; at most"
            f" {MOST_CUTS} are read"
        )
        yield Finding.error("layer", message)


def _layer(path: str, layer: LayerTable, disc_outer: float | None) -> Iterator[Finding]:
    outer = layer.outer_diameter or disc_outer
    if outer is not None and disc_outer is not None and outer > disc_outer:
        limit = f"the disc's outer diameter, {number(disc_outer)} mm"
        yield Finding.error(f"{path}.outer_diameter", f"{number(outer)} mm is more than {limit}")
    inner = layer.inner_diameter
    yield from not_below(f"{path}.inner_diameter", inner, outer, "the outer diameter")
    if layer.film is not None and layer.sector:
        yield Finding.error(f"{path}.film", "a layer has either film or sector, not both")
    elif layer.film is None and not layer.sector:
        yield Finding.error(path, "a layer needs film (a full ring) or sector (a list of sectors)")
    if not layer.sector:
        for key in sorted({"joint_gap", "start_angle"} & layer.model_fields_set):
            yield Finding.error(f"{path}.{key}", "only a layer with sectors has this")
    for count, opening in enumerate(layer.opening, 1):
        yield from _opening(f"{path}.opening[{count}]", opening, layer, outer)


def _opening(
    path: str, opening: OpeningTable, layer: LayerTable, outer: float | None
) -> Iterator[Finding]:
    if opening.count * opening.degrees >= 360.0:
        message = (
            f"{opening.count} of {number(opening.degrees)} degrees leave no film between them;"
            " together they must stay below 360"
        )
        yield Finding.error(f"{path}.degrees", message)
    name = "the layer's (without it the opening runs to the rim)"
    yield from not_below(f"{path}.outer_diameter", opening.outer_diameter, outer, name)
    limit = opening.outer_diameter or outer
    inner = opening.inner_diameter
    yield from not_below(f"{path}.inner_diameter", inner, limit, "the outer diameter")
    if layer.inner_diameter is not None and inner <= layer.inner_diameter:
        message = f"{number(inner)} mm is not above the layer's, {number(layer.inner_diameter)} mm"
        yield Finding.error(f"{path}.inner_diameter", message)


def _sectors(path: str, layer: LayerTable, speed: float | None) -> Iterator[Finding]:
    if not layer.sector:
        return
    faults: list[Finding] = []
    for count, sector in enumerate(layer.sector, 1):
        at = f"{path}.sector[{count}]"
        given = [key for key in ("degrees", "share", "ms") if getattr(sector, key) is not None]
        if len(given) != 1:
            what = f"has {listed(given)}" if given else "has no width"
            faults.append(Finding.error(at, f"{what}; give one of degrees, share or ms"))
        elif sector.ms is not None and speed is None:
            faults.append(Finding.error(f"{at}.ms", "needs speed_rpm in this design"))
    if len(layer.sector) == 1:
        faults.append(
            Finding.error(f"{path}.sector", "one alone is a full ring; give film instead")
        )
    elif all(sector.film == NO_FILM for sector in layer.sector):
        message = 'every film is "none", so nothing is left of this layer'
        faults.append(Finding.error(f"{path}.sector", message))
    if not faults:
        try:
            sector_degrees(layer.sector, speed)
        except ValueError as error:
            faults.append(Finding.error(f"{path}.sector", str(error)))
    yield from faults


def _places(tables: Tables[DesignFile], outer: float, reach: float) -> Iterator[Finding]:
    """Yield holes, slots, dots and zones that reach beyond the rim or into the bore."""
    for path, hole in tables.rows("hole", HoleTable):
        yield from _band(f"{path}.radius", hole.radius, hole.diameter, outer, reach)
    for path, slot in tables.rows("hub_slot", HubSlotTable):
        middle = slot.circle_diameter / 2.0
        yield from _band(f"{path}.circle_diameter", middle, slot.width, outer, reach)
        around = math.pi * slot.circle_diameter
        if slot.count * slot.length >= around:
            message = (
                f"{slot.count} slots of {number(slot.length)} mm do not fit on the circle, which is"
                f" {number(around)} mm round"
            )
            yield Finding.error(f"{path}.length", message)
    for path, dot in tables.rows("dot", DotTable):
        yield from _band(f"{path}.radius", dot.radius, dot.diameter, outer, None)
    beam = tables.table("beam", BeamTable)
    if beam is not None:
        yield from not_below("beam.radius", beam.radius, outer / 2.0, "the disc's radius")
    hub = tables.number("hub_diameter")
    yield from not_below("hub_diameter", hub, outer, "the outer diameter")


def _band(
    path: str, middle: float, width: float, outer: float, reach: float | None
) -> Iterator[Finding]:
    """Yield a finding when a band ``width`` mm wide leaves the disc or meets its bore."""
    outside, inside = middle + width / 2.0, middle - width / 2.0
    if outside >= outer / 2.0:
        rim = f"the rim, {number(outer / 2.0)} mm"
        yield Finding.error(path, f"reaches {number(outside)} mm from the centre, not below {rim}")
    elif reach is not None and inside <= reach:
        bore = f"the bore, {number(reach)} mm"
        yield Finding.error(path, f"begins {number(inside)} mm from the centre, not beyond {bore}")


def _names(tables: Tables[DesignFile]) -> Iterator[Finding]:
    """Yield names that are used but not there, or there twice."""
    # Taken from the raw values, so that a mistake inside a layer does not make its name unknown.
    layers, holes = _raw_names(tables, "layer"), _raw_names(tables, "hole")
    layer_lists = [
        *((path, row.layers or []) for path, row in tables.rows("hole", HoleTable)),
        *((path, row.layers or []) for path, row in tables.rows("hub_slot", HubSlotTable)),
    ]
    for path, names in layer_lists:
        for count, name in enumerate(names, 1):
            yield from _unknown(f"{path}.layers[{count}]", "layer", name, layers)
    for path, dot in tables.rows("dot", DotTable):
        if dot.layer is not None:
            yield from _unknown(f"{path}.layer", "layer", dot.layer, layers)
    index = tables.table("index", IndexTable)
    if index is not None:
        yield from _unknown("index.hole", "hole", index.hole, holes)
    for key, schema in (("layer", LayerTable), ("hole", HoleTable), ("dot", DotTable)):
        yield from repeated(
            ((path, getattr(row, "name", None)) for path, row in tables.rows(key, schema)), "name"
        )


def _raw_names(tables: Tables[DesignFile], key: str) -> list[str]:
    rows = tables.file.values.get(key)
    tables_there = [
        row for row in (rows if isinstance(rows, list) else ()) if isinstance(row, dict)
    ]
    return [row["name"] for row in tables_there if isinstance(row.get("name"), str)]


def _unknown(path: str, kind: str, name: str, known: list[str]) -> Iterator[Finding]:
    if name in known:
        return
    there = f" There are: {listed(known)}" if known else f" It has no {kind}"
    suggestion = did_you_mean(name, known) or there
    yield Finding.error(path, f"{shown(name)} is not a {kind} of this design.{suggestion}")
