"""When each sector of a turning disc passes, and what small errors mean in time."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from jobprep.disc.facts import DiscFacts
from jobprep.disc.timing import IndexTime, SectorTime, Timing
from jobprep.disc.turning import turning_of
from jobprep.facts.told import FactLine, Grid, Told, dial, numbers_at, share
from jobprep.model.design import film_word
from jobprep.units import TURN, to_degrees, to_dial, to_ms, to_us

COLUMNS = ("Part, film", "Degrees", "Start ms", "End ms", "Shows ms", "Turn")


def told(disc: DiscFacts) -> Told:
    """Return the times of one turn; nothing for a disc that stands."""
    timing = disc.timing
    if timing is None:
        return Told(data={"timing": None})
    grid = None
    if timing.sectors:
        late = any(each.end > timing.turn * (1.0 + 1e-9) for each in timing.sectors)
        note = f"{_start(timing)} {_rotation(disc)}"
        if late:
            note += " An end after one turn lies in the next."
        grid = Grid(COLUMNS, tuple(_row(disc, each) for each in timing.sectors), note=note)
    return Told(lines=tuple(_lines(timing)), grid=grid, data={"timing": _data(disc, timing)})


def _start(timing: Timing) -> str:
    """Say where the times begin."""
    if timing.index is None:
        return "No index hole: times count from the design's zero, 12 o'clock."
    return f'Times count from the {timing.index.edge} edge of the hole "{timing.index.hole}".'


def _rotation(disc: DiscFacts) -> str:
    """Say which way the disc turns."""
    turning = turning_of(disc.design)
    assumed = "" if turning.is_given else "; no machine says so, it is assumed"
    return f"The disc turns {turning.rotation}, seen from its front{assumed}."


def _row(disc: DiscFacts, each: SectorTime) -> tuple[str, ...]:
    film = film_word(each.film)
    name = f" ({each.name})" if each.name else ""
    return (
        f"{numbers_at(disc.numbers, each.layer, each.sector)} {film}{name}".strip(),
        f"{to_degrees(each.share * TURN):.2f}",
        f"{to_ms(each.start):.3f}",
        f"{to_ms(each.end):.3f}",
        f"{to_ms(each.duration):.3f}",
        share(each.share),
    )


def _lines(timing: Timing) -> Iterator[FactLine]:
    yield FactLine("One turn", f"{to_ms(timing.turn):.3f}", "ms")
    if timing.index is not None:
        yield from _index(timing.index)
    for joint in timing.joints:
        note = f"layer {joint.layer}, at a radius of {joint.radius:g} mm"
        yield FactLine("Joint passes in", f"{to_us(joint.duration):.1f}", "µs", note)
    edge = timing.edge
    if edge is not None:
        yield FactLine(
            "Edge crosses beam in",
            f"{to_ms(edge.crossing):.3f}",
            "ms",
            f"{to_degrees(edge.angle):.2f}°, {edge.width:g} mm wide at a radius of"
            f" {edge.radius:g} mm; 10 to 90 % of a Gaussian beam in"
            f" {to_ms(edge.gaussian_rise):.3f} ms",
        )


def _index(index: IndexTime) -> Iterator[FactLine]:
    soft = ""
    if index.softness:
        soft = f"; its edge crosses the sensor in {to_us(index.softness):.1f} µs"
    place = f"its {index.edge} edge at {dial(index.direction, 2)}{soft}"
    yield FactLine("Index hole passes in", f"{to_ms(index.open):.3f}", "ms", place)
    yield FactLine("0.1° is", f"{to_us(index.per_angle):.1f}", "µs")
    yield FactLine(
        "0.1 mm is",
        f"{to_us(index.per_length):.1f}",
        "µs",
        f"{to_degrees(index.length_as_angle):.3f}° at the hole's radius, {index.radius:g} mm",
    )


def _data(disc: DiscFacts, timing: Timing) -> dict[str, Any]:
    edge = timing.edge
    return {
        "turn_s": timing.turn,
        "rotation": turning_of(disc.design).rotation,
        "sectors": [
            {
                "layer": sector.layer,
                "sector": sector.sector,
                "name": sector.name,
                "film": sector.film,
                "start_s": sector.start,
                "end_s": sector.end,
                "duration_s": sector.duration,
                "share_of_turn": sector.share,
                "degrees": to_degrees(sector.share * TURN),
            }
            for sector in timing.sectors
        ],
        "tracks": [
            {
                "window": track.window,
                "inner_radius_mm": track.inner_radius,
                "outer_radius_mm": track.outer_radius,
                "films": [
                    {"films": list(each.films), "share_of_turn": each.share}
                    for each in track.shares
                ],
            }
            for track in disc.tracks
        ],
        "joints": [
            {"layer": joint.layer, "radius_mm": joint.radius, "duration_s": joint.duration}
            for joint in timing.joints
        ],
        "index": None if timing.index is None else _index_data(timing.index),
        "edge": None
        if edge is None
        else {
            "beam_width_mm": edge.width,
            "radius_mm": edge.radius,
            "crossing_s": edge.crossing,
            "crossing_deg": to_degrees(edge.angle),
            "gaussian_10_90_s": edge.gaussian_rise,
        },
    }


def _index_data(index: IndexTime) -> dict[str, Any]:
    return {
        "hole": index.hole,
        "edge": index.edge,
        "radius_mm": index.radius,
        "edge_angle_deg": to_dial(index.direction),
        "open_s": index.open,
        "edge_across_sensor_s": index.softness,
        "per_0.1_degree_s": index.per_angle,
        "per_0.1_mm_s": index.per_length,
        "0.1_mm_as_degrees": to_degrees(index.length_as_angle),
    }
