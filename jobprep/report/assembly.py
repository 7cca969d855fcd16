"""How the pieces of one disc go together, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from jobprep.disc.facts import DiscFacts
from jobprep.disc.part import Part
from jobprep.model import Design, Film, Layer
from jobprep.model.design import NO_FILM
from jobprep.units import number, to_degrees, to_dial


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing to do; ``layer`` is the one it lays, counted from 1 at the front, else 0.

    ``items`` are the pieces in the order in which they are laid.
    """

    sentence: str
    items: tuple[str, ...] = ()
    layer: int = 0


def assembly_steps(
    design: Design, films: Mapping[str, Film], parts: Sequence[Part], facts: DiscFacts
) -> tuple[Step, ...]:
    """Return the steps for one disc, from the back layer to the front.

    ``parts`` are those of this disc, ``films`` every film it names.
    """
    return (
        *_sorting(design, parts),
        *_laying(design, films, parts),
        *_counterweights(design, films, parts),
        *_finishing(design, facts),
    )


def _sorting(design: Design, parts: Sequence[Part]) -> Iterator[Step]:
    pieces = sum(part.per_disc for part in parts)
    yield Step(
        sentence=f"Take the {_count(pieces, 'piece')} of one disc and wipe off dust and fume. "
        "All angles below are read like a dial, clockwise from 12 o'clock, seen from the front."
    )
    marked = [part for part in parts if part.marks]
    if marked and design.marks.number and design.marks.tick:
        yield Step(
            sentence="Turn every sector so that its engraved number reads the right way round: "
            "then its front is up. The small tick runs along its leading side, the one at the "
            "smaller angle."
        )


def _laying(design: Design, films: Mapping[str, Film], parts: Sequence[Part]) -> Iterator[Step]:
    nominal, either_way = design.glue_line
    glue = f", glue line {number(nominal)} ± {number(either_way)} mm" if nominal else ""
    for layer_number in range(len(design.layers), 0, -1):
        layer = design.layers[layer_number - 1]
        own = [part for part in parts if part.layer == layer_number]
        is_first = layer_number == len(design.layers)
        where = "Lay down the back layer" if is_first else f"Glue on the next layer{glue}"
        if not layer.sectors:
            pieces = " and ".join(_piece(part, films, part.per_disc) for part in own)
            yield Step(sentence=f"{where}, {layer.name}: {pieces}.", layer=layer_number)
        else:
            yield Step(
                sentence=f"{where}, {layer.name}, clockwise.{_joint(layer)}",
                items=tuple(_sectors(layer, films, own)),
                layer=layer_number,
            )
    if len(design.layers) > 1:
        yield Step(sentence=_register(design))


def _sectors(layer: Layer, films: Mapping[str, Film], parts: Sequence[Part]) -> Iterator[str]:
    start = to_dial(layer.start)
    for index, sector in enumerate(layer.sectors, start=1):
        end = start + to_degrees(sector.angle)
        span = f"{_degrees(start)} to {_degrees(end)}"
        if sector.film == NO_FILM:
            yield f"{span}: left open"
        else:
            counts = [(part, part.sectors.count(index)) for part in parts]
            pieces = [_piece(part, films, count) for part, count in counts if count]
            name = f"{sector.name}, " if sector.name else ""
            yield f"{span}: {name}{' and '.join(pieces) or 'nothing'}"
        start = end


def _joint(layer: Layer) -> str:
    if layer.joint_gap > 0.0 and len(layer.sectors) > 1:
        return f" Leave {number(layer.joint_gap)} mm between neighbours."
    if layer.joint_gap < 0.0 and len(layer.sectors) > 1:
        return f" Neighbours overlap by {number(-layer.joint_gap)} mm."
    return ""


def _register(design: Design) -> str:
    pins = ["the bore"] if design.bore else []
    pins += [
        f"the {hole.name} hole (⌀ {number(hole.diameter)} mm, {number(hole.radius)} mm from the "
        f"centre at {_degrees(to_dial(hole.direction))})"
        for hole in design.holes
        if hole.layers is None or len(hole.layers) > 1
    ]
    if not pins:
        return "Keep the layers concentric while the glue sets."
    return f"Keep the layers in register while the glue sets: {' and '.join(pins)} must be clear."


def _counterweights(
    design: Design, films: Mapping[str, Film], parts: Sequence[Part]
) -> Iterator[Step]:
    dots = [part for part in parts if part.layer == 0]
    for dot, part in zip(design.dots, dots, strict=True):
        place = f"in the layer {dot.layer}" if dot.layer else "on the back of the disc"
        yield Step(
            sentence=f"Stick {_count(dot.count, 'patch', 'patches')} {place} as a counterweight, "
            f"{number(dot.radius)} mm from the centre at {_degrees(to_dial(dot.direction))}: "
            f"{_piece(part, films, dot.count)}."
        )


def _finishing(design: Design, facts: DiscFacts) -> Iterator[Step]:
    if design.hub_diameter:
        yield Step(
            sentence="Glue on the hub, which covers the middle "
            f"{number(design.hub_diameter)} mm, and let everything set."
        )
    yield Step(
        sentence=f"Weigh and measure the disc: {facts.mass.mass:.2f} g and "
        f"{facts.thickness.nominal:.3f} ± {facts.thickness.worst:.3f} mm at the thickest are "
        "expected. A wide difference means another film, a missing piece or too much glue."
    )
    if design.speed is not None:
        yield Step(
            sentence=f"Before its first turn at {number(design.speed)} r/min, put a guard around "
            "it and protect your eyes; start slowly. Follow the machine's manual and your local "
            "rules. Under flickering light a turning disc can seem to stand still."
        )


def _piece(part: Part, films: Mapping[str, Film], count: int) -> str:
    times = f"{count} × " if count > 1 else ""
    return f"{times}part {part.number} ({films[part.film].title})"


def _count(count: int, one: str, many: str = "") -> str:
    return f"{count} {one if count == 1 else many or one + 's'}"


def _degrees(degrees: float) -> str:
    return f"{number(degrees, 2)}°"
