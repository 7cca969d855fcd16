"""The shipped films and cutters, and a user's own beside the job."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from files.sample_job import DESIGN, JOB, write_sample

from jobprep.errors import InputError
from jobprep.files.job.job import read_job
from jobprep.files.materials import library
from jobprep.files.materials.bases import (
    BASE_CAUTIONS,
    REFUSED_BASES,
    base_cautions,
    base_name,
    refusal,
)
from jobprep.files.materials.cutter import CutterFile, read_cutter
from jobprep.files.materials.film import read_film
from jobprep.files.materials.library import cutter_library, film_library, shipped_materials
from jobprep.light.difference import ciede2000
from jobprep.measuring.colour import lab_from_hex
from jobprep.model import Film

FILM = """\
format = 1
title = "Harbour blue"
base = "polyester"
thickness = 0.08
thickness_tolerance = 0.01
density_g_cm3 = 1.4
colour = "#0072B2"
light = "passes"
passes_nm = [[400, 500]]
lab = [30, 20, -60.5]
rotation_step = 90
least_web = 1.5
least_hole = 0.8
cautions = ["Extract every time."]

[[sheet]]
size = [300, 200]
price = 2
"""

CUTTER = """\
format = 1
title = "Own laser"
kind = "co2"
bed = [300, 200]
wavelength_nm = 10600
mark_speed = 100
travel_speed = 200
acceleration = 500
pierce_time = 0.1

[kerf]
any = 0.2

