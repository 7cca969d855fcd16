"""Random but valid jobs of every kind, as plain data that can be written and made smaller.

Each seed gives one case: a job, its designs and drawings, films and cutters of its own, a stock
ledger, and what to do with the run afterwards. What a test finds can be looked at again with the
same seed.
"""

from __future__ import annotations

import datetime
import tomllib
from pathlib import Path
from random import Random
from typing import Any

from case_files import ACTIONS, JOB, Case, Tables, tables_of
from random_narrow import add_narrow
from random_shapes import random_design, random_shape

SHIPPED = ("clear", "red", "amber", "green", "blue", "violet", "black", "diffusion", "mirror")
OWN = "harbour-film"
SHIPPED_FILES = Path(__file__).parents[1]
LARGEST = 150.0
"""Across any part, mm."""
DAY = datetime.date(2026, 11, 25)


def random_case(seed: int, most_parts: int = 60) -> Case:
    """Return a random case with at most this number of parts."""
    random = Random(seed)
    films = tuple(random.sample(SHIPPED, random.randint(1, 4)))
    case: Case = {}
    if random.random() < 0.4:
        case[f"materials/films/{OWN}.toml"] = _film(random)
        films = (OWN, *films)
    cutter, kind, bed = _cutter(random, case)
    job: Tables = {"format": 1, "title": f"Random job {seed}", "cutter": cutter}
    job |= _parts(random, case, films, random.randint(1, most_parts))
    case[JOB] = job
    job["stock"] = []
    short = random.random() < 0.1
    for film in films:
        _stock(random, case, film, bed, short)
    job["nesting"] = {
        "web": "shared" if random.random() < 0.2 else random.choice((0.6, 1.0, 1.5, 2.0)),
        "margin": random.choice((0.3, 3.0, 5.0)),
        "evaluations": random.choice((500, 1000, 2000)),
        "seed": seed,
    }
    if random.random() < 0.4:
        width = random.choice((0.0, 0.05, 0.12, 0.3, 0.8))
        job["kerf"] = {random.choice(films): 0.0 if kind == "knife" else width}
    elif kind != "knife" and random.random() < 0.2:
        job["nesting"]["margin"] = 0.0
    if random.random() < 0.6:
        job["prices"] = _prices(random, films)
    if random.random() < 0.6:
        job["cutting"] = _cutting(random)
    if random.random() < 0.5:
        job["leftovers"] = _leftovers(random)
    if seed % 2:
        add_narrow(case, {film: _kerf(case, film) for film in films}, seed)
    case[ACTIONS] = _actions(random, job, kind, films, short)
    return {name: _trimmed(content) for name, content in case.items()}


def _kerf(case: Case, film: str) -> float:
    """Return the kerf of a film: the job's own, else the cutter's for the film's base or any."""
    job = tables_of(case, JOB)
    if film in job.get("kerf", {}):
        return float(job["kerf"][film])
    cutter, base = (
        tables_of(case, name) or tomllib.loads((SHIPPED_FILES / name).read_text(encoding="utf-8"))
        for name in (f"materials/cutters/{job['cutter']}.toml", f"materials/films/{film}.toml")
    )
    kerf = cutter["kerf"]
    return float(kerf[film] if film in kerf else kerf.get(base["base"], kerf.get("any")))


def _trimmed(content: Tables | str) -> Tables | str:
    """Leave empty lists out."""
    if isinstance(content, str):
        return content
    return {key: value for key, value in content.items() if value != []}


def _parts(random: Random, case: Case, films: tuple[str, ...], most: int) -> Tables:
    left, discs, parts = most, [], []
    for number in range(random.randint(0, 2)):
        design, pieces = random_design(random, number, films)
        copies = random.randint(1, 3)
        if pieces * copies <= left:
            left -= pieces * copies
            case[f"disc-{number}.toml"] = design
            discs.append({"design": f"disc-{number}.toml", "copies": copies})
    while left > 0:
        copies = min(left, random.randint(1, 12))
        left -= copies
        name = f"loose {len(parts) + 1}"
        part = {"name": name, "film": random.choice(films), "copies": copies}
        parts.append(part | random_shape(random, case, f"shape-{len(parts) + 1}"))
    return {"disc": discs, "part": parts}


