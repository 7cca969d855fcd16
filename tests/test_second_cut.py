"""The second virtual cut sees each break of a drawing, and no fault in a right one."""

from __future__ import annotations

import ast
import math
import re
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest
from case_checks import invoked
from case_files import Case, Tables, write_case
from second.asked import Asked, asked_of
from second.cut_drawing import Fault
from second_cut import second_cut

TESTS = Path(__file__).parent
Files = dict[str, str]

HOOK = [[0.0, 0.0], [40.0, 0.0], [40.0, 12.0], [12.0, 12.0], [12.0, 30.0], [0.0, 30.0]]
GRAINED: Tables = {
    "format": 1,
    "title": "Brushed film",
    "base": "polyester",
    "thickness": 0.1,
    "density_g_cm3": 1.38,
    "colour": "#8899AA",
    "light": "blocks",
    "rotation_step": 360,
    "sheet": [{"size": [300, 200]}],
}
WHEEL: Tables = {
    "format": 1,
    "name": "Lantern wheel",
    "outer_diameter": 80.0,
    "bore": {"diameter": 8.0, "key_width": 2.0, "key_depth": 1.2},
    "hole": [{"name": "index", "diameter": 3.0, "radius": 34.0, "angle": 20.0}],
    "layer": [
        {
            "name": "colour",
            "inner_diameter": 20.0,
            "joint_gap": 0.2,
            "sector": [{"film": "amber", "degrees": 130}, {"film": "none", "share": 1}],
        },
        {
            "name": "mask",
            "film": "brushed",
            "opening": [
                {"degrees": 30, "count": 5, "inner_diameter": 40, "outer_diameter": 66}
                | {"corner_radius": 1.0, "angle": 4.0}
            ],
        },
    ],
}
JOB: Tables = {
    "format": 1,
    "title": "To be broken",
    "cutter": "bench-co2",
    "disc": [{"design": "wheel.toml", "copies": 2}],
    "part": [
        {"name": "hook", "film": "amber", "copies": 3, "polygon": HOOK},
        {"name": "ring", "film": "amber", "ring": {"outer_diameter": 50, "inner_diameter": 40}},
        {"name": "pin", "film": "amber", "copies": 2, "disc": {"diameter": 12}},
    ],
    "stock": [
        {"film": "amber", "label": "A7", "outline": [[0, 0], [380, 0], [380, 260], [0, 230]]}
    ],
    "nesting": {
        "evaluations": 500,
        "web": 8,
    },  # so that what is broken does not touch its neighbour
}


def made(folder: Path, job: Tables) -> tuple[Asked, Files]:
    """Plan a job; return what it asks for and the files of its run."""
    case: Case = {"job.toml": job, "wheel.toml": WHEEL, "materials/films/brushed.toml": GRAINED}
    job_file = write_case(case, folder)
    invoked("plan", job_file, "--out", folder / "run")
    return asked_of(job_file), {path.name: path.read_text() for path in (folder / "run").iterdir()}


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> tuple[Asked, Files]:
    return made(tmp_path_factory.mktemp("plain"), JOB)


@pytest.fixture(scope="module")
def tabbed(tmp_path_factory: pytest.TempPathFactory) -> tuple[Asked, Files]:
    cutting = {"tabs": {"count": 2, "width": 0.4}}
    return made(tmp_path_factory.mktemp("tabbed"), JOB | {"cutting": cutting})


def test_right_drawings_have_no_fault(plain: tuple[Asked, Files]) -> None:
    sheets = second_cut(*plain)
    names = sorted(each.kind.name for sheet in sheets for each in sheet.found)
    masks, colours = ["Lantern wheel, mask"] * 2, ["Lantern wheel, colour"] * 2
    assert names == sorted([*masks, *colours, *["hook"] * 3, "ring", *["pin"] * 2])


def test_right_drawings_with_tabs_have_no_fault(tabbed: tuple[Asked, Files]) -> None:
    assert sum(len(sheet.found) for sheet in second_cut(*tabbed)) == 10


# One path of a drawing, its data and its end points.
PATH = re.compile(
    r'    <path class="(?P<kind>[^"]*)" d="(?P<data>[^"]*)" id="(?P<id>[^"]*)".*?</path>\n', re.S
)
END = re.compile(r"(-?\d+\.?\d*) (-?\d+\.?\d*)(?=\s*(?:[MLAZ]|$))")


