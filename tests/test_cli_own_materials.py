"""A cutter and films of one's own: written from a few answers, tested, and planned with."""

import itertools
import re
import tomllib
from pathlib import Path

import click
import pytest
from commands import done, run
from svgpathtools import svgstr2paths

from jobprep.cli import questions
from jobprep.files.materials.cutter import read_cutter
from jobprep.files.materials.film import read_film
from jobprep.files.materials.library import cutter_library, film_library
from jobprep.pipeline import check, plan, summary_of

CUTTER = ("cutter", "new", "pier", "--kind", "co2", "--bed", "600x400")
FILM = ("films", "new", "sail", "--base", "PET", "--sheet", "508x610", "--light", "blocks")
STEPS = ("cutter", "steps", "pier", "--film", "amber", "--speeds", "20-160", "--powers", "10-60")
PROFILE, SAIL = Path("materials/cutters/pier.toml"), Path("materials/films/sail.toml")


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def answers(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What somebody at a terminal answers, in order; all of it must be asked for."""
    given: list[str] = []

    def prompt(words: str, *, default: str = "", value_proc=None, type=None, **_: object):
        answer = given.pop(0) or default
        return value_proc(answer) if value_proc else type.convert(answer, None, None)

    monkeypatch.setattr(questions, "is_asked", lambda: True)
    monkeypatch.setattr(click, "prompt", prompt)
    return given


def test_what_nobody_knows_of_a_cutter_stays_named_as_assumed() -> None:
    result = done(*CUTTER, "--travel-speed", "350").output
    shipped, made = cutter_library()["bench-co2"], read_cutter(PROFILE)
    assert made.travel_speed == 350.0
    assert (made.mark_speed, made.acceleration) == (shipped.mark_speed, shipped.acceleration)
    named = {"mark_speed", "acceleration", "pierce_time", "cut_speed.any", "kerf.any"}
    assert set(made.assumed) == named
    assert all(name in result for name in named)
    assert "jobprep coupon --film FILM --cutter pier --out coupon" in result
    assert "(assumed)" in done("cutter", "show", "pier").output
    assert "travel_speed" not in done("cutter", "list").output


def test_a_cutter_of_which_all_is_known_assumes_only_what_nobody_is_asked() -> None:
    speeds = ("--cut-speed", "40", "--mark-speed", "180", "--travel-speed", "350")
    done(*CUTTER, *speeds)
    assert set(read_cutter(PROFILE).assumed) == {"acceleration", "pierce_time", "kerf.any"}


@pytest.mark.parametrize("kind", ["co2", "diode", "knife"])
def test_a_profile_of_each_kind_is_read_again(kind: str) -> None:
    done("cutter", "new", "pier", "--kind", kind, "--bed", "24inx400")
    made = read_cutter(PROFILE)
    assert made.kind == kind
    assert made.bed == (609.6, 400.0)
    assert ("kerf.any" in made.assumed) == (kind != "knife")


def test_questions_are_asked_at_a_terminal(answers: list[str]) -> None:
    answers += ["diode", "300x200", "450", "?", "90", ""]
    done("cutter", "new", "pier")
    made = read_cutter(PROFILE)
    assert (made.kind, made.bed, made.wavelength) == ("diode", (300.0, 200.0), 450.0)
    assert made.mark_speed == 90.0
    assert {"cut_speed.any", "travel_speed"} <= set(made.assumed)
    assert "mark_speed" not in made.assumed
    assert not answers


def test_what_must_be_known_is_asked_again(answers: list[str]) -> None:
    """A question without which nothing can be written takes no "?"."""
    answers += ["polyester", "?", "?"]
    refused = run("films", "new", "sail")
    assert refused.exit_code == 2
    assert "this must be known; Ctrl-C ends, and nothing is written" in refused.stderr
    assert not SAIL.exists()


def test_a_base_that_must_not_be_cut_ends_the_questions(answers: list[str]) -> None:
    answers += ["PVC", "1.02"]
    assert "must not be cut" in run("films", "new", "sail").stderr
    assert answers == ["1.02"]


def test_films_are_asked_for_too(answers: list[str]) -> None:
    answers += ["polyester", "1.02", "100x100", "1.41", "20inx24in", "passes", "f29a0c", "7.5"]
    done("films", "new", "sail")
    film = read_film(SAIL)
    assert film.thickness == pytest.approx(0.102)
    assert film.areal_mass == pytest.approx(141e-6)  # 1.41 g / 0.01 m²
    assert (film.sheets[0].width, film.sheets[0].height) == (508.0, 609.6)
    assert (film.colour, film.sheets[0].price) == ("#f29a0c", 7.5)
    assert not answers


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("cutter", "new", "pier"), "give --kind: its kind, one of co2, diode, knife"),
        (CUTTER[:-2], "give --bed: the area its head reaches"),
        (("cutter", "new", "Pier Laser", *CUTTER[3:]), "is not 1 to 40 lower-case letters"),
        (("cutter", "new", "bench-co2", *CUTTER[3:]), "is a cutter that ships"),
        ((*CUTTER[:-1], "0x400"), "0 is not a length in mm, from 0.001 to 10000"),
        ((*FILM[:3], "--thickness", "0.1"), "give --base: what it is made of"),
        (FILM, "give --thickness or --stack"),
        ((*FILM, "--thickness", "0.1", "--stack", "1"), "give either --thickness of one sheet or"),
        ((*FILM, "--thickness", "0.03"), "0.03 mm is too thin for a caliper: measure a stack"),
        ((*FILM, "--thickness", "0.1", "--mass", "2"), "--piece and --mass belong together"),
        ((*FILM, "--stack", "1", "--base", "pvc"), "such a film must not be cut: its base is pvc"),
        ((*FILM, "--stack", "1", "--base", "moss"), "such a film must not be cut: its base 'moss'"),
        ((*FILM, "--stack", "1", "--base", "paper"), "no density is known of paper: weigh a piece"),
    ],
)
def test_a_refusal_is_one_sentence_and_nothing_is_written(
    words: tuple[str, ...], said: str
) -> None:
    result = run(*words)
    assert result.exit_code in (1, 2)
    assert said in result.stderr.splitlines()[-1]
    assert not list(Path().rglob("*.toml"))


def test_nothing_is_written_over() -> None:
    for words, path in ((CUTTER, PROFILE), ((*FILM, "--stack", "1"), SAIL)):
        done(*words)
        path.write_text("mine")
        assert "exists already; edit it, or choose another name" in run(*words).stderr
        assert path.read_text() == "mine"


def test_a_film_that_nobody_weighed_says_so_wherever_it_is_used() -> None:
    said = done(*FILM, "--thickness", "0.1").output
    film = read_film(SAIL)
    assert film.density == film_library()["amber"].density
    assert "Nobody has weighed this film" in said
    assert any("Nobody has weighed this film" in each for each in film.cautions)
    done(*FILM[:2], "rope", *FILM[3:], "--thickness", "0.1", "--piece", "100x50", "--mass", "0.7")
    weighed = read_film(SAIL.with_name("rope.toml"))
    assert weighed.areal_mass == pytest.approx(0.7 / 5000)
    assert not any("weighed" in each for each in weighed.cautions)


def planned(kerf: str = "") -> tuple[list[str], list[str]]:
    """Return the cautions of a check and of a plan of one small part on the new cutter."""
    Path("job.toml").write_text(
        'format = 1\ntitle = "Pier"\ncutter = "pier"\n[[part]]\nname = "lid"\nfilm = "amber"\n'
        f"disc = {{ diameter = 20 }}\n{kerf}[nesting]\nevaluations = 2\n"
    )
    checked = check(Path("job.toml"))
    summary = summary_of(plan(checked))
    return [str(each) for each in checked.cautions], list(summary.cautions)


def test_a_plan_says_which_times_and_kerfs_are_assumed() -> None:
    done(*CUTTER)
    checked, found = planned()
    kerf = "nobody has measured the kerf of amber on pier: it is assumed, cut a coupon"
    times = "times rest on values of pier that nobody has chosen: mark_speed, travel_speed,"
    assert any(kerf in each for each in checked)
    assert any(kerf in each for each in found)
    assert any(times in each and "cut_speed.any" in each for each in found)


def test_the_job_sheet_marks_what_is_assumed() -> None:
    done(*CUTTER)
    for kerf, marks in (("", 3), ("[kerf]\namber = 0.15\n", 2)):  # kerf, cutting, engraving
        planned(kerf)
        done("plan", "job.toml", "--replace")
        assert Path("run/job-sheet.html").read_text().count("(assumed)") == marks


def test_what_was_chosen_is_no_longer_said_to_be_assumed() -> None:
    done(*CUTTER)
    done("cutter", "choose", "pier", "--film", "amber", "--speed", "57", "--power", "27")
    made = read_cutter(PROFILE)
    amber = film_library()["amber"]
    assert made.cut_speed_for(amber) == 57.0
    assert made.power_for(amber, "cut-outer") == made.power_for(amber, "cut-inner") == 27.0
    assert made.power_for(amber, "mark") == 0.0
    assert "amber = 57  # chosen by test" in PROFILE.read_text()
    checked, found = planned("[kerf]\namber = 0.15\n")
    assert not any("is assumed" in each for each in (*checked, *found))
    assert any("nobody has chosen: mark_speed" in each for each in found)
    assert not any("cut_speed" in each for each in found)
    PROFILE.write_text(re.sub(r"(?s)assumed = \[.*?\]\n", "", PROFILE.read_text()))
    assert not any("nobody has chosen" in each for each in planned()[1])


def test_a_shipped_profile_is_copied_before_a_choice_is_written() -> None:
    done("cutter", "choose", "desk-diode", "--film", "black", "--speed", "8.5", "--power", "30")
    own = Path("materials/cutters/desk-diode.toml")
    black = film_library()["black"]
    assert read_cutter(own).cut_speed_for(black) == 8.5
    assert read_cutter(own).power_for(black, "cut-outer") == 30.0
    assert not cutter_library()["desk-diode"].cut_power
    assert (
        "a knife has no power"
        in run(
            "cutter", "choose", "drag-knife", "--film", "black", "--speed", "9", "--power", "1"
        ).stderr
    )


def test_a_chosen_speed_is_no_longer_called_assumed() -> None:
    done(*CUTTER)
    text = PROFILE.read_text().replace("any = 30 ", "amber = 30\nany = 30 ")
    PROFILE.write_text(text.replace('"cut_speed.any"', '"cut_speed.amber"'))
    before = tomllib.loads(PROFILE.read_text())["assumed"]
    choose = ("cutter", "choose", "pier", "--speed", "9", "--power", "5", "--film")
    done(*choose, "black")
    assert tomllib.loads(PROFILE.read_text())["assumed"] == before
    done(*choose, "amber")
    left = [name for name in before if name != "cut_speed.amber"]
    assert tomllib.loads(PROFILE.read_text())["assumed"] == left != before


def squares_of(text: str) -> list[tuple[str, float, float]]:
    """Return colour, left edge and lower edge of each closed path, as another reader finds them."""
    paths, attributes, svg = svgstr2paths(text, return_svg_attributes=True)
    found = []
    for path, own in zip(paths, attributes, strict=True):
        if own["id"] != "labels":
            assert path.isclosed()
            left, right, top, bottom = path.bbox()
            assert right - left == pytest.approx(8.0)
            assert bottom - top == pytest.approx(8.0)
            found.append((own["id"], left, top))
    assert svg["width"].endswith("mm")
    return found


def test_steps_are_cut_from_the_least_harmful_on() -> None:
    done(*CUTTER)
    done(*STEPS, "--out", "steps")
    rows = re.findall(
        r"^(#\w{6}) +(\d) +(\d) +([\d.]+) +([\d.]+)$",
        Path("steps/steps-amber-pier.txt").read_text(),
        re.MULTILINE,
    )
    speeds = {int(column): float(speed) for _, _, column, speed, _ in rows}
    powers = {int(row): float(power) for _, row, _, _, power in rows}
    # Five equal ratios from 160 to 20, 8 ** (1/4) = 1.6818, and four equal steps from 10 to 60.
    assert speeds == {1: 160.0, 2: 95.0, 3: 57.0, 4: 34.0, 5: 20.0}
    assert powers == {1: 10.0, 2: 27.0, 3: 43.0, 4: 60.0}
    energies = [float(power) / float(speed) for *_, speed, power in rows]
    assert energies == sorted(energies)
    assert len({colour for colour, *_ in rows}) == len(rows) == 20

    svg = Path("steps/steps-amber-pier.svg").read_text()
    squares = squares_of(svg)
    assert [each[0] for each in squares] == [f"row-{row}-column-{col}" for _, row, col, *_ in rows]
    for (_, x, y), (_, u, v) in itertools.combinations(squares, 2):
        assert max(abs(x - u), abs(y - v)) > 12.9  # 8 and 5 mm of film
    for colour, row, column, *_ in rows:
        assert re.search(rf'stroke="{colour}"[^>]*>\s*<path class="row-{row}-column-{column}"', svg)
    assert svg.index('id="labels"') < svg.index('id="row-')


def test_machine_code_of_the_steps_has_their_speeds_and_powers() -> None:
    done(*CUTTER, "--format", "gcode", "--format", "svg")
    done(*STEPS, "--out", "steps")
    assert {path.suffix for path in Path("steps").iterdir()} == {".svg", ".gcode", ".txt"}
    code = Path("steps/steps-amber-pier.gcode").read_text()
    blocks = re.findall(r"\(row-(\d)-column-(\d): .*\)\n((?:[^(].*\n)+)", code)
    assert len(blocks) == 20
    speeds, powers = (160, 95, 57, 34, 20), (10, 27, 43, 60)
    for row, column, lines in blocks:
        assert f"M3 S{powers[int(row) - 1]}\n" in lines
        assert set(re.findall(r"F(\d+)", lines)) == {str(60 * speeds[int(column) - 1])}
    assert "The machine code turns the beam on" in done(*STEPS, "--out", "again").output


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((*STEPS[:4], "sail", *STEPS[5:]), '"sail" is not a known film'),
        ((*STEPS[:2], "drag-knife", *STEPS[3:]), "drag-knife is a knife: it has no power"),
        ((*STEPS[:-1], "60-10"), "two rising numbers from 0.1 to 100000, such as 10-60"),
        ((*STEPS[:-1], "10-10.1"), "powers from 10 to 10.1 are too near one another"),
        ((*STEPS[:6], "10-900", *STEPS[7:]), "900 mm/s is faster than the head of pier moves"),
        (STEPS[:5], "give --speeds: slowest and fastest to try"),
    ],
)
def test_steps_that_cannot_be_drawn_are_refused_in_a_sentence(
    words: tuple[str, ...], said: str
) -> None:
    done(*CUTTER, "--travel-speed", "350")
    result = run(*words, "--out", "steps")
    assert result.exit_code in (1, 2)
    assert said in result.stderr.splitlines()[-1]
    assert not Path("steps").exists()


def test_steps_need_room_on_the_bed() -> None:
    done("cutter", "new", "pier", "--kind", "co2", "--bed", "60x400")
    assert "is larger than the bed of pier, 60 × 400 mm" in run(*STEPS, "--out", "steps").stderr


def test_a_job_is_written_for_a_design_and_a_cutter_of_ones_own() -> None:
    done("new", "lamp")
    done(*CUTTER)
    done("new", ".", "--design", "lamp/harbour-lamp.toml", "--cutter", "pier")
    checked = check(Path("job.toml"))
    assert checked.job.cutter.name == "pier"
    assert [order.design.name for order in checked.job.discs] == ["Harbour lamp"]
    assert "exists already" in run("new", ".", "--design", "lamp/harbour-lamp.toml").stderr
    unknown = ("new", "x", "--design", "lamp/harbour-lamp.toml", "--cutter", "peer")
    assert "peer" in run(*unknown).stderr
    assert not Path("x").exists()
    assert "give that too" in run("new", "x", "--cutter", "pier").stderr
    elsewhere = run("new", "x", "--design", "lamp/harbour-lamp.toml", "--cutter", "pier").stderr
    assert "a job finds only what lies beside it: write the job into ." in elsewhere
    assert not Path("x").exists()
