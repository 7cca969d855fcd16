"""Coupon measurements as people write them, and the sentences for what is wrong in them."""

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobprep.errors import InputError
from jobprep.files.measurements.coupon_form import kerf_form
from jobprep.files.measurements.readings import read_readings
from jobprep.model.kerf import KerfMeasurements

TOML = """\
format = 1
film = "amber"
cutter = "bench-co2"
plus_minus = 0.03

[[comb]]
along = "x"
strips = 8
drawn = 80
readings = [78.71, 78.73]

[[comb]]
along = "y"
strips = 8
drawn = 80
ends = "sheet"
readings = [78.9]

[[piece]]
along = "x"
drawn = 80
readings = [79.84]

[[slot]]
along = "x"
drawn = 20
readings = [20.16]

[[fit]]
along = "y"
enters = 16
refuses = 18

[[width]]
along = "x"
sense = "edge"
readings = [0.08]
"""

CSV = """\
# the same, from a table
film,amber
cutter,bench-co2
plus_minus,0.03
kind,along,drawn,reading,strips,ends,enters,refuses,sense
comb,x,80,78.71,8,cut
comb,x,80,78.73,8
comb,y,80,78.9,8,sheet
piece,x,80,79.84
slot,x,20,20.16

fit,y,,,,,16,18
width,x,,0.08,,,,,edge
"""


def read(folder: Path, text: str, name: str = "m.toml") -> KerfMeasurements:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return read_readings(path)


def problems(folder: Path, text: str, name: str = "m.toml") -> list[str]:
    with pytest.raises(InputError) as caught:
        read(folder, text, name)
    return [str(problem).removeprefix(f"{folder}/") for problem in caught.value.problems]


def test_every_kind_of_reading_in_toml(tmp_path: Path) -> None:
    measured = read(tmp_path, TOML)
    assert (measured.film, measured.cutter) == ("amber", "bench-co2")
    rows = [(r.kind, r.along, r.drawn, r.kerfs, r.reading) for r in measured.readings]
    assert rows == [
        ("comb", "x", 80.0, 8, 78.71),
        ("comb", "x", 80.0, 8, 78.73),
        ("comb", "y", 80.0, 7, 78.9),  # between the sheet's edges: one cut less
        ("piece", "x", 80.0, 1, 79.84),
        ("slot", "x", 20.0, -1, 20.16),
        ("fit", "y", -0.34, -2, 0.0),
        ("width", "x", 0.0, -1, 0.16),  # what each edge loses is half the cut
    ]
    assert [r.half_width for r in measured.readings] == pytest.approx([0.03] * 5 + [0.02, 0.06])
    place = measured.readings[1].place
    assert (place.line, place.field) == (10, "comb[1].readings[2]")


def test_csv_says_the_same_as_toml(tmp_path: Path) -> None:
    def bare(measured: KerfMeasurements) -> list[object]:
        return [
            (r.kind, r.along, r.drawn, r.kerfs, r.reading, r.half_width) for r in measured.readings
        ]

    from_csv = read(tmp_path, CSV, "m.csv")
    from_toml = read(tmp_path, TOML)
    assert bare(from_csv) == bare(from_toml)
    assert (from_csv.film, from_csv.cutter) == (from_toml.film, from_toml.cutter)
    assert [r.place.line for r in from_csv.readings] == [6, 7, 8, 9, 10, 12, 13]
    assert from_csv.readings[1].place.field == "comb[2].reading"


def test_csv_with_semicolons_and_decimal_commas(tmp_path: Path) -> None:
    text = "kind;along;strips;drawn;reading\nfilm;amber\ncomb;x;8;80;78,71\n"
    (reading,) = read(tmp_path, text, "m.csv").readings
    assert reading.reading == 78.71


def test_csv_with_a_byte_order_mark_and_crlf(tmp_path: Path) -> None:
    path = tmp_path / "m.CSV"
    path.write_bytes(b"\xef\xbb\xbfkind,along,drawn,reading\r\npiece,x,80,79.84\r\n")
    (reading,) = read_readings(path).readings
    assert (reading.reading, reading.place.line) == (79.84, 2)


def test_half_width_is_a_caliper_s_when_not_given(tmp_path: Path) -> None:
    text = 'format = 1\n[[piece]]\nalong = "x"\ndrawn = 80\nreadings = [79.84]\n'
    assert read(tmp_path, text).readings[0].half_width == 0.02


