"""Curves of films and lamps: what is read, what is refused and in which words, what is written."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from files.sample_job import write_sample

from jobprep.errors import InputError
from jobprep.files.design.design import DesignFile, design_text, read_design
from jobprep.files.job.job import read_job
from jobprep.files.materials.film import read_film
from jobprep.files.materials.lamp import Illuminant, read_lamp
from jobprep.files.materials.library import lamp_library
from jobprep.files.toml.table import in_full
from jobprep.light.grid import data_columns
from jobprep.model import Machine
from jobprep.model.spectrum import Lamp, Spectrum, Transmission
from jobprep.runs.job_tables import DesignRow, FilmRow
from jobprep.toml_text import toml_text

FILM = """\
format = 1
title = "Pier amber"
base = "polyester"
thickness = 0.1
density_g_cm3 = 1.38
colour = "#F29A0C"
light = "passes"
transmission = "amber.csv"
transmission_source = "data sheet"
[[sheet]]
size = [508, 610]
"""
CURVE = "nm,transmission\n380,0.01\n500,0.02\n560,0.8\n780,0.9\n"


def written(folder: Path, *, film: str = FILM, curve: str = CURVE) -> Path:
    (folder / "amber.csv").write_text(curve, encoding="utf-8")
    path = folder / "pier-amber.toml"
    path.write_text(film, encoding="utf-8")
    return path


def refused(path: Path) -> str:
    with pytest.raises(InputError) as caught:
        read_film(path) if "pier-amber" in path.name else read_lamp(path)
    return str(caught.value).replace(f"{path.parent}/", "")


def test_a_film_with_a_curve(tmp_path: Path) -> None:
    film = read_film(written(tmp_path))
    curve = Spectrum((380.0, 500.0, 560.0, 780.0), (0.01, 0.02, 0.8, 0.9))
    assert film.transmission == Transmission(curve=curve, kind="total", source="data sheet")
    assert film.refractive_index is None


@pytest.mark.parametrize(
    "curve",
    [
        "380;0,01\n500;0,02\n560;0,8\n780;0,9\n",
        "# read off the printed curve\n380, 0.01\n\n500, 0.02\n560, 0.8\n780, 0.9",
        "\ufeff" + CURVE,
    ],
    ids=["decimal comma", "comments and no names", "byte order mark"],
)
def test_other_ways_to_write_the_same_curve(tmp_path: Path, curve: str) -> None:
    plain = read_film(written(tmp_path))
    assert read_film(written(tmp_path, curve=curve)) == plain


LINE = "the part of the light that passes, from 0 to 1"


@pytest.mark.parametrize(
    ("curve", "message"),
    [
        (
            CURVE.replace("0.8", "80"),
            f'amber.csv:4: "80" is not {LINE}; is that per cent? 80 % is 0.8',
        ),
        (CURVE.replace("0.8", "-0.1"), f'amber.csv:4: "-0.1" is not {LINE}'),
        (CURVE.replace("0.8", "nan"), f'amber.csv:4: "nan" is not {LINE}'),
        (CURVE.replace("0.8", "high"), f'amber.csv:4: "high" is not {LINE}'),
        (CURVE.replace("0.8", ""), f'amber.csv:4: "" is not {LINE}'),
        (CURVE.replace("500", "0.5"), 'amber.csv:3: "0.5" is not a wavelength in nm, from 100 to'),
        (CURVE.replace("500", "inf"), 'amber.csv:3: "inf" is not a wavelength in nm, from 100 to'),
        (
            CURVE.replace("560", "500"),
            "amber.csv:4: 500 nm does not rise above the 500 nm of the row before",
        ),
        (
            CURVE.replace("560,0.8", "560,0.8,3"),
            f"amber.csv:4: the row has 3 cells; give two, the wavelength in nm and {LINE}",
        ),
        (
            CURVE.replace("560,0.8", "560"),
            f"amber.csv:4: the row has 1 cell; give two, the wavelength in nm and {LINE}",
        ),
        (
            CURVE.replace("380", "400").replace("780", "700"),
            "amber.csv: it runs from 400 to 700 nm, and must cover 380 to 780 nm; where the sheet"
            " ends, go on with its last value (CIE 15)",
        ),
        (CURVE + "nm,transmission\n", 'amber.csv:6: "nm" is not a wavelength in nm'),
        ("380,0.5\n", "amber.csv: a curve needs two rows or more"),
        ("", "amber.csv: the file is empty"),
        ("".join(f"{380 + n / 10},0.5\n" for n in range(5001)), "amber.csv:5001: more than 5000"),
    ],
)
def test_a_curve_that_is_none(tmp_path: Path, curve: str, message: str) -> None:
    assert refused(written(tmp_path, curve=curve)).startswith(message)


def test_all_wrong_rows_are_reported_at_once(tmp_path: Path) -> None:
    text = refused(written(tmp_path, curve="380,1\n400,x\n500,9\n780,1\n"))
    assert [line.split(": ")[0] for line in text.splitlines()] == ["amber.csv:2", "amber.csv:3"]


@pytest.mark.parametrize(
    ("film", "message"),
    [
        (
            FILM.replace("amber.csv", "amber.cvs"),
            'pier-amber.toml:8: transmission: "amber.cvs" is not there; give a file\'s path',
        ),
        (
            FILM.replace('transmission = "amber.csv"\n', ""),
            "pier-amber.toml:8: transmission_source: there is no transmission that it is of",
        ),
        (
            FILM.replace("[[sheet]]", 'transmission_kind = "internal"\n[[sheet]]'),
            "pier-amber.toml:10: transmission_kind: what the surfaces reflect comes on top of it;"
            " give a refractive_index",
        ),
        (
            FILM.replace("[[sheet]]", "refractive_index = 0.9\n[[sheet]]"),
            "pier-amber.toml:10: refractive_index: 0.9 is not a refractive index, from 1 to 4",
        ),
    ],
)
def test_a_film_whose_curve_does_not_go_together(tmp_path: Path, film: str, message: str) -> None:
    assert refused(written(tmp_path, film=film)).startswith(message)


def lamp_file(folder: Path, text: str) -> Path:
    path = folder / "quay.toml"
    path.write_text(f'format = 1\ntitle = "Quay lamp"\n{text}', encoding="utf-8")
    return path


def test_the_three_kinds_of_lamp(tmp_path: Path) -> None:
    (tmp_path / "quay.csv").write_text("300,0\n380,12\n780,340\n")
    bulb = read_lamp(lamp_file(tmp_path, 'kind = "filament"\ncolour_temperature_k = 2700\n'))
    assert bulb == Lamp(name="quay", title="Quay lamp", filament=2700.0)
    assert read_lamp(lamp_file(tmp_path, 'illuminant = "FL11"\n')).illuminant == "FL11"
    own = read_lamp(lamp_file(tmp_path, 'kind = "led"\nspectrum = "quay.csv"\n'))
    assert own.spectrum == Spectrum((300.0, 380.0, 780.0), (0.0, 12.0, 340.0))


@pytest.mark.parametrize("kind", ["led", "fluorescent", "discharge", "other", None])
def test_a_colour_temperature_of_any_other_lamp_is_refused_with_the_reason(
    tmp_path: Path, kind: str | None
) -> None:
    line = f'kind = "{kind}"\n' if kind else ""
    message = refused(lamp_file(tmp_path, f"{line}colour_temperature_k = 3000\n"))
    assert "colour_temperature_k: a colour temperature is a spectrum only of a filament" in message
    assert "other lamps of the same colour have quite different spectra" in message
    assert "give a spectrum or an illuminant" in message


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "does not say what its light is made of; give one of colour_temperature_k,"),
        (
            'illuminant = "A"\nspectrum = "quay.csv"\n',
            "has illuminant, spectrum; give one of colour_temperature_k, illuminant or spectrum",
        ),
        ('illuminant = "D66"\n', 'illuminant: "D66" is not an illuminant of CIE 15'),
        (
            'kind = "filament"\ncolour_temperature_k = 6500\n',
            "6500 is not a colour temperature in K, from 1000 to 3695",
        ),
        ('spectrum = "quai.csv"\n', 'spectrum: "quai.csv" is not there'),
    ],
)
def test_a_lamp_that_says_too_little_or_too_much(tmp_path: Path, text: str, message: str) -> None:
    (tmp_path / "quay.csv").write_text("380,1\n780,1\n")
    assert message in refused(lamp_file(tmp_path, text))


def test_a_lamp_that_gives_no_light(tmp_path: Path) -> None:
    (tmp_path / "quay.csv").write_text("380,0\n780,0\n")
    message = refused(lamp_file(tmp_path, 'spectrum = "quay.csv"\n'))
    assert message == "quay.csv: all its values are 0: such a lamp gives no light"


def test_the_illuminants_of_files_are_those_that_are_shipped() -> None:
    names = set(Illuminant.__origin__.__args__)  # type: ignore[attr-defined]
    assert names == {"A", "E", *data_columns("illuminants.csv")} - {"nm"}


def test_shipped_lamps() -> None:
    assert set(lamp_library()) == {"daylight", "halogen", "incandescent", "white-led"}
    assert all(lamp.title for lamp in lamp_library().values())


def job_under(folder: Path, lamp: str) -> Path:
    job = write_sample(folder)
    design = folder / "pier.toml"
    text = design.read_text(encoding="utf-8")
    design.write_text(f"{text}\n[machine]\nlamp = {lamp}\n", encoding="utf-8")
    return job


def test_a_machine_names_its_lamp_and_a_job_finds_it_beside_itself(tmp_path: Path) -> None:
    folder = tmp_path / "materials" / "lamps"
    folder.mkdir(parents=True)
    (folder / "quay.csv").write_text("380,1\n780,2\n")
    lamp_file(folder, 'spectrum = "quay.csv"\n')
    job = read_job(job_under(tmp_path, '"quay"'))
    machine = job.discs[0].design.machine
    assert machine is not None and machine.lamp is not None
    assert machine.lamp.spectrum == Spectrum((380.0, 780.0), (1.0, 2.0))
    assert {"materials/lamps/quay.toml", "materials/lamps/quay.csv"} <= set(job.digests)


def test_the_curve_of_a_film_is_among_the_files_that_a_job_was_made_of(tmp_path: Path) -> None:
    job = read_job(write_sample(tmp_path))
    names = {name for name in job.digests if name.endswith(".csv")}
    assert names == {f"materials/films/{name}.csv" for name in ("amber", "green", "clear")}


def test_a_lamp_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        read_job(job_under(tmp_path, '"halogne"'))
    assert 'machine.lamp: "halogne" is not a known lamp. Did you mean halogen?' in str(caught.value)


def test_a_lamp_of_a_machine_file_is_named_with_that_file(tmp_path: Path) -> None:
    job = write_sample(tmp_path)
    design = tmp_path / "pier.toml"
    text = design.read_text(encoding="utf-8")
    design.write_text(f'machine_file = "stand.toml"\n{text}', encoding="utf-8")
    (tmp_path / "stand.toml").write_text('format = 1\nlamp = "lighthouse"\n', encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_job(job)
    assert 'stand.toml:2: lamp: "lighthouse" is not a known lamp' in str(caught.value)
    (tmp_path / "stand.toml").write_text('format = 1\nlamp = "white-led"\n', encoding="utf-8")
    machine = read_job(job).discs[0].design.machine
    assert machine is not None and machine.lamp == lamp_library()["white-led"]


LAMPS = [
    Lamp(name="bulb", title="bulb", filament=2700.0),
    Lamp(name="tube", title="tube", illuminant="FL2"),
    Lamp(name="own", title="own", spectrum=Spectrum((380.0, 500.5, 780.0), (0.1, 1 / 3, 7.0))),
]


@pytest.mark.parametrize("lamp", LAMPS)
def test_a_record_holds_a_lamp_in_full(lamp: Lamp, tmp_path: Path) -> None:
    write_sample(tmp_path)
    design = read_design(tmp_path / "pier.toml")
    design = replace(design, machine=Machine(sensor=0.0, lamp=lamp))
    with in_full():
        text = toml_text(DesignRow.fields_of(design))
    again = DesignRow.model_validate(tomllib.loads(text)).value()
    assert again.machine == design.machine
    assert 'lamp = "' + lamp.name in design_text(design)
    assert "lamp_in_full" not in DesignFile.fields_of(design)["machine"]


def test_a_record_holds_a_films_curve(tmp_path: Path) -> None:
    film = read_film(written(tmp_path))
    with in_full():
        text = toml_text(FilmRow.fields_of(film))
    row = FilmRow.model_validate(tomllib.loads(text))
    assert not list(row.faults())
    assert row.value_of("pier-amber") == film


def test_an_edited_curve_in_a_record_is_refused(tmp_path: Path) -> None:
    fields = FilmRow.fields_of(read_film(written(tmp_path)))
    fields["transmission_curve"][1] = [900.0, 0.5]
    (fault,) = FilmRow.model_validate(fields).faults()
    assert fault.message == "its wavelengths must rise from row to row"
