"""``jobprep disc`` as a user meets it: true numbers, plain words, new files beside old ones."""

import json
import math
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from click.testing import Result
from commands import run

EXAMPLES = Path(__file__).parent.parent / "examples"
AURORA = EXAMPLES / "01-aurora-wheel" / "aurora-wheel.toml"
SHUTTER = EXAMPLES / "02-storm-shutter" / "storm-shutter.toml"
STROBE = EXAMPLES / "03-tide-strobe" / "tide-strobe.toml"

HALVES = """\
# Two halves, one of them open.
format = 1
name = "Halves"
outer_diameter = 200
bore = { diameter = 20 }
speed_rpm = 600
balance_grade = 16

[[layer]]
name = "mask"
sector = [
  { film = "black", degrees = 300 },
  { film = "none", degrees = 60 },
]
"""


def halves(folder: Path, text: str = HALVES) -> Path:
    path = folder / "halves.toml"
    path.write_text(text, encoding="utf-8")
    return path


def words_of(result: Result) -> str:
    assert result.exit_code == 0, result.stderr
    return " ".join(result.stdout.split())


@pytest.mark.parametrize("design", [AURORA, SHUTTER, STROBE])
def test_everything_fits_80_columns(design: Path) -> None:
    result = run("disc", design, "--correct", "clear")
    assert result.exit_code == 0
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_the_missing_sector_of_a_textbook(tmp_path: Path) -> None:
    """U = sigma (2/3)(R³ - r³) sin(th/2) (statics): 60° missing, polyester 0.1 mm, R=100, r=10."""
    facts = json.loads(run("disc", halves(tmp_path), "--json").stdout)
    assert facts["unbalance_g_mm"] == pytest.approx(45.954, abs=5e-4)
    assert facts["mass_g"] == pytest.approx(3.576703, abs=5e-7)
    assert facts["eccentricity_mm"] == pytest.approx(12.848144, abs=5e-7)
    assert facts["unbalance_angle_deg"] == pytest.approx(150.0)  # opposite the gap's middle, 330
    assert "46.0 g·mm, heavy side at 150.0°" in words_of(run("disc", halves(tmp_path)))


def test_balance_is_that_of_iso_21940_11(tmp_path: Path) -> None:
    """ISO 21940-11 (from memory): e_per = 254.648 µm for G 16 at 600 r/min."""
    balance = json.loads(run("disc", halves(tmp_path), "--json").stdout)["balance"]
    assert balance["centring_error_mm"] == pytest.approx(0.254648, abs=5e-7)
    assert balance["permissible_g_mm"] == pytest.approx(3.576703 * 0.254648, rel=1e-5)
    assert balance["reached_grade_mm_s"] == 1600.0
    assert balance["within_grade"] is False
    words = words_of(run("disc", halves(tmp_path)))
    assert "G 16 permits 0.911 g·mm, not met. A bore 0.255 mm off centre alone" in words


def test_speed_on_the_command_line_replaces_that_of_the_design(tmp_path: Path) -> None:
    """e_per = 42.4413 µm for G 16 at 3600 r/min (ISO 21940-11, from memory)."""
    result = run("disc", halves(tmp_path), "--speed", "3600", "--json")
    facts = json.loads(result.stdout)
    assert facts["balance"]["speed_rpm"] == 3600.0
    assert facts["balance"]["centring_error_mm"] == pytest.approx(0.0424413, abs=5e-8)
    assert facts["timing"]["turn_s"] == pytest.approx(1 / 60)
    assert facts["mass_g"] == pytest.approx(3.576703, abs=5e-7)


@pytest.mark.parametrize("speed", ["0", "-5", "fast", "1e6"])
def test_a_speed_that_is_none_is_refused(tmp_path: Path, speed: str) -> None:
    result = run("disc", halves(tmp_path), f"--speed={speed}")
    assert result.exit_code == 2
    assert "--speed" in result.stderr


def test_sectors_given_in_milliseconds_show_as_long(tmp_path: Path) -> None:
    """t = degrees / (6 n) (kinematics): 60 degrees at 1440 r/min are 6.944444 ms."""
    text = HALVES.replace("speed_rpm = 600", "speed_rpm = 1440")
    text = text.replace("degrees = 60", f"ms = {6000 / 864}").replace("degrees = 300", "share = 1")
    timing = json.loads(run("disc", halves(tmp_path, text), "--json").stdout)["timing"]
    black, gap = timing["sectors"]
    assert gap["duration_s"] == pytest.approx(6.944444e-3, rel=1e-6)
    assert gap["degrees"] == pytest.approx(60.0)
    assert black["duration_s"] == pytest.approx(5 * 6.944444e-3, rel=1e-6)


