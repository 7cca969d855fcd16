"""What a plan says on a terminal of 80 columns and 45 lines: cautions in short, the result last."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from commands import done
from starter import starter

from jobprep.report.practice import marked

LINES = 45


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with the starter job, on an own laser whose profile names no cautions."""
    folder = tmp_path_factory.mktemp("lamp") / "lamp"
    starter(folder, "own.toml", evaluations=200)
    (folder / "own.toml").write_text(
        'format = 1\ntitle = "Own laser"\nkind = "diode"\nwavelength_nm = 1064\n'
        "bed = [600, 700]\nmark_speed = 100\ntravel_speed = 200\nacceleration = 1000\n"
        "kerf = { any = 0.2 }\ncut_speed = { any = 10 }\n",
        "utf-8",
    )
    return folder


@pytest.fixture(scope="module")
def told(shop: Path) -> str:
    return done("plan", shop / "job.toml", "--out", shop / "run").output


def test_the_result_is_last_and_fits_the_terminal(told: str, shop: Path) -> None:
    lines = told.splitlines()
    # A path is not cut in two, however deep the tests' own folder lies.
    assert max(len(line) for line in lines if str(shop) not in line) <= 80
    result = lines.index("Harbour lamp, first wheel")
    assert len(lines) - result <= LINES
    above, below = "\n".join(lines[:result]), "\n".join(lines[result:])
    assert "Caution" in above and "Take care" in above
    assert "Caution" not in below and "Take care" not in below
    for word in ("Total", "Leftover to keep", "used ", "to pay now ", "Written to"):
        assert word in below


def test_dangers_are_told_in_short_and_on_the_page_in_full(told: str, shop: Path) -> None:
    hazards = json.loads((shop / "run" / "summary.json").read_text("utf-8"))["hazards"]
    page = (shop / "run" / "job-sheet.html").read_text("utf-8")
    shown = " ".join(told.split())
    assert any("eyewear rated for its wavelength" in each["text"] for each in hazards)
    for each in hazards:
        assert re.split("[.:;] ", each["text"])[0].rstrip(".") in shown
        assert marked(each["text"]) in page
    dangers = [line for line in told.splitlines() if line.startswith("Take care")]
    assert len(dangers) < len(hazards)
    assert "the job sheet has all of it" in shown


def test_a_recut_tells_the_dangers_of_its_cutter(shop: Path) -> None:
    told = done("recut", shop / "run", "--kerf", "clear=0.25", "--out", shop / "again").output
    assert told.index("Own laser: Never leave a running cutter") < told.index("Kerf mm")


def test_a_check_ends_with_its_verdict_below_all_cautions(shop: Path) -> None:
    told = done("check", shop / "job.toml").output
    assert told.index("Caution") < told.index("Held by") < told.index("The job can be planned.")


def test_both_shares_of_parts_are_named_and_only_one_depends_on_what_is_kept(shop: Path) -> None:
    found = []
    for smallest in (50, 2000):
        job = (shop / "job.toml").read_text("utf-8")
        job = job.replace("smallest_side = 50", f"smallest_side = {smallest}")
        (shop / "kept.toml").write_text(job, "utf-8")
        told = done("plan", shop / "kept.toml", "--out", shop / "kept").output
        total = json.loads((shop / "kept" / "summary.json").read_text("utf-8"))["totals"]
        (row,) = (line for line in told.splitlines() if line.startswith(" Total"))
        used, opened = re.findall(r"(\d+)%", row)
        assert (int(used), int(opened)) == (
            round(100 * total["utilisation"]),
            round(100 * total["utilisation_of_opened"]),
        )
        heads = " ".join(told[: told.index("─")].splitlines()[-4:]).split()
        assert heads.count("/") == 2 and {"film", "used", "sheet", "opened"} <= set(heads)
        page = (shop / "kept" / "job-sheet.html").read_text("utf-8")
        for name in ("Parts / film used", "Parts / sheet opened"):
            assert page.count(f"<dt>{name}</dt>") == 1
            assert f'scope="col">{name}</th>' in page
        assert "tilisation" not in re.sub("<(style|script)>.*?</", "", page, flags=re.DOTALL)
        found.append(total)
    kept, thrown = found
    sheets = kept["film_used_mm2"] + kept["leftover_mm2"]
    assert kept["utilisation_of_opened"] == pytest.approx(kept["part_area_mm2"] / sheets)
    assert thrown["utilisation_of_opened"] == pytest.approx(kept["utilisation_of_opened"])
    assert thrown["utilisation"] == pytest.approx(thrown["utilisation_of_opened"])
    assert kept["utilisation"] > 2 * thrown["utilisation"]


@pytest.mark.parametrize("name", ["wheel [/x] one", "wheel [red] one", "wheel :star: one"])
def test_a_name_that_looks_like_markup_is_printed_as_it_is(tmp_path: Path, name: str) -> None:
    """Once the first ended in a traceback and the others lost their middle."""
    job = starter(tmp_path, **{"Harbour lamp, first wheel": name, '"Harbour lamp"': f'"{name}"'})
    for words in (("check", job), ("disc", tmp_path / "harbour-lamp.toml")):
        assert name in " ".join(done(*words).output.split())
