"""Drawings as a browser shows them: every property that is read, pages, random trees of groups."""

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from chromium import CHROMIUM, Browser, browser
from geometry.random_svg import random_drawing
from geometry.svg_browser import differences, drawing, seen_in

from jobprep.geometry.join_paths import OutlineError
from jobprep.geometry.read_svg import read_svg
from jobprep.geometry.svg_properties import ATTRIBUTES, PROPERTIES, row_of

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium to show the drawing in"),
]

RECT = '<rect x="1000" y="2000" width="30000" height="10000" {}/>'
FLAG = '<polygon points="1000,2000 31000,2000 9000,12000" {}/>'
SYMBOL = '<symbol id="s" {}><rect x="1" y="1" width="5" height="7"/></symbol>'
SHOWN = '<use href="#s" x="1000" y="2000" {}/>'


def flags(*marks: str) -> str:
    return "\n".join(map(FLAG.format, marks))


CASES = {
    "transform": flags(
        'transform="translate(1000 2000),rotate(30)scale(.5-1) skewX(3)skewY(4)"',
        'transform="rotate(20 5000,900) matrix(1 .5-.25 1 300 10)"',
        'style="transform: translate(1000px, 10%) rotate(30deg) skewX(10deg) scale(50%, 2)"',
        'style="transform: translateX(1in) translateY(1%) scaleX(.5) scaleY(2) skew(3deg, 4deg)"',
        'style="transform: Rotate( 50grad ) matrix(1, .5, -.25, 1, 300, 10) skewY(1rad)"',
        'style="transform: rotate(0.1turn) skew(20deg) scale(0.5)" transform="rotate(50)"',
        'style="transform: none" transform="rotate(50)"',
        'style="transform: unset" transform="rotate(50)"',
    ),
    "transform-origin": flags(
        'transform="rotate(10 500 500)" transform-origin="right 2000"',
        'transform="rotate(10)" transform-origin="bottom"',
        'transform="rotate(10)" style="transform-origin: top right"',
        'transform="rotate(10)" style="transform-origin: 30% 3in 0px"',
        'style="rotate: 20deg; transform-origin: left 500px"',
    ),
    "transform-box": flags(
        'transform="rotate(10)" style="transform-origin: center; transform-box: fill-box"',
        'transform="rotate(10)" style="transform-box: fill-box"',
        'transform="scale(2)" style="transform-box: content-box; transform-origin: 100% 20px"',
        'style="transform: translate(50%, 25%); transform-box: fill-box"',
        'style="rotate: 9deg; transform-box: view-box; transform-origin: 50% 50%"',
    )
    + '<path style="rotate: 9deg; transform-box: fill-box; transform-origin: center"'
    ' d="M5000 30000 C20000 20000 30000 40000 50000 30000 Q9000 9000 9000 30000"/>',
    "translate": flags('style="translate: 1000px"', 'style="translate: 10% 5mm; rotate: 9deg"'),
    "rotate": flags('style="rotate: 20deg"', 'style="rotate: .3rad" transform="translate(900)"'),
    "scale": flags(
        'style="scale: 1.5"',
        'style="scale: 50% -1; transform-origin: 3000px 50%; translate: 9px 9px; rotate: 1turn"',
    ),
    "cx": '<circle style="cx: 50%" r="9000"/><ellipse cx="50%" style="ry: 3in" rx="9000"/>',
    "cy": '<circle style="cy: 10mm" r="9000"/><ellipse cy="50%" ry="3in" rx="9000"/>',
    "r": '<circle style="r: 10%"/><circle r="10%"/><style>circle { r: 2000px }</style><circle/>',
    "rx": '<rect rx="90%" ry="900" width="9000" height="5000"/>'
    '<rect style="rx: 3pc; ry: auto" width="9000" height="5000"/><ellipse rx="900"/>',
    "ry": '<rect ry="5%" width="9000" height="5000"/><rect rx="9" ry="0" width="99" height="9999"/>'
    '<ellipse style="ry: 50px" rx="9000"/><ellipse ry="9000"/>',
    "x": RECT.format('style="x: 10%"')
    + FLAG.format('id="f" transform="rotate(3)"')
    + '<use href="#f" style="x: 5000px; y: 10%"/><use href="#f" x="1in" transform="rotate(9)"/>',
    "y": RECT.format('style="y: 10%"') + FLAG.format('id="f"') + '<use href="#f" y="30%"/>',
    "width": RECT.format('style="width: 40mm"') + '<rect width="10%" height="90pt"/>',
    "height": RECT.format('style="height: 1%"') + '<rect height="10%" width="9in"/>',
    "display": f'<g style="display: none">{RECT}</g><g display="none">{RECT}</g>'
    + "<style>.off { display: none !important }</style>"
    + flags('class="off"', 'style="display: block" display="none"'),
    "visibility": f'<g visibility="hidden">{RECT}<g style="visibility: collapse">{RECT}</g>'
    + flags('visibility="visible"', 'style="visibility: initial"', "")
    + "</g>",
    "overflow": '<svg width="90" height="90" overflow="visible">' + FLAG + "</svg>"
    '<svg width="90" height="90" style="overflow: visible">' + FLAG + "</svg>",
    "perspective": '<g style="perspective: 500px">' + flags('style="rotate: 9deg"') + "</g>",
    "perspective-origin": flags('style="perspective: 9px; perspective-origin: left; rotate: 3deg"'),
    "transform-style": flags('style="transform-style: preserve-3d; rotate: 3deg"'),
    "backface-visibility": flags('style="backface-visibility: hidden; scale: -1 1"'),
    "font-size": flags('style="font-size: 40px; translate: 9px"'),
    "viewBox": '<svg x="9000" y="5000" width="20000" height="30000" viewBox="-5,-5 100 100">'
    '<polygon points="0,0 90,0 30,90"/><circle cx="10%" cy="50%" r="10%"/></svg>'
    '<svg x="9000" y="5000" width="50%" height="9999"><circle cx="50%" cy="50%" r="10%"/></svg>'
    '<svg x="9000" y="5000" viewBox="0 0 1e5 5e4" transform="scale(.5)">' + FLAG + "</svg>",
    "preserveAspectRatio": "".join(
        f'<svg y="50" width="20000" height="9000" viewBox="0 0 90 90" preserveAspectRatio="{each}">'
        '<polygon points="0,0 90,0 30,90"/></svg>'
        for each in ("none", "xMinYMin", "xMidYMid meet", "xMaxYMid", "xMinYMax meet")
    )
    + SYMBOL.format('viewBox="0 0 10 10" width="20000" preserveAspectRatio="none"')
    + SHOWN.format('height="9000"'),
    "points": '<polygon points=" 0,0 9000-500,1e4 , 9e3 "/><polyline points="0 0 9000 0 50 5000"/>',
    "x1": '<line x1="10%" y1="900" x2="9000" y2="1in"/>',
    "y1": '<line y1="10%" x2="9000" y2="9000"/>',
    "x2": '<line x2="10%" y2="9000"/>',
    "y2": '<line y2="10%"/>',
    "d": '<path d="M9000 9000a1000 2000 30 01500.5.5 100 100 0 1050 50zm900,900h90v9-9z"/>'
    '<path d="M0 0c9000 0 9000 9000 0 9000t3000-3000s9000 900 0 900q500-500 500 0s9000 0 900 50'
    'T90 90 900 30"/>',
    "href": RECT.format('id="f"') + '<circle id="f" r="99"/><circle id="e" r="99"/>'
    '<use href="#f" xlink:href="#e" x="4000"/>',
    "{http://www.w3.org/1999/xlink}href": FLAG.format('id="f"') + '<use xlink:href="#f" y="90"/>',
    "requiredFeatures": flags('requiredFeatures="http://example.invalid/nothing"'),
    "pathLength": '<path pathLength="3" d="M0 0h3000v500z"/>',
}
"""For every row that is read or has no effect. The box of a ``use`` comes last."""

