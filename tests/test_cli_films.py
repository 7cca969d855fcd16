"""The film commands as a user meets them."""

import json
import sys
from pathlib import Path

import pytest
from commands import run

EXAMPLES = Path(__file__).parent.parent / "examples"
AURORA = EXAMPLES / "01-aurora-wheel" / "aurora-wheel.toml"
MISTAKES = EXAMPLES / "04-mistakes"

FILM = """\
format = 1
title = "{name}"
base = "{base}"
thickness = 0.1
density_g_cm3 = 1.2
colour = "{colour}"
light = "passes"
{more}
[[sheet]]
size = [300, 300]
"""
DESIGN = """\
format = 1
name = "Wheel"
outer_diameter = 100

[[layer]]
name = "cover"
film = "clear"

[[layer]]
name = "colour"
sector = [
  { film = "rose", degrees = 180 },
  { film = "none", degrees = 180 },
]
"""


def own_film(
    folder: Path,
    name: str,
    *,
    base: str = "polyester",
    colour: str = "#cc8899",
    more: str = "",
) -> None:
    films = folder / "materials" / "films"
    films.mkdir(parents=True, exist_ok=True)
    text = FILM.format(name=name, base=base, colour=colour, more=more)
    (films / f"{name}.toml").write_text(text, encoding="utf-8")


def wheel(folder: Path, text: str = DESIGN) -> Path:
    path = folder / "wheel.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_list_shows_shipped_and_own_films_in_80_columns(tmp_path: Path) -> None:
    own_film(tmp_path, "rose")
    result = run("films", "list", "--beside", tmp_path)
    assert result.exit_code == 0
    assert max(map(len, result.stdout.splitlines())) <= 80
    for word in ("amber", "rose", "polyester", "508 × 610", "0.1 ± 0.01", "138"):
        assert word in result.stdout
    names = [film["name"] for film in json.loads(run("films", "list", "--json").stdout)]
    assert names == sorted(names)
    assert {"clear", "red", "amber", "green", "blue", "violet", "black"} <= set(names)


def test_show_tells_prices_and_measured_colour(tmp_path: Path) -> None:
    own_film(tmp_path, "rose", more="lab = [70, 30, 10]")
    path = tmp_path / "materials" / "films" / "rose.toml"
    rolls = "per_m2 = 12.5\n[[sheet]]\nsize = [5000, 610]\nroll = true\nper_m = 4.25\n"
    path.write_text(path.read_text(encoding="utf-8") + rolls, encoding="utf-8")
    words = " ".join(run("films", "show", "rose", "--beside", tmp_path).stdout.split())
    assert "Sheet 300 × 300 mm, 12.5 per m²" in words
    assert "Roll 5000 × 610 mm, 4.25 per m" in words
    assert "lab 70,30,10 measured" in words


def test_list_tells_why_a_film_is_refused() -> None:
    result = run("films", "list", "--beside", MISTAKES)
    words = " ".join(result.stdout.split())
    assert "old-vinyl must not be cut: " in words
    assert "hydrogen chloride" in words


def test_list_names_every_broken_film(tmp_path: Path) -> None:
    own_film(tmp_path, "rose", more="thicknes = 1")
    own_film(tmp_path, "teal", colour="green")
    result = run("films", "list", "--beside", tmp_path)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert len(result.stderr.splitlines()) == 2
    assert "rose.toml:8: thicknes: unknown field" in result.stderr


def test_show_tells_everything_of_a_film() -> None:
    result = run("films", "show", "amber")
    words = " ".join(result.stdout.split())
    assert "1.38 g/cm³, that is 138 g/m²" in words
    assert "nobody measured it" in words
    assert "Extract and filter every time" in words
    shown = json.loads(run("films", "show", "amber", "--json").stdout)
    assert shown["areal_mass_g_m2"] == pytest.approx(138.0)  # g/m² = density x thickness, ISO 536
    assert shown["file"].endswith("amber.toml")


def test_show_suggests_the_likeliest_name() -> None:
    result = run("films", "show", "ambre")
    assert result.exit_code == 2
    assert "Did you mean amber?" in result.stderr


