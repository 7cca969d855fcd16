"""What a declared table makes of a file and writes again is the same value, for every noun."""

from __future__ import annotations

import random
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from jobprep.files.job.job import read_job
from jobprep.files.job.prices import PricesTable
from jobprep.files.job.rules import CuttingTable, LeftoversTable, NestingTable
from jobprep.files.materials.cutter import CutterFile, read_cutter
from jobprep.files.materials.film import FilmFile, read_film
from jobprep.files.materials.library import shipped_materials
from jobprep.files.toml.table import Unit
from jobprep.files.toml.text import laid_out
from jobprep.model import Cutting, Leftovers, Prices
from jobprep.units import from_degrees, from_g_cm3, from_per_hour, from_per_m, to_degrees, to_g_cm3

SHIPPED = shipped_materials()
EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.mark.parametrize("path", sorted((SHIPPED / "films").glob("*.toml")), ids=lambda p: p.stem)
def test_films_come_back(path: Path):
    film = read_film(path)
    again = tomllib.loads(laid_out(FilmFile, FilmFile.fields_of(film)))
    curve = None if film.transmission is None else film.transmission.curve
    assert FilmFile.model_validate(again).value_of(path.stem, curve) == film


@pytest.mark.parametrize("path", sorted((SHIPPED / "cutters").glob("*.toml")), ids=lambda p: p.stem)
def test_cutters_come_back(path: Path):
    cutter = read_cutter(path)
    again = tomllib.loads(laid_out(CutterFile, CutterFile.fields_of(cutter)))
    assert CutterFile.model_validate(again).value_of(path.stem) == cutter


def test_prices_come_back():
    prices = Prices(
        currency="EUR",
        cutter_rate=0.005,
        sheet={"amber": 7.5},
        per_area={"clear": 1.35e-5},
        per_length={"black": from_per_m(4.2)},
        labour_rate=from_per_hour(24.0),
        assembly_time=90.0,
        gluing_time=30.0,
        setup_time=180.0,
        spoilage=0.05,
    )
    written = PricesTable.fields_of(prices)
    assert (written["cutter_per_hour"], written["labour_per_hour"]) == (18, 24)
    assert written["per_m2"] == {"clear": 13.5}
    assert written["per_m"] == {"black": 4.2}
    assert (written["setup_minutes"], written["spoilage_percent"]) == (3, 5)
    assert PricesTable.model_validate(written).value() == prices


@pytest.mark.parametrize(
    "cutting",
    [
        Cutting(),
        Cutting(tabs=3, tab_width=0.5, lead_in=1.0, heat_spread=0.0),
        Cutting(share_cuts=True, overcut=0.0),
    ],
)
def test_rules_of_cutting_come_back(cutting: Cutting):
    nesting = read_job(EXAMPLES / "02-storm-shutter" / "job.toml").nesting
    table = NestingTable.model_validate(NestingTable.fields_in(nesting, cutting))
    again = CuttingTable.model_validate(CuttingTable.fields_of(cutting)).value_in(table)
    assert again == cutting
    assert table.value().margin == nesting.margin


@pytest.mark.parametrize(
    ("inside", "outside", "most"), [(from_degrees, to_degrees, 360), (from_g_cm3, to_g_cm3, 25)]
)
def test_a_number_of_any_digits_is_written_so_that_it_is_read_again(
    inside: Callable[[float], float], outside: Callable[[float], float], most: float
) -> None:
    """Widths by share have all digits; for some the number next to the nearest is read so."""
    unit, chance = Unit(inside, outside), random.Random(1)
    values = [inside(chance.uniform(0.001, most)) for _ in range(3000)]
    assert [unit.inside(unit.written(value)) for value in values] == values


def test_what_is_as_by_default_is_not_written():
    assert LeftoversTable.fields_of(Leftovers(smallest_side=50.0, smallest_area=5000.0)) == {}
    assert CuttingTable.fields_of(Cutting()) == {}
    assert PricesTable.fields_of(Prices()) == {}
