"""What a job says of money and leftovers, and what a film says of its sheets, with messages."""

from pathlib import Path

import pytest
from files.sample_job import JOB, write_sample
from own_films import shipped_text

from jobprep.errors import InputError
from jobprep.files.job.job import read_job
from jobprep.files.materials.film import read_film
from jobprep.model import Leftovers, Prices, SheetSize

AMBER = shipped_text("amber")
SHEET = AMBER.splitlines()[-1].partition("#")[0].rstrip()


def test_prices_and_leftovers_are_read_in_the_units_of_the_code(tmp_path: Path) -> None:
    prices = """
[prices]
currency = "EUR"
cutter_per_hour = 18
sheet = { amber = 7.5 }
per_m2 = { clear = 20 }
per_m = { card = 3 }
labour_per_hour = 24
assembly_minutes = 6
gluing_minutes = 4.5
setup_minutes = 3
spoilage_percent = 5

[leftovers]
smallest_side = 40
disc_diameter = 120
shape = "trim"
cut_trim = true
"""
    write_sample(tmp_path, job=JOB.replace("\n[prices]\nsheet = { amber = 7.5 }\n", prices))
    job = read_job(tmp_path / "job.toml")
    assert job.prices == Prices(
        currency="EUR",
        cutter_rate=18 / 3600,
        sheet={"amber": 7.5},
        per_area={"clear": 20e-6},
        per_length={"card": 3e-3},
        labour_rate=24 / 3600,
        assembly_time=360.0,
        gluing_time=270.0,
        setup_time=180.0,
        spoilage=0.05,
    )
    assert job.leftovers == Leftovers(
        smallest_side=40.0, smallest_area=5000.0, disc_diameter=120, shape="trim", cut_trim=True
    )


@pytest.mark.parametrize(
    ("right", "wrong", "expected"),
    [
        (
            "sheet = { amber = 7.5 }",
            "per_m2 = { ambre = 7.5 }",
            'job.toml:45: prices.per_m2.ambre: "ambre" is not a known film. Did you mean amber?',
        ),
        (
            "sheet = { amber = 7.5 }",
            "assembly_minutes = -1",
            "job.toml:45: prices.assembly_minutes: -1 is not a time in minutes, from 0 to 10000",
        ),
        (
            "sheet = { amber = 7.5 }",
            "spoilage_percent = 101",
            "job.toml:45: prices.spoilage_percent: 101 is not a share in per cent, from 0 to 100",
        ),
        (
            "[prices]\nsheet = { amber = 7.5 }",
            '[leftovers]\nshape = "square"',
            'job.toml:45: leftovers.shape: "square" is not "straight", "outline" or "trim"',
        ),
        (
            "[prices]\nsheet = { amber = 7.5 }",
            '[leftovers]\nshape = "outline"\ncut_trim = true',
            "job.toml:46: leftovers.cut_trim: there is no straight cut to make; "
            'give shape = "straight"',
        ),
    ],
)
def test_a_mistake_in_prices_gives_its_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, right: str, wrong: str, expected: str
) -> None:
    monkeypatch.chdir(tmp_path)
    assert right in JOB
    write_sample(Path(), job=JOB.replace(right, wrong))
    with pytest.raises(InputError) as error:
        read_job(Path("job.toml"))
    assert [str(problem) for problem in error.value.problems] == [expected]


def film_with(folder: Path, sheet: str) -> Path:
    path = folder / "dusk.toml"
    path.write_text(AMBER.replace(SHEET, sheet), encoding="utf-8")
    return path


def test_a_film_may_come_in_sheets_and_rolls_with_prices_of_each_kind(tmp_path: Path) -> None:
    path = film_with(
        tmp_path,
        "size = [508, 610]\nprice = 7.5\n[[sheet]]\nsize = [254, 305]\nper_m2 = 30\n"
        "[[sheet]]\nsize = [7620, 1220]\nroll = true\nper_m = 12",
    )
    assert read_film(path).sheets == (
        SheetSize(width=508.0, height=610.0, price=7.5),
        SheetSize(width=254.0, height=305.0, per_area=30e-6),
        SheetSize(width=7620.0, height=1220.0, per_length=12e-3, is_roll=True),
    )


@pytest.mark.parametrize(
    ("sheet", "expected"),
    [
        (
            "size = [508, 610]\nprice = 7\nper_m2 = 30",
            "dusk.toml:17: sheet[1]: give one price, not price, per_m2",
        ),
        (
            "size = [508, 610]\nper_m = 12",
            "dusk.toml:19: sheet[1].per_m: a price per metre is for a roll; "
            "add roll = true, or give price or per_m2",
        ),
    ],
)
def test_a_mistake_in_the_price_of_a_sheet_gives_its_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, sheet: str, expected: str
) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(InputError) as error:
        read_film(film_with(Path(), sheet))
    assert [str(problem) for problem in error.value.problems] == [expected]
