"""Which tables of a design file contradict each other: names, needs, sizes too large to read."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from jobprep.errors import Finding
from jobprep.files.design.sector import sector_faults
from jobprep.files.findings import repeated
from jobprep.files.toml.problems import did_you_mean, listed, shown

if TYPE_CHECKING:
    from jobprep.files.design.design import DesignFile

PATH_HINT = "give a file's path relative to this one"

MOST_PIECES = 600
"""Most sectors of all layers of a disc."""

MOST_CUTS = 12_000
"""Most cuts: the pieces of all layers, each counted once for everything cut out of it."""


def design_faults(
    design: DesignFile, values: Mapping[str, object], folder: Path
) -> Iterator[Finding]:
    """Yield which tables of a design contradict each other.

    ``values`` are those of the file: they also hold the names of tables that are wrong otherwise.
    ``folder`` is that of the file.
    """
    for number, layer in enumerate(design.layers, 1):
        found = sector_faults(layer.sectors, design.speed)
        yield from (each.inside(f"layer[{number}]") for each in found)
        for count, artwork in enumerate(layer.artworks, 1):
            if not any(artwork.faults()) and not (folder / artwork.file).is_file():
                message = f"{shown(artwork.file)} is not there; {PATH_HINT}"
                yield Finding.error(f"layer[{number}].artwork[{count}].file", message)
    yield from _needs(design, values)
    yield from _sizes(design)
    yield from _names(design, values)


def _needs(design: DesignFile, values: Mapping[str, object]) -> Iterator[Finding]:
    if design.hub is not None and "bore" not in values:
        yield Finding.error("hub", "its flanges go round the bore; give bore")
    if design.hub is not None and "hub_diameter" not in values:
        message = "its flanges are as wide as the zone they cover; give hub_diameter"
        yield Finding.error("hub", message)
    if design.balance_grade is not None and design.speed is None and "speed_rpm" not in values:
        yield Finding.error("balance_grade", "a balance grade needs speed_rpm")
    yield from _machine(design, values)


def _machine(design: DesignFile, values: Mapping[str, object]) -> Iterator[Finding]:
    """Yield what is said twice: by the design and by its machine."""
    if "machine" in values and "machine_file" in values:
        yield Finding.error("machine_file", "a design has either [machine] or machine_file")
    own = None if design.machine is None else design.machine.angular_speed
    if own is not None and design.angular_speed not in (None, own):
        message = f"{design.angular_speed:g} r/min here, {own:g} r/min in the machine; give it once"
        yield Finding.error("speed_rpm", message)


def _sizes(design: DesignFile) -> Iterator[Finding]:
    """Yield what makes a design too large to check in a few seconds."""
    pieces = sum(len(layer.sectors) or 1 for layer in design.layers)
    if pieces > MOST_PIECES:
        yield Finding.error("layer", f"{pieces} sectors in all; at most {MOST_PIECES} are read")
    holes = len(design.holes) + sum(slots.count for slots in design.hub_slots)
    cuts = sum(
        (len(layer.sectors) or 1) * (holes + sum(opening.count for opening in layer.openings))
        for layer in design.layers
    )
    if cuts > MOST_CUTS:
        message = (
            f"sectors times holes, slots and openings come to {cuts}, layer by layer; at most"
            f" {MOST_CUTS} are read"
        )
        yield Finding.error("layer", message)


def _names(design: DesignFile, values: Mapping[str, object]) -> Iterator[Finding]:
    """Yield names that are used but not defined, or defined twice."""
    layers = _raw_names(values, "layer")
    lists = {
        **{f"hole[{number}]": row.layers for number, row in enumerate(design.holes, 1)},
        **{f"hub_slot[{number}]": row.layers for number, row in enumerate(design.hub_slots, 1)},
    }
    for path, names in lists.items():
        for count, name in enumerate(names or (), 1):
            yield from _unknown(f"{path}.layers[{count}]", "layer", name, layers)
    for number, dot in enumerate(design.dots, 1):
        if dot.layer is not None:
            yield from _unknown(f"dot[{number}].layer", "layer", dot.layer, layers)
    if "index" in design.model_fields_set:
        yield from _unknown("index.hole", "hole", design.index.hole, _raw_names(values, "hole"))
    yield from _repeated("layer", (row.name for row in design.layers))
    yield from _repeated("hole", (row.name for row in design.holes))
    yield from _repeated("dot", (row.name for row in design.dots))


def _repeated(key: str, names: Iterable[str]) -> Iterator[Finding]:
    return repeated(((f"{key}[{count}]", name) for count, name in enumerate(names, 1)), "name")


def _raw_names(values: Mapping[str, object], key: str) -> list[str]:
    rows = values.get(key)
    tables = [row for row in (rows if isinstance(rows, list) else ()) if isinstance(row, dict)]
    return [row["name"] for row in tables if isinstance(row.get("name"), str)]


def _unknown(path: str, kind: str, name: str, known: list[str]) -> Iterator[Finding]:
    if name in known:
        return
    there = f" There are: {listed(known)}" if known else f" It has no {kind}"
    suggestion = did_you_mean(name, known) or there
    yield Finding.error(path, f"{shown(name)} is not a {kind} of this design.{suggestion}")
