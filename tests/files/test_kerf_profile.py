"""A measured kerf goes into the user's own profile as one line, and nowhere else."""

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobprep.errors import CannotDoError, InputError
from jobprep.files.chosen_steps import write_steps
from jobprep.files.kerf_profile import write_kerf
from jobprep.files.materials.cutter import read_cutter
from jobprep.files.materials.library import (
    cutter_library,
    film_library,
    shipped_materials,
)

SHIPPED = shipped_materials() / "cutters" / "bench-co2.toml"
NOTE = "±0.004 mm (95 %): x 0.163, y 0.167"

OWN = """\
# Ours, by the window. Do not open the lid!
format = 1
title = "Window laser"
kind = "co2"
bed = [600, 400]
wavelength_nm = 10600
mark_speed = 200
travel_speed = 300
acceleration = 1000

[kerf]            # full width
amber = 0.16      # cut last spring
any = 0.18

[cut_speed]
any = 30   # slow and sure
"""


def own_profile(folder: Path, text: str = OWN) -> Path:
    path = folder / "materials" / "cutters" / "window.toml"
    path.parent.mkdir(parents=True)
    path.write_bytes(text.encode())
    return path


def test_profile_reached_through_a_link_is_written_where_it_is(tmp_path: Path) -> None:
    path = own_profile(tmp_path / "shared")
    link = tmp_path / "job" / "materials" / "cutters" / "window.toml"
    link.parent.mkdir(parents=True)
    link.symlink_to(path)
    assert write_kerf("window", tmp_path / "job", "amber", 0.1652, NOTE).path == link
    assert link.is_symlink()
    assert read_cutter(path).kerf["amber"] == 0.165


def test_profile_that_two_folders_share_by_a_hard_link_is_refused(tmp_path: Path) -> None:
    path = own_profile(tmp_path / "one")
    other = tmp_path / "other" / "window.toml"
    other.parent.mkdir()
    other.hardlink_to(path)
    with pytest.raises(CannotDoError, match="has another name on this disk"):
        write_kerf("window", tmp_path / "one", "amber", 0.1652, NOTE)
    assert path.read_text() == other.read_text() == OWN


def changed_lines(before: str, after: str) -> tuple[list[str], list[str]]:
    """Return the lines that went and the lines that came."""
    old, new = before.splitlines(), after.splitlines()
    return [line for line in old if line not in new], [line for line in new if line not in old]


def test_a_line_that_is_there_gets_the_new_value_and_keeps_its_words(tmp_path: Path) -> None:
    path = own_profile(tmp_path)
    written = write_kerf("window", tmp_path, "amber", 0.1652, NOTE)
    assert (written.path, written.is_copy, written.before) == (path, False, 0.16)
    assert changed_lines(OWN, path.read_text()) == (
        ["amber = 0.16      # cut last spring"],
        [f"amber = 0.165  # measured {NOTE}; before 0.16: cut last spring"],
    )
    assert read_cutter(path).kerf["amber"] == 0.165


def test_a_second_measurement_replaces_our_own_words(tmp_path: Path) -> None:
    path = own_profile(tmp_path)
    write_kerf("window", tmp_path, "red", 0.2, "±0.01 mm (95 %): x 0.200")
    write_kerf(str(path), tmp_path, "red", 0.165, NOTE)
    assert changed_lines(OWN, path.read_text()) == ([], [f"red = 0.165  # measured {NOTE}"])


def test_a_film_without_a_line_gets_one(tmp_path: Path) -> None:
    path = own_profile(tmp_path)
    written = write_kerf("window.toml", tmp_path, "green", 0.2, NOTE)
    assert (written.is_copy, written.before) == (False, None)
    head, rest = OWN.split("any = 0.18\n")
    line = f"green = 0.2  # measured {NOTE}\n"
    assert path.read_text() == f"{head}any = 0.18\n{line}{rest}"


def test_a_shipped_profile_is_copied_and_stays_as_it_is(tmp_path: Path) -> None:
    shipped = SHIPPED.read_bytes()
    for cutter in ("bench-co2", "bench-co2.toml", str(SHIPPED)):
        written = write_kerf(cutter, tmp_path, "amber", 0.165, NOTE)
        assert written.path == tmp_path / "materials" / "cutters" / "bench-co2.toml"
        assert written.is_copy is (cutter == "bench-co2")  # the copy is there by then
    assert SHIPPED.read_bytes() == shipped
    assert changed_lines(shipped.decode(), written.path.read_text(encoding="utf-8")) == (
        [],
        [f"amber = 0.165  # measured {NOTE}"],
    )
    assert cutter_library(tmp_path)["bench-co2"].kerf["amber"] == 0.165


def test_the_shipped_folder_is_no_working_folder() -> None:
    shipped = SHIPPED.read_bytes()
    with pytest.raises(CannotDoError, match="is a shipped profile"):
        write_kerf("bench-co2", shipped_materials().parent, "amber", 0.165, NOTE)
    assert SHIPPED.read_bytes() == shipped


@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("film", ["amber", "green"])
def test_line_ends_and_byte_order_mark_stay(tmp_path: Path, end: str, mark: str, film: str) -> None:
    text = mark + OWN.replace("\n", end)
    path = own_profile(tmp_path, text)
    write_kerf("window", tmp_path, film, 0.2, NOTE)
    data = path.read_bytes().decode()
    assert data.startswith(mark + "# Ours")
    assert data.count("\r\n") == (data.count("\n") if end == "\r\n" else 0)
    assert data.count(end) == text.count(end) + (film == "green")


