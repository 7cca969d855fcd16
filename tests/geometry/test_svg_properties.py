"""Everything that changes an outline is in one list: what is refused, by name; the rest is read.

That what is read is read as a browser shows it is in ``test_svg_browser.py``.
"""

import re

import pytest

from jobprep.geometry.join_paths import OutlineError
from jobprep.geometry.measure import bounds
from jobprep.geometry.read_svg import read_svg
from jobprep.geometry.svg_properties import ATTRIBUTES, PROPERTIES, row_of

REFUSED_VALUES = {
    "d": 'path("M0 0h5")',
    **dict.fromkeys(("inline-size", "block-size", "logical-width", "logical-height"), "5px"),
    **{
        f"{limit}-{size}": "50px"
        for limit in ("min", "max")
        for size in (
            *("width", "height", "inline-size", "block-size", "logical-width", "logical-height"),
        )
    },
    "aspect-ratio": "2 / 1",
    "box-sizing": "border-box",
    **dict.fromkeys(("offset", "offset-path", "motion", "motion-path"), 'path("M0 0 L5 5")'),
    "zoom": "2",
    **dict.fromkeys(("overflow-x", "overflow-y", "content-visibility"), "hidden"),
    **dict.fromkeys(("clip-path", "mask", "mask-image", "filter"), "url(#a)"),
    **dict.fromkeys(("mask-border", "mask-border-source"), "url(#a)"),
    **dict.fromkeys(("mask-box-image", "mask-box-image-source"), "url(#a)"),
    "clip": "rect(0, 1px, 1px, 0)",
    **dict.fromkeys(("marker", "marker-start", "marker-mid", "marker-end"), "url(#a)"),
    "vector-effect": "non-scaling-size",
    "animation": "turn 3s infinite",
    "animation-name": "turn",
    "all": "unset",
}
"""A value that changes something, for every property that is refused."""

