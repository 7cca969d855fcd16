"""How the pieces of one disc go together, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from jobprep.disc.facts import DiscFacts
from jobprep.disc.hold import Hold
from jobprep.disc.hub import PART_FILES, PART_NAMES, PrintedHub
from jobprep.disc.part import Part
from jobprep.disc.pieces import goes_through, inner_radius
from jobprep.model import Design, Film, Layer
from jobprep.model.design import NO_FILM, Hole, RoundBore
from jobprep.units import in_rpm, number, to_degrees, to_dial

DIAL_DECIMALS = 2
TURN_DEGREES = 360.0


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
        *_sorting(design, parts, facts.hub),
        *_glue_habit(design),
        *_laying(design, films, parts, facts.hold),
        *_counterweights(design, films, parts),
        *_finishing(design, facts),
    )


def _sorting(design: Design, parts: Sequence[Part], hub: PrintedHub | None) -> Iterator[Step]:
    pieces = sum(part.per_disc for part in parts)
    printed = "" if hub is None else f" Its hub has {len(hub.parts)} printed parts."
    taken = "piece" if pieces == 1 else f"{pieces} pieces"
    yield Step(
        sentence=f"Take the {taken} of one disc and wipe off dust and fume."
        f"{printed} Lay everything with its front up, as the pictures show it. All angles below "
        "are read like a dial, clockwise from 12 o'clock, seen from the front."
    )
    marked = [part for part in parts if part.marks]
    if marked and design.marks.number and design.marks.tick:
        yield Step(
            sentence="Turn every sector so that its engraved number reads the right way round: "
            "then its front is up. The small tick runs along its leading side, the one at the "
            "smaller angle."
        )


def _glue_habit(design: Design) -> Iterator[Step]:
    if len(design.layers) == 1:
        return
    where = (
        f"within the middle {number(design.hub_diameter)} mm, which the hub will cover"
        if design.hub_diameter
        else "where no light passes; the design names no hub that would cover it"
    )
    has_sectors = any(layer.sectors for layer in design.layers)
    warning = " Do not melt edges together: heat warps film." if has_sectors else ""
    yield Step(
        sentence=f"Glue only {where}, and sparingly, so that none creeps into the light.{warning} "
        "(common practice, no source)"
    )


class GluedRing(NamedTuple):
    """Where a layer is glued to a layer ``behind`` it: between two diameters, mm."""

    behind: int
    inner: float
    outer: float


def glued_ring(design: Design, layer_number: int) -> GluedRing | None:
    """Return where a layer is glued to the nearest one behind it that reaches under the hub.

    Layers count from 1 at the front. It is the zone under the hub, as far in as both layers reach;
    None where the layer does not reach under the hub, or none behind it does.
    """
    if not design.hub_diameter:
        return None
    inner = 2.0 * inner_radius(design, design.layers[layer_number - 1])
    for behind in range(layer_number + 1, len(design.layers) + 1):
        reach = max(inner, 2.0 * inner_radius(design, design.layers[behind - 1]))
        if reach < design.hub_diameter:
            return GluedRing(behind, reach, design.hub_diameter)
    return None


def _laying(
    design: Design, films: Mapping[str, Film], parts: Sequence[Part], holds: Sequence[Hold]
) -> Iterator[Step]:
    for layer_number in range(len(design.layers), 0, -1):
        layer = design.layers[layer_number - 1]
        own = [part for part in parts if part.layer == layer_number]
        is_first = layer_number == len(design.layers)
        if len(design.layers) > 1:
            where = "Lay down the back layer" if is_first else "Lay on the next layer"
            name = f"{layer.name} ({layer_number} of {len(design.layers)} from the front)"
        else:
            where, name = "Lay down the only layer", layer.name
        side = _side(design, layer_number, own)
        holding = [hold for hold in holds if hold.piece.layer == layer_number and not hold.dot]
        glue = "" if is_first else _glue(design, layer_number, holding)
        glue += _held(holding)
        if not layer.sectors:
            pieces = " and ".join(_piece(part, films, part.per_disc) for part in own)
            yield Step(sentence=f"{where}, {name}: {pieces}.{side}{glue}", layer=layer_number)
        else:
            yield Step(
                sentence=f"{where}, {name}, clockwise.{side}{_joint(layer)}{glue}",
                items=tuple(_sectors(layer, films, own)),
                layer=layer_number,
            )
    if len(design.layers) > 1:
        yield Step(sentence=_register(design))


def _side(design: Design, layer_number: int, parts: Sequence[Part]) -> str:
    """Say by what one sees that a layer's pieces lie with their front up, and at their angle."""
    layer = design.layers[layer_number - 1]
    if any(part.marks for part in parts) and design.marks.number:
        return " Fronts up: the numbers read the right way round."
    holes = [hole for hole in design.holes if _is_cut(design, layer, hole)]
    if not layer.sectors and holes:
        places = " and ".join(
            f"the {hole.name} hole lies at {_degrees(to_dial(hole.direction))}" for hole in holes
        )
        return f" Front up: {places}."
    slots = any(goes_through(each.layers, layer) for each in design.hub_slots)
    is_plain = not (layer.sectors or layer.openings or slots)
    if is_plain and (design.bore is None or isinstance(design.bore, RoundBore)):
        return " It is round and may lie at any angle; mind the front if its film has one."
    return " Front up, as the picture shows it."