@given(
    ladder=st.lists(st.integers(2, 60), min_size=2, max_size=12, unique=True).map(sorted),
    strips=st.integers(2, 20),
    length=st.floats(10.0, 200.0).map(lambda x: round(x, 1)),
)
def test_the_form_is_valid_but_for_its_readings(
    tmp_path_factory: pytest.TempPathFactory, ladder: list[int], strips: int, length: float
) -> None:
    folder = tmp_path_factory.mktemp("form")
    text = kerf_form(
        "amber", "bench-co2", "m.toml", strips=strips, length=length, ladder=tuple(ladder)
    )
    assert problems(folder, text) == [
        "m.toml:1: no readings yet; fill in readings = [...] of what you have measured"
    ]
    filled = text.replace("readings = []", "readings = [77.5, 77.6]")
    measured = read(folder, filled)
    assert [(r.kind, r.along, r.kerfs, r.drawn) for r in measured.readings[::2]] == [
        ("comb", "x", strips, length),
        ("comb", "y", strips, length),
        ("piece", "x", 1, length),
        ("piece", "y", 1, length),
    ]


def test_the_form_s_examples_are_valid_when_uncommented(tmp_path: Path) -> None:
    text = kerf_form(
        "amber", "bench-co2", "m.toml", strips=8, length=80.0, ladder=(12, 14, 16, 18, 20)
    )
    lines = []
    for line in text.splitlines():
        bare = line.removeprefix("# ")
        is_example = bare.startswith("[[") or (line != bare and bare.split(" ")[1:2] == ["="])
        lines.append(bare if is_example else line)
    data = tomllib.loads("\n".join(lines))
    assert data["fit"] == [
        {"along": "x", "enters": 16, "refuses": 18},
        {"along": "y", "enters": 16, "refuses": 18},
    ]
    kinds = [reading.kind for reading in read(tmp_path, "\n".join(lines)).readings]
    assert kinds == ["slot", "fit", "fit", "width"]


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            'sense = "edge"',
            "",
            'm.toml:34: width[1].sense: missing; give "full" (the whole width of the cut) or "edge"'
            " (what each edge loses, half of it)",
        ),
        (
            'along = "x"\nstrips = 8',
            'along = "z"\nstrips = 8',
            'm.toml:7: comb[1].along: "z" is not "x" or "y", the direction it was measured along',
        ),
        (
            "strips = 8\ndrawn = 80\nreadings",
            "strips = 1\ndrawn = 80\nreadings",
            "m.toml:8: comb[1].strips: 1 is not the number of strips, a whole number from 2 to 200",
        ),
        (
            "[78.71, 78.73]",
            "[78.71, -78.73]",
            "m.toml:10: comb[1].readings[2]: -78.73 is not a length in mm, from 0.001 to 10000",
        ),
        (
            "refuses = 18",
            "refuses = 16",
            "m.toml:32: fit[1].refuses: 16 is not at least 0.01 above 16, the last notch it enters",
        ),
        (
            "refuses = 18",
            "refuses = 16.000000000000004",
            "m.toml:32: fit[1].refuses: 16 is not at least 0.01 above 16, the last notch it enters",
        ),
        (
            "plus_minus = 0.03",
            "plus_minus = 0",
            "m.toml:4: plus_minus: 0 is not a length in mm, from 0.0001 to 5",
        ),
        (
            "plus_minus = 0.03",  # its inverse square weighs a reading, and is infinite
            "plus_minus = 1e-320",
            "m.toml:4: plus_minus: 9.99988867183e-321 is not a length in mm, from 0.0001 to 5",
        ),
        (
            "drawn = 20",
            "nominal = 20",
            "m.toml:24: slot[1].drawn: missing; give a length in mm, from 0.001 to 10000",
        ),
        (
            "[[piece]]",
            "[[peice]]",
            "m.toml:19: peice: unknown field. Did you mean piece?",
        ),
    ],
)
def test_mistakes_in_toml(tmp_path: Path, old: str, new: str, message: str) -> None:
    assert old in TOML
    assert message in problems(tmp_path, TOML.replace(old, new))


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "comb,x,80,78.7,8\n",
            "m.csv:1: the first row must name the columns: kind and others of along, drawn,"
            " reading, strips, ends, enters, refuses, sense",
        ),
        (
            "kind,along,drawm,reading\npiece,x,80,79.8\n",
            'm.csv:1: "drawm" is not a column. Did you mean drawn?',
        ),
        ("kind,along,along\n", 'm.csv:1: "along" names two columns'),
        (
            "kind,along,drawn,reading\npeace,x,80,79.8\n",
            'm.csv:2: kind: "peace" is not a kind. Did you mean piece?',
        ),
        (
            "kind,along,drawn,reading\npiece,x,80\n",
            "m.csv:2: piece: missing; give the reading in mm",
        ),
        (
            "kind,along,drawn,reading\npiece,x,80,79.8,8\n",
            "m.csv:2: 5 columns, but the first row names 4",
        ),
        (
            'kind,along,drawn,reading\npiece,x,80,"79,84"\n',
            'm.csv:2: piece[1].reading: "79,84" is not a length in mm, from 0.001 to 10000;'
            " write 79.84, with a point and without quotes",
        ),
        (
            "kind,along,drawn,reading\n# a note\npiece,x,80,wide\n",
            'm.csv:3: piece[1].reading: "wide" is not a length in mm, from 0.001 to 10000',
        ),
        (
            "kind,along,drawn,reading\nplus_minus,fine\npiece,x,80,79.8\n",
            'm.csv:2: plus_minus: "fine" is not a length in mm, from 0.0001 to 5',
        ),
        (
            "kind,along,drawn,reading\npiece,x,80,nan\n",
            "m.csv:2: piece[1].reading: nan is not a length in mm, from 0.001 to 10000",
        ),
        (
            "kind,along,reading\nwidth,x,0.16\n",
            'm.csv:2: width[1].sense: missing; give "full" (the whole width of the cut) or "edge"'
            " (what each edge loses, half of it)",
        ),
        (
            "kind,along,drawn,reading,strips\npiece,x,80,79.8,8\n",
            "m.csv:2: piece[1].strips: unknown field. Allowed here: along, drawn, readings",
        ),
        (
            "film,amber\n",
            "m.csv:1: no readings yet; fill in readings = [...] of what you have measured",
        ),
        ("  \n", "m.csv: the file is empty"),
    ],
)
def test_mistakes_in_csv(tmp_path: Path, text: str, message: str) -> None:
    assert problems(tmp_path, text, "m.csv") == [message]


