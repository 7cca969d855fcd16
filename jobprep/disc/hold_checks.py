"""Checks of what holds the pieces of a disc, with the way out in numbers."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from jobprep.disc.features import bore_reach
from jobprep.disc.hold import BY_HAND, SAME, Hold, is_covered, nearest
from jobprep.disc.pieces import inner_radius
from jobprep.errors import Finding
from jobprep.model.design import Design
from jobprep.units import in_rpm, number, significant, spans, to_kpa

LEAST_REACH = 1.0
"""How far a piece should reach under the hub, mm, for glue to have a place (common practice, no
source)."""

TENTHS = 10.0
"""Diameters are proposed in tenths of a millimetre."""


def check_hold(design: Design, holds: Sequence[Hold]) -> Iterator[Finding]:
    """Yield the pieces that nothing holds, or only covers, or a mere edge under the hub.

    At a speed it is an error that nothing holds a piece.
    """
    for number_ in range(1, len(design.layers) + 1):
        own = [hold for hold in holds if hold.piece.layer == number_ and not hold.dot]
        yield from _unheld(design, number_, [each for each in own if not each.is_held], holds)
        yield from _covered(design, number_, [each for each in own if each.by == "covers"])
        yield from _at_the_edge(design, number_, [each for each in own if each.by == "hub"])
    dots = [hold for hold in holds if hold.dot]
    for count, hold in enumerate(dots, start=1):
        if not hold.is_held:
            message = f"nothing holds this patch: no held piece lies under it{_pulls(design, hold)}"
            yield _serious(design, f"dot[{count}]", message)


def _serious(design: Design, path: str, message: str) -> Finding:
    make = Finding.caution if design.angular_speed is None else Finding.error
    return make(path, message)


def _unheld(
    design: Design, layer_number: int, own: Sequence[Hold], holds: Sequence[Hold]
) -> Iterator[Finding]:
    if not own:
        return
    worst = max(own, key=lambda each: each.pull or 0.0)
    ways = " or ".join([*_to_the_hub(design, layer_number), _between(design, own[0], holds)])
    yield _serious(
        design,
        _path(design, layer_number),
        f"nothing holds {_named(design, own)}: {_why(design, layer_number)}"
        f"{_pulls(design, worst)}. Way out: {ways}",
    )


def _covered(design: Design, layer_number: int, own: Sequence[Hold]) -> Iterator[Finding]:
    if not own or design.angular_speed is None:
        return
    ways = _to_the_hub(design, layer_number)
    better = f"; better: {ways[0]}" if ways else ""
    yield Finding.caution(
        _path(design, layer_number),
        f"the covers alone hold {_named(design, own)}: their friction must bear"
        f" {_borne(own)} at {in_rpm(design.angular_speed)},"
        f" and how much it bears is not known: test it behind a guard{better}",
    )


def _borne(own: Sequence[Hold]) -> str:
    """Say what covers must bear, as far as the films of the pieces are chosen."""
    known = [hold for hold in own if hold.pull is not None]
    if not known:
        return "a pull that is not known before their film is chosen,"
    worst = max(known, key=lambda each: each.pressure or 0.0)
    pressure = significant(to_kpa(worst.pressure or 0.0))
    most = (
        f"{significant(worst.pull or 0.0)} N on {number(worst.grip.area, 0)} mm² ({pressure} kPa)"
    )
    return most if len(known) == len(own) else f"{most}, films to be chosen left out,"


def _at_the_edge(design: Design, layer_number: int, own: Sequence[Hold]) -> Iterator[Finding]:
    rim = (design.hub_diameter or 0.0) / 2.0
    short = [each for each in own if rim - nearest(each.piece.region) < LEAST_REACH - SAME]
    ways = _to_the_hub(design, layer_number)
    if short and ways:
        reach = min(rim - nearest(each.piece.region) for each in short)
        yield Finding.caution(
            _path(design, layer_number),
            f"the hub holds {_named(design, short)} by an edge of {number(reach, 2)} mm; better:"
            f" {ways[0]}",
        )


def _path(design: Design, layer_number: int) -> str:
    has_inner = design.layers[layer_number - 1].inner_diameter is not None
    return f"layer[{layer_number}]" + (".inner_diameter" if has_inner else "")


def _named(design: Design, own: Sequence[Hold]) -> str:
    """Name pieces of one layer."""
    layer = design.layers[own[0].piece.layer - 1]
    sectors = sorted({hold.piece.sector for hold in own})
    if not layer.sectors:
        return f"{len(own)} pieces of this layer" if own[0].piece.piece else "this layer"
    word = "sector" if len(sectors) == 1 else "sectors"
    parts = " in part" if any(hold.piece.piece for hold in own) else ""
    return f"{word} {spans(sectors)}{parts}"


def _why(design: Design, layer_number: int) -> str:
    inner = inner_radius(design, design.layers[layer_number - 1])
    if design.hub_diameter is None:
        return (
            "the design names no hub that would clamp it, and an overlap without glue holds nothing"
        )
    rim = design.hub_diameter / 2.0
    if inner >= rim - BY_HAND:
        return (
            f"the layer begins {number(inner, 2)} mm from the centre, the hub reaches"
            f" {number(rim, 2)} mm"
        )
    return "what is cut out of the layer parts it from the hub"


def _pulls(design: Design, hold: Hold) -> str:
    if design.angular_speed is None or not hold.pull:
        return ""
    speed = in_rpm(design.angular_speed)
    return f", and at {speed} {significant(hold.pull)} N would throw it"


def _to_the_hub(design: Design, layer_number: int) -> list[str]:
    """Return what would bring a layer's pieces under the hub, in numbers; nothing if they are."""
    layer = design.layers[layer_number - 1]
    inner = 2.0 * inner_radius(design, layer)
    if design.hub_diameter is None:
        return [_hub_of(inner + 2.0 * LEAST_REACH)]
    most = design.hub_diameter - 2.0 * LEAST_REACH
    bore = 0.0 if design.bore is None else 2.0 * bore_reach(design.bore)
    if inner <= most:
        return ["film left between it and the hub"]
    if most > bore:
        return [f"inner_diameter at most {number(math.floor(most * TENTHS + SAME) / TENTHS)}"]
    return [_hub_of(bore + 4.0 * LEAST_REACH)]


def _hub_of(least: float) -> str:
    return f"hub_diameter at least {number(math.ceil(least * TENTHS - SAME) / TENTHS)}"


def _between(design: Design, hold: Hold, holds: Sequence[Hold]) -> str:
    """Return which covers would hold a piece."""
    front, back = is_covered(hold.piece, holds)
    where = "under the hub" if design.hub_diameter else "round the axle"
    if front and not back:
        return f"a clear cover behind it, held {where}"
    if back and not front:
        return f"a clear cover in front of it, held {where}"
    return f"clear covers on both sides {where}"
