"""A length is a number of mm, or text with its unit, wherever people write one.

1 in = 25.4 mm exactly: international yard and pound agreement of 1959 (1 yd = 0.9144 m, 36 in);
ISO 80000-3:2019, annex of units outside the SI (from memory).
"""

from fractions import Fraction
from pathlib import Path

import pytest
from commands import run
from files.sample_job import DESIGN, JOB
from hypothesis import given
from hypothesis import strategies as some

from jobprep.errors import InputError
from jobprep.files.design.design import design_text, read_design
from jobprep.files.job.job import read_job
from jobprep.files.measurements.points import read_points
from jobprep.files.measurements.readings import read_readings
from jobprep.files.toml.field_types import LONGEST, SHORTEST
from jobprep.units import in_mm

HOW = '; a length with its unit is written "12 cm", "4.75 in", "4 3/4 in" or "0.5 mm"'


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("4.75 in", 120.65),
        ("4 3/4 in", 120.65),
        ("3/4 in", 19.05),
        ("-1/2 in", -12.7),
        ("0.1in", 2.54),
        ("36 in", 914.4),  # a yard
        ("12 cm", 120.0),
        ("0.5 mm", 0.5),
        (".5 mm", 0.5),
        ("  1. cm ", 10.0),
        ("1/3 in", 25.4 / 3.0),
        ("0 in", 0.0),
    ],
)
def test_a_length_with_its_unit(text: str, mm: float) -> None:
    assert in_mm(text) == mm


@pytest.mark.parametrize(
    "text",
    [
        *("", "in", "12", "12 m", "1/0 in", "0/0 in", "1/00 in", "4 3 in", "4 3/4", "4 3/-4 in"),
        *("1e3 mm", "nan mm", "inf in", "4,75 in", "4 in\n", "\u0664 in", "4 in in", "- 4 in"),
        *("9" * 400 + " mm", "4 3.5/4 in", '4"', "4 IN"),
    ],
)
def test_what_is_no_length(text: str) -> None:
    assert in_mm(text) is None


@given(some.floats(SHORTEST, LONGEST), some.sampled_from(("mm", "cm", "in")))
def test_a_decimal_length_is_the_number_next_to_its_exact_value(value: float, unit: str) -> None:
    written = f"{value:.9f}"
    exact = Fraction(written) * {"mm": 1, "cm": 10, "in": Fraction(254, 10)}[unit]
    assert in_mm(f"{written} {unit}") == float(exact)
    assert in_mm(f"-{written}{unit}") == -float(exact)


@given(some.integers(0, 400), some.integers(0, 10**6 - 1), some.integers(1, 10**6 - 1))
def test_a_fraction_is_the_number_next_to_its_exact_value(n: int, above: int, below: int) -> None:
    exact = (n + Fraction(above, below)) * Fraction(254, 10)
    assert in_mm(f"{n} {above}/{below} in") == float(exact)


@given(some.text(max_size=40))
def test_any_text_is_a_number_or_none(text: str) -> None:
    assert isinstance(in_mm(text), float | None)


def with_units(text: str) -> str:
    """Return the same file with its lengths in inches, centimetres and mm by turns."""
    units = (("cm", Fraction(10)), ("mm", Fraction(1)))
    keys = ("diameter", "radius", "size", "length", "width", "gap", "web", "margin", "polygon")
    count = 0
    lines = []
    for line in text.splitlines():
        key, equals, value = line.partition(" = ")
        if equals and key.endswith(keys) and "{" not in value and '"' not in value:
            numbers = []
            for word in value.replace("[", "[ ").replace("]", " ]").split():
                bare = word.rstrip(",")
                try:
                    mm = Fraction(bare)
                except ValueError:
                    numbers.append(word)
                    continue
                unit, size = units[count % 2]
                count += 1
                numbers.append(f'"{float(mm / size)} {unit}"' + word[len(bare) :])
            value = " ".join(numbers)
        lines.append(f"{key}{equals}{value}")
    assert count > 5
    return "\n".join(lines)


def test_a_design_with_units_is_the_design_without(tmp_path: Path) -> None:
    for name, text in (("plain.toml", DESIGN), ("units.toml", with_units(DESIGN))):
        (tmp_path / name).write_text(text)
    plain, units = (read_design(tmp_path / name) for name in ("plain.toml", "units.toml"))
    assert design_text(plain) == design_text(units)
    assert '"' in (tmp_path / "units.toml").read_text().split("outer_diameter")[1][:6]


def wheel(folder: Path, **lengths: str) -> Path:
    path = folder / "wheel.toml"
    rows = "".join(f"{key} = {value}\n" for key, value in lengths.items())
    path.write_text(f'format = 1\nname = "Pier"\n{rows}[[layer]]\nname = "a"\nfilm = "clear"\n')
    return path