def test_more_tables_of_a_kind_than_any_coupon_has_pieces(tmp_path: Path) -> None:
    rows = '[[piece]]\nalong = "x"\ndrawn = 80\nreadings = [79.8]\n' * 201
    assert problems(tmp_path, f"format = 1\n{rows}") == [
        "m.toml:2: piece: a list of 201 is not a list of at most 200 tables, [[piece]]"
    ]


def test_all_problems_come_together_in_the_order_of_the_lines(tmp_path: Path) -> None:
    text = "kind,along,drawn,reading\npiece,z,80,79.8\npiece,x,-1,79.8\npiece,x,80,?\n"
    lines = [each.split(": ")[:2] for each in problems(tmp_path, text, "m.csv")]
    assert lines == [
        ["m.csv:2", "piece[1].along"],
        ["m.csv:3", "piece[2].drawn"],
        ["m.csv:4", "piece[3].reading"],
    ]


def test_files_that_are_none(tmp_path: Path) -> None:
    for name in ("none.csv", "none.toml"):
        with pytest.raises(InputError, match="there is no such file"):
            read_readings(tmp_path / name)
    (tmp_path / "latin.csv").write_bytes("kind,größe\n".encode("latin-1"))
    with pytest.raises(InputError, match="not UTF-8 text"):
        read_readings(tmp_path / "latin.csv")
    (tmp_path / "folder.csv").mkdir()
    with pytest.raises(InputError):
        read_readings(tmp_path / "folder.csv")


def test_a_file_of_another_kind_is_told(tmp_path: Path) -> None:
    text = "format = 1\nbed = [900, 620]\ntravel_speed = 300\n[cut_speed]\nany = 30\n"
    assert problems(tmp_path, text) == [
        "m.toml:1: this file is a cutter, but a kerf measurement is needed here"
    ]


@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_refused_in_sentences(
    tmp_path_factory: pytest.TempPathFactory, data: bytes
) -> None:
    folder = tmp_path_factory.mktemp("any")
    for name in ("m.csv", "m.toml"):
        (folder / name).write_bytes(data)
        with pytest.raises(InputError):
            read_readings(folder / name)


@given(st.lists(st.text("kindalongxy,;\"'#.0123456789-\n\r\0\x0b\x1c", max_size=30), max_size=8))
def test_any_rows_are_read_or_refused_in_sentences(
    tmp_path_factory: pytest.TempPathFactory, rows: list[str]
) -> None:
    path = tmp_path_factory.mktemp("rows") / "m.csv"
    path.write_text("kind,along,drawn,reading\npiece,x,80,79.8\n" + "\n".join(rows), newline="")
    try:
        assert read_readings(path).readings
    except InputError as error:
        assert all("\n" not in str(problem) for problem in error.problems)
