"""An edited record is refused with a sentence, or it is said that it was edited.

The record is that of a planned job, its parts laid by hand so that every sentence is known.
"""

from __future__ import annotations

import copy
import hashlib
import math
import random
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import shapely
from case_files import Case, Tables, write_case
from click.testing import Result
from commands import done, run
from shapely.affinity import rotate, translate
from virtual_cut import nominal_polygon

from jobprep.errors import InputError
from jobprep.files.materials.bases import refusal
from jobprep.files.toml_text import toml_text
from jobprep.planning.record import recorded_parts, recorded_sheets
from jobprep.recorded_run import EDITED, recorded_run

WHEEL: Tables = {
    "format": 1,
    "name": "Lantern wheel",
    "outer_diameter": 80,
    "hole": [{"name": "index", "diameter": 3, "radius": 34, "angle": 60}],
    "layer": [
        {
            "name": "colour",
            "inner_diameter": 20,
            "sector": [{"film": "amber", "degrees": 130}, {"film": "none", "degrees": 230}],
        },
        {"name": "mask", "film": "black", "inner_diameter": 20},
    ],
}
JOB: Tables = {
    "format": 1,
    "title": "Lanterns",
    "cutter": "bench-co2",
    "disc": [{"design": "wheel.toml", "copies": 2}],
    "part": [
        {"name": "plate", "film": "amber", "copies": 3, "rectangle": {"size": [40, 30]}},
        {"name": "ring", "film": "amber", "ring": {"outer_diameter": 50, "inner_diameter": 40}},
    ],
    "stock": [
        {"film": "amber", "label": "A7", "outline": [[0, 0], [260, 0], [260, 180], [0, 180]]}
    ],
    "nesting": {"evaluations": 200},
}
PLACES = (
    *((1, 0, 0, 20.0, 60.0), (1, 1, 0, 70.0, 60.0), (3, 0, 0, 10.0, 110.0), (3, 1, 0, 60.0, 110.0)),
    *(
        (3, 2, 0, 110.0, 110.0),
        (4, 0, 0, 150.0, 50.0),
        (2, 0, 1, 50.0, 50.0),
        (2, 1, 1, 150.0, 50.0),
    ),
)
"""Part, copy, sheet, x and y."""

Edit = Callable[[Tables], Any]


def text_of(values: Tables, digest: str = "") -> str:
    """Return the text of a record; its own digest is right unless another one is given."""
    values = {key: each for key, each in values.items() if key != "outputs"}
    head = toml_text(values).rstrip("\n")
    digest = digest or hashlib.sha256(head.encode()).hexdigest()
    return f"{head}\n\n" + toml_text({"outputs": [{"file": "run.toml", "sha256": digest}]})


@pytest.fixture(scope="module")
def values(tmp_path_factory: pytest.TempPathFactory) -> Tables:
    folder = tmp_path_factory.mktemp("lanterns")
    case: Case = {"job.toml": JOB, "wheel.toml": WHEEL}
    done("plan", write_case(case, folder), "--out", folder / "run")
    planned = tomllib.loads((folder / "run" / "run.toml").read_text())
    keys = ("part", "copy", "sheet", "x", "y")
    planned["placements"] = [dict(zip(keys, each, strict=True), angle=0.0) for each in PLACES]
    return planned


@pytest.fixture
def shop(values: Tables, tmp_path: Path) -> Path:
    """Return a folder with a job and, in ``run``, its record as if it had been written so."""
    case: Case = {"job.toml": JOB, "wheel.toml": WHEEL}
    write_case(case, tmp_path)
    (tmp_path / "run").mkdir()
    (tmp_path / "run" / "run.toml").write_text(text_of(values))
    return tmp_path


def edited(folder: Path, values: Tables, edit: Edit) -> Path:
    """Write an edited record, with the digest that it had before; return its path."""
    changed = copy.deepcopy(values)
    edit(changed)
    path = folder / "run" / "run.toml"
    digest = tomllib.loads(path.read_text())["outputs"][0]["sha256"]
    path.write_text(text_of(changed, digest))
    return path


def put(*keys: str | int, to: Any) -> Edit:
    """Set the value at the end of a way."""

    def edit(values: Any) -> None:
        for key in keys[:-1]:
            values = values[key]
        values[keys[-1]] = to

    return edit


def drop(*keys: str | int) -> Edit:
    def edit(values: Any) -> None:
        for key in keys[:-1]:
            values = values[key]
        del values[keys[-1]]

    return edit


