"""How much film each layer of a disc takes."""

from __future__ import annotations

from jobprep.disc.facts import DiscFacts
from jobprep.facts.told import Grid, Told
from jobprep.units import to_cm2

COLUMNS = ("Layer, film", "Pieces", "Area cm²", "Mass g")


def told(disc: DiscFacts) -> Told:
    """Return pieces, area and mass, layer by layer and film by film, then glue and hub."""
    rows = [
        (
            f"{layer.layer or ''} {layer.name}, {amount.film}".strip(),
            str(amount.pieces),
            f"{to_cm2(amount.area):.2f}",
            _mass(amount.mass),
        )
        for layer in disc.layers
        for amount in layer.films
    ]
    glue = disc.glue
    if glue.body is not None and glue.area:
        rows.append(("glue lines", "", f"{to_cm2(glue.area):.2f}", f"{glue.body.mass:.3f}"))
    parts = () if disc.hub is None else disc.hub.parts
    rows += [(f"hub, {part.name}", "1", "", f"{part.body.mass:.3f}") for part in parts]
    amounts = [amount for layer in disc.layers for amount in layer.films]
    total = (
        "Whole disc",
        str(sum(amount.pieces for amount in amounts) + len(parts)),
        f"{to_cm2(sum(amount.area for amount in amounts)):.2f}",
        _mass(None if disc.mass is None else disc.mass.mass),
    )
    data = [
        {
            "layer": layer.layer,
            "name": layer.name,
            "area_mm2": layer.area,
            "mass_g": layer.mass,
            "films": [
                {
                    "film": amount.film,
                    "pieces": amount.pieces,
                    "area_mm2": amount.area,
                    "mass_g": amount.mass,
                }
                for amount in layer.films
            ],
        }
        for layer in disc.layers
    ]
    return Told(grid=Grid(COLUMNS, tuple(rows), total), data={"layers": data})


def _mass(mass: float | None) -> str:
    return "?" if mass is None else f"{mass:.3f}"
