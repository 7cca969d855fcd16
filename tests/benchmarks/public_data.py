"""Turn files of public collections into what the benchmarks read.

    python tests/benchmarks/public_data.py FILE ... --out DIR

``.xml``  a nesting problem of ESICUP's collection -> ``DIR/irregular/NAME.json``
``.tsp``  an instance of TSPLIB with plane coordinates (EUC_2D) -> ``DIR/tsp/NAME.json``
``.txt``  lines ``n radius``, best known equal circles -> ``DIR/circles/square.csv``; or pieces for
          several sheets of ESICUP's collection -> ``DIR/sheets/NAME.json``, with the optimum of
          ``OpNAME.txt`` where that lies beside it

The formats are read from memory: what is not understood is refused by name, and a
strip's total area is computed, never taken over. A strip has no best known density then; the ratio
to it is left out until ``best_known`` is added by hand, with its source.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

OPTIMA = {
    "a280": 2579, "berlin52": 7542, "ch130": 6110, "eil101": 629, "eil51": 426, "eil76": 538,
    "kroA100": 21282, "kroB100": 22141, "lin105": 14379, "pr76": 108159, "rat99": 1211, "st70": 675,
}  # fmt: skip
"""Lengths of optimal tours: TSPLIB, its list of solutions."""

Corners = list[list[float]]


class NotUnderstood(Exception):
    """What of a file cannot be read."""


def doubled_area(corners: Corners) -> float:
    """Return twice the signed area of a polygon, anticlockwise positive."""
    after = corners[1:] + corners[:1]
    return math.fsum(x * v - u * y for (x, y), (u, v) in zip(corners, after, strict=True))


def strip(text: str, name: str) -> dict[str, Any]:
    """Return a strip from a nesting XML: one board, pieces of one polygon each."""
    root = ElementTree.fromstring(text)
    for element in root.iter():
        element.tag = element.tag.rpartition("}")[2]
    outlines = {polygon.get("id"): corners_of(polygon) for polygon in root.iter("polygon")}
    boards = root.findall("./problem/boards/piece")
    pieces = root.findall("./problem/lot/piece")
    if len(boards) != 1 or not pieces:
        raise NotUnderstood("it needs one board and a lot of pieces")
    board = outline_of(boards[0], outlines)
    angles = {tuple(turns_of(piece)) for piece in pieces}
    if len(angles) != 1:
        raise NotUnderstood("its pieces may be turned in different ways")
    items = [
        {"id": piece.get("id"), "demand": int(piece.get("quantity", "1")), "outline": outline}
        for piece in pieces
        for outline in (outline_of(piece, outlines),)
    ]
    heights = [y for _, y in board]
    area = math.fsum(each["demand"] * doubled_area(each["outline"]) / 2.0 for each in items)
    return {
        "name": name,
        "strip_height": max(heights) - min(heights),
        "allowed_rotations_deg": list(angles.pop()),
        "total_area": area,
        "best_known": None,
        "items": items,
    }


def corners_of(polygon: ElementTree.Element) -> Corners:
    """Return the corners of a polygon that is given by its segments, anticlockwise."""
    segments = sorted(polygon.findall("./lines/segment"), key=lambda each: int(each.get("n", "0")))
    ends = [
        tuple(float(each.get(key, "nan")) for key in ("x0", "y0", "x1", "y1")) for each in segments
    ]
    for (_, _, x, y), (u, v, _, _) in zip(ends, ends[1:] + ends[:1], strict=True):
        if not (math.isclose(x, u) and math.isclose(y, v)):
            raise NotUnderstood(f"polygon {polygon.get('id')} is not closed")
    corners = [[x, y] for x, y, _, _ in ends]
    if len(corners) < 3:
        raise NotUnderstood(f"polygon {polygon.get('id')} has fewer than three sides")
    return corners if doubled_area(corners) > 0.0 else corners[::-1]


def outline_of(piece: ElementTree.Element, outlines: dict[str | None, Corners]) -> Corners:
    """Return the only polygon of a piece."""
    components = piece.findall("./component")
    if len(components) != 1 or components[0].get("type", "0") != "0":
        raise NotUnderstood(f"piece {piece.get('id')} is not one polygon without holes")
    return outlines[components[0].get("idPolygon")]


def turns_of(piece: ElementTree.Element) -> list[float]:
    """Return the turns allowed to a piece, degrees."""
    turns = [float(each.get("angle", "nan")) for each in piece.iter("enumeration")]
    return sorted(turns) or [0.0]


def tour(text: str) -> dict[str, Any]:
    """Return a TSPLIB instance of plane coordinates."""
    head, _, body = text.partition("NODE_COORD_SECTION")
    said = {key.strip(): value.strip() for key, _, value in map(partitioned, head.splitlines())}
    if said.get("EDGE_WEIGHT_TYPE") != "EUC_2D" or not body:
        raise NotUnderstood("only EUC_2D with a NODE_COORD_SECTION is read")
    name = said["NAME"]
    if name not in OPTIMA:
        raise NotUnderstood(f"no optimum of {name!r} is listed here")
    rows = [line.split() for line in body.splitlines()]
    coords = [[float(x), float(y)] for _, x, y in (row for row in rows if len(row) == 3)]
    if len(coords) != int(said["DIMENSION"]):
        raise NotUnderstood(f"{len(coords)} of {said['DIMENSION']} places are there")
    return {"name": name, "optimum": OPTIMA[name], "coords": coords}


def partitioned(line: str) -> tuple[str, str, str]:
    return line.partition(":")


def radii(text: str) -> str:
    """Return the table of circles from lines ``n radius``; other lines are left out."""
    rows = (line.split() for line in text.splitlines())
    pairs = [(int(row[0]), row[1]) for row in rows if len(row) == 2 and row[0].isdigit()]
    if not pairs or not all(0.0 < float(radius) <= 0.5 for _, radius in pairs):
        raise NotUnderstood("it needs lines of a count and a radius of at most 0.5")
    return "n,radius\n" + "".join(f"{count},{radius}\n" for count, radius in sorted(pairs))


def sheets(text: str, optimum: str | None, name: str) -> dict[str, Any]:
    """Return pieces to lay on several equal sheets, and how many of these are known to be enough.

    ``text`` holds the number of pieces, the width and height of a sheet, then for each piece the
    number of its corners and their coordinates; ``optimum`` begins with the number of sheets and
    how many pieces lie on each.
    """
    numbers = iter(text.split())
    try:
        count, width, height = int(next(numbers)), float(next(numbers)), float(next(numbers))
        pieces = [
            [[float(next(numbers)), float(next(numbers))] for _ in range(int(next(numbers)))]
            for _ in range(count)
        ]
    except (StopIteration, RuntimeError):
        raise NotUnderstood("it ends before its last piece") from None
    if next(numbers, None) is not None or any(len(piece) < 3 for piece in pieces):
        raise NotUnderstood("it does not hold as many pieces as it says")
    turned = [piece if doubled_area(piece) > 0.0 else piece[::-1] for piece in pieces]
    return {
        "name": name,
        "sheet": [width, height],
        "allowed_rotations_deg": [0.0, 90.0, 180.0, 270.0],
        "total_area": math.fsum(map(doubled_area, turned)) / 2.0,
        "optimum": None if optimum is None else least_sheets(optimum, count),
        "pieces": turned,
    }


def least_sheets(text: str, count: int) -> int:
    """Return the number of sheets of an optimum for this number of pieces."""
    number, *held = map(int, text.split()[: 1 + int(text.split()[0])])
    if sum(held) != count:
        raise NotUnderstood(f"its optimum holds {sum(held)} of {count} pieces")
    return number


def is_for_sheets(text: str) -> bool:
    """Return whether a text begins with the number of its pieces alone."""
    return len(text.lstrip().splitlines()[0].split()) == 1 if text.strip() else False


def converted(path: Path) -> tuple[Path, str]:
    """Return where below the folder of data a file belongs, and its text."""
    text = path.read_text(encoding="utf-8")
    if path.suffix == ".xml":
        return Path("irregular", f"{path.stem}.json"), json.dumps(strip(text, path.stem)) + "\n"
    if path.suffix == ".tsp":
        found = tour(text)
        return Path("tsp", f"{found['name']}.json"), json.dumps(found) + "\n"
    if path.suffix == ".txt" and is_for_sheets(text):
        beside = path.with_name(f"Op{path.name}")
        if path.name.startswith("Op"):
            raise NotUnderstood(f"it is read beside {path.name.removeprefix('Op')}")
        optimum = beside.read_text(encoding="utf-8") if beside.is_file() else None
        found = sheets(text, optimum, path.stem)
        return Path("sheets", f"{path.stem}.json"), json.dumps(found) + "\n"
    if path.suffix == ".txt":
        return Path("circles", "square.csv"), radii(text)
    raise NotUnderstood("only .xml, .tsp and .txt are read")


def main() -> int:
    """Write what the files hold; return the exit code."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("files", nargs="+", type=Path, metavar="FILE")
    parser.add_argument("--out", type=Path, required=True, metavar="DIR")
    given = parser.parse_args()
    failed = 0
    for path in given.files:
        try:
            place, text = converted(path)
        except (NotUnderstood, ElementTree.ParseError, KeyError, ValueError) as error:
            print(f"{path}: {error}", file=sys.stderr)
            failed = 1
            continue
        written = given.out / place
        written.parent.mkdir(parents=True, exist_ok=True)
        written.write_text(text, encoding="utf-8")
        print(written)
    return failed


if __name__ == "__main__":
    sys.exit(main())
