"""The job sheet: complete in itself, everything escaped, its pictures true to the parts."""

import base64
import cmath
import hashlib
import math
import re
from collections.abc import Callable
from dataclasses import replace
from html import unescape
from html.parser import HTMLParser
from importlib.resources import files
from pathlib import Path

import pytest
import shapely
import svgpathtools
from disc.designs import FILMS, design, layer
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import regions

from jobprep.disc.facts import disc_facts
from jobprep.disc.part import Part
from jobprep.drawing.drawing import region_paths
from jobprep.drawing.path_data import SHORT, SHORTER, path_data
from jobprep.errors import Finding, Place
from jobprep.geometry.affine import where_moved
from jobprep.geometry.flatten import flatten_path
from jobprep.geometry.outline import (
    Line,
    Point,
    Region,
    circle,
    moved_region,
    rectangle,
    reversed_contour,
)
from jobprep.geometry.shapes import annular_sector
from jobprep.hub.hub_files import NAMES
from jobprep.model import Opening
from jobprep.money.figure import Figure
from jobprep.planning.plan import Plan
from jobprep.report.diagram import inline
from jobprep.report.disc_picture import front_diagram
from jobprep.report.job_sheet import job_sheet
from jobprep.report.markup import VOID, element
from jobprep.report.page import packed, page_digest, served
from jobprep.report.page import page as html_page
from jobprep.report.picture import definitions
from jobprep.report.practice import MARK, marked
from jobprep.report.settings_table import settings_table
from jobprep.summary import Hazard, Summary
from jobprep.units import number, spans

Planned = tuple[Plan, Summary]