def path_of(text: str, id: str) -> re.Match[str]:
    """Return the first path whose id ends so."""
    return next(found for found in PATH.finditer(text) if found["id"].endswith(id))


def with_data(text: str, id: str, change: Callable[[str], str]) -> str:
    """Change the data of a path."""
    found = path_of(text, id)
    start, end = found.span("data")
    return text[:start] + change(found["data"]) + text[end:]


def mapped(data: str, to: Callable[[float, float], tuple[float, float]]) -> str:
    """Map the end points of a path's commands; radii and flags stay."""
    return END.sub(lambda each: "{:.6f} {:.6f}".format(*to(float(each[1]), float(each[2]))), data)


def shifted(x: float, y: float) -> Callable[[str], str]:
    return lambda data: mapped(data, lambda px, py: (px + x, py + y))


def middle(data: str) -> tuple[float, float]:
    xs, ys = zip(*((float(x), float(y)) for x, y in END.findall(data)), strict=True)
    return (min(xs) + max(xs)) / 2.0, (min(ys) + max(ys)) / 2.0


def mirrored(data: str) -> str:
    """Mirror a path left to right; its arcs turn the other way."""
    x, _ = middle(data)
    turned = re.sub(r"( 0 [01] )([01])", lambda each: each[1] + str(1 - int(each[2])), data)
    return mapped(turned, lambda px, py: (2 * x - px, py))


def onto(text: str, id: str, other: str) -> str:
    """Shift a path so that its middle lies on the middle of another."""
    here, there = (middle(path_of(text, each)["data"]) for each in (id, other))
    return with_data(text, id, shifted(there[0] - here[0], there[1] - here[1]))


def turned(degrees: float, about: tuple[float, float]) -> Callable[[str], str]:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))

    def point(x: float, y: float) -> tuple[float, float]:
        dx, dy = x - about[0], y - about[1]
        return about[0] + c * dx - s * dy, about[1] + s * dx + c * dy

    return lambda data: mapped(data, point)


def all_turned(text: str, degrees: float) -> str:
    """Turn one part with its openings."""
    about = middle(path_of(text, "copy-1-cut-outer")["data"])
    for found in list(PATH.finditer(text)):
        if "copy-1-" in found["id"]:
            text = with_data(text, found["id"], turned(degrees, about))
    return text


def moved_to_end(text: str, id: str) -> str:
    """Cut one path last of its group."""
    found = path_of(text, id)
    rest = text[: found.start()] + text[found.end() :]
    at = rest.rindex("  </g>")
    return rest[:at] + found[0] + rest[at:]


def twice(text: str, id: str, data: Callable[[str], str] = str) -> str:
    found = path_of(text, id)
    again = (
        found[0]
        .replace(found["id"], found["id"] + "-b")
        .replace(found["data"], data(found["data"]))
    )
    return text[: found.end()] + again + text[found.end() :]


def without(text: str, id: str) -> str:
    found = path_of(text, id)
    return text[: found.start()] + text[found.end() :]


def groups_swapped(text: str) -> str:
    """Put the holes after the outer contours."""
    groups = re.findall(r'  <g class="[^"]*".*?  </g>\n', text, re.S)
    inner = next(each for each in groups if 'class="cut-inner"' in each)
    return text.replace(inner, "").replace("</svg>", f"{inner}</svg>")


Break = tuple[str, Callable[[str], str], str]