[cut_speed]
any = 20
"""

FORBIDDEN = [
    "PVC", "vinyl", "ptfe", "ABS", "nitrate", "Cellulose-Nitrate", "unknown", "polystyrene foam",
    "carbon_fibre", "moon dust",
]  # fmt: skip

# Okabe and Ito 2002/2008, "Color Universal Design", the eight colours of the palette.
OKABE_ITO = {
    "#000000", "#E69F00", "#56B4E9", "#009E73", "#F0E442", "#0072B2", "#D55E00", "#CC79A7"
}  # fmt: skip


# K. L. Kelly, "Twenty-two colors of maximum contrast", Color Engineering 3 (1965) 26-27: names of
# the ISCC-NBS system and their colours, as sRGB from memory.
KELLY = {
    "white": "#F2F3F4", "black": "#222222", "vivid yellow": "#F3C300", "strong purple": "#875692",
    "vivid orange": "#F38400", "very light blue": "#A1CAF1", "vivid red": "#BE0032",
    "greyish yellow": "#C2B280", "medium grey": "#848482", "vivid green": "#008856",
    "strong purplish pink": "#E68FAC", "strong blue": "#0067A5", "strong yellowish pink": "#F99379",
    "strong violet": "#604E97", "vivid orange yellow": "#F6A600", "strong purplish red": "#B3446C",
    "vivid greenish yellow": "#DCD300", "strong reddish brown": "#882D17",
    "vivid yellow green": "#8DB600", "deep yellowish brown": "#654522",
    "vivid reddish orange": "#E25822", "dark olive green": "#2B3D26",
}  # fmt: skip
LOOKS = {
    "red": "vivid red", "amber": "vivid orange yellow", "yellow": "vivid yellow",
    "green": "vivid green", "blue": "strong blue", "violet": "strong violet", "black": "black",
    "clear": "white",
}  # fmt: skip


def problems_of_film(folder: Path, text: str, name: str = "own") -> list[str]:
    path = folder / f"{name}.toml"
    path.write_text(text, "utf-8")
    with pytest.raises(InputError) as caught:
        read_film(path)
    return [str(problem).removeprefix(f"{folder}/") for problem in caught.value.problems]


def test_names_that_designs_rely_on_are_shipped() -> None:
    films = set(film_library())
    assert films >= {"clear", "red", "amber", "green", "blue", "violet", "black"}
    assert set(cutter_library()) == {"bench-co2", "desk-diode", "drag-knife"}


@pytest.mark.parametrize("name", list(film_library()))
def test_shipped_film(name: str) -> None:
    film = film_library()[name]
    assert film.refused is None
    assert film.base in BASE_CAUTIONS
    assert film.cautions
    assert all(sheet.price is None for sheet in film.sheets)


@pytest.mark.parametrize("name", LOOKS)
def test_a_film_named_after_a_colour_looks_like_it(name: str) -> None:
    lab = lab_from_hex(film_library()[name].colour)
    apart = {each: float(ciede2000(lab, lab_from_hex(rgb))) for each, rgb in KELLY.items()}
    nearest = min(apart, key=lambda each: apart[each])
    assert nearest == LOOKS[name]
    assert apart[nearest] < 8.0


def test_no_film_is_pictured_in_a_colour_that_means_an_operation() -> None:
    colours = {film.colour.upper() for film in film_library().values()}
    assert not colours & OKABE_ITO


@pytest.mark.parametrize("name", list(film_library()))
def test_shipped_polyester_warns_of_fume_and_fire_with_its_source(name: str) -> None:
    film = film_library()[name]
    if film.base == "polyester":
        text = " ".join(film.cautions)
        assert "Aerosol Air Qual. Res. 16 (2016) 2216-2226" in text
        assert "catches fire" in text


@pytest.mark.parametrize("name", list(film_library()))
def test_density_of_shipped_film_lies_in_the_published_range(name: str) -> None:
    """Callister 2008, table B.1: PET 1.35, PMMA 1.19; ESA sheet A.17.14: PET film 1.4.

    The lower end of acrylic, 1.17, is from memory.
    """
    film = film_library()[name]
    ranges = {"polyester": (1.35, 1.40), "acrylic": (1.17, 1.19)}
    if film.base in ranges:
        low, high = ranges[film.base]
        assert low <= film.density * 1000.0 <= high


def test_areal_mass_of_clear_film() -> None:
    """0.1 mm polyester of 1.38 g/cm³ weighs 138 g/m² (ISO 536: grammage = density x thickness)."""
    assert film_library()["clear"].areal_mass * 1e6 == pytest.approx(138.0)


def test_shipped_cutters() -> None:
    cutters = cutter_library()
    assert cutters["bench-co2"].wavelength == 10600.0
    assert cutters["desk-diode"].wavelength == 450.0
    knife = cutters["drag-knife"]
    assert knife.wavelength is None
    assert knife.kerf_for(film_library()["clear"]) == 0.0
    for cutter in cutters.values():
        assert set(cutter.colours.values()) <= OKABE_ITO
        assert len(set(cutter.colours.values())) == 3
        assert cutter.cautions
        for film in film_library().values():
            assert cutter.kerf_for(film) is not None
            assert cutter.cut_speed_for(film) is not None


@pytest.mark.parametrize("name", ["bench-co2", "desk-diode"])
def test_laser_cutters_warn_of_fire_and_leave_it_to_manual_and_rules(name: str) -> None:
    text = " ".join(cutter_library()[name].cautions)
    assert "Never leave a running cutter" in text
    assert "manual" in text
    assert "local rules" in text
    assert not re.search(r"\bis safe\b|\bsafely\b", text)


OWN_CUTTER = """\
format = 1
title = "Own cutter"
kind = "KIND"
bed = [600, 400]
mark_speed = 10
travel_speed = 100
acceleration = 1000
kerf = { any = 0.2 }
cut_speed = { any = 10 }
"""


@pytest.mark.parametrize("kind", ["co2", "diode", "knife"])
def test_own_cutter_carries_the_cautions_of_its_kind(kind: str, tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    light = "" if kind == "knife" else "wavelength_nm = 455\n"
    path.write_text(OWN_CUTTER.replace("KIND", kind) + light, "utf-8")
    bare = read_cutter(path)
    text = " ".join(bare.cautions)
    assert ("Never leave a running cutter" in text) == (kind != "knife")
    assert ("eyewear rated for its wavelength" in text) == (kind == "diode")
    assert ("moving blade" in text) == (kind == "knife")
    assert "manual, training and local rules decide" in text
    assert not re.search(r"\bis safe\b|\bsafely\b", text)
    # What its own file says comes on top, each caution once; written again it is as it was.
    own = 'cautions = ["Its lid is heavy."]\n'
    path.write_text(OWN_CUTTER.replace("KIND", kind) + light + own, "utf-8")
    assert read_cutter(path).cautions == (*bare.cautions, "Its lid is heavy.")
    assert CutterFile.fields_of(read_cutter(path))["cautions"] == ["Its lid is heavy."]
    said_twice = f"cautions = {json.dumps(bare.cautions[:1], ensure_ascii=False)}\n"
    path.write_text(OWN_CUTTER.replace("KIND", kind) + light + said_twice, "utf-8")
    assert read_cutter(path).cautions == bare.cautions


def test_film_file_becomes_a_film(tmp_path: Path) -> None:
    path = tmp_path / "harbour-blue.toml"
    path.write_text(FILM, "utf-8")
    film = read_film(path)
    assert film.name == "harbour-blue"
    assert film.density == pytest.approx(1.4e-3)
    assert film.rotation_step == pytest.approx(1.5707963267948966)
    assert film.passes == ((400.0, 500.0),)
    assert film.lab == (30, 20, -60.5)
    assert (film.sheets[0].width, film.sheets[0].height, film.sheets[0].price) == (300, 200, 2)


@pytest.mark.parametrize(("base", "source"), [
    ("polyester", "Aerosol Air Qual. Res. 16 (2016) 2216-2226"),
    ("Polycarbonate", "Aerosol Air Qual. Res. 16 (2016) 2216-2226"),
    ("polycarbonate", "University of Texas at Austin"),
    ("petg", "University of Texas at Austin"),
    ("acrylic", "J. Chem. Health Saf. 2023"),
    ("triacetate", "INDG469"),
    ("acetate", "J. Laser Appl. 10 (1998) 109-113"),
    ("card", "Jeong, Kim, Hong, Lee, Environ. Pollut. 2024"),
])  # fmt: skip
def test_own_film_carries_the_cautions_of_its_base(base: str, source: str, tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.write_text(FILM.replace('base = "polyester"', f'base = "{base}"'), "utf-8")
    cautions = read_film(path).cautions
    assert source in " ".join(cautions)
    assert cautions[-1] == "Extract every time."


def test_film_by_weighed_mass(tmp_path: Path) -> None:
    """A weighed sheet counts: 112 g/m² at 0.08 mm is 1.4 g/cm³."""
    path = tmp_path / "own.toml"
    path.write_text(FILM.replace("density_g_cm3 = 1.4", "areal_mass_g_m2 = 112"), "utf-8")
    film = read_film(path)
    assert film.areal_mass == pytest.approx(112e-6)
    assert film.density == pytest.approx(1.4e-3)


@pytest.mark.parametrize(
    ("right", "wrong", "message"),
    [
        ("density_g_cm3 = 1.4\n", "", "own.toml:1: give either density_g_cm3 or areal_mass_g_m2"
         " of the film"),
        ("density_g_cm3 = 1.4", "density_g_cm3 = 1400", "own.toml:6: density_g_cm3: 1400 is not a"
         " density in g/cm³, from 0.001 to 25"),
        ("thickness_tolerance = 0.01", "thickness_tolerance = 0.08", "own.toml:5:"
         " thickness_tolerance: 0.08 mm is not below the thickness"),
        ('"#0072B2"', '"blue"', 'own.toml:7: colour: "blue" is not a colour written "#rrggbb"'),
        ('light = "passes"', 'light = "pass"', 'own.toml:8: light: "pass" is not "passes",'
         ' "scatters" or "blocks". Did you mean passes?'),
        ("[[400, 500]]", "[[500, 400]]", "own.toml:9: passes_nm[1]: 500 nm is not below 400 nm"),
        ("[[400, 500]]", "[400, 500]", "own.toml:9: passes_nm[1]: 400 is not a band of"
         " wavelengths [from, to] in nm"),
        ("lab = [30, 20, -60.5]", "lab = [30, 20]", "own.toml:10: lab: [30, 20] is not [L, a, b],"
         " each from -200 to 200"),
        ("rotation_step = 90", "rotation_step = 0", "own.toml:11: rotation_step: 0 is not an angle"
         " in degrees, from 0.1 to 360"),
        ("[[sheet]]\nsize = [300, 200]\nprice = 2\n", "", "own.toml:1: sheet: missing; give a list"
         " of 1 to 50 tables, [[sheet]]"),
        ("title", "titel", "own.toml:1: title: missing; give one line of text of 1 to 120"
         " characters"),
    ],
)  # fmt: skip
def test_broken_film(right: str, wrong: str, message: str, tmp_path: Path) -> None:
    assert right in FILM
    assert message in problems_of_film(tmp_path, FILM.replace(right, wrong, 1))


@pytest.mark.parametrize(
    "name",
    ["none", "any", "con", "lpt1", "Amber", "amber film", "amber-sheet-2", "-amber", "a" * 41],
)
def test_name_that_cannot_name_files(name: str, tmp_path: Path) -> None:
    assert problems_of_film(tmp_path, FILM, name) == [
        f'{name}.toml:1: "{name}" cannot name a material; call the file by 1 to 40 lower-case'
        ' letters, digits and hyphens (not "none", "any", a device such as "con", or an ending like'
        ' "-sheet-2")'
    ]


@pytest.mark.parametrize(
    ("right", "wrong", "message"),
    [
        ("wavelength_nm = 10600\n", "", "own.toml:1: wavelength_nm: a co2 cutter needs a"
         " wavelength_nm"),
        ('kind = "co2"', 'kind = "knife"', "own.toml:5: wavelength_nm: a knife cutter has no"
         " wavelength_nm"),
        ("[kerf]", '[colours]\nmark = "#000000"\n[kerf]', "own.toml:11: colours: mark, cut-inner"
         " and cut-outer need three different colours"),
        ("[kerf]", "[colours]\ncut = 1\n[kerf]", "own.toml:12: colours.cut: unknown field. Allowed"
         " here: mark, cut-inner, cut-outer"),
        ("[kerf]\nany = 0.2\n", "", "own.toml:1: kerf: missing; give a table in which each value is"
         " a kerf in mm (full width of the cut), from 0 to 3"),
        ("any = 0.2", '"Any film" = 0.2', 'own.toml:12: kerf."Any film": "Any film" is not a name'
         " of lower-case letters, digits, spaces and hyphens"),
        ("any = 20", "any = 0", "own.toml:15: cut_speed.any: 0 is not a speed in mm/s, from 0.001"
         " to 10000"),
    ],
)  # fmt: skip
def test_broken_cutter(right: str, wrong: str, message: str, tmp_path: Path) -> None:
    assert right in CUTTER
    path = tmp_path / "own.toml"
    path.write_text(CUTTER.replace(right, wrong, 1), "utf-8")
    with pytest.raises(InputError) as caught:
        read_cutter(path)
    found = [str(problem).removeprefix(f"{tmp_path}/") for problem in caught.value.problems]
    assert message in found


def test_own_materials_add_to_and_override_the_shipped_ones(tmp_path: Path) -> None:
    path = write_sample(tmp_path, job=JOB.replace('"bench-co2"', '"own"'))
    films = tmp_path / "materials" / "films"
    cutters = tmp_path / "materials" / "cutters"
    films.mkdir(parents=True)
    cutters.mkdir()
    (films / "amber.toml").write_text(FILM, "utf-8")
    (films / "harbour-blue.toml").write_text(FILM, "utf-8")
    (cutters / "own.toml").write_text(CUTTER, "utf-8")
    library = film_library(tmp_path)
    assert set(library) == set(film_library()) | {"harbour-blue"}
    job = read_job(path)
    assert job.films["amber"].title == "Harbour blue"
    assert job.cutter.title == "Own laser"
    assert job.films["clear"].title == film_library()["clear"].title


def test_cutter_by_path(tmp_path: Path) -> None:
    path = write_sample(tmp_path, job=JOB.replace('"bench-co2"', '"shop/own.toml"'))
    (tmp_path / "shop").mkdir()
    (tmp_path / "shop" / "own.toml").write_text(CUTTER, "utf-8")
    job = read_job(path)
    assert job.cutter.name == "own"
    assert "shop/own.toml" in job.digests


def test_broken_own_film_is_told_once_with_its_own_line(tmp_path: Path) -> None:
    path = write_sample(tmp_path)
    films = tmp_path / "materials" / "films"
    films.mkdir(parents=True)
    (films / "amber.toml").write_text(FILM.replace("thickness = 0.08", "thickness = -1"), "utf-8")
    with pytest.raises(InputError) as caught:
        read_job(path)
    assert [str(problem) for problem in caught.value.problems] == [
        f"{films / 'amber.toml'}:4: thickness: -1 is not a length in mm, from 0.001 to 10000"
    ]


def test_broken_own_film_that_is_not_used_does_not_matter(tmp_path: Path) -> None:
    path = write_sample(tmp_path)
    films = tmp_path / "materials" / "films"
    films.mkdir(parents=True)
    (films / "unused.toml").write_text("format = 1", "utf-8")
    assert "unused" not in read_job(path).films


@pytest.mark.parametrize("base", FORBIDDEN)
def test_base_that_must_not_be_cut_is_refused_whatever_the_file_says(
    base: str, tmp_path: Path
) -> None:
    """Refused wherever it is used, by the sources that the reasons name."""
    films = tmp_path / "materials" / "films"
    films.mkdir(parents=True)
    text = FILM.replace('base = "polyester"', f'base = "{base}"')
    (films / "amber.toml").write_text(text, "utf-8")
    path = write_sample(tmp_path)
    with pytest.raises(InputError) as caught:
        read_job(path)
    reason = refusal(base)
    assert reason is not None
    assert [(problem.place.line, str(problem.message)) for problem in caught.value.problems] == [
        (line, f'"amber" must not be cut: {reason}') for line in (28, 33, 41)
    ]


@pytest.mark.parametrize(
    ("written", "base"),
    [
        ("PET", "polyester"),
        ("Polyethylene terephthalate", "polyester"),
        ("cellulose acetate", "acetate"),
        ("Cellulose-Triacetate", "triacetate"),
        ("PC", "polycarbonate"),
        ("PMMA", "acrylic"),
        ("polyimide", "polyimide"),
    ],
)
def test_other_names_of_a_base_are_that_base_with_its_cautions(written: str, base: str) -> None:
    assert base_name(written) == base
    assert refusal(written) is None
    assert base_cautions(written) == base_cautions(base) != ()


def test_colour_film_is_called_no_eye_protection_and_lists_are_quoted_for_what_they_say() -> None:
    for base in ("polyester", "polycarbonate", "acetate", "polyimide"):
        text = " ".join(base_cautions(base))
        assert "no eye protection" in text
        assert "prohibits polyester too" in text
        assert "only if its maker declares it" in text
    assert "hydrogen fluoride" in str(refusal("PTFE"))


def test_a_base_that_nobody_knows_is_refused_without_a_source() -> None:
    assert "no source" in (refusal("moon dust") or "")


def test_chlorine_films_give_hydrogen_chloride_not_chlorine() -> None:
    """Sources on the chemistry say so, though many shop lists write chlorine gas."""
    assert "hydrogen chloride" in REFUSED_BASES["pvc"]


def test_film_that_its_file_refuses(tmp_path: Path) -> None:
    films = tmp_path / "materials" / "films"
    films.mkdir(parents=True)
    (films / "clear.toml").write_text(FILM.replace("cautions", 'refused = "It tears."\ncautions'))
    path = write_sample(tmp_path)
    with pytest.raises(InputError) as caught:
        read_job(path)
    assert str(caught.value.problems[0]).endswith(
        'job.toml:11: part[1].film: "clear" must not be cut: It tears.'
    )
    assert [problem.place.line for problem in caught.value.problems] == [11, 33]


def cautions_of(folder: Path, job: str, design: str = DESIGN) -> list[str]:
    cautions = read_job(write_sample(folder, job=job, design=design)).cautions
    return [str(caution).removeprefix(f"{folder}/") for caution in cautions]


def test_sound_job_has_no_cautions(tmp_path: Path) -> None:
    assert cautions_of(tmp_path, JOB) == []


def test_kerf_outside_the_usual_band(tmp_path: Path) -> None:
    """A laser's kerf on film is 0.03 to 0.6 mm: common practice, no source."""
    assert cautions_of(tmp_path, JOB.replace("amber = 0.16", "amber = 0.7")) == [
        'job.toml:25: kerf.amber: a kerf of 0.7 mm for "amber" is outside the usual 0.03 to 0.6 mm;'
        " it is the full width of the cut, not half of it: measure it on a coupon"
    ]
    assert len(cautions_of(tmp_path, JOB.replace("amber = 0.16", "amber = 0.02"))) == 1
    assert cautions_of(tmp_path, JOB.replace("amber = 0.16", "amber = 0.03")) == []
    assert cautions_of(tmp_path, JOB.replace("amber = 0.16", "amber = 0.6")) == []


