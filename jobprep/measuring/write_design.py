"""A measurement as the text of a design file.

Every value carries its standard uncertainty as a comment. Values are rounded to what their file
needs, and to a step only when asked; what a step changed is returned beside the text.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import NamedTuple

from jobprep.errors import CannotDoError
from jobprep.measuring.colour import COLOUR_CAVEAT, Lab, hex_from_lab
from jobprep.measuring.fit_design import UNMEASURED_HOLE, fitted
from jobprep.measuring.measured import Measured
from jobprep.measuring.measurement import ColourRing, ColourZone, MeasuredHole, Measurement
from jobprep.measuring.propose_covers import COVER_FILM, propose_covers
from jobprep.model import NO_FILM, TO_CHOOSE, Film, Original
from jobprep.toml_text import toml_text
from jobprep.units import number, to_degrees, to_dial

ANGLE_DECIMALS = 3
LENGTH_DECIMALS = 3
LEAST_CHANGE = 0.5 * 10.0**-ANGLE_DECIMALS
"""A smaller change alters no decimal that is written, degrees or mm."""

CLEAR_FILM = "clear"
OPAQUE_FILM = "black"

LAB_DECIMALS = 2

NO_MATCH = 15.0
"""CIEDE2000 difference from which a film is no longer written into the design by itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Snap:
    """Steps to round to: ``degrees`` for directions, ``millimetres`` for diameters and radii."""

    degrees: float | None = None
    millimetres: float | None = None


NO_SNAP = Snap()
UNKNOWN_ORIGINAL = Original()


class SnapChange(NamedTuple):
    """What rounding to a step changed: degrees or mm."""

    field: str
    measured: float
    written: float
    uncertainty: float

    def __str__(self) -> str:
        by = self.written - self.measured
        ratio = abs(by) / self.uncertainty if self.uncertainty > 0.0 else math.inf
        text = (
            f"{self.field}: {number(self.measured, 3)} became {number(self.written, 3)} "
            f"({by:+.3f}, {ratio:.1f} standard uncertainties)"
        )
        return text + ("; the measurement does not support that" if ratio > 3.0 else "")


class DesignText(NamedTuple):
    """A design file's text, what snapping changed in it, how many films are to be chosen in it."""

    text: str
    changes: tuple[SnapChange, ...]
    unchosen: int = 0


class _ZoneFilm(NamedTuple):
    """The film of a zone, what was measured where it is to be chosen, and a comment."""

    film: str
    lab: Lab | None
    remark: str

    @property
    def values(self) -> dict[str, object]:
        """The keys of a layer or sector."""
        if self.lab is None:
            return {"film": self.film}
        return {"film": self.film, "lab": [round(value, LAB_DECIMALS) for value in self.lab]}


@dataclass(slots=True)
class _Writer:
    snap: Snap
    films: Mapping[str, str]
    library: Mapping[str, Film]
    lines: list[str]
    changes: list[SnapChange]

    def length(self, field: str, measured: Measured) -> str:
        return number(self._snapped(field, measured, self.snap.millimetres), LENGTH_DECIMALS)

    def written(self, measured: Measured) -> float:
        """Return the number that a length becomes, whatever field it is for."""
        value = _stepped(measured.value, self.snap.millimetres)
        return round(value, LENGTH_DECIMALS)

    def dial(self, field: str, direction: Measured) -> float:
        """Return a direction in whole thousandths of a degree, snapped if asked."""
        measured = Measured(to_dial(direction.value), to_degrees(direction.uncertainty))
        return round(self._snapped(field, measured, self.snap.degrees), ANGLE_DECIMALS) % 360.0

    def _snapped(self, field: str, measured: Measured, step: float | None) -> float:
        if step is None:
            return measured.value
        if step is self.snap.millimetres:
            written = _stepped(measured.value, step)
        else:
            written = round(measured.value / step) * step
        if abs(written - measured.value) > LEAST_CHANGE:
            self.changes.append(SnapChange(field, measured.value, written, measured.uncertainty))
        return written


def _narrowest(writer: _Writer, measurement: Measurement) -> float:
    """Return the least width, mm, in which every film of the design is cut."""
    films = (_film(writer, zone).film for ring in measurement.rings for zone in ring.zones)
    known = (writer.library[film].least_web for film in films if film in writer.library)
    return max(known, default=1.0)


def _stepped(length: float, step: float | None) -> float:
    """Return a length rounded to a step, but never to nothing."""
    if step is None:
        return length
    return round(length / step) * step or length