def both(*edits: Edit) -> Edit:
    def edit(values: Tables) -> None:
        for each in edits:
            each(values)

    return edit


def films_swapped(values: Tables) -> None:
    other = {"amber": "black", "black": "amber"}
    for row in (*values["parts"], *values["sheets"]):
        row["film"] = other[row["film"]]


def another_sheet(values: Tables) -> None:
    """Open the leftover again, for the ring."""
    values["sheets"].append(values["sheets"][0])
    values["placements"][5]["sheet"] = 2


def mark_shifted(values: Tables) -> None:
    mark = values["parts"][0]["marks"][0]
    mark[0] = [mark[0][0] + 80, mark[0][1], mark[0][2] + 80, mark[0][3]]


def without_part(values: Tables) -> None:
    """Leave out the black rings of both discs, and their sheet."""
    del (
        values["parts"][1],
        values["sheets"][1],
        values["placements"][6:],
        values["job"]["kerf"]["black"],
    )


def sides(*corners: tuple[float, float]) -> list[list[float]]:
    """Return the sides of a polygon as segments."""
    return [[*one, *other] for one, other in zip(corners, corners[1:] + corners[:1], strict=True)]


PIECE = sides((0, 0), (260, 0), (260, 180), (0, 180))
LARGER = sides((0, 0), (300, 0), (300, 180), (0, 180))
ASIDE = sides((9, 0), (269, 0), (269, 180), (9, 180))