def test_knife_may_have_no_kerf(tmp_path: Path) -> None:
    job = JOB.replace('"bench-co2"', '"drag-knife"').replace("amber = 0.16", "amber = 0")
    assert cautions_of(tmp_path, job) == []


def test_blue_diode_on_film_that_lets_its_light_through(tmp_path: Path) -> None:
    """450 nm passes clear and blue film and cuts dark film only: common practice, no source."""
    job = JOB.replace('"bench-co2"', '"desk-diode"').replace(
        "size = [508, 610]", "size = [300, 300]"
    )
    design = DESIGN.replace('"green"', '"blue"').replace("black", "clear")
    assert cautions_of(tmp_path, job, design) == [
        f'job.toml:3: cutter: "{film}" lets light of 450 nm through, so desk-diode may not cut it,'
        " and its beam goes on to whatever lies behind; use another cutter for this film"
        for film in ("blue", "clear")
    ]


def test_film_that_nothing_is_cut_from(tmp_path: Path) -> None:
    design = DESIGN.replace('"amber"', '"red"')
    assert cautions_of(tmp_path, JOB, design) == [
        'job.toml:25: kerf.amber: nothing in this job is cut from "amber"',
        'job.toml:28: stock[1].film: nothing in this job is cut from "amber"',
        'job.toml:33: stock[2].film: nothing in this job is cut from "amber"',
    ]


