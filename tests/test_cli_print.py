"""``jobprep print`` as a user meets it: files, words, refusals."""

import re
from pathlib import Path

import pytest
from commands import run
from read_pdf import read_pages

pytest.importorskip("reportlab")

EXAMPLES = Path(__file__).parent.parent / "examples"
AURORA = EXAMPLES / "01-aurora-wheel" / "job.toml"

DESIGN = """\
format = 1
name = "{name}"
outer_diameter = 60
bore = {{ diameter = 6 }}

[[layer]]
name = "colour"
sector = [
  {{ film = "amber", degrees = 200 }},
  {{ film = "green", degrees = 160 }},
]
"""
JOB = """\
format = 1
title = "Trial"
cutter = "bench-co2"

[[disc]]
design = "wheel.toml"
copies = 2
"""


def small_job(folder: Path, name: str = "Small wheel") -> Path:
    (folder / "wheel.toml").write_text(DESIGN.format(name=name), encoding="utf-8")
    path = folder / "job.toml"
    path.write_text(JOB, encoding="utf-8")
    return path


def test_print_writes_a_file_for_each_use(tmp_path: Path) -> None:
    result = run("print", AURORA, "--out", tmp_path / "paper")
    assert result.exit_code == 0, result.stderr
    names = {path.name for path in (tmp_path / "paper").iterdir()}
    assert {"assembly.pdf", "patterns.pdf", "labels.pdf"} <= names
    assert "assembly.pdf: 1 page\n" in result.stdout
    assert f"Written to {tmp_path / 'paper'}" in result.stdout
    (page,) = read_pages((tmp_path / "paper" / "labels.pdf").read_bytes())
    for word in ("Aurora wheel", "copy 1 of 4", "copy 4 of 4", "THIS SIDE OUT", "600 r/min"):
        assert word in page.text


def test_printing_again_replaces_only_our_own(tmp_path: Path) -> None:
    job, out = small_job(tmp_path), tmp_path / "paper"
    assert run("print", job, "--out", out).exit_code == 0
    before = (out / "labels.pdf").read_bytes()
    assert run("print", job, "--out", out, "--scale-x", "1.004").exit_code == 0
    assert (out / "labels.pdf").read_bytes() != before
    (out / "patterns.pdf").write_bytes(b"%PDF-1.7 a letter home")
    kept = (out / "labels.pdf").read_bytes()
    result = run("print", job, "--out", out)
    assert result.exit_code == 2
    told = f"{out / 'patterns.pdf'}: is not a file of ours; name another folder\n"
    assert result.stderr == told
    assert (out / "labels.pdf").read_bytes() == kept
    assert (out / "patterns.pdf").read_bytes() == b"%PDF-1.7 a letter home"


def test_scale_and_mirror_are_told_on_the_page(tmp_path: Path) -> None:
    out = tmp_path / "paper"
    words = ("--scale-x", "1.007", "--scale-y", "0.996", "--mirror", "--paper", "Letter")
    assert run("print", small_job(tmp_path), "--out", out, *words).exit_code == 0
    (page,) = read_pages((out / "assembly.pdf").read_bytes())
    assert (page.width, page.height) == pytest.approx((215.9, 279.4), abs=1e-4)
    assert "× 1.007 across, × 0.996 up" in page.text
    assert "mirrored: it reads right through the film" in page.text


@pytest.mark.parametrize(
    ("option", "value", "told"),
    [
        ("--paper", "foolscap", '"foolscap" is not a paper: A3, A4, A5, Letter, or WxH in mm'),
        ("--paper", "90x60", "each side must be 148 to 2000 mm"),
        ("--paper", "nanx300", "each side must be 148 to 2000 mm"),
        ("--scale-x", "0.5", "0.5 is not between 0.97 and 1.03"),
        ("--scale-y", "nan", "nan is not between 0.97 and 1.03"),
    ],
)
def test_bad_options_are_refused_in_a_sentence(
    tmp_path: Path, option: str, value: str, told: str
) -> None:
    result = run("print", small_job(tmp_path), "--out", tmp_path / "paper", option, value)
    assert result.exit_code == 2
    assert told in " ".join(result.stderr.split())
    assert not (tmp_path / "paper").exists()


def test_names_in_other_letters_are_replaced_with_a_caution(tmp_path: Path) -> None:
    result = run("print", small_job(tmp_path, "Маяк"), "--out", tmp_path / "paper")
    assert result.exit_code == 0
    assert 'Caution: "Маяк" has letters that the built-in print face lacks' in result.stdout
    (page,) = read_pages((tmp_path / "paper" / "labels.pdf").read_bytes())
    assert "Disc 1" in page.text
    assert "copy 2 of 2" in page.text


def test_a_job_that_is_wrong_writes_nothing(tmp_path: Path) -> None:
    job = small_job(tmp_path)
    job.write_text(JOB.replace("copies = 2", "copies = 0"), encoding="utf-8")
    result = run("print", job, "--out", tmp_path / "paper")
    assert result.exit_code == 2
    assert "disc[1].copies" in result.stderr
    assert not (tmp_path / "paper").exists()