MORE = {
    "use of a symbol": SYMBOL.format('viewBox="0 0 10 10"')
    + SHOWN.format('width="30000" height="20000"'),
    "use of an svg": '<defs><svg id="s" x="500" y="100" width="40" height="5000" '
    'viewBox="0 0 10 10"><rect x="1" y="1" width="5" height="7"/></svg></defs>'
    + SHOWN.format('width="30000"'),
    "use of a group": '<defs><g id="s" transform="translate(3000 0)"><rect x="100" width="5000" '
    'height="7000"/></g></defs>' + SHOWN,
    "units": '<rect x="1in" y="10mm" width="50cm" height="300pt"/>'
    '<rect x="10pc" y="40q" width="300px" height="300"/>',
    "the cascade": "<style>#a { scale: .5 } polygon { scale: .25 } .b, .d { scale: none }\n"
    ".e.f { scale: .3 } .f { scale: .2 } .g { scale: .1 !important } /* .b { scale: 9 } */\n"
    "@font-face { font-family: x } .h { scale: .5; scale: .6 } *.l { scale: .7 }\n"
    ".i:not(a) { fill: red } <!-- .j { scale: .8 } -->\n"
    "poly\\67on.k { scale: .9 } @media print { .a { fill: red } }\n"
    '</style><style type="text/other">polygon { scale: 9 }</style>'
    + flags('id="a" class="b"', 'class="d"', 'class="f e"', 'class=" g " style="scale: 2"')
    + flags('class="h"', "", 'class="j"', 'class="k l"', 'class="l"')
    + flags('style="scale:2!important" class="g"')
    + '<g style="scale: .9"><circle r="900"/></g>',
}

