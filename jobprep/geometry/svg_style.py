"""The properties of an element: its attributes, the drawing's style sheets, its style attribute.

They win in the order of CSS Cascading 5: a style attribute over a sheet, a sheet over an attribute,
what is ``!important`` over the rest, a selector that says more over one that says less, the later
over the earlier.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from xml.etree import ElementTree

from jobprep.geometry.join_paths import OutlineError
from jobprep.geometry.svg_document import element_name, label_of
from jobprep.geometry.svg_properties import ATTRIBUTES, PROPERTIES, WIDE, row_of
from jobprep.geometry.svg_sheets import Declaration, Declared, Rule, declarations_of, rules_of

MOST_STYLE = 1_000_000
"""Characters of all sheets and different style attributes."""

MOST_TRIES = 1_000_000
"""Selectors that are held against elements."""

LONGEST_VALUE = 40
"""Characters of a value that a sentence repeats."""

_DISPLAYED = (
    *("none", "inline", "block", "inline-block", "flex", "inline-flex", "grid", "inline-grid"),
    *("flow-root", "list-item", "table", "inline-table", "table-cell", "table-row", "run-in"),
)

Style = Mapping[str, Declared]
"""The properties of an element by their names in lower case."""


@dataclass(kw_only=True)
class Styles:
    """What a drawing declares; ``further`` are properties asked for beside those of geometry.

    All further ones may be attributes.
    """

    root: ElementTree.Element
    further: frozenset[str] = frozenset()
    _rules: dict[str, list[tuple[int, Rule]]] = field(default_factory=dict)
    _of_text: dict[str, tuple[Declaration, ...]] = field(default_factory=dict)
    _length: int = 0
    _tries: int = 0

    def __post_init__(self) -> None:
        """Read the style sheets."""
        count = 0
        for sheet in self.root.iter():
            kind = sheet.get("type", "").strip().lower()
            if element_name(sheet) == "style" and kind in ("", "text/css"):
                text = "".join(sheet.itertext())
                self._count(text)
                for rule in rules_of(sheet, text, self._matters):
                    self._rules.setdefault(_place(rule), []).append((count, rule))
                    count += 1

    def of(self, element: ElementTree.Element) -> Style:
        """Return what an element declares.

        Raises ``OutlineError`` if there is more than can be looked through.
        """
        style = {
            name: Declared(value, in_css=False)
            for name, value in element.attrib.items()
            if name in self.further or (name in PROPERTIES and PROPERTIES[name].is_attribute)
        }
        declarations = [each for rule in self._matching(element) for each in rule.declarations]
        declarations += self._own(element.get("style", ""))
        for declaration in sorted(declarations, key=lambda each: each.is_important):
            style[declaration.name] = declaration.value
        return style

    def _matching(self, element: ElementTree.Element) -> list[Rule]:
        """Return the rules for an element, the one that wins last."""
        if not self._rules:
            return []
        name, own_id = element_name(element), element.get("id", "")
        classes = frozenset(element.get("class", "").split())
        found = []
        for place in ("*", name, f"#{own_id}", *(f".{each}" for each in classes)):
            rules = self._rules.get(place, ())
            self._tries += len(rules)
            if self._tries > MOST_TRIES:
                raise OutlineError("has too many style rules for its elements; simplify them")
            for count, rule in rules:
                wanted = rule.selector
                if wanted.name in (None, name) and wanted.ids <= {own_id}:
                    if wanted.classes <= classes:
                        self._tries += len(rule.declarations)
                        found.append((wanted.specificity, count, rule))
        return [rule for _, _, rule in sorted(found, key=lambda each: each[:2])]

    def _own(self, text: str) -> tuple[Declaration, ...]:
        """Return what a style attribute declares."""
        found = self._of_text.get(text)
        if found is None:
            self._count(text)
            found = self._of_text[text] = declarations_of(text, self._matters) if text else ()
        return found

    def _matters(self, name: str) -> bool:
        row = row_of(name)
        return name in self.further or (row is not None and row.verdict != "no effect")

    def _count(self, text: str) -> None:
        self._length += len(text)
        if self._length > MOST_STYLE:
            raise OutlineError("has more than 1 MB of styles; simplify them")


def _place(rule: Rule) -> str:
    """Return under which of an element's marks a rule is looked for."""
    wanted = rule.selector
    if wanted.ids:
        return f"#{min(wanted.ids)}"
    return f".{min(wanted.classes)}" if wanted.classes else wanted.name or "*"


def refuse_unfollowed(element: ElementTree.Element, style: Style) -> None:
    """Raise ``OutlineError`` for what an element sets and no reader follows."""
    for name, value in style.items():
        row = row_of(name)
        if row and row.verdict == "refused" and value.word not in row.harmless:
            raise OutlineError(
                f"has {shown(name, value)} on {label_of(element)}, which is not followed;"
                f" {row.remedy}"
            )
    for name, value_text in element.attrib.items():
        row = ATTRIBUTES.get(name)
        if row and row.verdict == "refused":
            value = Declared(value_text, in_css=False)
            raise OutlineError(
                f"has {shown(name, value)} on {label_of(element)}, which is not followed;"
                f" {row.remedy}"
            )


def shown(name: str, value: Declared) -> str:
    """Return a property and its value as they are written, cut where they are long."""
    text = "".join(each if each.isprintable() else " " for each in value.text)
    text = " ".join(text.split())
    if len(text) > LONGEST_VALUE:
        text = f"{text[:LONGEST_VALUE]}..."
    return f"{name}: {text}" if value.in_css else f"{name}={text!r}"


def is_displayed(element: ElementTree.Element, style: Style) -> bool:
    """Return whether an element is drawn at all (CSS Display 3, section 2)."""
    word = style["display"].word if "display" in style else "inline"
    if word not in (*_DISPLAYED, *WIDE):
        raise _unknown(element, "display", style["display"], "'none' and 'inline' are known")
    return word != "none"


def is_hidden(element: ElementTree.Element, style: Style, *, parent: bool) -> bool:
    """Return whether an element is hidden, where its ``parent`` is or is not (CSS 2.2, 11.2)."""
    word = style["visibility"].word if "visibility" in style else "inherit"
    if word in ("hidden", "collapse", "visible", "initial"):
        return word in ("hidden", "collapse")
    if word not in WIDE:
        raise _unknown(
            element, "visibility", style["visibility"], "'visible' and 'hidden' are known"
        )
    return parent


def _unknown(element: ElementTree.Element, name: str, value: Declared, known: str) -> OutlineError:
    return OutlineError(f"has {shown(name, value)} on {label_of(element)}; {known}")