REFUSED_ATTRIBUTES = {
    "systemLanguage": "de",
    "requiredExtensions": "http://example.invalid/x",
    "refX": "5",
    "refY": "5",
    "transform-box": "fill-box",
}
IN_WORDS = {
    'style="zoom: 2"': "has zoom: 2 on <rect> 'a', which is not followed; scale the drawing itself",
    'style="-webkit-transform:scale(2)"': "has -webkit-transform: scale(2) on <rect> 'a', which is "
    "not followed; use transform",
    'clip-path="url(#c)"': "has clip-path='url(#c)' on <rect> 'a', which is not followed; apply it "
    "first",
    'style="transform: rotateX(9deg)"': "has transform: rotateX(9deg) on <rect> 'a', which cannot "
    "be read; write it as a transform attribute",
    'style="transform: translate3d(1px, 2px, 0)"': "has transform: translate3d(1px, 2px, 0) on "
    "<rect> 'a', which cannot be read; write it as a transform attribute",
    'style="rotate: x 9deg"': "has rotate: x 9deg on <rect> 'a', which cannot be read; write it as "
    "a transform attribute",
    'style="scale: 1 2 3"': "has scale: 1 2 3 on <rect> 'a', which cannot be read; write it as a "
    "transform attribute",
    'style="transform: translate(5, 6)"': "has transform: translate(5, 6) on <rect> 'a'; a style "
    "needs a unit there, such as px or mm",
    'style="transform: inherit"': "has transform: inherit on <rect> 'a', which cannot be read; "
    "write it as a transform attribute",
    'style="translate: calc(1px + 2px)"': "has translate: calc(1px + 2px) on <rect> 'a', which "
    "cannot be read; write it as a transform attribute",
    'style="rotate: 9deg; transform-origin: 1px 2px 3px"': "has transform-origin: 1px 2px 3px on "
    "<rect> 'a', which cannot be read; give it as one or two lengths",
    'style="rotate: 9deg; transform-origin: left left"': "has transform-origin: left left on <rect>"
    " 'a', which cannot be read; give it as one or two lengths",
    'style="rotate: 9deg; transform-box: stroke-box"': "has transform-box: stroke-box on <rect> "
    "'a', which is not followed; set fill-box or view-box",
    'style="rotate: 1e999turn"': "has rotate: 1e999turn on <rect> 'a', which cannot be read; write "
    "it as a transform attribute",
    'style="width: 15"': "has width: 15 on <rect> 'a'; a style needs a unit there, such as px or "
    "mm",
    'style="x: calc(1px + 2px)"': "has x: calc(1px + 2px) on <rect> 'a'; a number or a length in "
    "mm is needed",
    'style="x: var(--x)"': "has x: var(--x) on <rect> 'a'; a number or a length in mm is needed",
    'style="x: 2em"': "has x: 2em on <rect> 'a'; a number or a length in mm is needed",
    'style="x: 2rem"': "has x: 2rem on <rect> 'a'; a number or a length in mm is needed",
    'style="x: 2vw"': "has x: 2vw on <rect> 'a'; a number or a length in mm is needed",
    'style="x: inherit"': "has x: inherit on <rect> 'a'; a number or a length in mm is needed",
    'style="display: contents"': "has display: contents on <rect> 'a'; 'none' and 'inline' are "
    "known",
    'style="visibility: unseen"': "has visibility: unseen on <rect> 'a'; 'visible' and 'hidden' "
    "are known",
    'rx="-1"': "has rx='-1' on <rect> 'a'; at least 0 is needed",
    "style='d: path(\""
    + "M0 0" * 99
    + "\")'": 'has d: path("M0 0M0 0M0 0M0 0M0 0M0 0M0 0M0 0M0... '
    "on <rect> 'a', which is not followed; write it as an attribute",
}
SHEETS = {
    "@import 'a.css';": "has a style sheet with @import, which is not followed; write what it "
    "brings in on the elements themselves",
    "@namespace url(http://example.invalid/x);": "has a style sheet with @namespace, which is not "
    "followed; write what it brings in on the elements themselves",
    "@media print { a { fill: red } rect { fill: red; scale: 2 } }": "has a style sheet that sets "
    "scale in @media, which is not followed; set it on the elements themselves",
    "@supports (r: 5px) { rect { r: 6px } }": "has a style sheet that sets r in @supports, which "
    "is not followed; set it on the elements themselves",
    "@keyframes a { to { transform: none } }": "has a style sheet that sets transform in "
    "@keyframes, which is not followed; set it on the elements themselves",
    "@layer a { @media all { rect { x: 5px } } }": "has a style sheet that sets x in @layer, which "
    "is not followed; set it on the elements themselves",
    "g { fill: red; & rect { x: 5px } }": "has a style sheet that sets x in a rule within a rule, "
    "which is not followed; set it on the elements themselves",
    "g rect { x: 5px }": "has a style sheet that sets x for 'g rect'; only names, classes and ids "
    "are followed, so set it on the elements themselves",
    "path, rect:first-child { display: none }": "has a style sheet that sets display for "
    "'rect:first-child'; only names, classes and ids are followed, so set it on the elements "
    "themselves",
    "rect[id] { x: 5px }": "has a style sheet that sets x for 'rect[id]'; only names, classes and "
    "ids are followed, so set it on the elements themselves",
    "rect { -webkit-clip-path: none; clip-path: url(#a) }": "has clip-path: url(#a) on <rect> 'a', "
    "which is not followed; apply it first",
}
HARMLESS_SHEETS = (
    "g rect, rect:hover, svg > * { fill: red; stroke: url(#a); opacity: .5 }",
    "@font-face { font-family: x; src: url(x.woff) } @charset 'utf-8'; @page { size: a4 }",
    "@supports (r: 5px) { rect { fill: red } }",
    "@media (prefers-color-scheme: dark) { rect { fill: white } }",
    "rect { x: 5px",
    "circle { x: 5px; d: none; zoom: 3 } .unused { scale: 3 } #other { x: 1px }",
    "rect { clip-path: none; zoom: 1; vector-effect: non-scaling-stroke; mask: inherit }",
    "rect { x 5px; : 5px; ; {} y }",
    "<!-- rect { fill: red } --> /* rect { x: 9px } */",
)