class Page(HTMLParser):
    """Collects elements and their text; fails on tags that do not match."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.texts: list[tuple[tuple[str, ...], str]] = []
        self.feed(text)
        self.close()
        assert not self.open

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, {key: value or "" for key, value in attrs}))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_startendtag(tag, attrs)
        self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if data.strip():
            self.texts.append((tuple(self.open), data.strip()))

    def text(self, *inside: str) -> str:
        return " ".join(text for path, text in self.texts if set(inside) <= set(path))

    def attributes(self, tag: str, class_: str = "") -> list[dict[str, str]]:
        return [
            attributes
            for name, attributes in self.elements
            if name == tag and (not class_ or attributes.get("class") == class_)
        ]


@pytest.fixture(scope="session")
def page(aurora_page: str) -> Page:
    return Page(aurora_page)


def policy_of(page: Page) -> dict[str, str]:
    content = next(
        meta["content"]
        for meta in page.attributes("meta")
        if meta.get("http-equiv") == "Content-Security-Policy"
    )
    return dict(rule.strip().split(" ", 1) for rule in content.split(";"))


def test_page_loads_nothing(aurora_page: str, page: Page) -> None:
    assert policy_of(page).keys() == {
        "default-src",
        "style-src",
        "script-src",
        "base-uri",
        "form-action",
    }
    assert policy_of(page)["default-src"] == "'none'"
    assert "unsafe" not in str(policy_of(page))
    tags = {tag for tag, _ in page.elements}
    assert not tags & {"link", "img", "iframe", "object", "a", "form", "image"}
    for tag, attributes in page.elements:
        assert not {"src", "style", "xlink:href"} & attributes.keys()
        assert "href" not in attributes or (tag == "use" and attributes["href"].startswith("#"))
        assert not any(key.startswith("on") for key in attributes)
    assert "http:" not in aurora_page
    assert "https:" not in aurora_page
    assert "@import" not in aurora_page
    assert set(re.findall(r"url\([^)]*\)", aurora_page)) == {"url(#hatch)", "url(#glue)"}


@pytest.mark.parametrize("name", ["style", "script"])
def test_style_and_script_are_those_the_policy_names(aurora_page: str, name: str) -> None:
    found = re.findall(f"<{name}>(.*?)</{name}>", aurora_page, re.DOTALL)
    digest = re.search(f"{name}-src 'sha256-([^']*)'", unescape(aurora_page))
    assert digest
    assert len(found) == 1
    assert base64.b64decode(digest[1]) == hashlib.sha256(found[0].encode()).digest()


def test_script_asks_for_nothing() -> None:
    script = files("jobprep.report").joinpath("page.js").read_text(encoding="utf-8")
    for word in (
        "fetch",
        "XMLHttpRequest",
        "import",
        "eval",
        "Function(",
        "innerHTML",
        "WebSocket",
    ):
        assert word not in script
    assert "</" not in script


def test_a_page_without_a_script_allows_none() -> None:
    plain = Page(html_page("Shelf", element("main", "x")))
    assert policy_of(plain)["script-src"] == "'none'"
    assert "script" not in {tag for tag, _ in plain.elements}


def test_a_page_handed_out_may_ask_who_handed_it_out_for_news(aurora_page: str, page: Page) -> None:
    """One script more, which the policy names; everything else is the same."""
    handed = Page(served(aurora_page))
    own, live = [text for path, text in handed.texts if path[-1] == "script"]
    assert live == packed("live.js").strip()
    assert "fetch" not in own + live
    digest = base64.b64encode(hashlib.sha256(packed("live.js").encode()).digest()).decode()
    before, after = policy_of(page), policy_of(handed)
    assert after.pop("connect-src") == "'self'"
    assert after.pop("script-src") == f"'sha256-{digest}' {before.pop('script-src')}"
    assert after == before
    (body,) = handed.attributes("body")
    assert body["data-page"] == page_digest(aurora_page)
    assert "live" not in {each.get("class") for _, each in page.elements}


def test_ids_are_unique_and_labels_tell_boxes_apart(aurora: Planned, page: Page) -> None:
    plan, _ = aurora
    ids = [attributes["id"] for _, attributes in page.elements if "id" in attributes]
    assert len(ids) == len(set(ids))
    boxes = [each for each in page.attributes("input") if each["type"] == "checkbox"]
    assert len(boxes) == sum(part.quantity for part in plan.parts)
    assert len({box["aria-label"] for box in boxes}) == len(boxes)
    sliders = [each for each in page.attributes("input") if each["type"] == "range"]
    counts = [len(sheet.cuts.parts) for film in plan.films for sheet in film.sheets]
    assert [each["max"] for each in sliders] == list(map(str, counts))
    assert len({each["aria-label"] for each in sliders}) == len(sliders)


def test_every_part_pointed_at_is_on_the_list(page: Page) -> None:
    rows = {each["id"] for each in page.attributes("tr") if "id" in each}
    pointed = [each for each in page.attributes("use", "part") if "data-order" in each]
    assert pointed
    assert {f"part-{each['data-part']}" for each in pointed} == rows


def test_ticks_of_another_run_have_another_key(aurora: Planned, page: Page) -> None:
    plan, summary = aurora
    moved = plan.parts[0]
    other = replace(plan, parts=(replace(moved, quantity=moved.quantity + 1), *plan.parts[1:]))
    key = page.attributes("main")[0]["data-run"]
    assert re.fullmatch("[0-9a-f]{64}", key)
    assert Page(job_sheet(summary, other)).attributes("main")[0]["data-run"] != key


def test_settings_are_those_of_the_cutter(aurora: Planned, page: Page) -> None:
    plan, _ = aurora
    cells = page.text("tbody")
    for film in plan.films:
        speed = plan.job.cutter.cut_speed_for(film.film)
        assert speed is not None
        row = (film.film.thickness, film.kerf, speed, plan.job.cutter.mark_speed)
        assert f"{film.film.title} {' '.join(map(number, row))} by test by test" in cells
    strong = replace(plan.job.cutter, power={"cut-outer": 70.0, "mark": 0.0})
    table = Page(settings_table(replace(plan, job=replace(plan.job, cutter=strong))))
    assert "outer cuts 70 by test" in table.text("tbody")
    assert "marks 0" not in table.text("tbody")


@pytest.mark.parametrize(
    ("count", "words"),
    [(1, "a straight cut parts what is kept"), (2, "2 straight cuts part what is kept")],
)
def test_last_cuts_of_a_sheet_are_told(aurora: Planned, count: int, words: str) -> None:
    plan, summary = aurora
    first, *others = plan.films
    stroke = (Line(Point(0.0, 200.0), Point(300.0, 200.0)),)
    sheets = (replace(first.sheets[0], trims=(stroke,) * count), *first.sheets[1:])
    trimmed = replace(plan, films=(replace(first, sheets=sheets), *others))
    text = Page(job_sheet(summary, trimmed)).text("figure")
    assert text.count(f"Last of all, {words}") == 1
    assert "Last of all" not in Page(job_sheet(summary, plan)).text("figure")


def test_layer_pictures_show_angles_and_glue(aurora: Planned, page: Page) -> None:
    """The angles are the running sum of 60, 75.5, 44.5, 135 and 45 degrees from 12 o'clock."""
    drawn = [text for path, text in page.texts if "ol" in path and path[-1] == "text"]
    assert [text for text in drawn if text.endswith("°")] == ["0°", "60°", "135.5°", "180°", "315°"]
    assert "open" in drawn
    assert [radius(each) for each in page.attributes("path", "glue-edge")] == [15.0, 15.0]
    rings = [(radius(each), each["stroke-width"]) for each in page.attributes("path", "glue")]
    # From the sectors' inner edge, 20 mm, to the hub's, 30 mm.
    assert rings == [(12.5, "5"), (12.5, "5")]


