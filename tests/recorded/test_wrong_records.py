"""A record that says what no plan says is refused, each edit with its sentences."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from case_files import Tables
from recorded.lanterns import Edit, both, drop, edited, put

from jobprep.errors import InputError
from jobprep.files.materials.bases import refusal
from jobprep.runs.recorded_run import EDITED, recorded_run


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
    "a film that was to be chosen": (
        put("job", "disc", 0, "design", "layer", 0, "sector", 0, "film", to="?"),
        [
            'job.disc[1].design.layer[1].sector[1].film: "?" is a film to be chosen, which no run'
            " was planned with"
        ],
    ),
    "a layer that was to be chosen": (
        put("job", "disc", 0, "design", "layer", 1, "film", to="?"),
        [
            'job.disc[1].design.layer[2].film: "?" is a film to be chosen, which no run was planned'
            " with"
        ],
    ),
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
            "job.disc[1].design: 0 parts of this record, not 1, are layer \"mask\" of"
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
        ["placements[4]: copy 1 of part 3 and copy 2 of part 3 are 0 mm apart, 1.32 mm are needed"],
    ),
    "slots with less than the narrowest web between them": (
        put("placements", 3, "x", to=51.25),
        [
            "placements[4]: copy 1 of part 3 and copy 2 of part 3 are 1.25 mm apart, 1.32 mm are"
            " needed"
        ],
    ),
    "a placement off the sheet": (
        put("placements", 2, "x", to=-30.0),
        ["placements[3]: copy 1 of part 3 lies outside its sheet, 1.16 mm are needed"],
    ),
    "a placement against the grain": (
        both(
            put("job", "films", "amber", "rotation_step", to=90),
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
        put("job", "disc", 0, "design", "layer", 0, "sector", 0, "degrees", to=100),
        [
            "job.disc[1].design.layer[1].sector: the sectors add up to 330 degrees, 30 degrees"
            " missing: they must close to 360"
        ],
    ),
    "a hole beyond the rim": (
        put("job", "disc", 0, "design", "hole", 0, "radius", to=39.0),
        [
            "job.disc[1].design.hole[1].radius: reaches 40.5 mm from the centre, not below the"
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
            " 200 mm"
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


def heaped(values: Tables) -> None:
    """Lay fifty plates on one another."""
    plate = values["placements"][2]
    values["parts"][2]["quantity"] = 50
    values["placements"] += [plate | {"copy": copy} for copy in range(3, 50)]


@pytest.mark.parametrize("what", WRONG)
def test_a_wrong_record_is_refused(shop: Path, values: Tables, what: str) -> None:
    edit, expected = WRONG[what]
    path = edited(shop, values, edit)
    with pytest.raises(InputError) as caught:
        recorded_run(path)
    said = sentences(caught.value)
    assert [each for each in said if each != EDITED] == expected
    assert EDITED in said


def test_of_a_nest_that_is_wrong_all_over_some_is_said(shop: Path, values: Tables) -> None:
    """Of 1128 pairs of plates none is proven beyond the first few."""
    with pytest.raises(InputError) as caught:
        recorded_run(edited(shop, values, heaped))
    said = [each for each in sentences(caught.value) if each != EDITED]
    rest = "placements: the nest of amber has more faults than these 20"
    assert said[0] == rest
    assert len(said) == 21
    assert all("are 0 mm apart" in each for each in said[1:])