def rect(marks: str = "", before: str = "") -> bytes:
    shape = f'<rect id="a" x="5" y="5" width="9" height="9" {marks}/>'
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="20mm" viewBox="0 0 20 20">'
        f"{before}{shape}</svg>"
    ).encode()


def refusal(data: bytes) -> str:
    with pytest.raises(OutlineError) as caught:
        read_svg(data, 0.01)
    return str(caught.value)


def is_square(data: bytes) -> bool:
    (path,) = read_svg(data, 0.01)
    return tuple(bounds(path)) == pytest.approx((5, 6, 14, 15))


def test_every_refused_row_has_a_value_that_is_refused() -> None:
    assert {name for name, row in PROPERTIES.items() if row.verdict == "refused"} == set(
        REFUSED_VALUES
    )
    assert {name for name, row in ATTRIBUTES.items() if row.verdict == "refused"} == set(
        REFUSED_ATTRIBUTES
    )


@pytest.mark.parametrize("name", REFUSED_VALUES)
def test_a_refused_property_is_named_wherever_it_is_set(name: str) -> None:
    value = REFUSED_VALUES[name]
    for data in (
        rect(f"style='fill: red; {name.upper()} : {value} !important'"),
        rect(before=f"<style>rect {{ fill: red; {name}: {value} }}</style>"),
    ):
        told = refusal(data)
        assert told.startswith(f"has {name}: {value} on <rect> 'a', which is not followed; ")
        assert re.fullmatch(r".*; [a-z ]+", told)
    as_attribute = rect(f"{name}='{value}'")
    if PROPERTIES[name].is_attribute:
        assert refusal(as_attribute).startswith(f"has {name}='{value}' on <rect> 'a',")
    else:
        assert is_square(as_attribute)


@pytest.mark.parametrize("name", REFUSED_VALUES)
def test_a_refused_property_may_say_nothing(name: str) -> None:
    row = PROPERTIES[name]
    for value in row.harmless:
        assert is_square(rect(f'style="{name}: {value}"'))
        assert is_square(rect(before=f"<style>#a {{ {name}: {value.upper()} }}</style>"))


@pytest.mark.parametrize("name", REFUSED_ATTRIBUTES)
def test_a_refused_attribute_is_named(name: str) -> None:
    value = REFUSED_ATTRIBUTES[name]
    told = refusal(rect(f'{name}="{value}"'))
    assert told.startswith(f"has {name}='{value}' on <rect> 'a', which is not followed; ")


@pytest.mark.parametrize("marks", IN_WORDS)
def test_refusals_in_words(marks: str) -> None:
    assert refusal(rect(marks)) == IN_WORDS[marks]


@pytest.mark.parametrize("sheet", SHEETS)
def test_what_is_not_followed_in_a_sheet_is_named(sheet: str) -> None:
    assert refusal(rect(before=f"<style><![CDATA[{sheet}]]></style>")) == SHEETS[sheet]


@pytest.mark.parametrize("sheet", HARMLESS_SHEETS)
def test_the_rest_of_a_sheet_is_left_out(sheet: str) -> None:
    assert is_square(rect(before=f"<style><![CDATA[{sheet}]]></style>"))


@pytest.mark.parametrize("prefix", ["-webkit-", "-moz-", "-ms-", "-o-"])
def test_prefixed_names_of_rows_are_refused(prefix: str) -> None:
    for name, row in PROPERTIES.items():
        found = row_of(prefix + name)
        assert (found is None) == (row.verdict == "no effect")
        assert found is None or (found.verdict, found.remedy) == ("refused", f"use {name}")
    assert row_of(f"{prefix}font-smoothing") is None