def radius(circle: dict[str, str]) -> float:
    left, right, top, bottom = svgpathtools.parse_path(circle["d"]).bbox()
    assert right - left == pytest.approx(bottom - top, abs=0.02)
    return round((right - left) / 2.0, 1)


BORDER = 2.0
"""Round what a picture of a sheet shows, mm."""


def drawn_by(page: Page) -> list[list[list[complex]]]:
    """Points on the contours of each part drawn, read by svgpathtools and moved as SVG says."""
    data = {each["id"]: each["d"] for each in page.attributes("path") if "id" in each}
    outlines = {
        key: [
            [segment.point(t / 200) for segment in contour for t in range(200)]
            for contour in svgpathtools.parse_path(text).continuous_subpaths()
        ]
        for key, text in data.items()
    }
    drawn = []
    frame, is_picture = 0j, False
    for tag, attributes in page.elements:
        if tag == "svg":
            is_picture = attributes.get("class") == "picture"
        if tag == "g" and is_picture:  # all that it shows, within its border
            frame, turn = moved(attributes)
            assert turn == 1.0
        if tag != "use":
            continue
        shift, turn = moved(attributes)
        shift += frame
        contours = outlines[attributes["href"].removeprefix("#")]
        drawn.append([[shift + turn * point for point in contour] for contour in contours])
    return drawn


def moved(attributes: dict[str, str]) -> tuple[complex, complex]:
    """How far an element is shifted, and the number of length 1 by which it is turned before."""
    place = r"translate\(([-\d.]+) ([-\d.]+)\)(?:rotate\(([-\d.]+)\))?"
    found = re.fullmatch(place, attributes["transform"])
    assert found
    turn = cmath.rect(1.0, math.radians(float(found[3] or 0.0)))
    return complex(float(found[1]), float(found[2])), turn


def rings(region: Region, height: float) -> list[shapely.LinearRing]:
    return [
        shapely.LinearRing([(x, height - y) for x, y in flatten_path(each.segments, 1e-3)])
        for each in region.contours
    ]