def design_text(
    measurement: Measurement,
    *,
    name: str | None = None,
    films: Mapping[str, str] | None = None,
    library: Mapping[str, Film] = MappingProxyType({}),
    original: Original = UNKNOWN_ORIGINAL,
    snap: Snap = NO_SNAP,
) -> DesignText:
    """Return the text of a design file.

    ``films`` gives the film of a zone by the zone's name. Otherwise a zone named like a film of the
    ``library`` takes that, else the nearest proposal; else the film is to be chosen, and the colour
    measured there stands beside it. ``original`` holds what else was measured of the disc. Covers
    are added where its thickness asks for them, or where nothing seen would hold the pieces.

    Raises
    ------
    CannotDoError
        The measurement has no scale, so it has no millimetres.
    """
    if measurement.scale is None:
        raise CannotDoError(
            "the measurement has no scale: give the rim's diameter or a known distance in mm"
        )
    writer = _Writer(snap, films or {}, library, [], [])
    measurement, remarks = fitted(measurement, writer.written, _narrowest(writer, measurement))
    _head(writer, measurement, name or measurement.name, remarks)
    told = (("mass_g", original.mass), ("thickness_mm", original.thickness))
    values = [f"{key} = {number(value)}" for key, value in told if value is not None]
    if values:
        writer.lines.append(f"original = {{ {', '.join(values)} }}")
    for hole in measurement.holes:
        _hole(writer, hole)
    rings = measurement.rings or (
        ColourRing(inner_diameter=None, outer_diameter=None, edges=(), zones=(ColourZone(),)),
    )
    used = [_film(writer, zone).film for ring in rings for zone in ring.zones]
    covers = propose_covers(measurement, used, library, original.thickness)
    writer.lines += ["", *(f"# {remark}" for remark in covers.remarks)] if covers.remarks else []
    if covers.wanted:
        _cover(writer, "front cover")
    for index, ring in enumerate(rings, start=1):
        _layer(writer, ring, "colour" if len(rings) == 1 else f"ring {index}")
    if covers.wanted:
        _cover(writer, "back cover")
    text = "\n".join(writer.lines) + "\n"
    return DesignText(text, tuple(writer.changes), used.count(TO_CHOOSE))


def _head(writer: _Writer, measurement: Measurement, name: str, remarks: tuple[str, ...]) -> None:
    out = writer.lines
    out.append("# Measured; ± is the standard uncertainty, twice it holds about 95 % of truths.")
    out += [f"# {_one_line(said)}" for said in (*measurement.warnings, *remarks)]
    if any(zone.proposals for ring in measurement.rings for zone in ring.zones):
        out.append(f"# {COLOUR_CAVEAT}")
    out.append("format = 1")
    out.append(toml_text({"name": _one_line(name)}).strip())
    outer = measurement.outer_diameter
    out.append(f"outer_diameter = {writer.length('outer_diameter', outer)}{_within(outer, 'mm')}")
    bore = measurement.bore_diameter
    if bore is not None:
        value = writer.length("bore.diameter", bore)
        out.append(f"bore = {{ diameter = {value} }}{_within(bore, 'mm')}")
    off = measurement.concentricity
    if off is not None:
        out.append(
            f"# the bore's centre lies {number(off.offset.value, 3)} mm"
            f" (± {number(off.offset.uncertainty, 3)}) from the rim's, towards"
            f" {number(to_dial(off.direction), 0)}°; the design has both in one place"
        )


def _hole(writer: _Writer, hole: MeasuredHole) -> None:
    out = writer.lines
    out += ["", "[[hole]]"]
    if hole.doubt:
        out.append(f"# doubtful: {_one_line(hole.doubt)}")
    out.append(toml_text({"name": _one_line(hole.name)}).strip())
    field = f"hole {hole.name}"
    if hole.diameter is None:
        across = number(UNMEASURED_HOLE)
        out.append(f"diameter = {across}  # not measured: only the middle of the hole was taken")
    else:
        value = writer.length(f"{field}.diameter", hole.diameter)
        out.append(f"diameter = {value}{_within(hole.diameter, 'mm')}")
    value = writer.length(f"{field}.radius", hole.radius)
    out.append(f"radius = {value}{_within(hole.radius, 'mm')}")
    dial = number(writer.dial(f"{field}.angle", hole.direction), ANGLE_DECIMALS)
    out.append(f"angle = {dial}{_within_degrees(hole.direction)}")


