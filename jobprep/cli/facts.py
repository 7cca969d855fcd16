"""The facts of one disc for the terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from jobprep.cli.tables import console
from jobprep.disc.correction import SMALL, Correction
from jobprep.disc.facts import BalanceFacts, DiscFacts
from jobprep.disc.hub import PrintedHub
from jobprep.disc.machine_checks import UNITS
from jobprep.disc.thickness import LocalThickness, Spread
from jobprep.disc.timing import FilmShare, IndexTime, Timing
from jobprep.disc.zones import SAME_ANGLE
from jobprep.model import NO_FILM, Design, Film
from jobprep.model.design import NO_GLUE
from jobprep.units import TURN, number, significant, to_cm2, to_degrees, to_dial, to_ms, to_us

LABEL = 11
"""Width of the words before the lines."""
MOST_STACKS = 12
"""With more different stacks they are told together."""


def print_facts(facts: DiscFacts, design: Design, cautions: Sequence[str]) -> None:
    """Print everything known about one disc, a block per subject, what to beware of last."""
    out = console()
    out.print(Text(facts.name, style="bold"))
    out.print(_layers_table(facts))
    _print_mass(out, facts)
    _print_thickness(out, facts, design)
    if facts.balance is not None:
        _print_balance(out, facts.balance)
    if facts.timing is not None:
        _print_timing(out, facts, facts.timing)
    _print_strobe(out, facts)
    if cautions:
        out.print()
    for caution in cautions:
        _line(out, "Caution", caution[:1].upper() + caution[1:], style="bold yellow")


def print_corrections(proposals: Sequence[Correction], design: Design, film: Film) -> None:
    """Print what would balance the disc."""
    out = console()
    out.print()
    out.print(Text("What would balance it", style="bold"))
    if proposals and all(each.is_enough and not each.action for each in proposals):
        _line(out, "", proposals[0].message[:1].upper() + proposals[0].message[1:])
        return
    for each in proposals:
        text = each.message[:1].upper() + each.message[1:]
        if each.action:
            text = f"{'Enough' if each.is_enough else 'Not enough'}: {each.message}"
        _line(out, each.kind.capitalize(), text)
    if not any(each.action for each in proposals):
        return
    if any(each.kind == "sector" and each.action for each in proposals):
        _line(out, "", f"The light of a filled sector then goes through {film.name}.")
    if design.beam is None and any(each.kind != "sector" and each.action for each in proposals):
        _line(
            out,
            "",
            "The design does not say where its light passes, so dots and holes may lie in it; give"
            " beam = { width = .., radius = .. } to keep them out.",
        )
    _line(out, "", "Computed for the films as drawn: glue and centring come on top.")


def _line(out: Console, label: str, text: str, style: str = "") -> None:
    """Print a text wrapped between words and indented behind its label."""
    for index, part in enumerate(textwrap.wrap(text, out.width - LABEL)):
        shown = label if index == 0 else ""
        out.print(Text(f"{shown:<{LABEL}}", style=style).append(part, style="default"))


def _table(*columns: str) -> Table:
    """Return a table whose columns after the first hold numbers."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    for index, column in enumerate(columns):
        table.add_column(column, justify="right" if index else "left", overflow="fold")
    return table


def _layers_table(facts: DiscFacts) -> Table:
    table = _table("Layer, film", "Pieces", "Area cm²", "Mass g")
    table.show_footer = True
    for layer in facts.layers:
        for amount in layer.films:
            table.add_row(
                f"{layer.layer or ''} {layer.name}, {amount.film}".strip(),
                str(amount.pieces),
                f"{to_cm2(amount.area):.2f}",
                f"{amount.mass:.3f}",
            )
    parts = () if facts.hub is None else facts.hub.parts
    for part in parts:
        table.add_row(f"hub, {part.name}", "1", "", f"{part.body.mass:.3f}")
    amounts = [amount for layer in facts.layers for amount in layer.films]
    totals = (
        "Whole disc",
        str(sum(amount.pieces for amount in amounts) + len(parts)),
        f"{to_cm2(sum(amount.area for amount in amounts)):.2f}",
        f"{facts.mass.mass:.3f}",
    )
    for column, total in zip(table.columns, totals, strict=True):
        column.footer = total
    return table


def _print_mass(out: Console, facts: DiscFacts) -> None:
    mass = facts.mass
    _line(
        out,
        "Mass",
        f"{mass.mass:.3f} g without glue, polar moment of inertia {mass.inertia:.0f} g·mm²",
    )
    if mass.heavy_direction is None or mass.unbalance < SMALL:
        _line(out, "Unbalance", f"less than {SMALL:g} g·mm as drawn")
    else:
        _line(
            out,
            "Unbalance",
            f"{significant(mass.unbalance)} g·mm, heavy side at {_dial(mass.heavy_direction)}; "
            f"centre of mass {significant(mass.eccentricity)} mm off the axis",
        )
    for each in facts.comparison:
        unit = UNITS[each.what]
        digits = 0 if each.what == "inertia" else 3
        _line(
            out,
            "Original",
            f"{each.what} {each.original:g} {unit}, this copy {each.copy:.{digits}f} {unit}: "
            f"{each.difference:+.{digits}f} {unit} ({each.share:+.1%})",
        )