@pytest.mark.slow
@pytest.mark.parametrize("name", ["01-aurora-wheel", "02-storm-shutter", "03-tide-strobe"])
def test_every_part_is_pictured_where_it_lies(
    planned_example: Callable[[str], Planned], name: str
) -> None:
    """Drawn and true outlines, compared by shapely, lie within 0.015 mm."""
    plan, summary = planned_example(name)
    drawn = drawn_by(Page(job_sheet(summary, plan)))
    placed = [
        (sheet.cuts.parts[cut.part].region, sheet.sheet.height)
        for film in plan.films
        for sheet in film.sheets
        for cut in sheet.cuts.cuts
        if cut.operation == "cut-outer"
    ]
    in_layers = sum(len(part.turns) for part in plan.parts if part.disc is not None)
    assert len(drawn) == len(placed) + in_layers
    for contours, (region, height) in zip(drawn, placed, strict=False):
        expected = rings(region, height)
        assert len(contours) == len(expected)
        for contour, ring in zip(contours, expected, strict=True):
            ours = shapely.LinearRing([(z.real - BORDER, z.imag - BORDER) for z in contour])
            assert shapely.hausdorff_distance(ours, ring, densify=0.2) < 0.015


@given(region=regions(), angle=st.floats(-7.0, 7.0), x=st.floats(-99, 99), y=st.floats(-99, 99))
@settings(max_examples=60)
def test_where_a_region_was_moved_is_found_again(
    region: Region, angle: float, x: float, y: float
) -> None:
    place = where_moved(region, moved_region(region, angle, x, y))
    assert place is not None
    assert place == pytest.approx(
        (math.cos(angle), math.sin(angle), -math.sin(angle), math.cos(angle), x, y), abs=1e-6
    )


def test_what_was_not_moved_is_drawn_as_it_is() -> None:
    square, disc = Region(rectangle(4.0, 4.0)), Region(circle(Point(0, 0), 2.0))
    assert where_moved(square, disc) is None
    assert where_moved(Region(square.outer, (disc.outer,)), square) is None


@given(region=regions())
@settings(max_examples=25)
def test_data_of_any_region_stays_within_two_last_decimals(region: Region) -> None:
    """Ends 0.7 of a last decimal off and a radius 0.5 off move the middle of a third of a circle
    by (0.5 r + 0.7 √3 r / 2) / (r / 2), at most 2.2 of them when both add up.
    """
    for spelling in (SHORT, SHORTER):
        data = path_data(region_paths([region]), 0.0, spelling, closed=True)
        read = svgpathtools.parse_path(data).continuous_subpaths()
        expected = rings(region, 0.0)
        if len(read) < len(expected):
            continue  # a contour smaller than the last decimal is not drawn
        for contour, ring in zip(read, expected, strict=True):
            points = [segment.point(t / 200) for segment in contour for t in range(200)]
            ours = shapely.LinearRing([(point.real, point.imag) for point in points])
            off = shapely.hausdorff_distance(ours, ring, densify=0.2)
            assert off < 2.2 * 10.0**-spelling.decimals


def test_the_numbers_on_parts_are_their_own(aurora: Planned, page: Page) -> None:
    plan, _ = aurora
    labels = [text for path, text in page.texts if "figure" in path and path[-1] == "text"]
    expected: list[str] = []
    for film in plan.films:
        for sheet in film.sheets:
            expected += ["leftover"] * len(sheet.leftovers)
            expected += (str(sheet.cuts.parts[index].number) for index in sheet.cuts.freed)
    assert labels == expected


def test_each_sheet_s_list_tells_when_a_part_s_pieces_come_free(
    aurora: Planned, page: Page
) -> None:
    plan, _ = aurora
    said = (
        text
        for path, text in page.texts
        if "figure" in path and path[-2:] in (("li", "b"), ("li", "small"))
    )
    for film in plan.films:
        for sheet in film.sheets:
            parts = [sheet.cuts.parts[index].number for index in sheet.cuts.freed]
            for wanted in dict.fromkeys(parts):
                own = [order for order, part in enumerate(parts, start=1) if part == wanted]
                assert next(said) == str(wanted)
                free = next(said).replace("\N{WORD JOINER}", "")
                assert free == f"free as {spans(own)} of {len(parts)}"
    assert next(said, None) is None