def _is_cut(design: Design, layer: Layer, hole: Hole) -> bool:
    """Whether a hole lies in the ring that a layer takes up."""
    inside, outside = hole.radius - hole.diameter / 2.0, hole.radius + hole.diameter / 2.0
    reaches = inside < layer.outer_diameter / 2.0 and outside > inner_radius(design, layer)
    return reaches and goes_through(hole.layers, layer)


def _sectors(layer: Layer, films: Mapping[str, Film], parts: Sequence[Part]) -> Iterator[str]:
    start = to_dial(layer.start)
    for index, sector in enumerate(layer.sectors, start=1):
        end = start + to_degrees(sector.angle)
        span = f"{_degrees(_on_dial(start))} to {_degrees(_on_dial(end) or TURN_DEGREES)}"
        if sector.film == NO_FILM:
            yield f"{span}: left open"
        else:
            counts = [(part, part.sectors.count(index)) for part in parts]
            pieces = [_piece(part, films, count) for part, count in counts if count]
            name = f"{sector.name}, " if sector.name else ""
            yield f"{span}: {name}{' and '.join(pieces) or 'nothing'}"
        start = end


def _on_dial(degrees: float) -> float:
    """Return an angle as it is read on the dial, 0 <= result < 360."""
    return round(degrees, DIAL_DECIMALS) % TURN_DEGREES


def _glue(design: Design, layer_number: int, holds: Sequence[Hold]) -> str:
    """Say where glue goes between a layer and what lies behind it, and where not."""
    nominal, either_way = design.counted_glue_line
    line = f", glue line {number(nominal)} ± {number(either_way)} mm" if nominal else ""
    if not design.hub_diameter:
        if all(hold.by == "covers" for hold in holds):
            return " No glue here."
        return f" Glue sparingly, out of the light{line}."
    own = glued_ring(design, layer_number)
    if own is None:
        inner = inner_radius(design, design.layers[layer_number - 1])
        if 2.0 * inner < design.hub_diameter:
            return " No glue yet: nothing behind it reaches under the hub."
        return " No glue here: these pieces do not reach under the hub."
    is_next = own.behind == layer_number + 1
    behind = "" if is_next else f" it to {design.layers[own.behind - 1].name},"
    ring = f"between the diameters {number(own.inner)} and {number(own.outer)} mm"
    return f" Glue{behind} {ring}, dotted in the picture{line}; none further out."


def _held(pieces: Sequence[Hold]) -> str:
    """Say of pieces that are not clamped under the hub what holds them."""
    said = ""
    covered = [hold for hold in pieces if hold.by == "covers"]
    loose = [hold for hold in pieces if not hold.is_held]
    if covered:
        who = "these pieces" if len(covered) == len(pieces) else f"{len(covered)} of these pieces"
        said += f" Only the covers in front and behind hold {who}."
    if loose:
        who = "these pieces" if len(loose) == len(pieces) else f"{len(loose)} of these pieces"
        said += f" Nothing in the design holds {who}: correct the design before you build it."
    return said