BREAKS: dict[str, Break] = {
    "half of a part lies 0.02 mm too far out": (
        "amber.svg",
        lambda text: with_data(text, "part-3-copy-1-cut-outer", nudged(0.02)),
        "amber.svg: 8 outer contours, but 7 pieces as asked for",
    ),
    "the paths run along the nominal outline": (
        "amber.svg",
        lambda text: with_data(text, "part-5-copy-1-cut-outer", grown(6.0 / 6.08)),
        "amber.svg: 8 outer contours, but 7 pieces as asked for",
    ),
    "an arc goes the other way": (
        "amber.svg",
        lambda text: with_data(text, "part-1-copy-1-cut-outer", bent_inwards),
        "amber.svg: 8 outer contours, but 7 pieces as asked for",
    ),
    "a hole is missing": (
        "amber.svg",
        lambda text: without(text, "part-1-copy-1-cut-inner-1"),
        "amber.svg: 8 outer contours, but 7 pieces as asked for",
    ),
    "a hole lies 0.1 mm aside": (
        "brushed.svg",
        lambda text: with_data(text, "part-2-copy-1-cut-inner-2", shifted(0.1, 0.0)),
        "brushed.svg: 2 outer contours, but 1 pieces as asked for",
    ),
    "a part is missing": (
        "amber.svg",
        lambda text: without(text, "part-5-copy-1-cut-outer"),
        "missing: 1 of pin (amber)",
    ),
    "a part is cut once more": (
        "amber.svg",
        lambda text: twice(text, "part-5-copy-1-cut-outer", in_the_free),
        "amber.svg: one pin more than asked for",
    ),
    "something is cut that nobody asked for": (
        "amber.svg",
        lambda text: twice(
            text, "part-5-copy-1-cut-outer", lambda data: grown(0.5)(in_the_free(data))
        ),
        "amber.svg: 9 outer contours, but 8 pieces as asked for",
    ),
    "a path is run twice": (
        "amber.svg",
        lambda text: twice(text, "part-3-copy-1-cut-outer"),
        "amber.svg: part-3-copy-1-cut-outer-b cuts what is cut already",
    ),
    "holes are cut after their part": (
        "brushed.svg",
        groups_swapped,
        "runs over what part-2-copy-1-cut-outer has let fall",
    ),
    "a part in a hole is cut after the hole": (
        "amber.svg",
        lambda text: moved_to_end(
            onto(
                with_data(text, "part-5-copy-1-cut-outer", in_the_free),
                "part-5-copy-2-cut-outer",
                "part-4-copy-1-cut-outer",
            ),
            "part-5-copy-2-cut-outer",
        ),
        "amber.svg: part-5-copy-2-cut-outer runs over what part-4-copy-1-cut-inner-1 has let fall",
    ),
    "a part lies over the sheet's slanted edge": (
        "amber.svg",
        lambda text: with_data(text, "part-3-copy-2-cut-outer", to_corner),
        "amber.svg: part-3-copy-2-cut-outer leaves the sheet",
    ),
    "two parts lie on each other": (
        "amber.svg",
        lambda text: onto(text, "part-3-copy-1-cut-outer", "part-3-copy-2-cut-outer"),
        "runs over what part-3-copy-",
    ),
    "a part is turned against the grain": (
        "brushed.svg",
        lambda text: all_turned(text, 7.0),
        "brushed.svg: 2 outer contours, but 1 pieces as asked for",
    ),
    "a path is left open": (
        "amber.svg",
        lambda text: with_data(
            text, "part-3-copy-1-cut-outer", lambda data: data.replace(" Z", "")
        ),
        "amber.svg: part-3-copy-1-cut-outer is left open",
    ),
    "a mark lies off its part": (
        "amber.svg",
        lambda text: with_data(text, "part-1-copy-1-mark", shifted(60.0, 0.0)),
        "amber.svg: part-1-copy-1-mark is not engraved on a part",
    ),
    "the page is larger than the sheet": (
        "amber.svg",
        lambda text: text.replace("380", "381"),
        "amber: no A7 of 381 x 260 mm is there",
    ),
    "the sheet is another one": (
        "summary.json",
        lambda text: text.replace('"A7"', '"A8"'),
        "amber: no A8 of 380 x 260 mm is there",
    ),
}

TAB_BREAKS: dict[str, Break] = {
    "a tab is cut through": (
        "amber.svg",
        lambda text: with_data(text, "part-4-copy-1-cut-outer", without_last_tab),
        "amber.svg: ring at (",
    ),
    "a tab is 0.1 mm wider": (
        "amber.svg",
        lambda text: with_data(text, "part-3-copy-1-cut-outer", begun_later),
        "has a tab of 0.49",
    ),
    "a hole is missing": (
        "amber.svg",
        lambda text: without(text, "part-1-copy-1-cut-inner-1"),
        "amber.svg: 8 outer contours, but 7 pieces as asked for",
    ),
    "a hole lies 0.05 mm aside": (
        "brushed.svg",
        lambda text: with_data(text, "part-2-copy-1-cut-inner-2", shifted(0.05, 0.0)),
        "a slot cuts into Lantern wheel, mask",
    ),
    "a part is cut a hundredth too small": (
        "amber.svg",
        lambda text: with_data(text, "part-3-copy-3-cut-outer", grown(0.99)),
        "amber.svg: a slot cuts into hook at (",
    ),
}