def refusal(path: Path) -> str:
    with pytest.raises(InputError) as caught:
        read_design(path)
    return str(caught.value).removeprefix(f"{path.parent}/")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('"500 in"', '"500 in" (12700 mm) is not a length in mm, from 0.001 to 10000'),
        ('"1/99999 in"', '"1/99999 in" (0.0003 mm) is not a length in mm, from 0.001 to 10000'),
        ('"1/0 in"', f'"1/0 in" is not a length in mm, from 0.001 to 10000{HOW}'),
        ('"4.75 inches"', f'"4.75 inches" is not a length in mm, from 0.001 to 10000{HOW}'),
        ('"120"', '"120" is not a length in mm, from 0.001 to 10000; write 120, without quotes'),
        ("true", "true is not a length in mm, from 0.001 to 10000"),
    ],
)
def test_bounds_hold_after_conversion_and_messages_show_what_was_written(
    text: str, said: str, tmp_path: Path
) -> None:
    assert refusal(wheel(tmp_path, outer_diameter=text)) == f"wheel.toml:3: outer_diameter: {said}"


def test_the_least_and_the_greatest_length_are_read_with_a_unit(tmp_path: Path) -> None:
    for text, mm in (('"0.001 mm"', 0.001), ('"1000 cm"', 10_000.0)):
        assert read_design(wheel(tmp_path, outer_diameter=text)).outer_diameter == mm


def test_a_size_that_does_not_fit_another_is_shown_as_written(tmp_path: Path) -> None:
    path = wheel(tmp_path, outer_diameter='"4 3/4 in"', hub_diameter='"5 in"')
    said = '127 mm ("5 in") is not below the outer diameter, 120.65 mm'
    assert said in " ".join(run("disc", path).output.split())


def test_a_key_that_names_its_unit_takes_a_number(tmp_path: Path) -> None:
    path = wheel(tmp_path, outer_diameter="120", original='{ thickness_mm = "1/100 in" }')
    assert refusal(path) == (
        'wheel.toml:4: original.thickness_mm: "1/100 in" (0.254 mm) is not a number of mm, from'
        " 0.001 to 10000; the key names the unit: write 0.254"
    )


def test_inches_that_are_named_get_no_hint(tmp_path: Path) -> None:
    path = wheel(tmp_path, outer_diameter='"4 mm"', bore='{ diameter = "0.25 mm" }')
    assert "inches" not in run("disc", path).output


def test_a_job_reads_lengths_in_all_its_tables(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(
        'format = 1\ntitle = "Pier"\ncutter = "bench-co2"\n'
        '[[part]]\nname = "lid"\nfilm = "clear"\npolygon = [["0 mm", 0], ["1 in", 0],'
        ' [0, "2 cm"]]\n'
        '[kerf]\nclear = "1/100 in"\n'
        '[[stock]]\nfilm = "clear"\nsize = ["20 in", 610]\n'
        '[nesting]\nweb = "1/16 in"\nmargin = "0.5 cm"\n'
    )
    job = read_job(tmp_path / "job.toml")
    assert job.kerf == {"clear": 0.254}
    assert job.nesting.web == 1.5875
    assert job.nesting.margin == 5.0
    assert max(x for x, _ in job.stock[0].outline) == 508.0
    assert JOB  # the usual job has none of these


def test_rows_of_csv_take_lengths_too(tmp_path: Path) -> None:
    (tmp_path / "points.csv").write_text(
        "kind;x;y;label\ndiameter;4,75 in\nrim;0;0\nrim;9;0\nrim;0;9\n" + 2 * "scale;0;9;3/4 in\n"
    )
    points = read_points(tmp_path / "points.csv")
    assert points.diameter == 120.65
    assert {float(each.label) for each in points.points if each.kind == "scale"} == {19.05}
    (tmp_path / "readings.csv").write_text(
        "plus_minus;0,001 in\nkind;along;drawn;reading\nslot;x;1 in;26\nslot;y;2 cm;21\n"
    )
    readings = read_readings(tmp_path / "readings.csv")
    assert {each.half_width for each in readings.readings} == {0.0254}
    assert [each.drawn for each in readings.readings] == [25.4, 20.0]


def test_options_take_lengths_with_their_unit(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run("stock", "add", "clear", "--size", "20inx61cm").exit_code == 0
    assert "size = [508, 610]" in (tmp_path / "stock.toml").read_text()
    photo = ("measure", "photo", "none.jpg", "--diameter")
    assert "none.jpg" in run(*photo, "4 3/4 in").stderr
    assert (
        '"4 ft" is not a length: give mm, or its unit too, as 4.75in' in run(*photo, "4 ft").stderr
    )
    assert "is not in the range" in run(*photo, "500 in").stderr