def _cutter(random: Random, case: Case) -> tuple[str, str, tuple[float, float]]:
    """Return a cutter's name, its kind and its bed; one of our own in about half of all jobs."""
    if random.random() < 0.4:
        return "bench-co2", "co2", (900.0, 620.0)
    if random.random() < 0.2:
        return "drag-knife", "knife", (600.0, 1000.0)
    kind = random.choice(("co2", "co2", "diode", "knife"))
    bed = random.choice(((300, 240), (420, 297), (700, 520), (1300, 900)))
    cutter: Tables = {
        "format": 1,
        "title": "A cutter of the lamp room",
        "kind": kind,
        "bed": list(bed),
        "mark_speed": random.uniform(20.0, 400.0),
        "travel_speed": random.uniform(50.0, 600.0),
        "acceleration": random.choice((100.0, 1000.0, 20000.0)),
        "pierce_time": random.choice((0.0, 0.05, 0.8)),
        "origin": random.choice(("lower-left", "lower-right", "upper-left", "upper-right")),
        "overcut": random.choice((0.0, 0.0, 0.4)),
        "kerf": {"any": 0.0 if kind == "knife" else random.uniform(0.02, 0.4)},
        "cut_speed": {"any": random.uniform(3.0, 120.0), "polyester": random.uniform(3.0, 120.0)},
        "passes": {"any": random.choice((1, 1, 2, 4))},
    }
    if kind == "diode":
        cutter["wavelength_nm"] = 450
    elif kind == "co2":
        cutter["wavelength_nm"] = 10600
    if random.random() < 0.5:
        cutter["power"] = {"mark": 20.0, "cut-inner": 300.0, "cut-outer": 300.0}
    if random.random() < 0.2:
        cutter["formats"] = ["svg", random.choice(("dxf", "gcode"))]
    case["materials/cutters/lamp-room.toml"] = cutter
    return "lamp-room", kind, (float(bed[0]), float(bed[1]))


def _film(random: Random) -> Tables:
    film: Tables = {
        "format": 1,
        "title": "A film of the harbour",
        "base": random.choice(("polyester", "polycarbonate", "acetate", "card")),
        "thickness": random.choice((0.05, 0.1, 0.25)),
        "colour": "#3366AA",
        "light": random.choice(("passes", "blocks", "scatters")),
        "least_web": random.choice((0.5, 1.0)),
    }
    if random.random() < 0.5:
        film["density_g_cm3"] = 1.3
    else:
        film["areal_mass_g_m2"] = 140.0
    if random.random() < 0.5:
        film["rotation_step"] = random.choice((15.0, 45.0, 90.0, 180.0, 360.0))
    sizes = random.sample(((508, 610), (600, 400), (320, 240), (840, 600)), random.randint(1, 3))
    film["sheet"] = [_priced(random, {"size": list(size)}) for size in sizes]
    if random.random() < 0.25:
        film["sheet"].append({"size": [10000, 300], "roll": True, "per_m": 6.5})
    return film


def _priced(random: Random, sheet: Tables) -> Tables:
    if random.random() < 0.5:
        return sheet | {"price": round(random.uniform(1.0, 30.0), 2)}
    return sheet | ({"per_m2": 20.0} if random.random() < 0.5 else {})


def _stock(random: Random, case: Case, film: str, bed: tuple[float, float], short: bool) -> None:
    """Add a film's stock to the job or to the ledger, or leave it to be bought."""
    job = case[JOB]
    assert not isinstance(job, str)
    is_small = bed[0] < 620.0 or bed[1] < 508.0
    where = random.choice(("job", "ledger", "shop"))
    if where == "job" or short or (is_small and random.random() < 0.7):
        for _ in range(random.randint(0, 2)):
            label = f"L{len(job['stock']) + 1}"
            job["stock"].append({"film": film, "label": label} | _leftover(random, bed))
        is_larger = random.random() < 0.3
        size = [508.0, 610.0] if is_larger else [min(508.0, bed[0]), min(610.0, bed[1])]
        sheet: Tables = {"film": film, "size": size, "count": 1 if short else 60}
        if random.random() < 0.3:
            x, y = random.uniform(20.0, size[0] - 60.0), random.uniform(20.0, size[1] - 60.0)
            sheet["defects"] = [[[x, y], [x + 25.0, y], [x + 18.0, y + 30.0]]]
        if random.random() < 0.4:
            sheet["price"] = round(random.uniform(0.5, 20.0), 2)
        job["stock"].append(sheet)
    elif where == "ledger":
        ledger = case.setdefault("stock.toml", {"format": 1, "piece": [], "next_number": {}})
        assert not isinstance(ledger, str)
        count = random.randint(1, 3)
        for number in range(1, count + 1):
            kind = random.choice(("sheet", "leftover"))
            piece: Tables = {"id": f"{film}-{number}", "film": film, "kind": kind, "added": DAY}
            if kind == "leftover":
                piece |= _leftover(random, bed)
            else:
                piece |= {"size": [400.0, 300.0], "count": random.randint(1, 3)}
            if random.random() < 0.4:
                piece["price"] = round(random.uniform(0.5, 20.0), 2)
            ledger["piece"].append(piece)
        ledger["next_number"][film] = count + 1