def test_what_the_times_count_from_stands_before_them(page: Page) -> None:
    """After the table it could come to stand alone on a last page."""
    text = page.text("main")
    assert text.index("Times count from the leading edge") < text.index("Part, film Degrees Start")


def test_what_has_no_source_gets_a_mark_and_a_legend(aurora_page: str) -> None:
    """The words stand once, in the legend; sources beside them stay."""
    assert re.sub("<[^>]+>", "", aurora_page).count("common practice, no source") == 1
    assert f"{MARK} common practice, no source" in aurora_page
    mark = marked("(common practice, no source)")
    assert aurora_page.count(mark) >= 8
    assert f"Policies){mark}" in aurora_page


def test_a_page_without_marks_has_no_legend(aurora: Planned) -> None:
    plan, summary = aurora
    bare = replace(summary, hazards=(), discs=())
    page = job_sheet(bare, replace(plan, cautions=()))
    assert MARK not in page
    assert "no source" not in page


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Wait. (common practice, no source)", "Wait.†"),
        ("It warps (common practice, no source), so look", "It warps†, so look"),
        ("Wait. (A Book; common practice, no source)", "Wait. (A Book)†"),
        ("drips (common practice, no source; A; B)", "drips (A; B)†"),
        ("<b> (from memory)", "&lt;b&gt; (from memory)"),
    ],
)
def test_words_make_way_for_the_mark(text: str, shown: str) -> None:
    assert re.sub("</?abbr[^>]*>", "", marked(text)) == shown


def shown(text: str) -> str:
    """Return a text as ``Page.text`` gives it, its elements apart."""
    return " ".join(unescape(re.sub("<[^>]+>", " ", marked(text))).split())


def test_cautions_come_before_everything_else(aurora: Planned, page: Page) -> None:
    plan, summary = aurora
    assert summary.hazards
    text = page.text("main")
    assert text.index("Before you start") < text.index("Sheets Each part carries")
    for film in plan.films:
        assert all(shown(caution) in text for caution in film.film.cautions)
    assert all(shown(caution) in text for caution in plan.job.cutter.cautions)
    assert "Amber colour film, Green colour film, Violet colour film Lamp colour film" in text
    for problem in plan.cautions:
        assert shown(problem.message[1:]) in text
    assert "safe to" not in text.lower()


def test_totals_and_tables_hold_the_summary_s_numbers(aurora: Planned, page: Page) -> None:
    _, summary = aurora
    assert f"Parts {summary.use.parts} Sheets" in page.text("header")
    total = page.text("tfoot")
    assert f"{summary.use.cut_length / 1000:.2f}" in total
    assert str(summary.use.pierces) in total
    for film in summary.films:
        assert f"{film.use.part_area / film.use.film_area:.0%}".replace("%", " %") in page.text(
            "tbody"
        )


def test_files_named_are_those_a_run_writes(aurora: Planned, page: Page) -> None:
    plan, _ = aurora
    expected = [
        f"{film.film.name}.svg" if len(film.sheets) == 1 else f"{film.film.name}-sheet-{n}.svg"
        for film in plan.films
        for n in range(1, len(film.sheets) + 1)
    ]
    assert [text for path, text in page.texts if path[-2:] == ("p", "b")] == expected


@pytest.mark.parametrize("name", ["02-storm-shutter", "03-tide-strobe"])
def test_other_examples_make_a_page(planned_example: Callable[[str], Planned], name: str) -> None:
    plan, summary = planned_example(name)
    page = Page(job_sheet(summary, plan))
    assert len(page.attributes("svg", "picture")) >= sum(len(film.sheets) for film in plan.films)