def _print_thickness(out: Console, facts: DiscFacts, design: Design) -> None:
    thick = facts.thickness
    _line(
        out,
        "Thickness",
        f"{thick.nominal:.3f} mm where it is thickest, ±{thick.worst:.3f} worst case, "
        f"±{thick.likely:.3f} root sum square",
    )
    if len(design.layers) > 1 and design.glue_line == NO_GLUE:
        _line(out, "", "Glue is not counted: the design gives no glue_line.")
    if facts.hub is not None:
        _print_clamped(out, facts.hub)
    stacks = len({each.films for each in facts.local_thickness})
    if stacks > 1 or facts.dot_thickness:
        out.print(_stacks_table(facts))


def _print_clamped(out: Console, hub: PrintedHub) -> None:
    spacer = f", spacer {hub.spacer:.3f} mm" if hub.spacer else ""
    film = f"film {hub.film.nominal:.3f} mm{spacer}"
    _line(out, "Clamped", f"{hub.clamped:.3f} mm between the hub's flanges: {film}")


def _stacks_table(facts: DiscFacts) -> Table:
    """Return where the disc is how thick; many stacks of one thickness in a ring are one row."""
    table = _table("Radius mm", "Films, front to back", "Where", "Thick mm", "Worst", "RSS")
    table.columns[1].justify = "left"
    is_long = len(facts.local_thickness) > MOST_STACKS
    rows: dict[tuple[str, Spread, str], list[LocalThickness]] = {}
    for each in facts.local_thickness:
        radii = _radii(each.inner_radius, each.outer_radius)
        films = "" if is_long else " + ".join(each.films)
        rows.setdefault((radii, each.thickness, films), []).append(each)
    for (radii, thickness, _), stacks in rows.items():
        films = " + ".join(stacks[0].films)
        if len(stacks) > 1:
            films = f"{len(stacks)} stacks of {len(stacks[0].films)}"
        spans = [span for each in stacks for span in each.spans]
        table.add_row(radii, films, _where(spans), *_spread(thickness))
    for dot in facts.dot_thickness:
        table.add_row(f"at {dot.dot}", " + ".join(dot.films), "", *_spread(dot.thickness))
    return table


def _where(spans: Sequence[tuple[float, float]]) -> str:
    """Say at which clockwise angles something lies; of many places, over how much of the turn."""
    total = sum(angle for _, angle in spans)
    if total > TURN - SAME_ANGLE:
        return "all round"
    if len(spans) == 1:
        start, end = spans[0][0], spans[0][0] + total
        end -= TURN if end > TURN + SAME_ANGLE else 0.0
        return f"{number(to_degrees(start), 1)}–{number(to_degrees(end), 1)}°"
    return f"{total / TURN:.0%} of turn"


def _spread(spread: Spread) -> tuple[str, str, str]:
    return f"{spread.nominal:.3f}", f"±{spread.worst:.3f}", f"±{spread.likely:.3f}"


def _print_balance(out: Console, balance: BalanceFacts) -> None:
    out.print()
    out.print(Text(f"At {balance.speed:g} r/min", style="bold"))
    grade = (
        "beyond the last standard grade"
        if balance.reached_grade is None
        else f"within standard grade G {balance.reached_grade:g}"
    )
    _line(
        out,
        "Balance",
        f"eccentricity × angular speed {_at_least(balance.reached, 'mm/s')}, {grade}"
        " (ISO 21940-11)",
    )
    if balance.grade is None:
        _line(out, "", "The design asks for no balance_grade; which one is right is your choice.")
    elif balance.permissible is not None and balance.centring_error is not None:
        verdict = "met by the films as drawn" if balance.is_within else "not met"
        _line(
            out,
            "",
            f"G {balance.grade:g} permits {significant(balance.permissible)} g·mm: {verdict}. A"
            f" bore {significant(balance.centring_error)} mm off centre alone would use that up.",
        )
    _line(out, "Force", f"{_at_least(balance.force, 'N')} turns with the unbalance")
    if balance.heaviest is not None:
        piece = balance.heaviest
        _line(
            out,
            "Pull",
            f"{_at_least(piece.force, 'N')} on the glue of sector {piece.layer}.{piece.sector} "
            f"({piece.film}), the heaviest",
        )