def nudged(by: float) -> Callable[[str], str]:
    """Shift what lies in the right half of a path to the right."""

    def change(data: str) -> str:
        x, _ = middle(data)
        return mapped(data, lambda px, py: (px + by * (px > x), py))

    return change


def grown(factor: float) -> Callable[[str], str]:
    """Scale a path about its middle, radii too."""

    def change(data: str) -> str:
        x, y = middle(data)
        data = re.sub(
            r"A (\S+) (\S+)", lambda each: "A {0} {0}".format(factor * float(each[1])), data
        )
        return mapped(data, lambda px, py: (x + factor * (px - x), y + factor * (py - y)))

    return change


def bent_inwards(data: str) -> str:
    """Let the first arc round a middle of 10 mm bend the other way."""
    return re.sub(r"(A 9\.92 9\.92 0 0) 1", r"\1 0", data, count=1)


def in_the_free(data: str) -> str:
    """Shift a path near the lower right corner, which is free."""
    x, y = middle(data)
    return shifted(350.0 - x, 230.0 - y)(data)


def to_corner(data: str) -> str:
    """Shift a path near the upper left corner, beyond the slanted edge."""
    x, y = middle(data)
    return shifted(30.0 - x, 35.0 - y)(data)


def without_last_tab(data: str) -> str:
    """Join the last stroke to the one before."""
    at = data.rindex("M ")
    return data[:at] + "L " + data[at + 2 :]


def begun_later(data: str) -> str:
    """Begin a stroke 0.1 mm farther along its first straight line."""
    found = re.match(r"M (\S+) (\S+) L (\S+) (\S+)", data)
    assert found is not None
    x0, y0, x1, y1 = map(float, found.groups())
    share = 0.1 / math.hypot(x1 - x0, y1 - y0)
    return f"M {x0 + share * (x1 - x0)} {y0 + share * (y1 - y0)}" + data[data.index(" L ") :]


def broken(files: Mapping[str, str], a_break: Break) -> Files:
    name, change, _ = a_break
    changed = {**files, name: change(files[name])}
    assert changed[name] != files[name], f"nothing changed in {name}"
    return changed


@pytest.mark.slow
@pytest.mark.parametrize("what", BREAKS)
def test_what_is_wrong_is_seen(plain: tuple[Asked, Files], what: str) -> None:
    asked, files = plain
    with pytest.raises(Fault) as caught:
        second_cut(asked, broken(files, BREAKS[what]))
    assert BREAKS[what][2] in str(caught.value)


@pytest.mark.slow
@pytest.mark.parametrize("what", TAB_BREAKS)
def test_what_is_wrong_with_tabs_is_seen(tabbed: tuple[Asked, Files], what: str) -> None:
    asked, files = tabbed
    with pytest.raises(Fault) as caught:
        second_cut(asked, broken(files, TAB_BREAKS[what]))
    assert TAB_BREAKS[what][2] in str(caught.value)


@pytest.mark.parametrize("wish", [{}, {"tabs": {"count": 2, "width": 0.4}}])
def test_a_mirrored_part_is_seen(tmp_path: Path, wish: Tables) -> None:
    part = {"name": "hook", "film": "amber", "polygon": HOOK}
    job = JOB | {"disc": [], "part": [part], "stock": [], "cutting": wish}
    asked, files = made(tmp_path, {key: value for key, value in job.items() if value})
    assert len(second_cut(asked, files)[0].found) == 1
    seen = with_data(files["amber.svg"], "cut-outer", mirrored)
    with pytest.raises(Fault, match=r"amber.svg: 1 outer contours, but 0 pieces as asked for"):
        second_cut(asked, {**files, "amber.svg": seen})


def test_nothing_of_the_first_cut_or_of_the_package_is_used() -> None:
    own = {path.stem for path in (TESTS / "second").glob("*.py")}
    allowed = {"second", "shapely", "numpy"}
    for path in (TESTS / "second_cut.py", *(TESTS / "second").glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            names += [each.name for each in node.names] if isinstance(node, ast.Import) else []
            for name in names:
                first = name.partition(".")[0]
                assert first in allowed or first in sys.stdlib_module_names, f"{path.name}: {name}"
    assert own >= {"cut_drawing", "asked", "pose", "sweep", "shapes"}