@pytest.mark.parametrize("key", ["media", "title"])
def test_a_sheet_for_some_screens_is_refused_where_it_matters(key: str) -> None:
    sheet = f'<style {key}="print">rect {{ %s }}</style>'
    assert is_square(rect(before=sheet % "fill: red"))
    assert refusal(rect(before=sheet % "x: 5px")) == (
        f"has a style sheet with {key}='print' that sets x, which is not followed; set it on the "
        "elements themselves"
    )
    assert is_square(rect(before='<style media="all">rect { x: 5px }</style>'))


def test_viewports_are_sized_by_attributes() -> None:
    """Browsers differ in what a style does there."""
    inner = '<svg id="v" {}><rect width="9" height="9"/></svg>'
    for key in ("x", "y", "width", "height"):
        told = refusal(rect(before=inner.format(f'style="{key}: 9px"')))
        assert told == f"has {key}: 9px on <svg> 'v', which is not followed; write it as an " + (
            "attribute"
        )
    symbol = '<symbol id="v" {}><rect width="9" height="9"/></symbol><use href="#v" {}/>'
    assert refusal(rect(before=symbol.format('x="3"', ""))) == (
        "has x='3' on <symbol> 'v', which is not followed; set it on the <use>"
    )
    assert refusal(rect(before=symbol.format('transform="scale(2)"', ""))) == (
        "has a transform on <symbol> 'v', which is not followed; move it to the <use>"
    )
    told = refusal(rect(before=symbol.format("", 'style="width: 9px"')))
    assert told == "has width: 9px on <use>, which is not followed; write it as an attribute"


def test_the_box_of_a_group_is_not_guessed() -> None:
    group = '<g style="rotate: 9deg; transform-box: fill-box"><circle r="3"/></g>'
    assert refusal(rect(before=group)) == (
        "has transform-box: fill-box on <g>, which is followed on shapes alone; give its "
        "transform-origin in px"
    )


def test_hidden_elements_are_not_looked_at() -> None:
    hidden = '<g style="display: none; zoom: 3"><text/><rect clip-path="url(#a)"/></g>'
    assert is_square(rect(before=hidden))


def test_a_hidden_page_holds_nothing() -> None:
    data = rect().replace(b"<svg", b'<svg style="visibility: hidden"', 1)
    assert read_svg(data, 0.01) == []
    assert read_svg(data.replace(b"visibility: hidden", b"display: none"), 0.01) == []


def test_many_rules_and_long_styles_are_refused() -> None:
    rules = "".join(f".a{{x:{i}px}}" for i in range(3000))
    shapes = '<rect class="a" width="9" height="9"/>' * 3000
    told = refusal(rect(before=f"<style>{rules}</style>{shapes}"))
    assert told == "has too many style rules for its elements; simplify them"
    styles = "".join(f'<g style="{i}{"x" * 1000}"/>' for i in range(1100))
    assert refusal(rect(before=styles)) == "has more than 1 MB of styles; simplify them"
    assert is_square(rect(before=f'<g style="{"x" * 900}"/>' * 2000))


@pytest.mark.parametrize("bracket", ["(", "[", "{", "calc("])
def test_deep_brackets_are_read_or_refused(bracket: str) -> None:
    deep = bracket * 5000
    for data in (
        rect(f'style="transform: {deep}"'),
        rect(before=f"<style>rect {{ transform: {deep} }}</style>"),
        rect(before=f"<style>@media {deep} x: 5px</style>"),
        rect(before=f"<style>{deep} rect {{ x: 5px }}</style>"),
    ):
        try:
            read_svg(data, 0.01)
        except OutlineError as error:
            assert len(str(error)) < 200


def test_numbers_of_many_digits_are_refused() -> None:
    """Python reads no whole number of more than 4300 digits."""
    digits = "9" * 5000
    for marks, before in (
        (f'style="x: {digits}px"', ""),
        ("", f"<style>rect {{ fill: {digits} }}</style>"),
        (f'style="scale: {digits}"', ""),
    ):
        assert refusal(rect(marks, before)) == "has a style with a number of too many digits"


def test_a_sentence_is_printable() -> None:
    told = refusal(rect("style='x: &#x202e;5&#x85;px'"))
    assert told == "has x: 5 px on <rect> 'a'; a number or a length in mm is needed"