RECT_MM = '<rect x="10" y="20" width="50" height="25"/><path d="M60 60h9v9z"/>'
PAGES = (
    'width="254mm" height="127mm" viewBox="0 0 254 127"',
    'width="254mm" height="50.8mm" viewBox="0 0 254 127"',
    'width="254mm" height="50.8mm" viewBox="-20 -10 254 127" preserveAspectRatio="xMinYMid"',
    'width="254mm" height="50.8mm" viewBox="-20 -10 254 127" preserveAspectRatio="none"',
    'width="50.8mm" height="127mm" viewBox="-20 -10 254 127" preserveAspectRatio="xMaxYMax meet"',
    'width="10in" height="5in" viewBox="0,0,254,127"',
    'width="720pt" height="30pc" viewBox="0 0 254 127"',
    'width="960px" height="12.7cm" viewBox="0 0 960 480"',
    'width="10in" height="5in"',
    'width="9mm" height="9mm" style="width: 254mm; height: 127mm" viewBox="0 0 254 127"',
    'width="9mm" height="9mm" id="page" viewBox="0 0 254 127"',
)


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    with browser(tmp_path_factory.mktemp("browser")) as found:
        yield found


def test_every_row_that_is_not_refused_is_shown() -> None:
    rows = {name for name, row in (*PROPERTIES.items(), *ATTRIBUTES.items()) if not refused(row)}
    assert rows == set(CASES)


def refused(row: object) -> bool:
    return row.verdict == "refused"  # type: ignore[attr-defined]


@pytest.mark.parametrize("name", [*CASES, *MORE])
def test_what_is_read_is_as_shown(shown: Browser, tmp_path: Path, name: str) -> None:
    svg = drawing((CASES | MORE)[name].replace("{}", ""))
    seen = seen_in(shown, svg, tmp_path)
    assert seen
    assert list(differences(svg, seen)) == []


@pytest.mark.parametrize("page", PAGES)
def test_pages_are_as_shown(shown: Browser, tmp_path: Path, page: str) -> None:
    style = "<style>#page { width: 254mm; height: 127mm }</style>"
    svg = drawing(style + RECT_MM, page)
    seen = seen_in(shown, svg, tmp_path)
    assert len(seen) == 2
    assert list(differences(svg, seen)) == []


@pytest.mark.parametrize("seed", range(60))
def test_random_trees_are_as_shown(shown: Browser, tmp_path: Path, seed: int) -> None:
    svg = drawing(random_drawing(seed, 2))
    seen = seen_in(shown, svg, tmp_path)
    assert len(seen) >= 4
    assert list(differences(svg, seen)) == []


def test_a_shape_elsewhere_is_found(shown: Browser, tmp_path: Path) -> None:
    """The comparison itself: a shape 0.02 mm off, a missing one, another kind, one too many."""
    seen = seen_in(shown, drawing('<rect width="900" height="900"/><circle r="900"/>'), tmp_path)
    for other in (
        '<rect x="8" width="900" height="900"/><circle r="900"/>',
        '<rect width="900" height="900"/>',
        '<rect width="900" height="900"/><ellipse rx="900"/>',
        '<rect width="900" height="900"/><circle r="900"/><circle r="900"/>',
        '<rect width="900" height="900"/><circle r="910"/>',
    ):
        assert list(differences(drawing(other), seen)), other


def test_a_symbol_hides_what_lies_beyond_its_edge(shown: Browser, tmp_path: Path) -> None:
    symbol = '<symbol id="s" {}><rect id="r" x="-9000" width="20000" height="9000"/></symbol>'
    hit = "document.elementFromPoint(350, 130) !== null && document.elementFromPoint(350, 130).id"
    for overflow, expected in (("", ""), ('overflow="visible"', "u")):
        svg = drawing(symbol.format(overflow) + '<use id="u" href="#s" x="40000" y="9000"/>')
        seen_in(shown, svg, tmp_path)
        assert shown.find(hit) == expected
        if overflow:
            assert len(read_svg(svg.encode(), 0.01)) == 1
        else:
            with pytest.raises(OutlineError, match="draws beyond the edge of <symbol> 's', which"):
                read_svg(svg.encode(), 0.01)


