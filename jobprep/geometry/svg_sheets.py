"""Style sheets in a drawing, as rules of one selector each.

A rule that sets what somebody asks for is kept where its selector is a name, classes and an id
(``path``, ``.cut``, ``path.cut#a``, ``*``), and refused otherwise: what stands above an element
differs between the element and a ``use`` of it. Any other rule is left out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any, NamedTuple
from xml.etree import ElementTree

from jobprep.geometry.join_paths import OutlineError
from jobprep.geometry.svg_properties import ALWAYS_REFUSED_RULES, AT_RULES

INSTEAD = "set it on the elements themselves"

Matters = Callable[[str], bool]
"""Whether somebody asks for a property, by its name in lower case."""


class Declared(NamedTuple):
    """The value of a property as it is written; in CSS a length needs a unit."""

    text: str
    in_css: bool

    @property
    def word(self) -> str:
        """The value as a keyword."""
        return self.text.strip().lower()


class Declaration(NamedTuple):
    """One property that is set."""

    name: str
    value: Declared
    is_important: bool


class Selector(NamedTuple):
    """What an element must be: of a name, with an id, in classes; all that it says, it must be.

    ``specificity`` counts ids, classes and names, twice what is written twice (Selectors 4, 17).
    """

    name: str | None
    ids: frozenset[str]
    classes: frozenset[str]
    specificity: tuple[int, int, int]


class Rule(NamedTuple):
    """A selector with what it sets."""

    selector: Selector
    declarations: tuple[Declaration, ...]


def declarations_of(text: str, matters: Matters) -> tuple[Declaration, ...]:
    """Return what a style attribute sets."""
    from tinycss2 import parse_blocks_contents

    return _last_of_each(
        _declaration(node)
        for node in parsed(parse_blocks_contents, text)
        if node.type == "declaration" and matters(node.lower_name)
    )


def _last_of_each(declarations: Iterable[Declaration]) -> tuple[Declaration, ...]:
    """Return the declarations that win among those that stand together."""
    return tuple({(each.name, each.is_important): each for each in declarations}.values())


def parsed(parse: Callable[[str], list[Any]], text: str) -> list[Any]:
    """Return what a parser makes of a text; raises ``OutlineError`` where it stops."""
    try:
        return parse(text)
    except ValueError:  # Python reads no whole number of more than 4300 digits
        raise OutlineError("has a style with a number of too many digits") from None


def rules_of(sheet: ElementTree.Element, text: str, matters: Matters) -> Iterator[Rule]:
    """Yield the rules of a ``style`` element in their order.

    Raises ``OutlineError`` for one that matters and is not followed.
    """
    from tinycss2 import parse_stylesheet

    for node in parsed(parse_stylesheet, text):
        if node.type == "at-rule":
            _refuse_at_rule(node, matters)
        elif node.type == "qualified-rule":
            for rule in _rules(node, matters):
                _refuse_choice(sheet, rule)
                yield rule


def _refuse_choice(sheet: ElementTree.Element, rule: Rule) -> None:
    """Raise for a sheet that holds only on some screens or where somebody picks it."""
    for key in ("media", "title"):
        if sheet.get(key, "").strip().lower() not in ("", "all"):
            raise OutlineError(
                f"has a style sheet with {key}={sheet.get(key)!r} that sets"
                f" {rule.declarations[0].name}, which is not followed; {INSTEAD}"
            )


def _rules(node: Any, matters: Matters) -> Iterator[Rule]:
    from tinycss2 import parse_blocks_contents

    declarations = []
    for inner in parse_blocks_contents(node.content):
        if inner.type == "declaration" and matters(inner.lower_name):
            declarations.append(_declaration(inner))
        elif inner.type == "qualified-rule":
            _refuse_if_it_sets(inner, "a rule within a rule", matters)
        elif inner.type == "at-rule":
            _refuse_at_rule(inner, matters)
    for tokens in _parts(node.prelude) if declarations else ():
        selector = _selector(tokens)
        if selector is None:
            raise OutlineError(
                f"has a style sheet that sets {declarations[0].name} for"
                f" {_text(tokens)[:40]!r}; only names, classes and ids are followed, so {INSTEAD}"
            )
        yield Rule(selector, _last_of_each(declarations))


def _refuse_at_rule(node: Any, matters: Matters) -> None:
    keyword = node.lower_at_keyword
    if keyword in ALWAYS_REFUSED_RULES:
        raise OutlineError(
            f"has a style sheet with @{keyword}, which is not followed; write what it brings in on"
            " the elements themselves"
        )
    if keyword not in AT_RULES:
        _refuse_if_it_sets(node, f"@{keyword}", matters)


def _refuse_if_it_sets(node: Any, what: str, matters: Matters) -> None:
    found = next(filter(matters, _names_within(node.content or ())), None)
    if found:
        raise OutlineError(
            f"has a style sheet that sets {found} in {what}, which is not followed; {INSTEAD}"
        )


def _names_within(tokens: Iterable[Any]) -> Iterator[str]:
    """Yield every name before a colon, however deep in brackets."""
    waiting = [tokens]
    while waiting:
        before = ""
        for token in waiting.pop():
            if token.type == "ident":
                before = token.lower_value
                continue
            if token.type == "literal" and token.value == ":" and before:
                yield before
            if token.type not in ("whitespace", "comment"):
                before = ""
            inner = getattr(token, "content", getattr(token, "arguments", None))
            if inner:
                waiting.append(inner)


def _declaration(node: Any) -> Declaration:
    text = _text([token for token in node.value if token.type != "comment"])
    return Declaration(node.lower_name, Declared(text, in_css=True), node.important)


def _text(tokens: Iterable[Any]) -> str:
    from tinycss2 import serialize

    try:
        return str(serialize(tokens)).strip()
    except RecursionError:
        raise OutlineError("has a style with too many brackets in each other") from None


def _parts(tokens: Iterable[Any]) -> list[list[Any]]:
    """Split at commas, without comments and the space around each part."""
    parts: list[list[Any]] = [[]]
    for token in tokens:
        if token.type == "literal" and token.value == ",":
            parts.append([])
        elif token.type != "comment" and (parts[-1] or token.type != "whitespace"):
            parts[-1].append(token)
    for part in parts:
        while part and part[-1].type == "whitespace":
            part.pop()
    return parts


def _selector(tokens: list[Any]) -> Selector | None:
    """Return the selector of one element; None for any other."""
    if not tokens:
        return None
    name = tokens[0].value if tokens[0].type == "ident" else None
    is_named = name is not None or (tokens[0].type == "literal" and tokens[0].value == "*")
    ids: list[str] = []
    classes: list[str] = []
    rest = iter(tokens[1:] if is_named else tokens)
    for token in rest:
        if token.type == "hash" and token.is_identifier:
            ids.append(token.value)
            continue
        after = next(rest, None) if token.type == "literal" and token.value == "." else None
        if after is None or after.type != "ident":
            return None
        classes.append(after.value)
    specificity = (len(ids), len(classes), int(name is not None))
    return Selector(name, frozenset(ids), frozenset(classes), specificity)