@pytest.mark.parametrize(
    ("kerf", "expected"),
    [
        (
            "kerf = { amber = 0.16, any = 0.18 }  # in one line\n",
            "kerf = { amber = 0.16, any = 0.18, green = 0.2 }  # in one line\n",
        ),
        (
            "kerf.amber = 0.16  # dots\nkerf.any = 0.18\n",
            f"kerf.amber = 0.16  # dots\nkerf.green = 0.2  # measured {NOTE}\nkerf.any = 0.18\n",
        ),
        ("[ kerf ]\nany = 1\n", f"[ kerf ]\nany = 1\ngreen = 0.2  # measured {NOTE}\n"),
        ("[kerf]\n", f"[kerf]\ngreen = 0.2  # measured {NOTE}\n"),
    ],
)
def test_every_form_of_the_table_is_edited(tmp_path: Path, kerf: str, expected: str) -> None:
    head, _, rest = OWN.partition("[kerf]")
    rest = "[cut_speed]" + rest.partition("[cut_speed]")[2]
    path = own_profile(tmp_path, head + kerf + rest)
    write_kerf("window", tmp_path, "green", 0.2, NOTE)
    assert path.read_text() == head + expected + rest
    assert read_cutter(path).kerf["green"] == 0.2


def test_words_that_only_look_like_the_table_are_left_alone(tmp_path: Path) -> None:
    """A line of a caution may read like the table's head or like the film's line."""
    trap = 'cautions = ["""\n[kerf]\namber = 0.5\n"""]\n'
    text = OWN.replace("acceleration = 1000\n", f"acceleration = 1000\n{trap}")
    path = own_profile(tmp_path, text)
    write_kerf("window", tmp_path, "amber", 0.2, NOTE)
    cutter = read_cutter(path)
    assert cutter.kerf["amber"] == 0.2
    assert cutter.cautions[-1] == "[kerf]\namber = 0.5\n"  # after those of its kind


@given(
    key=st.sampled_from(["amber", '"amber"', "'amber'", "  amber\t"]),
    equals=st.sampled_from(["=", " = ", "   =\t"]),
    value=st.sampled_from(["0", "0.16", "1e-1", "+0.2", "0.1_6"]),
    comment=st.text(st.characters(exclude_categories=["C", "Zl", "Zp"]), max_size=20),
    spaces=st.sampled_from(["", " ", "\t "]),
)
def test_any_way_to_write_the_line_is_edited_in_place(
    tmp_path_factory: pytest.TempPathFactory,
    key: str,
    equals: str,
    value: str,
    comment: str,
    spaces: str,
) -> None:
    folder = tmp_path_factory.mktemp("line")
    line = f"{key}{equals}{value}{spaces}# {comment}"
    text = OWN.replace("amber = 0.16      # cut last spring", line)
    path = own_profile(folder, text)
    write_kerf("window", folder, "amber", 0.165, NOTE)
    after = path.read_text(encoding="utf-8")
    before = tomllib.loads(text)
    assert tomllib.loads(after) == {**before, "kerf": {"amber": 0.165, "any": 0.18}}
    assert after.count("\n") == text.count("\n")
    assert comment.lstrip("# ").strip() in after


ASSUMED = """\
assumed = [
  "kerf.any",    # no coupon cut
  "kerf.amber",  # a guess
  "cut_speed.any",
]
"""


def test_a_measured_kerf_no_longer_counts_as_assumed(tmp_path: Path) -> None:
    """The name stayed in ``assumed``, so that a job still asked for a coupon of that film."""
    path = own_profile(tmp_path, OWN.replace("\n[kerf]", f"{ASSUMED}\n[kerf]"))
    write_kerf("window", tmp_path, "amber", 0.165, NOTE)
    assert read_cutter(path).assumed == ("kerf.any", "cut_speed.any")
    gone = '  "kerf.amber",  # a guess'
    assert gone in ASSUMED
    assert gone not in path.read_text()
    assert '  "kerf.any",    # no coupon cut\n  "cut_speed.any",\n' in path.read_text()
    amber, green = (film_library(tmp_path)[name] for name in ("amber", "green"))
    assert read_cutter(path).assumed_for(amber) == ("cut_speed.any",)
    assert read_cutter(path).assumed_for(green) == ("kerf.any", "cut_speed.any")


def test_a_speed_chosen_by_test_no_longer_counts_as_assumed(tmp_path: Path) -> None:
    own = OWN.replace("\n[kerf]", 'assumed = ["cut_speed.amber", "kerf.any"]\n\n[kerf]')
    path = own_profile(tmp_path, own + "amber = 12\n")
    write_steps("window", tmp_path, "amber", 20.0, 45.0)
    cutter = read_cutter(path)
    assert (cutter.assumed, cutter.cut_speed["amber"]) == (("kerf.any",), 20)


def test_unknown_cutters_are_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"Did you mean bench-co2\?"):
        write_kerf("bench-co", tmp_path, "amber", 0.2, NOTE)
    with pytest.raises(InputError, match="there is no such file"):
        write_kerf(str(tmp_path / "sub" / "bench-co2.toml"), tmp_path, "amber", 0.2, NOTE)
    assert list(tmp_path.iterdir()) == []


def test_a_profile_that_is_not_right_is_not_touched(tmp_path: Path) -> None:
    path = own_profile(tmp_path, OWN.replace("bed = [600, 400]", "bed = [600]"))
    before = path.read_bytes()
    with pytest.raises(InputError, match="bed"):
        write_kerf("window", tmp_path, "amber", 0.2, NOTE)
    assert path.read_bytes() == before