WRONG: dict[str, tuple[Edit, list[str]]] = {
    "a hole over its outline": (
        put("parts", 3, "contours", 1, to=[[30, 0, 20, 0, -math.tau]]),
        ["parts[4].contours[2]: it crosses contour 1 at (18.75, 16.536)"],
    ),
    "a hole outside its outline": (
        put("parts", 3, "contours", 1, to=[[60, 0, 20, 0, -math.tau]]),
        ["parts[4].contours[2]: it lies outside the outer contour, which is to hold it"],
    ),
    "a hole as large as its ring": (
        put("parts", 3, "contours", 1, to=[[0, 0, 25, 0, -math.tau]]),
        ["parts[4].contours[2]: it runs along contour 1 at (19.151, 16.07)"],
    ),
    "a hole in a hole": (
        lambda values: values["parts"][3]["contours"].append([[0, 0, 9, 0, -math.tau]]),
        ["parts[4].contours[3]: it and contour 2 lie in each other"],
    ),
    "a hole that runs the other way": (
        put("parts", 3, "contours", 1, to=[[0, 0, 20, 0, math.tau]]),
        ["parts[4].contours[2]: it runs anticlockwise; a hole runs clockwise"],
    ),
    "an outline that runs the other way": (
        put("parts", 2, "contours", 0, to=sides((0, 0), (0, 30), (40, 30), (40, 0))),
        ["parts[3].contours[1]: it runs clockwise; an outer contour runs anticlockwise"],
    ),
    "an outline that crosses itself": (
        put("parts", 2, "contours", 0, to=sides((0, 0), (40, 0), (9, 30), (40, 30))),
        ["parts[3].contours[1]: it crosses itself: it does not turn once round what it encloses"],
    ),
    "an outline that is left open": (
        put("parts", 2, "contours", 0, 1, to=[41, 0, 40, 30]),
        ["parts[3].contours[1]: its segments do not meet, they are 1 mm apart"],
    ),
    "an arc round and round": (
        put("parts", 3, "contours", 0, to=[[0, 0, 25, 0, 2 * math.tau]]),
        ["parts[4].contours[1]: an arc sweeps over nothing, or over more than a whole turn"],
    ),
    "a negative kerf": (
        put("job", "kerf", "amber", to=-0.2),
        ["job.kerf.amber: -0.2 is not a kerf in mm (full width of the cut), from 0 to 3"],
    ),
    "a missing copy": (
        drop("placements", 4),
        ["parts[3]: 2 of its 3 copies lie on a sheet, not 3"],
    ),
    "a copy in two places": (
        put("placements", 4, "copy", to=0),
        [
            "parts[3]: 2 of its 3 copies lie on a sheet, not 3",
            "placements[3]: copy 1 of part 3 lies in two places",
        ],
    ),
    "a copy too many": (
        both(put("parts", 0, "quantity", to=3), put("parts", 0, "unplaced", to=1)),
        ["parts[1].quantity: 3 is not 2, as many as 2 discs take"],
    ),
    "a part left out": (
        without_part,
        [
            "job.discs[1].design: 0 parts of this record, not 1, are layer \"mask\" of"
            ' "Lantern wheel"'
        ],
    ),
    "films swapped": (
        films_swapped,
        [
            'parts[1].film: black is not the film of sector 1 of layer "colour" of "Lantern wheel",'
            " which is amber",
            'parts[2].film: amber is not the film of layer "mask" of "Lantern wheel", which is'
            " black",
            'sheets[1].contours: "A7" of this outline is not among the stock of the record\'s job',
        ],
    ),
    "another place for an index hole": (
        put("parts", 1, "contours", 2, to=[[0, 34, 1.5, 0, -math.tau]]),
        ['parts[2].contours: it is not the outline of layer "mask" of "Lantern wheel"'],
    ),
    "an overlap": (
        put("placements", 3, "x", to=30.0),
        ["placements[4]: copy 1 of part 3 and copy 2 of part 3 are 0 mm apart, 1.16 mm are needed"],
    ),
    "slots that run into each other": (
        put("placements", 3, "x", to=51.0),
        ["placements[4]: copy 1 of part 3 and copy 2 of part 3 are 1 mm apart, 1.16 mm are needed"],
    ),
    "a placement off the sheet": (
        put("placements", 2, "x", to=-30.0),
        ["placements[3]: copy 1 of part 3 lies outside its sheet, 1.16 mm are needed"],
    ),
    "a placement against the grain": (
        both(
            put("job", "films", "amber", "rotation_step", to=math.pi / 2),
            put("placements", 5, "angle", to=0.1),
        ),
        ["placements[6]: copy 1 of part 4 is turned by 5.72958 degrees, not a multiple of 90"],
    ),
    "a mark off its part": (
        mark_shifted,
        ["parts[1].marks[1]: it does not lie on its part, 0.5 mm from its edges"],
    ),
    "a huge speed": (
        put("job", "cutter", "cut_speed", "polyester", to=1e6),
        ["job.cutter.cut_speed.polyester: 1000000 is not a speed in mm/s, from 0.001 to 10000"],
    ),
    "no passes": (
        put("job", "cutter", "passes", to={"any": 0}),
        ["job.cutter.passes.any: 0 is not a whole number from 1 to 100"],
    ),
    "a negative web": (
        put("job", "nesting", "web", to=-1),
        ['job.nesting.web: -1 is not a length in mm, from 0 to 10000, or "shared"'],
    ),
    "sectors that do not close": (
        put("job", "discs", 0, "design", "layers", 0, "sectors", 0, "angle", to=2.0),
        [
            "job.discs[1].design.layer[1].sector: the sectors add up to 344.5916 degrees, 15.4084"
            " degrees missing: they must close to 360"
        ],
    ),
    "a hole beyond the rim": (
        put("job", "discs", 0, "design", "holes", 0, "radius", to=39.0),
        [
            "job.discs[1].design.hole[1].radius: reaches 40.5 mm from the centre, not below the"
            " rim, 40 mm"
        ],
    ),
    "a film that must not be cut": (
        put("job", "films", "amber", "base", to="pvc"),
        [f"job.films.amber: amber must not be cut: {refusal('pvc')}"],
    ),
    "a larger leftover": (
        put("sheets", 0, "contours", to=[LARGER]),
        ['sheets[1].contours: "A7" of this outline is not among the stock of the record\'s job'],
    ),
    "a size that a film does not come in": (
        put("sheets", 1, "contours", to=[LARGER]),
        [
            "sheets[2].contours: a sheet of black of this outline is not among the stock of the"
            " record's job"
        ],
    ),
    "a leftover opened twice": (
        another_sheet,
        ["sheets[3]: it is opened more often than there is 1 of it"],
    ),
    "a bed too small": (
        put("job", "cutter", "bed", to=[300, 200]),
        [
            "sheets[2].contours: a sheet of 508 × 610 mm is larger than the bed of bench-co2, 300 ×"
            " 200 mm; cut it to size first and list the pieces under [[stock]]"
        ],
    ),
    "a sheet aside of the origin": (
        put("sheets", 0, "contours", to=[ASIDE]),
        [
            "sheets[1].contours: its lower left corner does not lie at (0, 0), where sheets lie",
            "placements[3]: copy 1 of part 3 is 1 mm from the edge, 1.16 mm are needed",
        ],
    ),
    "a defect beyond its sheet": (
        put("sheets", 0, "contours", to=[PIECE, [[400, 20, 3, 0, -math.tau]]]),
        ["sheets[1].contours[2]: it lies outside the outer contour, which is to hold it"],
    ),
}  # fmt: skip