def test_a_file_in_the_way_is_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "paper").write_text("mine", encoding="utf-8")
    result = run("print", small_job(tmp_path), "--out", tmp_path / "paper")
    assert result.exit_code == 1
    assert "cannot be written" in result.stderr
    assert (tmp_path / "paper").read_text(encoding="utf-8") == "mine"


def test_scales_are_kept_for_each_printer(tmp_path: Path) -> None:
    job, out = small_job(tmp_path), tmp_path / "paper"
    kept = tmp_path / "materials" / "printers" / "office.toml"
    result = run("print", job, "--out", out, "--printer", "office")
    assert result.exit_code == 2
    assert "no such printer yet; give --scale-x and --scale-y" in result.stderr
    assert not out.exists()
    words = ("--printer", "office", "--scale-x", "1.007", "--scale-y", "0.996")
    result = run("print", job, "--out", out, *words)
    assert f"Kept in {kept}" in result.stdout
    assert kept.read_text(encoding="utf-8").split() == (
        "format = 1 scale_x = 1.007 scale_y = 0.996".split()
    )
    before = (out / "labels.pdf").read_bytes()
    result = run("print", job, "--out", out, "--printer", "office")
    assert result.exit_code == 0, result.stderr
    assert "Kept" not in result.stdout
    assert (out / "labels.pdf").read_bytes() == before
    run("print", job, "--out", out, "--printer", "office", "--scale-y", "1.001")
    assert "scale_x = 1.007\nscale_y = 1.001" in kept.read_text(encoding="utf-8")


def test_a_printer_file_that_is_wrong_is_told_with_its_line(tmp_path: Path) -> None:
    job = small_job(tmp_path)
    path = tmp_path / "materials" / "printers" / "office.toml"
    path.parent.mkdir(parents=True)
    path.write_text("format = 1\nscale_x = 2.0\n", encoding="utf-8")
    result = run("print", job, "--out", tmp_path / "paper", "--printer", "office")
    assert result.exit_code == 2
    assert f"{path}:2: scale_x: 2" in result.stderr
    assert "a factor from 0.97 to 1.03" in result.stderr
    result = run("print", job, "--out", tmp_path / "paper", "--printer", "../x")
    assert result.exit_code == 2
    assert "lower-case letters, digits and hyphens" in result.stderr


def test_a_sheet_that_the_job_has_no_more_does_not_stay(tmp_path: Path) -> None:
    job, out = small_job(tmp_path), tmp_path / "paper"
    design = tmp_path / "wheel.toml"
    text = design.read_text(encoding="utf-8")
    design.write_text(text.replace("amber", "black"), encoding="utf-8")
    run("print", job, "--out", out)
    assert (out / "overlays.pdf").exists()
    (out / "letter.pdf").write_bytes(b"%PDF-1.7 a letter home")
    design.write_text(text, encoding="utf-8")
    run("print", job, "--out", out)
    names = {path.name for path in out.iterdir()}
    assert names == {"assembly.pdf", "patterns.pdf", "labels.pdf", "letter.pdf"}


def test_a_long_title_leaves_size_and_speed_on_the_label_to_be_read(tmp_path: Path) -> None:
    job = small_job(tmp_path)
    long = "Everything for the autumn exhibition of lamp projectors and beacons of the harbour"
    title = re.search(r'title = "(.*)"', job.read_text(encoding="utf-8"))
    assert title is not None
    job.write_text(job.read_text(encoding="utf-8").replace(title[1], long), encoding="utf-8")
    run("print", job, "--out", tmp_path / "paper")
    (page,) = read_pages((tmp_path / "paper" / "labels.pdf").read_bytes())
    assert "Everything for the autumn exhibition of ..., Ø " in page.text
    assert "beacons" not in page.text


def test_the_date_stands_on_every_label(tmp_path: Path) -> None:
    job, out = small_job(tmp_path), tmp_path / "paper"
    assert run("print", job, "--out", out, "--date", "2026-03-01").exit_code == 0
    (page,) = read_pages((out / "labels.pdf").read_bytes())
    assert page.text.count("2026-03-01") == 2
    result = run("print", job, "--out", out, "--date", "yesterday")
    assert result.exit_code == 2
    assert '"yesterday" is not a date' in result.stderr


def test_a_run_is_printed_as_it_was_planned(tmp_path: Path) -> None:
    job = small_job(tmp_path)
    with job.open("a", encoding="utf-8") as file:
        file.write("\n[nesting]\nevaluations = 300\n")
    planned = run("plan", job, "--out", tmp_path / "run")
    assert planned.exit_code == 0, planned.stderr
    assert run("print", job, "--out", tmp_path / "from-job").exit_code == 0
    job.unlink()
    for source in (tmp_path / "run", tmp_path / "run" / "run.toml"):
        result = run("print", source, "--out", tmp_path / "from-run")
        assert result.exit_code == 0, result.stderr
        for name in ("assembly.pdf", "patterns.pdf", "labels.pdf"):
            ours, theirs = (
                [sorted(map(str, page.strokes)) for page in read_pages(folder.read_bytes())]
                for folder in (tmp_path / "from-run" / name, tmp_path / "from-job" / name)
            )
            assert ours == theirs
    result = run("print", tmp_path, "--out", tmp_path / "nothing")
    assert result.exit_code == 2
    assert "run.toml" in result.stderr