def test_the_example_tells_all_that_its_maker_must_know() -> None:
    words = words_of(run("disc", AURORA))
    for told in (
        "Original's mass 4.6 g, this copy",
        "Original's thickness 0.31 mm, this copy 0.300 mm: −0.010 mm (−3.2 %)",
        "0.300 mm, where it is thickest, ±0.030 worst case, ±0.017 root sum square",
        "glue is not counted: the design gives no glue_line",
        "0.1° is 27.8 µs 0.1 mm is 29.5 µs, 0.106° at the hole's radius, 54 mm",
        "Window beam 62.5 % open on average",
        "Flashing 10 Hz, 1 flash a turn, at most 10 in any one second",
        "can trigger seizures (WCAG 2.2, 2.3.1",
        "behind a guard, eyes protected",
    ):
        assert told in words


def test_an_opening_over_a_tint_is_named_by_the_tint() -> None:
    beacon = AURORA.parents[1] / "06-fog-beacon" / "fog-beacon.toml"
    assert "Colours black 61.3 %, blue 38.7 %, 22–40 mm" in words_of(run("disc", beacon))
    assert "black 37.5 %, clear 12.6 %" in words_of(run("disc", AURORA))


def test_times_count_from_the_index_edge() -> None:
    """Amber begins at 0°, the leading edge lies at 10° - 2 asin(3 / (4 x 54)), 3600°/s."""
    timing = json.loads(run("disc", AURORA, "--json").stdout)["timing"]
    edge = 10.0 - math.degrees(2.0 * math.asin(3.0 / (4.0 * 54.0)))
    assert timing["index"]["edge_angle_deg"] == pytest.approx(edge)
    amber, green, *_ = timing["sectors"]
    assert amber["start_s"] == pytest.approx((360.0 - edge) / 3600.0)
    assert green["start_s"] == pytest.approx((60.0 - edge) / 3600.0)


def test_strobe_bars_tell_the_true_speed_of_a_count_that_is_not_whole(tmp_path: Path) -> None:
    """60 f / n (arithmetic): at 45 r/min and 100 flashes/s 133 bars, which stand at 45.113."""
    text = HALVES.replace("speed_rpm = 600", "speed_rpm = 45")
    words = words_of(run("disc", halves(tmp_path, text)))
    assert "100 Hz 133 at 45.113 r/min" in words
    assert "120 Hz 160 exactly" in words


def test_rings_of_bars_tell_when_they_stand() -> None:
    """60 x 100 / n bars stand at n r/min: 120 at 50, 100 at 60, 80 at 75 (60 f / n)."""
    rings = json.loads(run("disc", STROBE, "--json").stdout)["standing_rings"]
    found = {
        ring["bars"]: next(s["speed_rpm"] for s in ring["speeds"] if s["flashes_hz"] == 100.0)
        for ring in rings
    }
    assert found == pytest.approx({80: 75.0, 100: 60.0, 120: 50.0})


def test_every_proposal_is_told_and_nothing_is_written(tmp_path: Path) -> None:
    path = halves(tmp_path)
    words = words_of(run("disc", path, "--correct", "clear"))
    assert 'Sector Enough: fill sector 2 of layer "mask" with clear: 46.0 g·mm become' in words
    assert "Dot " in words
    assert "Hole " in words
    assert [each.name for each in tmp_path.iterdir()] == ["halves.toml"]


def test_apply_writes_a_design_that_balances_beside_the_old_one(tmp_path: Path) -> None:
    path = halves(tmp_path)
    result = run("disc", path, "--correct", "clear", "--apply")
    new = tmp_path / "halves-balanced.toml"
    assert f"Written: {new}" in result.stdout
    assert path.read_text(encoding="utf-8") == HALVES
    again = json.loads(run("disc", new, "--json").stdout)
    assert again["balance"]["within_grade"] is True
    assert again["unbalance_g_mm"] < 1e-6  # black and clear weigh the same
    words = words_of(run("disc", new, "--correct", "clear", "--apply"))
    assert "there is nothing to correct" in words
    assert sorted(each.name for each in tmp_path.iterdir()) == ["halves-balanced.toml", path.name]


def test_apply_again_takes_another_name(tmp_path: Path) -> None:
    path = halves(tmp_path)
    for _ in range(2):
        run("disc", path, "--correct", "clear", "--apply")
    assert (tmp_path / "halves-balanced-2.toml").exists()