def sentences(error: InputError) -> list[str]:
    """Return what an error says, without the file and line."""
    return [f"{p.place.field}: {p.message}" if p.place.field else p.message for p in error.problems]


def test_a_record_as_it_was_written_is_proven(shop: Path) -> None:
    assert recorded_run(shop / "run").cautions == ()


@pytest.mark.parametrize("what", WRONG)
def test_a_wrong_record_is_refused(shop: Path, values: Tables, what: str) -> None:
    edit, expected = WRONG[what]
    path = edited(shop, values, edit)
    with pytest.raises(InputError) as caught:
        recorded_run(path)
    said = sentences(caught.value)
    assert [each for each in said if each != EDITED] == expected
    assert EDITED in said


COMMANDS = {
    "recut": ("recut", "run", "--out", "again"),
    "recut --recorded": ("recut", "run", "--recorded", "--out", "again"),
    "recut --only": ("recut", "run", "--recorded", "--only", "3", "--out", "again"),
    "stock book": ("stock", "book", "run", "--stock", "stock.toml"),
    "print": ("print", "run", "--out", "again"),
    "cut-print": ("cut-print", "run", "--film", "clear", "--out", "again.svg"),
}


def command(words: tuple[str, ...], folder: Path) -> Result:
    """Run a command on the run in a folder."""
    files = ("run", "again", "again.svg", "stock.toml")
    return run(*(folder / word if word in files else word for word in words))


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_refuses_a_wrong_record(shop: Path, values: Tables, name: str) -> None:
    path = edited(shop, values, put("parts", 3, "contours", 1, to=[[60, 0, 20, 0, -math.tau]]))
    before = sorted(shop.rglob("*"))
    result = command(COMMANDS[name], shop)
    line = 1 + path.read_text().splitlines().index(
        next(row for row in path.read_text().splitlines() if "[60, 0, 20" in row)
    )
    assert (result.exit_code, result.stderr) == (
        2,
        f"{path}: {EDITED}\n{path}:{line}: parts[4].contours[2]: it lies outside the outer contour,"
        " which is to hold it\n",
    )
    assert sorted(shop.rglob("*")) == before


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_says_that_a_record_was_edited(shop: Path, values: Tables, name: str) -> None:
    """The plates are moved a little, to where they may lie."""
    path = edited(shop, values, put("placements", 2, "x", to=9.5))
    result = command(COMMANDS[name], shop)
    if name == "recut":
        hint = "plan the job again, or cut what was recorded: --recorded"
        assert (result.exit_code, result.stderr) == (2, f"{path}: {EDITED}; {hint}\n")
        assert not (shop / "again").exists()
    else:
        assert result.exit_code == 0, result.stderr
        assert f"Caution: {path}: {EDITED}\n" in result.stderr


def test_a_changed_digest_is_said(shop: Path, values: Tables) -> None:
    path = shop / "run" / "run.toml"
    path.write_text(text_of(values, "0" * 64))
    result = command(COMMANDS["recut"], shop)
    hint = "plan the job again, or cut what was recorded: --recorded"
    assert (result.exit_code, result.stderr) == (2, f"{path}: {EDITED}; {hint}\n")
    assert recorded_run(path).is_edited


def test_a_record_without_digests_is_proven_all_the_same(shop: Path, values: Tables) -> None:
    """Nothing is known of an edit; what it says must still be right."""
    path = shop / "run" / "run.toml"
    right = {key: each for key, each in values.items() if key != "outputs"}
    path.write_text(toml_text(right))
    assert recorded_run(path).cautions == ()
    wrong = copy.deepcopy(right)
    wrong["placements"][3]["x"] = 30.0
    path.write_text(toml_text(wrong))
    with pytest.raises(InputError, match="copy 1 of part 3 and copy 2 of part 3 are 0 mm apart"):
        recorded_run(path)


def test_an_old_record_with_missing_copies_says_that_they_are_not_cut(
    shop: Path, values: Tables
) -> None:
    """Version 0.1.0 wrote the same for stock that was too short as an edit would leave."""
    old = {key: each for key, each in copy.deepcopy(values).items() if key != "is_whole"}
    for part in old["parts"]:
        del part["unplaced"]
    del old["placements"][4]
    (shop / "run" / "run.toml").write_text(text_of(old))
    result = command(COMMANDS["recut --recorded"], shop)
    assert result.exit_code == 0, result.stderr
    assert "parts[3]: 2 of its 3 copies lie on a sheet; the rest is not cut" in result.stderr
    again = recorded_run(shop / "again")
    assert {part.number: part.unplaced for part in again.record.parts} == {1: 0, 2: 0, 3: 1, 4: 0}
    assert again.cautions == ()