def _joint(layer: Layer) -> str:
    if layer.joint_gap > 0.0 and len(layer.sectors) > 1:
        return f" Leave {number(layer.joint_gap)} mm between neighbours."
    if layer.joint_gap < 0.0 and len(layer.sectors) > 1:
        return f" Neighbours overlap by {number(-layer.joint_gap)} mm."
    if len(layer.sectors) > 1:
        return " Neighbours butt together, edge to edge."
    return ""


def _register(design: Design) -> str:
    pins = ["the bore"] if design.bore else []
    pins += [
        f"the {hole.name} hole (⌀ {number(hole.diameter)} mm, {number(hole.radius)} mm from the "
        f"centre at {_degrees(to_dial(hole.direction))})"
        for hole in design.holes
        if sum(_is_cut(design, layer, hole) for layer in design.layers) > 1
    ]
    if not pins:
        return "Keep the layers concentric while the glue sets."
    return f"Keep the layers in register while the glue sets: {' and '.join(pins)} must be clear."


def _counterweights(
    design: Design, films: Mapping[str, Film], parts: Sequence[Part]
) -> Iterator[Step]:
    dots = {part.name: part for part in parts if part.layer == 0}
    for dot in design.dots:
        part = dots.get(f"{design.name}, {dot.name}")
        if part is None:  # it is not among the parts that are cut again
            continue
        place = f"in the layer {dot.layer}" if dot.layer else "on the back of the disc"
        yield Step(
            sentence=f"Stick {_count(dot.count, 'patch', 'patches')} {place} as a counterweight, "
            f"{number(dot.radius)} mm from the centre at {_degrees(to_dial(dot.direction))}: "
            f"{_piece(part, films, dot.count)}."
        )


def _finishing(design: Design, facts: DiscFacts) -> Iterator[Step]:
    if facts.hub is not None:
        yield Step(sentence=_hub(facts.hub))
    elif design.hub_diameter:
        middle = f"the hub, which covers the middle {number(design.hub_diameter)} mm"
        together = f"Put on {middle}: it clamps all that lies there. Let the glue set."
        yield Step(sentence=together if len(design.layers) > 1 else f"Clamp the disc in {middle}.")
    glued = len(design.layers) > 1 or facts.hub is not None
    causes = (
        f"another film{', a missing piece or too much glue' if glued else ' or a missing piece'}"
    )
    with_hub = "" if facts.hub is None else " with its hub"
    _, thick = facts.whole
    least, most = (f"{each:.2f}" for each in facts.mass_with_glue)
    weight = least if least == most else f"{least} to {most}"
    yield Step(
        sentence=f"Weigh and measure the disc: {weight} g{with_hub} and "
        f"{thick.nominal:.3f} ± {thick.worst:.3f} mm at the thickest are "
        f"expected. A wide difference means {causes}."
    )
    if design.angular_speed is not None:
        yield Step(
            sentence=f"Before its first turn at {in_rpm(design.angular_speed)}, put a guard around "
            "it and protect your eyes; start slowly. Follow the machine's manual and your local "
            "rules. Under flickering light a turning disc can seem to stand still."
        )


def _hub(hub: PrintedHub) -> str:
    """Say how the printed parts go on, from the back to the front."""
    tabs = len(hub.parts[0].tab_regions())
    through = f", its {_count(tabs, 'tab')} through the slots" if tabs else ""
    axle, ring, clutch = (f"the {name} ({PART_FILES[name]})" for name in PART_NAMES)
    spacer = f" {ring}, {number(hub.spacer, 3)} mm, and" if hub.spacer else ""
    return (
        f"Put on the printed hub, dry at first: {axle} from the back{through}; from the"
        f" front{spacer} {clutch}. If all goes together, glue the faces that lie on the film"
        f"{' and the tabs' if tabs else ''}, sparingly, and hold it until the glue has set:"
        f" {number(hub.clamped, 3)} mm between the flanges. Try on scrap which glue holds both this"
        " plastic and this film. Printed plastic softens near a hot lamp, and a hub that fails"
        " throws its disc."
    )


def _piece(part: Part, films: Mapping[str, Film], count: int) -> str:
    times = f"{count} × " if count > 1 else ""
    return f"{times}part {part.number} ({films[part.film].title})"


def _count(count: int, one: str, many: str = "") -> str:
    return f"{count} {one if count == 1 else many or one + 's'}"


def _degrees(degrees: float) -> str:
    return f"{number(degrees, DIAL_DECIMALS)}°"