def _leftover(random: Random, bed: tuple[float, float]) -> Tables:
    """Return an irregular piece: notched, slanted or with defects."""
    most = 1.5 if random.random() < 0.3 else 1.0
    width = random.uniform(80.0, most * min(320.0, bed[0]))
    height = random.uniform(80.0, most * min(320.0, bed[1]))
    kind = random.choice(("notch", "slant", "defects", "plain"))
    outline = [[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]]
    piece: Tables = {}
    if kind == "notch":
        x, y = 0.4 * width, 0.5 * height
        outline = [*outline[:2], [width, y], [x, y], [x, height], outline[3]]
    elif kind == "slant":
        outline[2] = [0.7 * width, height]
    elif kind == "defects":
        x, y = 0.3 * width, 0.3 * height
        piece["defects"] = [[[x, y], [x + 9.0, y + 1.0], [x + 6.0, y + 12.0]]]
        if random.random() < 0.5:
            x, y = 0.7 * width, 0.7 * height
            piece["defects"].append([[x, y], [x + 5.0, y], [x + 5.0, y + 5.0], [x, y + 5.0]])
    return piece | {"outline": [[round(x, 2), round(y, 2)] for x, y in outline]}


def _prices(random: Random, films: tuple[str, ...]) -> Tables:
    prices: Tables = {"currency": "EUR"}
    if random.random() < 0.7:
        prices["cutter_per_hour"] = 36.0
        prices["labour_per_hour"] = 24.0
        prices["assembly_minutes"] = 6.0
        prices["gluing_minutes"] = 4.0
        prices["setup_minutes"] = 3.0
        prices["spoilage_percent"] = 5.0
    if random.random() < 0.7:
        prices["sheet"] = {film: round(random.uniform(1.0, 9.0), 2) for film in films}
    if random.random() < 0.2:
        prices["per_m2"] = {random.choice(films): 12.5}
    return prices


def _cutting(random: Random) -> Tables:
    cutting: Tables = {}
    if random.random() < 0.45:
        width = random.choice((0.3, 0.4, 1.0))
        cutting["tabs"] = {"count": random.randint(1, 5), "width": width}
    if random.random() < 0.45:
        cutting["lead_in"] = random.choice((0.3, 0.6, 1.0))
        cutting["lead_out"] = random.choice((0.0, 0.5))
    if random.random() < 0.45:
        cutting["overcut"] = random.choice((0.0, 0.2, 0.5))
    if random.random() < 0.5:
        cutting["heat_spread"] = random.choice((0.0, 0.5, 3.0))
    return cutting


def _leftovers(random: Random) -> Tables:
    keep: Tables = {
        "smallest_side": random.choice((0.0, 10.0, 40.0, 80.0)),
        "smallest_area": random.choice((0.0, 1000.0, 8000.0)),
    }
    if random.random() < 0.4:
        keep["shape"] = "trim"
        keep["cut_trim"] = random.random() < 0.5
    if random.random() < 0.3:
        keep["disc_diameter"] = random.choice((30.0, 80.0))
    return keep


def _actions(random: Random, job: Tables, kind: str, films: tuple[str, ...], short: bool) -> Tables:
    """Return what to do with the run: at most two things, each often enough over many seeds."""
    made: dict[str, Any] = {
        "kerf": {"do": "recut", "kerf": {film: random.choice((0.1, 0.25, 0.6)) for film in films}},
        "cutter": {"do": "recut", "cutter": random.choice(("bench-co2", "drag-knife"))},
        "only": {"do": "recut", "only": ["1"], "copies": random.choice(([], [1]))},
        "book": {"do": "book", "again": random.random() < 0.5},
        "spoiled": {"do": "book", "spoiled": ["1"], "again": False},
        "spoiled sheet": {"do": "book", "spoiled_sheet": 1, "again": False},
        "estimate": {"do": "estimate"},
        "fill": {"do": "fill"},
    }
    chosen = random.sample(sorted(made), random.choice((0, 1, 2)))
    if "fill" in chosen and not (job.get("disc") and job.get("stock")):
        chosen.remove("fill")
    if "fill" in chosen:  # it nests as many discs as there is room for
        for piece in job["stock"]:
            piece["count"] = 1
        job["nesting"]["evaluations"] = 200
    return {"partial": short, "action": [made[name] for name in chosen]}