def test_some_parts_cut_again_are_proven_and_can_be_cut_again(shop: Path) -> None:
    done("recut", shop / "run", "--recorded", "--only", "3", "--copy", "2", "--out", shop / "one")
    once = recorded_run(shop / "one")
    assert once.record.is_whole is False
    assert [(part.number, part.quantity) for part in once.record.parts] == [(3, 1)]
    done("recut", shop / "one", "--recorded", "--kerf", "amber=0.2", "--out", shop / "two")
    assert recorded_run(shop / "two").record.is_whole is False


def test_stock_too_short_is_recorded(shop: Path) -> None:
    job = JOB | {"stock": [{"film": "amber", "label": "A7", "size": [120, 90]}]}
    write_case({"job.toml": job}, shop)
    done("plan", shop / "job.toml", "--partial", "--out", shop / "short")
    short = recorded_run(shop / "short")
    assert short.cautions == ()
    assert sum(part.unplaced or 0 for part in short.record.parts) > 0
    done("recut", shop / "short", "--out", shop / "again")


def test_a_filled_run_without_a_design_is_cut_again(shop: Path) -> None:
    """Of the design that is not asked for there are no discs."""
    small = copy.deepcopy(WHEEL) | {"name": "Small wheel", "outer_diameter": 75}
    disc = [*JOB["disc"], {"design": "small.toml"}]
    stock = [{"film": film, "size": [300, 200]} for film in ("amber", "black")]
    job = JOB | {"disc": disc, "stock": stock}
    write_case({"job.toml": job, "small.toml": small}, shop)
    done("fill", shop / "job.toml", "--design", "Small wheel", "--out", shop / "full")
    done("recut", shop / "full", "--kerf", "amber=0.17", "--out", shop / "again")


def test_a_job_sheet_that_has_changed_is_said(shop: Path) -> None:
    done("recut", shop / "run", "--recorded", "--out", shop / "again")
    page = shop / "again" / "job-sheet.html"
    assert run("sheet", shop / "again").stderr == ""
    page.write_text(page.read_text().replace("Lanterns", "Lampions"))
    result = run("sheet", shop / "again")
    assert result.exit_code == 0
    assert result.stderr == f"Caution: {page}: this page has changed since the run was written\n"


FACTS = ("parts", "sheets", "placements")
STEPS = (-60.0, -3.0, -0.5, 0.1, 1.0, 5.0, 90.0)


def numbers_of(value: Any, keys: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """Return the ways to all numbers in a value."""
    if isinstance(value, dict):
        return [way for key, each in value.items() for way in numbers_of(each, (*keys, key))]
    if isinstance(value, list):
        return [way for key, each in enumerate(value) for way in numbers_of(each, (*keys, key))]
    return [keys] if isinstance(value, int | float) and not isinstance(value, bool) else []


@pytest.mark.parametrize("seed", range(4))
def test_what_is_proven_of_an_edited_record_is_right(shop: Path, values: Tables, seed: int) -> None:
    """Any number of its shapes and places is changed: refused, or shapely finds nothing wrong."""
    chance = random.Random(seed)
    ways = numbers_of({key: values[key] for key in FACTS})
    accepted = 0
    for _ in range(100):
        changed = copy.deepcopy(values)
        *first, last = chance.choice(ways)
        table: Any = changed
        for key in first:
            table = table[key]
        step = chance.choice(STEPS)
        table[last] += round(step) or 1 if isinstance(table[last], int) else step
        path = shop / "run" / "run.toml"
        path.write_text(text_of(changed))
        try:
            found = recorded_run(path).record
        except InputError:
            continue
        accepted += 1
        shapes = {part.number: nominal_polygon(part.region) for part in recorded_parts(found)}
        sheets = [nominal_polygon(sheet.region) for sheet in recorded_sheets(found)]
        placed: list[list[shapely.Polygon]] = [[] for _ in sheets]
        for each in found.placements:
            turned = rotate(shapes[each.part], each.angle, origin=(0, 0), use_radians=True)
            placed[each.sheet].append(translate(turned, each.x, each.y))
        for sheet, own in zip(sheets, placed, strict=True):
            assert all(shape.is_valid and sheet.covers(shape.buffer(1.0)) for shape in own)
            tree = shapely.STRtree(own)
            near = tree.query(own, predicate="dwithin", distance=1.15)
            assert all(a == b for a, b in zip(*near, strict=True))
    assert accepted