@pytest.mark.parametrize("words", [["#f29a0c"], ["F29A0C"], ["lab", "70.9,24.3,74.1"]])
def test_match_finds_the_film_of_that_colour(words: list[str]) -> None:
    """Amber's picture colour is #f29a0c.

    Its Lab by hand: linear 0.8879, 0.3231, 0.0037 give XYZ 0.4824, 0.4201, 0.0592 (IEC 61966-2-1),
    cube roots over D65 white 0.7977, 0.7490, 0.3787 (CIE 15).
    """
    found = json.loads(run("films", "match", *words, "--json").stdout)
    best = found["films"][0]
    assert best["films"] == ["amber"]
    assert best["ciede2000"] < 1.0
    assert (best["thickness_mm"], best["areal_mass_g_m2"]) == pytest.approx((0.1, 138.0))
    assert "lamp it will work in" in found["caution"]


def test_match_proposes_two_films_with_their_thickness_and_mass() -> None:
    result = run("films", "match", "#624430")
    first = next(line for line in result.stdout.splitlines() if "violet + yellow" in line)
    difference, *rest = first.split()[3:]
    assert float(difference) < 0.5  # the colour asked for is rounded to eight bits
    # Twice 0.1 mm and 138 g/m²; what passes is less than of either film alone.
    assert rest == ["#624430", "6.9–7.7", "0.200", "276", "invented"]
    words = " ".join(result.stdout.split())
    assert "Invented are spectra that no film of any maker has" in words
    assert "The colour of a screen is no transmission." in words
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_match_without_spectra_says_that_pictures_were_multiplied(tmp_path: Path) -> None:
    own_film(tmp_path, "rose", colour="#cc8899")
    result = run("films", "match", "#cc8899", "--beside", tmp_path)
    row = next(line for line in result.stdout.splitlines() if line.startswith(" rose "))
    assert row.split()[1:] == ["0.0", "#cc8899", "?", "0.100", "120", "picture"]
    words = " ".join(result.stdout.split())
    assert "which are of daylight and multiplied by channels" in words


def test_match_of_a_film_in_a_lamp_shows_both_differences() -> None:
    result = run("films", "match", "film", "violet", "--lamp", "incandescent")
    assert "in the lamp incandescent (Incandescent bulb, CIE A)" in " ".join(result.stdout.split())
    assert max(map(len, result.stdout.splitlines())) <= 80
    row = next(line for line in result.stdout.splitlines() if line.startswith(" blue "))
    in_lamp, by_day = map(float, row.split()[1:3])
    words = ["films", "match", "film", "violet", "--lamp", "incandescent", "--json"]
    found = json.loads(run(*words).stdout)
    assert found["lamp"] == "incandescent"
    blue = next(each for each in found["films"] if each["films"] == ["blue"])
    assert blue["from_spectra"] is True and blue["invented"] is True
    assert (blue["ciede2000"], blue["ciede2000_daylight"]) == pytest.approx(
        (in_lamp, by_day), abs=0.05
    )
    assert blue["luminous_transmittance"] == blue["luminous_transmittance_glued"]


def test_a_metameric_film_is_named_with_both_differences(tmp_path: Path) -> None:
    """Two greys that daylight cannot tell apart, as a test of its own makes them."""
    from films.test_near_light import metameric_pair

    for film in metameric_pair():
        own_film(tmp_path, film.name, more=f'transmission = "{film.name}.csv"')
        assert film.transmission is not None
        curve = film.transmission.curve
        rows = zip(curve.wavelengths, curve.values, strict=True)
        path = tmp_path / "materials" / "films" / f"{film.name}.csv"
        path.write_text("".join(f"{nm},{value}\n" for nm, value in rows), encoding="utf-8")
    words = ["films", "match", "film", "smooth", "--lamp", "white-led", "--beside", tmp_path]
    told = " ".join(run(*words).stdout.split())
    assert "Metameric smooth and wavy match in daylight and differ in the lamp: ΔE 0.0" in told
    (pair,) = json.loads(run(*words, "--json").stdout)["metameric"]
    assert (pair["first"], pair["second"]) == (["smooth"], ["wavy"])
    assert pair["ciede2000_daylight"] < 1e-3 < 4.0 < pair["ciede2000_lamp"]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["#aabbcc", "--lamp", "halogne"], "Did you mean halogen?"),
        (["film", "ambre"], "Did you mean amber?"),
        (["film", "black"], "black has no spectrum"),
    ],
)
def test_match_refuses_a_lamp_or_film_that_it_does_not_know(words: list[str], told: str) -> None:
    result = run("films", "match", *words)
    assert result.exit_code in (1, 2)
    assert told in " ".join(result.stderr.split())


