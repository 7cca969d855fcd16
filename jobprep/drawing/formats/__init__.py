"""The formats of cut drawings: each is a file here with a function ``write``, and a line below."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from importlib.util import find_spec
from typing import TYPE_CHECKING, NamedTuple, Protocol, cast

from jobprep.errors import extra

if TYPE_CHECKING:
    from jobprep.drawing.drawing import Drawing

FORMATS = (
    "svg",
    "dxf",
    "gcode",
    "pdf",
)
"""Names of the formats, which end the names of their files; ``svg`` is always written."""


NEEDS = {"dxf": "ezdxf", "pdf": "reportlab"}
"""The package that a format needs; the extra that brings it has the name of the format."""


class Setting(NamedTuple):
    """How a layer is run: mm/s, the power in the controller's own unit, how often.

    ``pierce_time`` is how long the beam is to stand where a stroke begins, s.
    """

    speed: float
    power: float = 0.0
    passes: int = 1
    pierce_time: float = 0.0


class Control(NamedTuple):
    """What a format may need of the cutter: its name, and how each layer is run.

    ``origin`` is the corner it counts from; a knife must be steered round corners. ``dwell`` is the
    word that makes the controller wait, before its number, and the unit of that: s or ms.
    """

    name: str
    settings: Mapping[str, Setting]
    origin: str = "lower-left"
    is_knife: bool = False
    dwell: tuple[str, str] | None = None


class Writer(Protocol):
    """Writes a drawing in a format, the same bytes for the same drawing."""

    def __call__(self, drawing: Drawing, control: Control, /) -> str | bytes:
        """Return text, or bytes where the format is none.

        Raises ``CannotDoError`` when the format cannot drive the cutter.
        """


def missing(name: str) -> str:
    """Return what to install before a format can be written, nothing where all is there."""
    package = NEEDS.get(name)
    if package is None or find_spec(package) is not None:
        return ""
    return f"{name} needs one more package: {extra(name)}"


def writer(name: str) -> Writer:
    """Return what writes a format; it is loaded when it is first asked for."""
    return cast(Writer, import_module(f"{__name__}.{name}").write)