def _print_timing(out: Console, facts: DiscFacts, timing: Timing) -> None:
    out.print()
    if timing.sectors:
        out.print(_sectors_table(timing))
        if any(each.end > timing.turn * (1.0 + 1e-9) for each in timing.sectors):
            _line(out, "", "An end after one turn lies in the next.")
    _line(out, "One turn", f"{to_ms(timing.turn):.3f} ms")
    if timing.index is not None:
        for text in _index_lines(timing.index):
            _line(out, text[0], text[1])
    elif timing.sectors:
        _line(out, "Index", "no index hole: times count from the design's zero, 12 o'clock")
    for duty in facts.duty:
        radii = _radii(duty.inner_radius, duty.outer_radius)
        _line(out, "Duty", f"{radii} mm: light passes for {duty.share:.1%} of the turn")
    for track in timing.tracks:
        if len(track.shares) > 1:
            radii = _radii(track.inner_radius, track.outer_radius)
            _line(out, "Colours", f"{radii} mm: {_colour_ratio(track.shares)}")
    for joint in timing.joints:
        _line(
            out,
            "Joint",
            f"layer {joint.layer}: {to_us(joint.duration):.1f} µs at a radius of"
            f" {joint.radius:g} mm",
        )
    if timing.edge is not None:
        edge = timing.edge
        _line(
            out,
            "Edges",
            f"cross the beam, {edge.width:g} mm wide at a radius of {edge.radius:g} mm, in "
            f"{to_ms(edge.crossing):.3f} ms ({to_degrees(edge.angle):.2f}°); 10 to 90 % of a"
            f" Gaussian beam in {to_ms(edge.gaussian_rise):.3f} ms",
        )


def _sectors_table(timing: Timing) -> Table:
    table = _table("Sector, film", "Degrees", "Start ms", "End ms", "Shows ms", "Turn")
    for each in timing.sectors:
        film = "open" if each.film == NO_FILM else each.film
        name = f" ({each.name})" if each.name else ""
        end = f"{to_ms(each.end):.3f}"
        table.add_row(
            f"{each.layer}.{each.sector} {film}{name}",
            f"{to_degrees(each.share * TURN):.2f}",
            f"{to_ms(each.start):.3f}",
            end,
            f"{to_ms(each.duration):.3f}",
            f"{each.share:.1%}",
        )
    return table


def _index_lines(index: IndexTime) -> Iterator[tuple[str, str]]:
    soft = ""
    if index.softness:
        soft = f", its edge crosses the sensor in {to_us(index.softness):.1f} µs"
    yield (
        "Index",
        f'times count from the {index.edge} edge of the hole "{index.hole}", at '
        f"{_dial(index.direction, 2)}; the hole passes in {to_ms(index.open):.3f} ms{soft}",
    )
    yield (
        "",
        f"0.1° is {to_us(index.per_angle):.1f} µs; 0.1 mm at its radius, {index.radius:g} mm, is "
        f"{to_degrees(index.length_as_angle):.3f}° or {to_us(index.per_length):.1f} µs",
    )


def _colour_ratio(shares: Sequence[FilmShare]) -> str:
    """Return the share of each stack, named by the films that not all of them have.

    A stack of nothing else is named by these: an opening over a tint is no hole.
    """
    same = set.intersection(*(set(each.films) for each in shares))
    words = []
    for each in shares:
        own = [film for film in each.films if film not in same]
        films = " + ".join(own or dict.fromkeys(each.films))
        words.append(f"{films or 'open'} {each.share:.1%}")
    return ", ".join(words)


def _print_strobe(out: Console, facts: DiscFacts) -> None:
    for flicker in facts.flicker:
        times = "flash" if flicker.flashes == 1 else "flashes"
        radii = _radii(flicker.inner_radius, flicker.outer_radius)
        text = f"{radii} mm: {flicker.flashes} {times} a turn, {flicker.rate:.4g} Hz"
        if flicker.red_flashes:
            text += f"; {flicker.red_flashes} of saturated red, {flicker.red_rate:.4g} Hz"
        _line(out, "Flashing", text)
    if facts.strobe and facts.balance is not None:
        table = _table("Lamp flashes", "Bars that stand", f"At {facts.balance.speed:g} r/min")
        for count in facts.strobe:
            exact = abs(count.exact - count.bars) < 1e-9 * count.exact
            table.add_row(
                f"{count.flash_rate:g} Hz",
                str(count.bars),
                "exactly" if exact else f"at {count.true_speed:.3f} r/min",
            )
        out.print()
        out.print(table)
        _line(
            out,
            "",
            "Bars that seem to stand under a mains lamp, which flashes once or twice a period, or"
            " not at all if it is a modern one.",
        )
    if facts.standing:
        rates = [rate for rate, _ in facts.standing[0].speeds]
        table = _table("Radius mm", "Repeats", *(f"{rate:g} Hz" for rate in rates))
        for ring in facts.standing:
            table.add_row(
                _radii(ring.inner_radius, ring.outer_radius),
                str(ring.bars),
                *(f"{speed:.2f}" for _, speed in ring.speeds),
            )
        out.print()
        out.print(table)
        _line(out, "", "Speeds in r/min at which a ring seems to stand under a flashing lamp.")


def _at_least(value: float, unit: str) -> str:
    return f"less than {SMALL:g} {unit}" if value < SMALL else f"{significant(value)} {unit}"


def _dial(direction: float, decimals: int = 1) -> str:
    rounded = round(to_dial(direction), decimals) % 360.0
    return f"{rounded:.{decimals}f}°"


def _radii(inner: float, outer: float) -> str:
    return f"{inner:.4g}–{outer:.4g}"
