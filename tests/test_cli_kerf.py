"""The commands for coupon and kerf as a user meets them."""

import json
from pathlib import Path

import pytest
from commands import run

from jobprep.pipeline import check

MEASURED = """\
film,amber
cutter,bench-co2
kind,along,drawn,reading,strips
comb,x,80,78.71,8
comb,x,80,78.74,8
comb,x,80,78.69,8
comb,x,80,87.72,8
piece,x,80,79.85
piece,x,80,79.82
piece,x,80,79.86
comb,y,80,78.35,8
comb,y,80,78.37,8
comb,y,80,78.38,8
piece,y,80,79.79
piece,y,80,79.81
piece,y,80,79.78
"""


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def measured(text: str = MEASURED, name: str = "m.csv") -> Path:
    path = Path(name)
    path.write_text(text, encoding="utf-8")
    return path


def test_coupon_writes_drawing_and_form(folder: Path) -> None:
    result = run("coupon", "--film", "amber", "--cutter", "bench-co2", "--out", "coupons/amber")
    assert all(len(line) <= 80 for line in result.output.splitlines())
    assert result.exit_code == 0, result.stderr
    assert {path.name for path in (folder / "coupons" / "amber").iterdir()} == {
        "coupon-amber-bench-co2.svg",
        "coupon-amber-bench-co2.toml",
    }
    assert "on its lines" in result.stdout
    assert "Extract and filter" in result.stdout
    assert result.stderr == ""


def test_coupon_does_not_touch_a_form_that_is_there(folder: Path) -> None:
    words = ("coupon", "--film", "amber", "--cutter", "bench-co2", "--out", folder)
    assert run(*words).exit_code == 0
    form = folder / "coupon-amber-bench-co2.toml"
    form.write_text("mine", encoding="utf-8")
    (folder / "coupon-amber-bench-co2.svg").unlink()
    result = run(*words)
    assert result.exit_code == 1
    assert "exists already" in result.stderr
    assert form.read_text(encoding="utf-8") == "mine"
    assert not (folder / "coupon-amber-bench-co2.svg").exists()


def test_equal_coupons_have_equal_bytes(folder: Path) -> None:
    for name in ("one", "two"):
        run("coupon", "--film", "amber", "--cutter", "bench-co2", "--out", name)
    for path in (folder / "one").iterdir():
        assert path.read_bytes() == (folder / "two" / path.name).read_bytes()


@pytest.mark.parametrize(
    ("film", "cutter", "words"),
    [
        ("ambre", "bench-co2", "Did you mean amber?"),
        ("amber", "bench-co", "Did you mean bench-co2?"),
    ],
)
def test_coupon_tells_of_unknown_names(film: str, cutter: str, words: str) -> None:
    result = run("coupon", "--film", film, "--cutter", cutter, "--out", "out")
    assert result.exit_code == 2
    assert words in result.stderr
    assert not Path("out").exists()


def test_coupon_takes_a_cutter_of_one_s_own(folder: Path) -> None:
    assert run("kerf", measured(), "--apply", "bench-co2").exit_code == 0
    result = run("coupon", "--film", "amber", "--cutter", "bench-co2", "--out", "out")
    assert result.exit_code == 0
    # Its ladder now lies about the measured 0.183, not about the shipped 0.16.
    assert "enters = 18" in (folder / "out" / "coupon-amber-bench-co2.toml").read_text()


def test_a_knife_has_no_coupon() -> None:
    result = run("coupon", "--film", "amber", "--cutter", "drag-knife", "--out", "out")
    assert result.exit_code == 1
    assert "is a knife" in result.stderr


def test_kerf_prints_both_senses_and_both_directions() -> None:
    result = run("kerf", measured())
    assert result.exit_code == 0, result.stderr
    assert "kerf = 0.183 ± 0.006 mm, mean of both, the full width of the cut" in result.stdout
    assert "loses 0.091 mm" in result.stdout
    assert "differ by 0.042 mm" in result.stdout
    assert "Left out: m.csv:7: comb[4].reading: 87.72 mm" in result.stdout
    assert not Path("materials").exists()


