"""Common mistakes get the hint that helps: a decimal comma, an open quote, inches."""

from pathlib import Path

import pytest
from commands import run

from jobprep.errors import InputError
from jobprep.toml_values import toml_values

POINT = "not valid TOML: a number has a decimal point: write {0}.{1}, not {0},{1}"
QUOTE = 'not valid TOML: a quote that opens on this line is not closed: write "..."'


def refusal(text: str) -> str:
    with pytest.raises(InputError) as caught:
        toml_values(Path("lamp.toml"), text)
    return str(caught.value)


@pytest.mark.parametrize(
    ("line", "numbers"),
    [
        ("outer_diameter = 120,5", (120, 5)),
        ("bore = { diameter = 6,35 }", (6, 35)),
        ("bore = { diameter = 6,35, flat = 5.5 }", (6, 35)),
        ("gap = -0,1   # mm", (-0, 1)),
    ],
)
def test_a_decimal_comma_is_named(line: str, numbers: tuple[int, int]) -> None:
    whole = "-0" if line.startswith("gap") else str(numbers[0])
    said = POINT.format(whole, numbers[1])
    assert refusal(f"format = 1\n{line}\n") == f"lamp.toml:2: {said}"


@pytest.mark.parametrize("line", ['name = "Harbour lamp', "name = 'Harbour lamp", 'a = "b" "c'])
def test_an_open_quote_is_named_with_its_line(line: str) -> None:
    assert refusal(f"format = 1\n{line}\nspeed = 3\n") == f"lamp.toml:2: {QUOTE}"


@pytest.mark.parametrize(
    "line",
    [
        "size = [3,5] x",  # two numbers of a list
        'film = "120,5" x',  # text
        "a = 1 # 3,5\nb",  # a remark
        'words = "it\'s" x',  # a quote of the other kind within
    ],
)
def test_what_is_no_such_mistake_keeps_its_message(line: str) -> None:
    said = refusal(f"{line}\n")
    assert "decimal point" not in said
    assert "quote" not in said


def test_a_number_in_quotes_with_a_comma_is_told_how_to_write_it(tmp_path: Path) -> None:
    (tmp_path / "wheel.toml").write_text(
        'format = 1\nname = "Lamp"\nouter_diameter = "120,5"\n\n[[layer]]\nname = "a"\n'
        'film = "clear"\n'
    )
    result = run("disc", tmp_path / "wheel.toml")
    assert result.exit_code == 2
    assert ':3: outer_diameter: "120,5" is not a length in mm' in result.stderr
    assert result.stderr.endswith("; write 120.5, with a point and without quotes\n")


INCHES = """\
format = 1
name = "Pier lamp"
outer_diameter = {outer}
bore = {{ diameter = {bore} }}
{hole}
[[layer]]
name = "cover"
film = "clear"
"""
HOLE = "[[hole]]\nname = 'index'\ndiameter = 3\nradius = 2\n"
HINT = (
    "outer_diameter: 4.75 mm, with a bore of 0.25 mm across: these look like inches, but a length"
    ' without a unit is in mm; if inches are meant, write "4.75 in" (120.65 mm) and "0.25 in"'
    " (6.35 mm)"
)


def disc(folder: Path, outer: float, bore: float, hole: str = "") -> tuple[int, str]:
    (folder / "wheel.toml").write_text(INCHES.format(outer=outer, bore=bore, hole=hole))
    result = run("disc", folder / "wheel.toml")
    return result.exit_code, " ".join(result.output.split())


def test_inches_beside_a_hole_in_mm_are_told_with_what_is_wrong(tmp_path: Path) -> None:
    code, said = disc(tmp_path, 4.75, 0.25, HOLE)
    assert code == 2
    assert "hole[1].radius: " in said
    assert HINT in said


def test_a_design_all_in_inches_gets_the_hint_too(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(
        'format = 1\ntitle = "x"\ncutter = "bench-co2"\n[[disc]]\ndesign = "wheel.toml"\n'
    )
    disc(tmp_path, 4.75, 0.25)
    assert HINT in " ".join(run("check", tmp_path / "job.toml").output.split())


@pytest.mark.parametrize(("outer", "bore"), [(4.75, 1.5), (120.65, 6.35), (60.0, 0.5)])
def test_small_discs_in_mm_get_no_hint(tmp_path: Path, outer: float, bore: float) -> None:
    assert "inches" not in disc(tmp_path, outer, bore, HOLE)[1]
