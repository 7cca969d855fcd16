"""What a browser makes of a drawing: the shapes it shows, as points of the page in mm, y up.

Points are those of ``getPointAtLength`` through ``getScreenCTM``. What a ``use`` shows of a group
or a symbol is out of their reach, so that only its box is asked for (``getBBox``).
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

from chromium import Browser

from jobprep.geometry.flatten import flatten_path
from jobprep.geometry.measure import bounds
from jobprep.geometry.outline import Arc, Point
from jobprep.geometry.read_svg import Shape, read_svg_shapes
from jobprep.geometry.segment import point_distance

PX = 25.4 / 96.0
"""CSS Values and Units 3, section 6.2."""
SAMPLES = 160
NEAR = 0.005
"""How far a browser's points may lie from ours, mm, since it counts in 24 bits."""
CHORDS = 1.0
"""How far its chords may lie inside its curves, user units; half of one was measured."""
ROUND = 1e-3
"""How far its arcs in path data may lie from ellipses, which it draws as cubic curves: a share of
their size. 0.06 % was measured against svgpathtools, from which ours were 0.0008 mm away."""
FINE = 1e-3
"""Within which our arcs stand for curves, mm."""
PAGE = 'width="1000px" height="500px" viewBox="0 0 100000 50000"'
"""A page of many user units, so that chords stay short."""

ASK = """(() => {
const shapes = "path,rect,circle,ellipse,line,polyline,polygon";
const seen = (each) => !each.closest("defs,symbol,clipPath,mask,marker")
  && each.getClientRects().length && getComputedStyle(each).visibility === "visible";
const sampled = (shape, map) => {
  const length = shape.getTotalLength(), points = [];
  for (let i = 0; length && i <= SAMPLES; i++) {
    const point = shape.getPointAtLength(length * i / SAMPLES).matrixTransform(map);
    points.push([point.x, point.y]);
  }
  return points;
};
const own = (each) => each.parentNode.getScreenCTM().inverse().multiply(each.getScreenCTM());
const found = [];
for (const each of document.querySelectorAll(`${shapes},use`)) {
  if (!seen(each)) continue;
  if (each.localName !== "use") {
    found.push([each.localName, sampled(each, each.getScreenCTM())]);
    continue;
  }
  const target = document.getElementById(each.href.baseVal.slice(1)), map = each.getScreenCTM();
  if (target.matches(shapes) && target.closest("defs") === null) {
    const at = getComputedStyle(each), whole = each.nearestViewportElement.viewBox.baseVal;
    const [x, y] = [["x", "width"], ["y", "height"]].map(([key, side]) =>
      parseFloat(at[key]) * (at[key].endsWith("%") ? whole[side] / 100 : 1));
    found.push([target.localName, sampled(target, map.translate(x, y).multiply(own(target)))]);
  } else {
    const box = each.getBBox(), corners = [[box.x, box.y], [box.x + box.width, box.y + box.height]];
    found.push(["box", corners.map(([x, y]) => {
      const point = new DOMPoint(x, y).matrixTransform(map);
      return [point.x, point.y];
    })]);
  }
}
return JSON.stringify([document.documentElement.getBoundingClientRect().height, found]);
})()""".replace("SAMPLES", str(SAMPLES))


class Seen(NamedTuple):
    """A shape that a browser shows: its name, or "box" for the box of a ``use``; mm, y up."""

    name: str
    points: tuple[Point, ...]


def drawing(body: str, page: str = PAGE) -> str:
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f"{page}>\n{body}\n</svg>"
    )


def seen_in(browser: Browser, svg: str, folder: Path) -> list[Seen]:
    """Return what the browser shows of a drawing, without shapes that have no length."""
    path = folder / "drawing.svg"
    path.write_text(svg, encoding="utf-8")
    browser.call("Page.navigate", url=path.as_uri())
    browser.until(f"document.readyState === 'complete' && location.href === {path.as_uri()!r}")
    height, found = json.loads(browser.find(ASK))
    return [
        Seen(name, tuple(Point(PX * x, PX * (height - y)) for x, y in points))
        for name, points in found
        if points
    ]


def differences(svg: str, seen: Sequence[Seen]) -> Iterator[str]:
    """Yield where our reading of a drawing differs from what a browser shows."""
    shapes = [shape for shape in _shapes(svg) if any(shape.paths)]
    told = list(seen)
    while told:
        name, points = told.pop(0)
        if name == "box":
            yield from _box_difference(shapes, points)
            return  # the box of a use is the last thing a case draws
        if not shapes:
            yield f"the browser shows a <{name}> more"
            return
        yield from _difference(shapes.pop(0), name, points)
    if shapes:
        yield f"{len(shapes)} shapes more than the browser shows"


def _shapes(svg: str) -> Sequence[Shape]:
    return read_svg_shapes(svg.encode(), FINE, frozenset()).shapes


def _difference(shape: Shape, name: str, points: Sequence[Point]) -> Iterator[str]:
    own_name = shape.within[-1].element.tag.rpartition("}")[2]
    if own_name != name:
        yield f"a <{own_name}> where the browser shows a <{name}>"
        return
    segments = tuple(segment for path in shape.paths for segment in path)
    farthest = max(min(point_distance(each, point) for each in segments) for point in points)
    near = NEAR
    if any(isinstance(segment, Arc) for segment in segments):
        near += CHORDS * shape.to_mm.scale
    if "a" in shape.within[-1].element.get("d", "").lower():
        box = bounds(segments)
        near += ROUND * math.hypot(box.width, box.height)
    if farthest > near:
        yield f"the browser's <{name}> is {farthest:.4f} mm away, its first point {points[0]}"
    spacing = max(math.dist(a, b) for a, b in pairwise(points))
    ours = [point for path in shape.paths for point in flatten_path(path, FINE)]
    farthest = max(min(math.dist(each, point) for point in points) for each in ours)
    if farthest > spacing + near:
        yield f"our <{name}> is {farthest:.4f} mm from the browser's"


def _box_difference(shapes: Sequence[Shape], corners: Sequence[Point]) -> Iterator[str]:
    boxes = [bounds(path) for shape in shapes for path in shape.paths]
    if not boxes:
        yield "nothing where the browser shows a use"
        return
    ours = (
        *(min(box.x_min for box in boxes), min(box.y_min for box in boxes)),
        *(max(box.x_max for box in boxes), max(box.y_max for box in boxes)),
    )
    xs, ys = zip(*corners, strict=True)
    theirs = (min(xs), min(ys), max(xs), max(ys))
    if max(abs(a - b) for a, b in zip(ours, theirs, strict=True)) > NEAR:
        yield f"a box of {ours} where the browser shows {theirs}"