def test_kerf_fits_80_columns_when_piped() -> None:
    lines = run("kerf", measured()).stdout.splitlines()
    assert max(len(line) for line in lines if not line.startswith("Left out")) <= 80


def test_kerf_as_json() -> None:
    values = json.loads(run("kerf", measured(), "--json").stdout)
    assert values["kerf_mm"] == pytest.approx(2.0 * values["per_edge_mm"])
    x, y = values["directions"]
    # By hand: mean of the bar's readings less that of the comb's, over seven kerfs.
    assert x["kerf_mm"] == pytest.approx((79.84333333 - 78.71333333) / 7.0)
    assert y["kerf_mm"] == pytest.approx((79.79333333 - 78.36666667) / 7.0)
    assert values["kerf_mm"] == pytest.approx((x["kerf_mm"] + y["kerf_mm"]) / 2.0)
    assert x["left_out"] == ["m.csv:7: comb[4].reading"]
    assert y["left_out"] == []
    assert values["directions_differ"] is True
    assert values["written_to"] is None


def test_apply_writes_the_user_s_copy_and_planning_uses_it(folder: Path) -> None:
    result = run("kerf", measured(), "--apply", "bench-co2")
    assert result.exit_code == 0, result.stderr
    assert "a copy of the shipped profile" in result.stdout
    assert "amber = 0.183  # measured ±0.006 mm (95 %): x 0.161, y 0.204" in (
        folder / "materials" / "cutters" / "bench-co2.toml"
    ).read_text(encoding="utf-8")
    job = folder / "job.toml"
    job.write_text(
        'format = 1\ntitle = "t"\ncutter = "bench-co2"\n[[part]]\nname = "washer"\nfilm = "amber"\n'
        "ring = { outer_diameter = 24, inner_diameter = 6.5 }\n",
        encoding="utf-8",
    )
    assert check(job).job.kerf_for("amber") == 0.183


def test_apply_to_another_cutter_than_measured_on_is_refused() -> None:
    result = run("kerf", measured(), "--apply", "desk-diode")
    assert result.exit_code == 2
    assert "m.csv: cutter: measured on bench-co2" in result.stderr
    assert not Path("materials").exists()


@pytest.mark.parametrize(
    ("line", "words"),
    [("", "m.csv: film: missing"), ("film,ambre", '"ambre" is not a known film')],
)
def test_apply_needs_a_film_we_know(line: str, words: str) -> None:
    result = run("kerf", measured(MEASURED.replace("film,amber", line)), "--apply", "bench-co2")
    assert result.exit_code == 2
    assert words in result.stderr
    assert not Path("materials").exists()


def test_a_negative_kerf_is_refused_and_nothing_is_written() -> None:
    text = "film,amber\nkind,along,drawn,reading,strips\ncomb,x,80,80.4,8\ncomb,x,80,80.41,8\n"
    result = run("kerf", measured(text), "--apply", "bench-co2")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "along x the kerf comes out as -0.051 mm" in result.stderr
    assert not Path("materials").exists()


def test_a_kerf_twice_the_one_in_use_asks_for_the_sense() -> None:
    text = (
        "film,amber\ncutter,bench-co2\nkind,along,drawn,reading,strips\n"
        "comb,x,80,77.44,8\ncomb,x,80,77.45,8\ncomb,y,80,77.44,8\ncomb,y,80,77.43,8\n"
    )
    assert "the kerf in use is 0.16 mm, about half of this" in run(
        "kerf", measured(text)
    ).stdout.replace("\n", " ")  # fmt: skip


def test_kerf_of_an_unfilled_form_says_so() -> None:
    run("coupon", "--film", "amber", "--cutter", "bench-co2", "--out", ".")
    result = run("kerf", "coupon-amber-bench-co2.toml")
    assert result.exit_code == 2
    assert "no readings yet" in result.stderr
    assert len(result.stderr.splitlines()) == 1
