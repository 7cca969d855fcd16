"""Drawings by chance: groups in groups, placed in every way that is read, shapes of every kind.

A page is 100 000 by 50 000 user units, as ``svg_browser.PAGE`` has it.
"""

from __future__ import annotations

import random
from collections.abc import Callable

CLASSES = tuple(f"c{i}" for i in range(8))


def random_drawing(seed: int, count: int) -> str:
    """Return the elements of a drawing: style sheets, then ``count`` groups or shapes."""
    return _Draughtsman(random.Random(seed)).drawing(count)


class _Draughtsman:
    def __init__(self, chance: random.Random) -> None:
        self.chance = chance
        self.ids: list[str] = []

    def drawing(self, count: int) -> str:
        rules = [f".{name} {{ {self.declarations()} }}" for name in CLASSES]
        rules += [f"{name} {{ {self.declarations()} }}" for name in ("rect", "g", "path")]
        rules += [f"rect.c1 {{ rx: {self.css_length(3000, 0)} }}", "/* none */ * { fill: none }"]
        rules += [f"#e{self.chance.randrange(9)} {{ {self.declarations()} }}"]
        self.chance.shuffle(rules)
        body = [self.target(number) for number in range(4)]
        body += [self.element(0) for _ in range(count)]
        return "\n".join(["<style><![CDATA[", *rules, "]]></style>", *body])

    def often(self, share: float) -> bool:
        return self.chance.random() < share

    def number(self, size: float, least: float | None = None) -> str:
        value = self.chance.uniform(-size if least is None else least, size)
        return f"{value:.{self.chance.choice((0, 1, 3))}f}"

    def css_length(self, size: float, least: float | None = None) -> str:
        """Return a length of some unit that is about as long as ``size`` user units."""
        units = (("px", 1.0), ("mm", 96 / 25.4), ("in", 96.0), ("pt", 96 / 72), ("pc", 16.0))
        if self.often(0.2):
            return f"{self.number(size / 1000, least)}%"
        unit, factor = self.chance.choice(units)
        return f"{self.number(size / factor, least)}{unit}"

    def length(self, size: float, least: float | None = None) -> str:
        return self.number(size, least) if self.often(0.7) else self.css_length(size, least)

    def angle(self) -> str:
        value, unit = self.chance.choice(((180, "deg"), (200, "grad"), (3, "rad"), (0.5, "turn")))
        return f"{self.chance.uniform(-value, value):.3f}{unit}"

    def factor(self) -> str:
        return f"{self.chance.choice((-1, 1)) * self.chance.uniform(0.4, 1.6):.3f}"

    def functions(self) -> str:
        """Return a transform as styles write it."""
        ways: tuple[Callable[[], str], ...] = (
            lambda: f"translate({self.css_length(5000)}, {self.css_length(5000)})",
            lambda: f"translateX({self.css_length(5000)})",
            lambda: f"translateY( {self.css_length(5000)} )",
            lambda: f"scale({self.factor()})",
            lambda: f"scale({self.factor()} , 75%)",
            lambda: f"scaleY({self.factor()})",
            lambda: f"ROTATE({self.angle()})",
            lambda: f"skewX({self.number(35)}deg)",
            lambda: f"skew({self.number(20)}deg, {self.number(20)}deg)",
            lambda: f"matrix({self.factor()}, 0.2, -0.1, {self.factor()}, {self.number(900)}, 5)",
        )
        return " ".join(self.chance.choice(ways)() for _ in range(self.chance.randint(1, 3)))

    def attribute(self) -> str:
        """Return a transform as an attribute writes it."""
        ways: tuple[Callable[[], str], ...] = (
            lambda: f"translate({self.number(5000)})",
            lambda: f"translate({self.number(5000)},{self.number(5000)})",
            lambda: f"scale({self.factor()} {self.factor()})",
            lambda: f"rotate({self.number(180)})",
            lambda: f"rotate({self.number(180)} {self.number(5000)}, {self.number(5000)})",
            lambda: f"skewY({self.number(35)})",
            lambda: f"matrix({self.factor()} .2-.1 {self.factor()},{self.number(900)} 5)",
        )
        return " ".join(self.chance.choice(ways)() for _ in range(self.chance.randint(1, 3)))

    def origin(self) -> str:
        across = self.chance.choice(("left", "center", "right", self.css_length(9000)))
        down = self.chance.choice(("top", "center", "bottom", self.css_length(9000)))
        words = [across, down]
        if {across, down} <= {"left", "center", "right", "top", "bottom"}:
            self.chance.shuffle(words)
        return " ".join(words[: self.chance.choice((1, 2, 2))])

    def declarations(self) -> str:
        ways: tuple[Callable[[], str], ...] = (
            lambda: f"transform: {self.functions()}",
            lambda: f"transform-origin: {self.origin()}",
            lambda: "transform-box: view-box",
            lambda: f"translate: {self.css_length(4000)} {self.css_length(4000)}",
            lambda: f"Rotate: {self.angle()}",
            lambda: f"scale: {self.factor()}",
            lambda: f"visibility: {self.chance.choice(('hidden', 'visible', 'inherit'))}",
            lambda: "display: inline",
            lambda: f"cx: {self.css_length(9000)}",
            lambda: f"stroke-width: {self.css_length(90, 1)}",
        )
        chosen = [self.chance.choice(ways)() for _ in range(self.chance.randint(0, 2))]
        return "; ".join(each + " !important" * self.often(0.1) for each in chosen)

    def marks(self, style: str = "") -> str:
        """Return the attributes that any element may have; ``style`` is declared in any case."""
        found = [f'id="e{self.chance.randrange(9)}"'] if self.often(0.1) else []
        if self.often(0.3):
            found.append(f'transform="{self.attribute()}"')
        if style or self.often(0.25):
            found.append(f'style="{style}; {self.declarations()}"')
        if self.often(0.3):
            classes = self.chance.sample(CLASSES, self.chance.randint(1, 2))
            found.append(f'class="{" ".join(classes)}"')
        if self.often(0.1):
            found.append(f'transform-origin="{self.number(9000)} {self.number(9000)}"')
        if self.often(0.05):
            found.append(self.chance.choice(('visibility="hidden"', 'display="none"')))
        return " ".join(found)

    def element(self, depth: int) -> str:
        kind = self.chance.random()
        if depth < 4 and kind < 0.35:
            inner = "\n".join(self.element(depth + 1) for _ in range(self.chance.randint(1, 3)))
            name = "g" if depth % 2 else self.chance.choice(("g", "a"))  # no <a> in an <a>
            return f"<{name} {self.marks()}>\n{inner}\n</{name}>"
        if depth < 3 and kind < 0.42:
            return self.viewport(depth)
        if self.ids and kind < 0.5:
            place = f'x="{self.length(9000)}" y="{self.length(9000)}"' * self.often(0.7)
            return f'<use href="#{self.chance.choice(self.ids)}" {place} {self.marks()}/>'
        return self.shape()

    def viewport(self, depth: int) -> str:
        aspect = self.chance.choice(("none", "xMidYMid", "xMinYMax meet", "xMaxYMid"))
        view = f'viewBox="{self.number(900)} {self.number(900)} 9000 {self.number(9000, 4000)}"'
        inner = "\n".join(self.element(depth + 1) for _ in range(self.chance.randint(1, 2)))
        return (
            f'<svg x="{self.length(9000)}" y="{self.length(9000)}" width="{self.length(9e4, 9e3)}"'
            f' height="{self.number(40000, 9000)}" {view} preserveAspectRatio="{aspect}"'
            f' overflow="visible" {self.marks()}>\n{inner}\n</svg>'
        )

    def shape(self) -> str:
        """Return a shape, marked as any element may be."""
        ways = (self.rect, self.circle, self.ellipse, self.line, self.corners, self.path)
        return self.chance.choice(ways)()

    def target(self, number: int) -> str:
        """Return a shape to be used; it looks the same everywhere, but for its place."""
        self.ids.append(f"t{number}")
        turned = f'transform="{self.attribute()}"' * self.often(0.5)
        return f'<polygon id="t{number}" points="{self.points()}" {turned}/>'

    def rect(self) -> str:
        sides = f'width="{self.length(9000, 500)}" height="{self.length(9000, 500)}"'
        style = f"y: {self.css_length(5000)}; ry: {self.css_length(2000, 100)}"
        corner = self.chance.choice(("", f'rx="{self.length(2000, 1)}"'))
        marks = self.marks(f"transform-box: {self.box()}; {style * self.often(0.3)}")
        return f'<rect x="{self.length(9000)}" {sides} {corner} {marks}/>'

    def circle(self) -> str:
        return f'<circle cy="{self.length(9000)}" r="{self.length(6000, 500)}" {self.marks()}/>'

    def ellipse(self) -> str:
        place = f"transform-box: {self.box()}; cx: {self.css_length(9000)}"
        rest = f'cy="{self.length(5000)}" ry="{self.length(5000, 500)}"'
        return f"<ellipse {rest} {self.marks(f'{place}; rx: {self.css_length(5000, 500)}')}/>"

    def line(self) -> str:
        ends = " ".join(f'{key}="{self.length(9000)}"' for key in ("x1", "y1", "x2", "y2"))
        return f"<line {ends} {self.marks()}/>"

    def corners(self) -> str:
        name = self.chance.choice(("polyline", "polygon"))
        return f'<{name} points="{self.points()}" {self.marks()}/>'

    def points(self) -> str:
        corners = (f"{self.number(9000)},{self.number(9000)}" for _ in range(5))
        return self.chance.choice((" ", ", ", "\n")).join(corners)

    def path(self) -> str:
        def pair(size: float = 9000) -> str:
            return f"{self.number(size)} {self.number(size)}"

        def arc() -> str:
            radii = f"{self.number(6000, 900)} {self.number(6000, 900)}"
            flags = f"{self.chance.choice('01')} {self.chance.choice('01')}"
            return f"{radii} {self.number(90)} {flags} {pair()}"

        ways: tuple[Callable[[], str], ...] = (
            lambda: f"L{pair()}",
            lambda: f"l{pair()} {pair()}",
            lambda: f"H{self.number(9000)}v{self.number(9000)}",
            lambda: f"C{pair()} {pair()} {pair()}",
            lambda: f"s{pair(4000)} {pair(4000)}",
            lambda: f"q{pair(4000)} {pair(4000)}t{pair(4000)}",
            lambda: f"A{arc()}",
            lambda: f"a{arc()}",
            lambda: f"Z m{pair(900)} h{self.number(5000)}",
        )
        data = "".join(self.chance.choice(ways)() for _ in range(4))
        return f'<path d="M{pair()} {data}" {self.marks(f"transform-box: {self.box()}")}/>'

    def box(self) -> str:
        return self.chance.choice(("fill-box", "view-box", "content-box"))