def test_everything_a_user_wrote_is_escaped(aurora: Planned) -> None:
    plan, summary = aurora
    evil = "<script>alert('x')</script>\"&\x00\u202e\u05d0\u200f"
    parts = tuple(replace(part, name=evil) for part in plan.parts)
    films = tuple(
        replace(film, film=replace(film.film, title=evil, cautions=(evil,))) for film in plan.films
    )
    job = replace(
        plan.job, films={name: replace(film, title=evil) for name, film in plan.job.films.items()}
    )
    cautions = (Finding(Place(evil, 3, evil), evil),)
    plan = replace(plan, job=job, parts=parts, films=films, cautions=cautions)
    hazards = (Hazard(text=evil, sources=(evil,)),)
    named = tuple(replace(film, title=evil) for film in summary.films)
    discs = tuple(replace(disc, design=evil) for disc in summary.discs)
    page = Page(
        job_sheet(
            replace(summary, title=evil, cutter=evil, films=named, discs=discs, hazards=hazards),
            plan,
        )
    )
    assert len(page.attributes("script")) == 1
    assert page.text("h1") == re.sub("[\x00\u202e]", "\ufffd", evil)
    assert not any("\u202e" in text for _, text in page.texts)
    assert all(re.fullmatch("[a-z0-9-]+", each["id"]) for _, each in page.elements if "id" in each)


def test_a_hundred_parts_stay_below_one_megabyte(
    planned_example: Callable[[str], Planned], tmp_path: Path
) -> None:
    """Each part has a shape of its own, and the disc 96 sectors that all differ."""
    sectors = "".join(f"  {{ film = 'red', degrees = {3 + i / 160} }},\n" for i in range(95))
    last = 360 - sum(3 + i / 160 for i in range(95))
    (tmp_path / "wheel.toml").write_text(
        "format = 1\nname = 'Wheel'\nouter_diameter = 160\nbore = { diameter = 8 }\n"
        "speed_rpm = 60\nhub_diameter = 40\n"
        "[[layer]]\nname = 'front'\nfilm = 'clear'\n"
        "[[layer]]\nname = 'colour'\ninner_diameter = 30\nsector = [\n"
        f"{sectors}  {{ film = 'red', degrees = {last} }},\n]\n"
        "[[layer]]\nname = 'back'\nfilm = 'clear'\n"
    )
    loose = "".join(
        f"[[part]]\nname = 'washer {i}'\nfilm = 'clear'\ncopies = 24\n"
        f"ring = {{ outer_diameter = {20 + i}, inner_diameter = 6.5 }}\n"
        for i in range(3)
    )
    (tmp_path / "job.toml").write_text(
        "format = 1\ntitle = 'Many'\ncutter = 'bench-co2'\n"
        f"[[disc]]\ndesign = 'wheel.toml'\ncopies = 1\n{loose}"
    )
    plan, summary = planned_example(str(tmp_path))
    assert len(plan.parts) >= 100
    text = job_sheet(summary, plan)
    assert len(text.encode()) < 1_000_000


@pytest.mark.slow
@pytest.mark.parametrize(
    ("n_rows", "most"), [pytest.param(42, 900_000, marks=pytest.mark.slow), (14, 300_000)]
)
def test_fifteen_thousand_openings_stay_below_one_megabyte(n_rows: int, most: int) -> None:
    """Their outlines are told once for all pictures but the front one, which shows the films.

    Both together are all of such a page but some 60 kB; a third of them take a third of it.
    """
    rows = [
        Opening(
            angle=math.radians(0.5),
            count=360,
            inner_diameter=40.0 + 6.0 * row,
            outer_diameter=43.0 + 6.0 * row,
            direction=0.0,
        )
        for row in range(n_rows)
    ]
    holes = [
        reversed_contour(
            annular_sector(
                row.inner_diameter / 2.0,
                (row.outer_diameter or 0.0) / 2.0,
                math.radians(each),
                row.angle,
            ).outer
        )
        for row in rows
        for each in range(row.count)
    ]
    region = Region(circle(Point(0, 0), 150.0), tuple(holes))
    assert len(holes) == 360 * n_rows
    outlines = definitions([Part(number=1, name="mesh", film="black", quantity=1, region=region)])
    plain = design(layer("mesh", film="black", outer=300.0), outer=300.0, bore=None)
    facts = disc_facts(plain, FILMS)
    mesh = replace(plain, layers=(replace(plain.layers[0], openings=tuple(rows)),))
    front = inline(front_diagram(mesh, FILMS, facts))
    assert len(outlines) + len(front) < most
    assert outlines.count("z") == 1 + len(holes)