def _cover(writer: _Writer, name: str) -> None:
    writer.lines += ["", "[[layer]]", f'name = "{name}"', f'film = "{COVER_FILM}"']


def _layer(writer: _Writer, ring: ColourRing, name: str) -> None:
    out = writer.lines
    out += ["", "[[layer]]", f'name = "{name}"']
    for key, across in (
        ("outer_diameter", ring.outer_diameter),
        ("inner_diameter", ring.inner_diameter),
    ):
        if across is not None:
            value = writer.length(f"{name}.{key}", across)
            out.append(f"{key} = {value}{_within(across, 'mm')}")
    films = [_film(writer, zone) for zone in ring.zones]
    dials = [writer.dial(f"{name} {edge.name}", edge.direction) for edge in ring.edges]
    widths = [
        round((after - before) % 360.0, ANGLE_DECIMALS)
        for before, after in zip(dials, dials[1:] + dials[:1], strict=True)
    ]
    if len(widths) < 2:
        first_line, *lab = toml_text(films[0].values).strip().splitlines()
        out += [f"{first_line}{films[0].remark}", *lab]
        return
    if not all(widths):
        raise CannotDoError(
            f"snapping to {number(writer.snap.degrees or 0.0, 3)}° lets a sector of {name} vanish;"
            " use a smaller step"
        )
    if all(each.film == NO_FILM for each in films):
        films = [_ZoneFilm(TO_CHOOSE, zone.lab, "  # to be chosen") for zone in ring.zones]
    first = number(dials[0], ANGLE_DECIMALS)
    out.append(f"start_angle = {first}{_within_degrees(ring.edges[0].direction)}")
    out.append("sector = [")
    for index, (edge, zone, width, film) in enumerate(
        zip(ring.edges, ring.zones, widths, films, strict=True)
    ):
        after = ring.edges[(index + 1) % len(ring.edges)]
        u = math.hypot(edge.direction.uncertainty, after.direction.uncertainty)
        values = {**film.values, "name": _one_line(zone.name or edge.name)}
        table = ", ".join(toml_text({key: value}).strip() for key, value in values.items())
        doubt = f"; doubtful: {_one_line(edge.doubt)}" if edge.doubt else ""
        out.append(
            f"  {{ {table}, degrees = {number(width, ANGLE_DECIMALS)} }},"
            f"  # from {number(dials[index], ANGLE_DECIMALS)}, ± {number(to_degrees(u), 3)}"
            f"{doubt}{film.remark.replace('  # ', '; ')}"
        )
    out.append("]")


def _film(writer: _Writer, zone: ColourZone) -> _ZoneFilm:
    """Return a zone's film and a comment on where it comes from."""
    seen = "" if zone.lab is None else f", seen as {hex_from_lab(zone.lab)} ± ΔE {zone.lab_off:.1f}"
    if zone.name in writer.films:
        return _ZoneFilm(writer.films[zone.name], None, "")
    if zone.name in writer.library:
        return _ZoneFilm(zone.name, None, "")
    near = [each for each in zone.proposals if each.difference < NO_MATCH and len(each.films) == 1]
    if zone.kind == "clear":
        # The colour is that of the ground, which says nothing of a film before it.
        is_clear = any(each.films == (CLEAR_FILM,) for each in near)
        remark = f"  # clear film or no film (none){seen}"
        return _ZoneFilm(CLEAR_FILM if is_clear else TO_CHOOSE, None, remark)
    if zone.kind == "opaque":
        return _ZoneFilm(OPAQUE_FILM, None, f"  # opaque{seen}")
    said = "; ".join(
        f"{' + '.join(match.films)} differs by {match.difference:.1f}" for match in zone.proposals
    )
    if near:
        return _ZoneFilm(near[0].films[0], None, f"  # {said}{seen}")
    none_near = "; none near: " if said else ""
    return _ZoneFilm(TO_CHOOSE, zone.lab, f"  # to be chosen{none_near}{said}{seen}")


def _within(measured: Measured, unit: str) -> str:
    if measured.uncertainty == 0.0:
        return "  # as given"
    if not math.isfinite(measured.uncertainty):
        return "  # uncertainty unknown"
    return f"  # ± {number(measured.uncertainty, 3)} {unit}"


def _within_degrees(direction: Measured) -> str:
    return _within(direction.times(to_degrees(1.0)), "°")


def _one_line(text: str) -> str:
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())