SCENE = """\
<defs><path id="target" d="M0 0h5v5z"/>
<clipPath id="cp"><rect width="1" height="1"/></clipPath>
<marker id="m"><path d="M0 0h5v5z"/></marker>
<symbol id="sy" viewBox="0 0 10 10"><rect width="5" height="5"/></symbol></defs>
<g><rect id="first" x="10" y="10" width="20" height="10" rx="2"/><circle cx="50" cy="20" r="8"/>
<ellipse cx="80" cy="20" rx="8" ry="5"/><path d="M100 10 h20 v10 h-15 z"/>
<polygon points="130,10 150,10 140,25"/><line x1="160" y1="10" x2="180" y2="20" stroke="red"/></g>
<svg x="10" y="40" width="50" height="30" viewBox="0 0 100 60"><rect width="40" height="30"/></svg>
<use href="#sy" x="80" y="50" width="20" height="20"/><use href="#target" x="120" y="50"/>
<a><rect x="150" y="50" width="20" height="10"/></a>"""

VALUES = (
    *("none", "0", "2", "50%", "7px", "10px 10px", "30deg", "auto", "hidden", "visible", "scroll"),
    *("collapse", "contents", "block", "flex", "size", "content", "strict", "fill-box", "2 / 1"),
    *("border-box", "url(#m)", "url(#cp)", "scale(2)", "rotateX(60deg)", "path('M0 0 L50 50')"),
    *("circle(3px)", "inset(4px)", "rect(0px,1px,1px,0px)", "inherit", "initial", "center", "both"),
    *("vertical-rl", "rtl", "ray(30deg)", "1 1", "min-content", "non-scaling-stroke", "absolute"),
    *("fixed", "layout", "preserve-3d", "right", "1s foo", "table"),
)

SCAN = """((from, to) => {
const root = document.documentElement, first = document.getElementById("first");
const others = [...root.querySelectorAll("g, g > *, svg, svg > rect, use, a, a > rect")];
const measured = (isRoot) => {
  const found = [], rect = first.getBoundingClientRect();
  const [left, top] = isRoot ? [rect.x, rect.y] : [0, 0];
  for (const each of others) {
    const box = each.getBoundingClientRect(), own = each.getBBox();
    found.push(box.x - left, box.y - top, box.width, box.height);
    found.push(own.x, own.y, own.width, own.height);
    const length = each.getTotalLength ? each.getTotalLength() : 0;
    found.push(length, getComputedStyle(each).visibility === "visible" ? 1 : 0);
    if (length) found.push(...[0.1, 0.5].flatMap((share) => {
      const point = each.getPointAtLength(length * share);
      return [point.x, point.y];
    }));
  }
  if (!isRoot) for (const [x, y] of [[80, 60], [200, 80], [320, 80], [440, 60], [60, 180]])
    found.push(others.indexOf(document.elementFromPoint(x, y)));
  return found.map((value) => value.toFixed(3)).join();
};
const names = new Set([...getComputedStyle(root)]);
for (const key in getComputedStyle(root))
  names.add(key.replace(/[A-Z]/g, (big) => "-" + big.toLowerCase()).replace(/^webkit/, "-webkit"));
const all = [...names].filter((name) => /^[-a-z]+$/.test(name)).sort(), found = {};
const before = [true, false].map(measured);
for (const name of all.slice(from, to)) for (const value of VALUES) {
  if (!CSS.supports(name, value)) continue;
  for (const [isRoot, set] of [[true, [root]], [false, others]]) {
    for (const each of set) each.style.setProperty(name, value);
    try {
      if (measured(isRoot) !== before[isRoot ? 0 : 1]) found[name] = value;
    } catch { found[name] = value; }
    for (const each of set) each.removeAttribute("style");
  }
}
return JSON.stringify([all.length, found]);
})""".replace("VALUES", json.dumps(VALUES))

NO_OUTLINE = {"fill", "stroke", "stroke-dasharray", "stroke-width", "pointer-events"}
"""What changes only whether a pointer meets a shape."""


def test_no_property_that_the_browser_knows_changes_an_outline_unseen(
    shown: Browser, tmp_path: Path
) -> None:
    """Each of them, on the root and on everything else, with values of all kinds.

    A margin or padding of the root moves all alike, which is taken out.
    """
    seen_in(shown, drawing(SCENE, 'width="800px" height="400px" viewBox="0 0 200 100"'), tmp_path)
    found: dict[str, str] = {}
    at, count = 0, 1
    while at < count:
        count, part = json.loads(shown.find(f"{SCAN}({at}, {at + 50})"))
        found |= part
        at += 50
    assert count > 300
    unseen = {name for name in found if row_of(name) is None} - NO_OUTLINE
    assert unseen == set()
    followed = {"transform", "translate", "rotate", "scale", "cx", "r", "rx", "width", "x"}
    named = {"offset-path", "inline-size", "clip-path", "zoom", "d", "all", "content-visibility"}
    assert followed | named <= set(found), "the search itself finds what is known"
    assert {name for name in found if getattr(row_of(name), "verdict", "") == "no effect"} == set()