def test_page_is_the_same_each_time(aurora: Planned, aurora_page: str) -> None:
    plan, summary = aurora
    assert job_sheet(summary, plan) == aurora_page


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2, definitions; IEC 61966-2-1)."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("scheme", [0, 1, 2], ids=["light", "dark", "print"])
@pytest.mark.parametrize(
    ("ink", "ground"),
    [
        ("ink", "paper"),
        ("ink", "panel"),
        ("quiet", "paper"),
        ("quiet", "panel"),
        ("warn", "warn-panel"),
        ("quiet", "warn-panel"),
    ],
)
def test_text_can_be_read(scheme: int, ink: str, ground: str) -> None:
    """Contrast of at least 4.5 to 1 (WCAG 2.2, success criterion 1.4.3)."""
    style = files("jobprep.report").joinpath("page.css").read_text(encoding="utf-8")
    block = re.findall(r":root \{(.*?)\}", style, re.DOTALL)[scheme]
    colours = dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6})", block))
    light, dark = sorted((luminance(colours[ink]), luminance(colours[ground])), reverse=True)
    assert (light + 0.05) / (dark + 0.05) >= 4.5


def test_void_elements_have_no_content() -> None:
    assert "text" not in VOID
    assert "svg" not in VOID


def test_the_two_prices_stand_at_the_head_with_what_they_leave_out(aurora: Planned) -> None:
    plan, summary = aurora

    def told(used: Figure, to_pay: Figure, currency: str) -> list[str]:
        costs = replace(summary.costs, used=used, to_pay_now=to_pay, currency=currency)
        page = job_sheet(replace(summary, costs=costs), plan)
        found = re.findall("<dt>(?:Used|To pay now)</dt><dd>(.*?)</dd>", page)
        return [re.sub("<.*?>", "", each) for each in found]

    bought = Figure(37.5, "", ("5 sheets of amber",))
    left_out = Figure(4.2, "", ("without spoilage: no spoilage_percent",))
    assert told(Figure(4.2, ""), Figure(0.0, "", ("nothing to buy",)), "EUR") == [
        "4.20 EUR",
        "0.00 EUR nothing to buy",
    ]
    assert told(left_out, bought, "") == [
        "4.20 without spoilage: no spoilage_percent",
        "37.50 5 sheets of amber",
    ]
    unknown = Figure(None, "", ("no price of red",))
    assert told(unknown, unknown, "EUR") == ["not known no price of red"] * 2


def test_printed_hub_parts_are_listed_with_a_box_for_each_copy(
    planned_example: Callable[[str], Planned], aurora_page: str
) -> None:
    plan, summary = planned_example("06-fog-beacon")
    text = job_sheet(summary, plan)
    rows = re.findall(r'<tr><th scope="row" data-name="Part">.*?</tr>', text)
    copies = plan.job.discs[0].copies
    for row, name in zip(rows, ("axle-side", "spacer", "clutch-side"), strict=True):
        assert f">{name}.stl<" in row
        assert f"{name}.stl" in NAMES
        ids = [f"tick-hub-1-{name}-{copy}" for copy in range(1, copies + 1)]
        assert re.findall(r'id="(tick-[^"]*)"', row) == ids
    assert "together as hub.3mf" in text
    assert "hub.3mf" in NAMES
    assert "Printed hub" not in aurora_page