def test_match_prefers_a_measured_colour(tmp_path: Path) -> None:
    own_film(tmp_path, "rose", colour="#000000", more="lab = [70, 30, 10]")
    words = ["films", "match", "lab 70,30,10", "--beside", tmp_path, "--json"]
    best = json.loads(run(*words).stdout)["films"][0]
    assert best["films"] == ["rose"]
    assert best["ciede2000"] == pytest.approx(0.0, abs=1e-9)
    assert best["measured_colour"] is True


def test_match_never_proposes_a_refused_film(tmp_path: Path) -> None:
    own_film(tmp_path, "rose", base="pvc", colour="#cc8899")
    words = ["films", "match", "#cc8899", "--count", 100, "--beside", tmp_path, "--json"]
    for each in json.loads(run(*words).stdout)["films"]:
        assert "rose" not in each["films"]


@pytest.mark.parametrize(
    "words",
    [
        ["reddish"],
        ["#12345"],
        ["lab", "50,20"],
        ["lab", "150,20,20"],
        ["lab", "50,300,20"],
        ["#aabbcc", "--region", "1,2,3"],
        ["#aabbcc", "--region", "1,2,0,4"],
    ],
)
def test_match_refuses_what_is_no_colour(words: list[str]) -> None:
    result = run("films", "match", *words)
    assert result.exit_code == 2
    assert "is not" in result.stderr
    assert "Traceback" not in result.stderr


def test_match_samples_a_region_of_a_picture(tmp_path: Path) -> None:
    image = pytest.importorskip("PIL.Image")
    picture = image.new("RGB", (40, 30), "#112233")
    picture.paste("#f29a0c", (10, 5, 30, 20))
    path = tmp_path / "old disc.png"
    picture.save(path)
    words = ["films", "match", path, "--region", "12,6,10,10", "--json"]
    found = json.loads(run(*words).stdout)
    assert found["colour"] == "#f29a0c"
    assert found["unevenness"] == pytest.approx(0.0, abs=1e-9)
    assert found["films"][0]["films"] == ["amber"]
    uneven = run("films", "match", path, "--region", "0,0,40,30")
    assert "the region is no one colour" in " ".join(uneven.stdout.split())
    outside = run("films", "match", path, "--region", "30,20,20,10")
    assert outside.exit_code == 2
    assert "has only 40 × 30 pixels" in outside.stderr
    assert run("films", "match", path).stderr.count("--region X,Y,W,H") == 1


def test_without_pillow_a_picture_asks_for_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "PIL", None)
    result = run("films", "match", tmp_path / "old.png", "--region", "0,0,5,5")
    assert result.exit_code == 1
    assert "pip install 'jobprep[photo]'" in result.stderr
    assert run("films", "match", "#f29a0c").exit_code == 0


def test_a_sample_averages_light_not_codes(tmp_path: Path) -> None:
    """Half white, half black reflects half the light: sRGB 188 (IEC 61966-2-1), not 128."""
    image = pytest.importorskip("PIL.Image")
    picture = image.new("RGB", (10, 10), "white")
    picture.paste("black", (0, 0, 5, 10))
    path = tmp_path / "half.png"
    picture.save(path)
    found = json.loads(run("films", "match", path, "--region", "0,0,10,10", "--json").stdout)
    assert found["colour"] == "#bcbcbc"


