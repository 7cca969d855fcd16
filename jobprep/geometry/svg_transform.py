"""Where an element stands in its parent: ``transform`` and its kin, as attributes and in styles.

The order is that of CSS Transforms 2, section 4: to the origin, ``translate``, ``rotate``,
``scale``, ``transform``, back from the origin.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple
from xml.etree import ElementTree

from jobprep.geometry.affine import IDENTITY, Affine, moving, scaling, shift, slant
from jobprep.geometry.join_paths import OutlineError
from jobprep.geometry.svg_document import label_of
from jobprep.geometry.svg_lengths import COMMA, NUMBER, Lengths, Side
from jobprep.geometry.svg_sheets import Declared, parsed
from jobprep.geometry.svg_style import Style, shown
from jobprep.units import TURN, from_degrees

_NUMBERS = rf"{NUMBER}(?>{COMMA}{NUMBER})*"
_NAMES = "matrix|translate|scale|rotate|skewX|skewY"
_FUNCTION = rf"({_NAMES})\s*+\(\s*+({_NUMBERS})\s*+\)"
_TRANSFORM = re.compile(rf"\s*+(?>{_FUNCTION}{COMMA})*")

_RADIANS = {"deg": from_degrees(1.0), "grad": TURN / 400.0, "rad": 1.0, "turn": TURN}
"""CSS Values and Units 3, section 7.1."""

_SHARES = {"left": 0.0, "top": 0.0, "center": 0.5, "right": 1.0, "bottom": 1.0}
_ACROSS, _DOWN = ("left", "right"), ("top", "bottom")
_FILL_BOXES, _STROKE_BOXES = ("fill-box", "content-box"), ("stroke-box", "border-box")
_NOTHING = ("none", "initial", "unset")
_PLACED_BY = ("translate", "rotate", "scale", "transform")
_REMEDIES = {
    **dict.fromkeys(_PLACED_BY, "; write it as a transform attribute"),
    "transform-origin": "; give it as one or two lengths",
}


class _Function(NamedTuple):
    """A function: how each of its values is read, how many it needs, and what it maps.

    ``n`` is a number, ``s`` a number or percentage, ``a`` an angle, ``x`` and ``y`` lengths.
    """

    kinds: str
    least: int
    build: Callable[..., Affine]


_FUNCTIONS = {
    "matrix": _Function("nnnnnn", 6, Affine),
    "translate": _Function("xy", 1, lambda x, y=0.0: shift(x, y)),
    "translatex": _Function("x", 1, lambda x: shift(x, 0.0)),
    "translatey": _Function("y", 1, lambda y: shift(0.0, y)),
    "scale": _Function("ss", 1, scaling),
    "scalex": _Function("s", 1, lambda x: scaling(x, 1.0)),
    "scaley": _Function("s", 1, lambda y: scaling(1.0, y)),
    "rotate": _Function("a", 1, lambda angle: moving(angle, 0.0, 0.0)),
    "skew": _Function("aa", 1, lambda x, y=0.0: slant(x, y)),
    "skewx": _Function("a", 1, lambda x: slant(x, 0.0)),
    "skewy": _Function("a", 1, lambda y: slant(0.0, y)),
}
"""CSS Transforms 1, section 12; the properties ``translate``, ``rotate`` and ``scale`` alike."""


class Box(NamedTuple):
    """A reference box in user units."""

    x: float
    y: float
    width: float
    height: float


def has_transform(style: Style) -> bool:
    """Return whether an element is placed by more than its parent."""
    return any(name in style and style[name].word not in _NOTHING for name in _PLACED_BY)


def transform_of(
    element: ElementTree.Element, style: Style, lengths: Lengths, fill_box: Callable[[], Box]
) -> Affine:
    """Return the map from an element's user units to those of its parent.

    Lengths are those around the element; ``fill_box`` returns its own bounding box without strokes.

    Raises
    ------
    OutlineError
        If it cannot be read or leaves the plane.
    """
    if not has_transform(style):
        return IDENTITY
    placing = _Placing(element, style, lengths, fill_box)
    try:
        return placing.whole()
    except OutlineError:
        raise
    except (ArithmeticError, ValueError) as error:  # an endless angle
        raise placing.unreadable(next(name for name in _PLACED_BY if name in style)) from error


@dataclass(frozen=True, slots=True)
class _Placing:
    """Reads what places one element."""

    element: ElementTree.Element
    style: Style
    lengths: Lengths
    fill_box: Callable[[], Box]

    def whole(self) -> Affine:
        x, y = self.origin()
        found = shift(x, y)
        for name in _PLACED_BY[:3]:
            value = self.style.get(name)
            if value and value.word not in _NOTHING:
                found = found.after(self.applied(name, name, _words(value.text)))
        value = self.style.get("transform")
        if value and value.word not in _NOTHING:
            found = found.after(self.functions() if value.in_css else self.attribute())
        return found.after(shift(-x, -y))

    def attribute(self) -> Affine:
        """Read the attribute, which knows no units (CSS Transforms 1, section 7)."""
        text = self.style["transform"].text
        if not _TRANSFORM.fullmatch(text):
            raise self.unreadable("transform")
        found = IDENTITY
        for name, written in re.findall(_FUNCTION, text):
            numbers = [float(number) for number in re.findall(NUMBER, written)]
            if name == "rotate" and len(numbers) == 3:
                angle, x, y = numbers
                part = moving(from_degrees(angle), x, y).after(shift(-x, -y))
            else:
                kinds, least, build = _FUNCTIONS[name.lower()]
                if not least <= len(numbers) <= len(kinds):
                    raise self.unreadable("transform")
                part = build(*(from_degrees(n) if "a" in kinds else n for n in numbers))
            if part.e or part.f:
                self.lengths.scale.note_plain(f"a transform on {label_of(self.element)}")
            found = found.after(part)
        return found

    def functions(self) -> Affine:
        """Read the property of a style."""
        found = IDENTITY
        for token in _words(self.style["transform"].text):
            if token.type != "function":
                raise self.unreadable("transform")
            arguments = [each for each in token.arguments if each.type not in _SPACE]
            commas = arguments[1::2]
            if not all(each.type == "literal" and each.value == "," for each in commas):
                raise self.unreadable("transform")
            if len(arguments) % 2 == 0:  # none, or one after the last comma
                raise self.unreadable("transform")
            found = found.after(self.applied("transform", token.lower_name, arguments[::2]))
        return found

    def applied(self, key: str, name: str, values: Sequence[Any]) -> Affine:
        """Read one function, or one property that is like it."""
        function = _FUNCTIONS.get(name)
        if function is None or not function.least <= len(values) <= len(function.kinds):
            raise self.unreadable(key)
        pairs = zip(function.kinds, values, strict=False)
        return function.build(*(self.value(key, kind, token) for kind, token in pairs))

    def value(self, key: str, kind: str, token: Any) -> float:
        """Read one value of a function."""
        if kind in "xy":
            return self.length(key, token, "width" if kind == "x" else "height")
        number = getattr(token, "value", None)
        if token.type == "number" and (kind != "a" or number == 0.0):
            return float(token.value)
        if token.type == "percentage" and kind == "s":
            return float(token.value) / 100.0
        if token.type == "dimension" and kind == "a" and token.lower_unit in _RADIANS:
            return float(token.value) * _RADIANS[token.lower_unit]
        raise self.unreadable(key)

    def length(self, key: str, token: Any, side: Side) -> float:
        """Read a length; percentages are of the reference box."""
        if token.type not in ("number", "dimension", "percentage"):
            raise self.unreadable(key)
        value = Declared(token.serialize(), in_css=self.style[key].in_css)
        what = f"{shown(key, self.style[key])} on {label_of(self.element)}"
        if token.type == "percentage" and self.is_by_fill():
            box = self.fill_box()
            return float(token.value) / 100.0 * (box.width if side == "width" else box.height)
        return self.lengths.read(value, what, side)

    def origin(self) -> tuple[float, float]:
        """Return what is left in its place by all but a translation; (0, 0) of the box at first."""
        x, y = self.fill_box()[:2] if self.is_by_fill() else (0.0, 0.0)
        value = self.style.get("transform-origin")
        if value is None or value.word in _NOTHING[1:]:
            return x, y
        tokens = _words(value.text)
        if len(tokens) == 3 and getattr(tokens.pop(), "value", None) != 0.0:
            raise self.unreadable("transform-origin")
        if len(tokens) not in (1, 2):
            raise self.unreadable("transform-origin")
        across, down = tokens if len(tokens) == 2 else (tokens[0], None)
        if _is_one_of(across, _DOWN) or (down is not None and _is_one_of(down, _ACROSS)):
            across, down = down, across
        return x + self.place(across, "width", _DOWN), y + self.place(down, "height", _ACROSS)

    def place(self, token: Any, side: Side, of_other_side: tuple[str, str]) -> float:
        """Return how far from the box's edge an origin is; its middle where nothing is said."""
        key = "transform-origin"
        if token is not None and token.type != "ident":
            return self.length(key, token, side)
        word = "center" if token is None else token.lower_value
        if word not in _SHARES or word in of_other_side:
            raise self.unreadable(key)
        if not _SHARES[word]:
            return 0.0
        if self.is_by_fill():
            box = self.fill_box()
            return _SHARES[word] * (box.width if side == "width" else box.height)
        what = f"{shown(key, self.style[key])} on {label_of(self.element)}"
        return _SHARES[word] * self.lengths.whole(side, what)

    def is_by_fill(self) -> bool:
        """Return whether the reference box is the element's own and not the viewport."""
        value = self.style.get("transform-box")
        word = value.word if value else "view-box"
        if word in _STROKE_BOXES:
            raise OutlineError(
                f"has transform-box: {word} on {label_of(self.element)}, which is not followed;"
                " set fill-box or view-box"
            )
        if word not in ("view-box", "initial", "unset", *_FILL_BOXES):
            raise self.unreadable("transform-box")
        return word in _FILL_BOXES

    def unreadable(self, key: str) -> OutlineError:
        value = self.style[key]
        remedy = _REMEDIES.get(key, "") if value.in_css else ""
        return OutlineError(
            f"has {shown(key, value)} on {label_of(self.element)}, which cannot be read{remedy}"
        )


_SPACE = ("whitespace", "comment")


def _words(text: str) -> list[Any]:
    """Return the values that stand beside each other in a property."""
    from tinycss2 import parse_component_value_list

    return [each for each in parsed(parse_component_value_list, text) if each.type not in _SPACE]


def _is_one_of(token: Any, words: tuple[str, str]) -> bool:
    return token.type == "ident" and token.lower_value in words