@pytest.mark.parametrize(
    ("by", "table"), [("dot", "[[dot]]"), ("sector", '{ film = "clear", degrees = 60 }')]
)
def test_the_way_to_balance_can_be_chosen(tmp_path: Path, by: str, table: str) -> None:
    text = HALVES.replace("degrees = 300", "degrees = 357").replace("degrees = 60", "degrees = 3")
    text = text.replace("balance_grade = 16", "balance_grade = 6.3")
    table = table.replace("degrees = 60", "degrees = 3")
    result = run("disc", halves(tmp_path, text), "--correct", "clear", "--by", by, "--apply")
    assert result.exit_code == 0, result.stderr
    new = tmp_path / "halves-balanced.toml"
    assert table in new.read_text(encoding="utf-8")
    assert json.loads(run("disc", new, "--json").stdout)["balance"]["within_grade"] is True


def test_where_nothing_is_enough_nothing_is_written_and_the_reason_told(tmp_path: Path) -> None:
    path = halves(tmp_path)
    result = run("disc", path, "--correct", "black", "--by", "hole", "--apply")
    assert result.exit_code == 1
    assert result.stdout == ""
    first, second = result.stderr.splitlines()
    assert first == f"{path}: nothing proposed balances the disc; nothing was written"
    assert second.startswith(f"{path}: hole: no place on the heavy side")
    assert [each.name for each in tmp_path.iterdir()] == ["halves.toml"]


def test_an_open_sector_is_never_filled_with_what_takes_its_light(tmp_path: Path) -> None:
    words = words_of(run("disc", halves(tmp_path), "--correct", "black", "--by", "sector"))
    assert "an open sector is open for its light, which black blocks" in words.lower()


def test_proposals_are_in_the_json(tmp_path: Path) -> None:
    result = run("disc", halves(tmp_path), "--correct", "clear", "--apply", "--json")
    found = json.loads(result.stdout)
    kinds = {each["kind"]: each for each in found["corrections"]}
    assert set(kinds) == {"dot", "hole", "sector"}
    assert kinds["sector"]["enough"] is True
    assert kinds["sector"]["unbalance_after_g_mm"] < kinds["sector"]["permissible_g_mm"]
    assert Path(found["written"]).exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--correct", "cler"], "Did you mean clear?"),
        (["--apply"], "need --correct FILM"),
        (["--by", "dot"], "need --correct FILM"),
        (["--picture", "wheel.png"], "name a file.svg"),
    ],
)
def test_wrong_use_is_told_in_a_sentence(tmp_path: Path, words: list[str], said: str) -> None:
    result = run("disc", halves(tmp_path), *words)
    assert result.exit_code == 2
    assert said in result.stderr
    assert result.stdout == ""


def test_a_design_with_mistakes_exits_2(tmp_path: Path) -> None:
    path = halves(tmp_path, HALVES.replace("degrees = 60", "degrees = 50"))
    result = run("disc", path)
    assert result.exit_code == 2
    assert result.stderr.startswith(f"{path}:11: layer[1].sector: the sectors add up to 350")


def test_picture_writes_an_svg(tmp_path: Path) -> None:
    picture = tmp_path / "wheel.svg"
    result = run("disc", AURORA, "--picture", picture)
    assert f"Written: {picture}" in result.stdout
    root = ET.parse(picture).getroot()
    assert root.tag == "{http://www.w3.org/2000/svg}svg"


def test_a_picture_replaces_an_earlier_one_but_nothing_else(tmp_path: Path) -> None:
    picture = tmp_path / "wheel.svg"
    for _ in range(2):
        assert run("disc", AURORA, "--picture", picture).exit_code == 0
    picture.write_text("<svg/>", encoding="utf-8")
    result = run("disc", halves(tmp_path), "--correct", "clear", "--apply", "--picture", picture)
    assert result.exit_code == 1
    assert "exists already" in result.stderr
    assert picture.read_text(encoding="utf-8") == "<svg/>"
    assert not (tmp_path / "halves-balanced.toml").exists()


def test_a_picture_that_cannot_be_written_is_told_in_a_sentence(tmp_path: Path) -> None:
    picture = tmp_path / "nowhere" / "wheel.svg"
    result = run("disc", halves(tmp_path), "--correct", "clear", "--apply", "--picture", picture)
    assert result.exit_code == 1
    assert [each.name for each in tmp_path.iterdir()] == ["halves.toml"]
    assert result.stderr.count("\n") == 1
    assert "cannot be written" in result.stderr


def test_mixed_bases_are_cautioned(tmp_path: Path) -> None:
    text = HALVES.replace('film = "none"', 'film = "acrylic-2"')
    words = words_of(run("disc", halves(tmp_path, text)))
    assert '"acrylic-2" is acrylic, but "black" is polyester' in words
