"""Random designs as people write them: in one line, in many, in dotted keys, all with comments."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

from hypothesis import strategies as st

FILMS = ("amber", "green", "red", "?", "none")
ENDS = ("\n", "\r\n")


@st.composite
def designs(draw: st.DrawFn) -> str:
    """Draw the text of a design that can be read."""
    marks = (f"# note {number}" for number in itertools.count(1))
    lines = [next(marks), "format = 1", 'name = "Lamp"', f"outer_diameter = 120  {next(marks)}"]
    lines += draw(st.sampled_from([["speed_rpm = 600"], ["machine.speed_rpm = 600"]]))
    lines += draw(st.sampled_from([["bore = { diameter = 6 }"], ["bore.diameter = 6"]]))
    for number in range(draw(st.integers(0, 2))):
        lines += ["", next(marks), "[[hole]]", f'name = "hole {number}" {next(marks)}']
        lines += ["diameter = 3", f"radius = {20 + 10 * number}", "angle = 10 # through"]
    for number in range(draw(st.integers(1, 3))):
        lines += ["", next(marks), f"[[layer]] {next(marks)}", f'name = "layer {number}"']
        if draw(st.booleans()):
            lines.append(f'film = "clear"  {next(marks)}')
        else:
            lines += draw(st.sampled_from([[], ["start_angle = 30 # start"]]))
            lines += draw(st.sampled_from([[], [f"joint_gap = 0.1 {next(marks)}"]]))
            lines += _sectors(draw, marks)
        lines += [next(marks)] if draw(st.booleans()) else []
    lines += ["", next(marks)] if draw(st.booleans()) else []
    return draw(st.sampled_from(ENDS)).join([*lines, ""])


def _sectors(draw: st.DrawFn, marks: Iterator[str]) -> list[str]:
    count = draw(st.integers(2, 5))
    rows = []
    shared = draw(st.sampled_from(["none", "some", "all"]))
    widths = [draw(st.integers(1, 60)) for _ in range(count)]
    for index, width in enumerate(widths):
        film = "amber" if index == 0 else draw(st.sampled_from(FILMS))
        if shared == "all" or (shared == "some" and index % 2):
            size = f"share = {width}"
        elif shared == "some" and index == 0:
            size = "ms = 12.5"
        elif shared == "none" and index == count - 1:
            size = f"degrees = {360 - sum(widths[:-1])}"
        else:
            size = f"degrees = {width}"
        rows.append(f'{{ film = "{film}", {size} }}')
    style = draw(st.sampled_from(["in one line", "in lines", "in blocks"]))
    if style == "in one line":
        return [f"sector = [{', '.join(rows)}]  {next(marks)}"]
    if style == "in blocks":
        return [line for row in rows for line in _block(row, marks)]
    listed = [f"  {row}, {next(marks) if draw(st.booleans()) else ''}".rstrip() for row in rows]
    between = [f"  {next(marks)}"] if draw(st.booleans()) else []
    last = draw(st.sampled_from([listed[-1], listed[-1].replace("},", "}", 1)]))
    return [f"sector = [ {next(marks)}", *listed[:1], *between, *listed[1:-1], last, "]"]


def _block(row: str, marks: Iterator[str]) -> list[str]:
    """Return a sector as a table of its own."""
    fields = row.strip("{ }").split(", ")
    return ["", next(marks), "[[layer.sector]]", *fields, next(marks)]


def edits() -> st.SearchStrategy[dict[str, object]]:
    """Draw an edit, possible or not."""
    layer, sector = st.integers(1, 3), st.integers(1, 5)
    angle = st.integers(-10, 730).map(lambda half: half / 2.0)
    film = st.sampled_from(FILMS)
    fixed = st.fixed_dictionaries
    return st.one_of(
        fixed({"do": st.just("move separation"), "layer": layer, "after": sector, "angle": angle}),
        fixed({"do": st.just("split sector"), "layer": layer, "sector": sector, "at": angle}),
        fixed({"do": st.just("merge sectors"), "layer": layer, "after": sector}),
        fixed({"do": st.just("recolour"), "layer": layer, "sector": sector, "film": film}),
        fixed({"do": st.just("sectors"), "layer": layer, "films": st.lists(film, min_size=1)}),
        fixed({"do": st.just("move layer"), "layer": layer, "to": layer}),
        fixed({"do": st.just("remove hole"), "hole": st.integers(1, 2)}),
        fixed({"do": st.just("remove layer"), "layer": layer}),
        fixed(
            {
                "do": st.just("add layer"),
                "layer": st.none() | layer,
                "name": st.just("new"),
                "film": film,
            }
        ),
        fixed(
            {
                "do": st.just("add hole"),
                "name": st.just("new"),
                "diameter": st.just(2.5),
                "radius": st.integers(1, 70),
                "angle": angle,
            }
        ),
        fixed(
            {
                "do": st.just("set"),
                "at": st.sampled_from(
                    [
                        "name",
                        "outer_diameter",
                        "bore.diameter",
                        "tolerance.angle_deg",
                        "hub_diameter",
                        "hole[1].radius",
                        "layer[1].joint_gap",
                        "layer[2].inner_diameter",
                        "layer[1].name",
                        "speed_rpm",
                        "layer[1].sector[2].degrees",
                        "nonsense",
                        "layer[7].name",
                    ]
                ),
                "value": st.sampled_from(
                    [0.25, 30, "4 3/4 in", "text", None, True, [1.5], [True], {"a": 1}]
                ),
            }
        ),
    )
