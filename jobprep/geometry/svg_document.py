"""An SVG file as a document, parsed without risk: nothing runs, nothing is fetched."""

from __future__ import annotations

from xml.etree import ElementTree
from xml.parsers import expat

from jobprep.geometry.join_paths import OutlineError
from jobprep.geometry.svg_properties import ACTIVE

SVG_NAMESPACE = "http://www.w3.org/2000/svg"
_HTML = "{http://www.w3.org/1999/xhtml}"
_HTML_THAT_WORKS = ("script", "style", "link", "base")
"""Elements of HTML that do in a drawing what they do in a page (SVG 2, chapters 6 and 15)."""


def parse_svg(data: bytes) -> ElementTree.Element:
    """Parse a drawing that declares no entities, runs no scripts and reaches out for nothing.

    Raises
    ------
    OutlineError
        If it is no such drawing.
    """

    def refuse_entity(*_: object) -> None:
        raise OutlineError("declares XML entities; save the drawing without them")

    def refuse_sheet(target: str, _: str) -> None:
        if target == "xml-stylesheet":
            raise OutlineError(
                "refers to a style sheet outside (<?xml-stylesheet?>), which is not followed; set "
                "its styles on the elements themselves"
            )

    scout = expat.ParserCreate()
    scout.EntityDeclHandler = refuse_entity
    scout.ProcessingInstructionHandler = refuse_sheet
    try:
        scout.Parse(data, True)
        root = ElementTree.fromstring(data)
    except OutlineError:
        raise
    except (expat.ExpatError, ElementTree.ParseError, ValueError, LookupError) as error:
        raise OutlineError(f"cannot be read as SVG ({error})") from error
    if element_name(root) != "svg":
        raise OutlineError("is not an SVG drawing; its root must be <svg>")
    for element in root.iter():
        _refuse_active_content(element)
    return root


def _refuse_active_content(element: ElementTree.Element) -> None:
    name = element_name(element)
    if name in ACTIVE:
        raise OutlineError(f"holds a <{name}>; only drawn outlines are read, remove it")
    if element.tag.removeprefix(_HTML) in _HTML_THAT_WORKS and element.tag.startswith(_HTML):
        html = element.tag.removeprefix(_HTML)
        raise OutlineError(f"holds a <{html}> of HTML; only drawn outlines are read, remove it")
    for key, value in element.attrib.items():
        attribute = key.rpartition("}")[2].lower()
        if attribute.startswith("on") and name:
            raise OutlineError(f"holds a script ({attribute} of <{name}>); remove it")
        if attribute == "href" and name not in ("a", "") and not value.startswith("#"):
            what = "holds an image" if name == "image" else f"refers to another file in <{name}>"
            raise OutlineError(f"{what}; only outlines drawn in the file itself are read")


def element_name(element: ElementTree.Element) -> str:
    """Return the name of an SVG element, nothing for those of other vocabularies."""
    namespace, _, name = element.tag.rpartition("}")
    return name if namespace in ("", "{" + SVG_NAMESPACE) else ""


def label_of(element: ElementTree.Element) -> str:
    """Return how a sentence names an element."""
    own_id = element.get("id", "")
    return f"<{element_name(element)}> {own_id!r}" if own_id else f"<{element_name(element)}>"