def test_a_file_that_is_no_picture_is_told(tmp_path: Path) -> None:
    pytest.importorskip("PIL.Image")
    for name in ("notes.txt", "nowhere.png"):
        (tmp_path / "notes.txt").write_text("no picture", encoding="utf-8")
        result = run("films", "match", tmp_path / name, "--region", "0,0,5,5")
        assert result.exit_code == 2
        assert len(result.stderr.splitlines()) == 1
        assert name in result.stderr


def test_check_passes_the_example_and_lists_its_films() -> None:
    result = run("films", "check", AURORA)
    assert result.exit_code == 0
    assert "All its films are known, and none is refused." in result.stdout
    found = json.loads(run("films", "check", AURORA, "--json").stdout)
    assert [film["name"] for film in found["films"]] == [
        "clear",
        "amber",
        "green",
        "violet",
        "black",
    ]
    assert found["errors"] == found["cautions"] == []


def test_check_names_a_missing_film_with_its_line(tmp_path: Path) -> None:
    design = wheel(tmp_path)
    result = run("films", "check", design)
    assert result.exit_code == 2
    assert result.stderr.startswith(f'{design}:12: layer[2].sector[1].film: "rose" is not a known')


def test_check_refuses_a_base_that_must_not_be_cut(tmp_path: Path) -> None:
    own_film(tmp_path, "rose", base="PVC")
    result = run("films", "check", wheel(tmp_path))
    assert result.exit_code == 2
    assert '"rose" must not be cut: its base is pvc' in result.stderr


def test_check_cautions_of_mixed_bases(tmp_path: Path) -> None:
    own_film(tmp_path, "rose", base="polycarbonate")
    design = wheel(tmp_path)
    found = json.loads(run("films", "check", design, "--json").stdout)
    assert found["errors"] == []
    (caution,) = found["cautions"]
    assert caution.startswith(f"{design}:12: layer[2].sector[1].film: ")
    assert '"rose" is polycarbonate, but "clear" is polyester' in caution


def test_check_cautions_of_light_that_goes_through(tmp_path: Path) -> None:
    """A blue diode's 450 nm passes clear film (common practice, no source)."""
    own_film(tmp_path, "rose")
    result = run("films", "check", wheel(tmp_path), "--cutter", "desk-diode", "--json")
    found = json.loads(result.stdout)
    assert any('"clear" lets light of 450 nm through' in each for each in found["cautions"])
    plain = json.loads(
        run("films", "check", wheel(tmp_path), "--cutter", "bench-co2", "--json").stdout
    )
    assert plain["cautions"] == []


def test_check_refuses_a_film_the_cutter_has_no_numbers_for(tmp_path: Path) -> None:
    own_film(tmp_path, "rose", base="acetate")
    cutters = tmp_path / "materials" / "cutters"
    cutters.mkdir()
    (cutters / "old-plotter.toml").write_text(
        'format = 1\ntitle = "Old plotter"\nkind = "knife"\nbed = [600, 600]\nmark_speed = 10\n'
        "travel_speed = 10\nacceleration = 10\n[kerf]\nclear = 0\n[cut_speed]\nany = 10\n",
        encoding="utf-8",
    )
    result = run("films", "check", wheel(tmp_path), "--cutter", "old-plotter")
    assert result.exit_code == 2
    assert 'old-plotter has no kerf for "rose"' in result.stderr
    assert "cut_speed" not in result.stderr


def test_check_suggests_the_likeliest_cutter() -> None:
    result = run("films", "check", AURORA, "--cutter", "bench-c02")
    assert result.exit_code == 2
    assert "Did you mean bench-co2?" in result.stderr


def test_check_names_what_cannot_be_known_in_the_lamp(tmp_path: Path) -> None:
    own_film(tmp_path, "rose")
    window = 'name = "gate"\nradius = 35\ndiameter = 20\n'
    lamp = f'\n[machine]\nlamp = "halogen"\n[[machine.window]]\n{window}'
    checked = run("films", "check", wheel(tmp_path, DESIGN + lamp))
    assert checked.exit_code == 0, checked.stderr
    told = " ".join(checked.stdout.split())
    assert "the colour of rose in the lamp halogen is not known, since it has no spectrum" in told
    plain = run("films", "check", wheel(tmp_path))
    assert "lamp" not in plain.stdout