def test_kerf_narrower_than_the_beam(tmp_path: Path) -> None:
    (tmp_path / "own.toml").write_text("spot = 0.2\n" + CUTTER, "utf-8")
    job = JOB.replace('"bench-co2"', '"own.toml"')
    assert (
        'job.toml:25: kerf.amber: a kerf of 0.16 mm for "amber" is narrower than the spot of own,'
        " 0.2 mm: measure it on a coupon"
    ) in cautions_of(tmp_path, job)


def test_no_kerf_for_a_film(tmp_path: Path) -> None:
    (tmp_path / "own.toml").write_text(CUTTER.replace("any =", "amber ="), "utf-8")
    path = write_sample(tmp_path, job=JOB.replace('"bench-co2"', '"own.toml"'))
    with pytest.raises(InputError) as caught:
        read_job(path)
    assert [str(problem).removeprefix(f"{tmp_path}/") for problem in caught.value.problems] == [
        text
        for film in ("black", "card", "clear", "green")
        for text in (f'job.toml:3: cutter: own has no cut_speed for "{film}"; add one to its file',)
    ] + [
        f'job.toml:24: kerf: no kerf for "{film}", neither here nor in the cutter own; give one,'
        " in mm"
        for film in ("black", "card", "clear", "green")
    ]


def test_materials_are_found_in_an_installed_package(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = tmp_path / "site" / "jobprep"
    (package / "materials" / "films").mkdir(parents=True)
    (package / "materials" / "films" / "own.toml").write_text(FILM, "utf-8")
    monkeypatch.setattr(library, "__file__", str(package / "files" / "materials" / "library.py"))
    assert shipped_materials() == package / "materials"
    assert list(film_library()) == ["own"]
    assert isinstance(film_library()["own"], Film)
