"""The facts of one disc for the terminal."""

from __future__ import annotations

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from jobprep.cli.tables import console
from jobprep.disc.facts import BalanceFacts, DiscFacts
from jobprep.disc.timing import Timing
from jobprep.units import to_degrees, to_dial

MS = 1e3
US = 1e6

UNITS = {"mass": "g", "thickness": "mm", "inertia": "g·mm²"}


def print_facts(facts: DiscFacts) -> None:
    """Print everything known about one disc, a block per subject."""
    out = console()
    out.print(Text(facts.name, style="bold"))
    out.print(_layers_table(facts))
    _print_mass(out, facts)
    if facts.balance is not None:
        _print_balance(out, facts.balance)
    if facts.timing is not None:
        _print_timing(out, facts.timing)
    _print_strobe(out, facts)


def _table(*columns: str) -> Table:
    """Return a table whose columns after the first hold numbers."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    for number, column in enumerate(columns):
        table.add_column(column, justify="right" if number else "left", overflow="fold")
    return table


def _layers_table(facts: DiscFacts) -> Table:
    table = _table("Layer, film", "Pieces", "Area cm²", "Mass g")
    for layer in facts.layers:
        for amount in layer.films:
            table.add_row(
                f"{layer.layer} {layer.name}, {amount.film}",
                str(amount.pieces),
                f"{amount.area / 100:.2f}",
                f"{amount.mass:.3f}",
            )
    return table


def _print_mass(out: Console, facts: DiscFacts) -> None:
    mass, thick = facts.mass, facts.thickness
    where = (
        "balanced"
        if mass.heavy_direction is None
        else f"heavy towards {to_dial(mass.heavy_direction):.1f}°"
    )
    out.print(f"Mass       {mass.mass:.3f} g, polar inertia {mass.inertia:.0f} g·mm²")
    out.print(
        f"Thickness  {thick.nominal:.3f} mm at most, ±{thick.worst:.3f} worst case, "
        f"±{thick.likely:.3f} root sum square"
    )
    if len(facts.local_thickness) > 1:
        least = min(zone.thickness.nominal for zone in facts.local_thickness)
        out.print(f"           {least:.3f} mm where the stack is thinnest")
    out.print(
        f"Unbalance  {mass.unbalance:.2f} g·mm, {where}; "
        f"centre of mass {mass.eccentricity:.3f} mm off the axis"
    )
    for each in facts.comparison:
        out.print(
            f"Original   {each.what} {each.original:g} {UNITS[each.what]}: "
            f"this copy {each.copy:.3f}, {each.share:+.1%}"
        )
    out.print()


def _print_balance(out: Console, balance: BalanceFacts) -> None:
    out.print(Text(f"At {balance.speed:g} r/min", style="bold"))
    grade = "" if balance.reached_grade is None else f", within grade G {balance.reached_grade:g}"
    out.print(f"Balance    e·Ω = {balance.reached:.1f} mm/s{grade} (ISO 21940-11)")
    if balance.grade is not None and balance.permissible is not None:
        verdict = "met by the films as drawn" if balance.is_within else "not met"
        allowed = f"{balance.permissible:.2f} g·mm"
        out.print(f"           G {balance.grade:g} allows {allowed}: {verdict}")
        out.print(
            f"           a bore {balance.centring_error:.3f} mm off centre alone uses that up"
        )
    if balance.heaviest is not None:
        piece = balance.heaviest
        out.print(
            f"Pull       {piece.force:.3f} N on the glue of sector {piece.sector} ({piece.film})"
        )
    out.print()


def _print_timing(out: Console, timing: Timing) -> None:
    if timing.sectors:
        table = _table("Sector, film", "Start ms", "End ms", "Shows ms", "Share")
        for each in timing.sectors:
            table.add_row(
                f"{each.layer}.{each.sector} {each.name or each.film}",
                f"{each.start * MS:.3f}",
                f"{each.end * MS:.3f}",
                f"{each.duration * MS:.3f}",
                f"{each.share:.1%}",
            )
        out.print(table)
    out.print(f"One turn   {timing.turn * MS:.3f} ms")
    for joint in timing.joints:
        out.print(
            f"Joint      layer {joint.layer}: {joint.duration * US:.1f} µs at {joint.radius:g} mm"
        )
    if timing.index is not None:
        index = timing.index
        out.print(
            f"Index      the clock starts at the {index.edge} edge of hole {index.hole}; "
            f"it passes in {index.open * MS:.3f} ms"
        )
        out.print(
            f"           0.1° is {index.per_angle * US:.1f} µs; 0.1 mm at {index.radius:g} mm is "
            f"{to_degrees(index.length_as_angle):.3f}° or {index.per_length * US:.1f} µs"
        )
    if timing.edge is not None:
        edge = timing.edge
        out.print(
            f"Edges      a {edge.width:g} mm beam at {edge.radius:g} mm takes "
            f"{edge.crossing * MS:.3f} ms to cross ({to_degrees(edge.angle):.2f}°)"
        )
    out.print()


def _print_strobe(out: Console, facts: DiscFacts) -> None:
    for ring in facts.standing:
        speeds = ", ".join(f"{speed:.2f} r/min at {rate:g} Hz" for rate, speed in ring.speeds)
        zone = f"{ring.inner_radius:g}–{ring.outer_radius:g} mm"
        out.print(
            f"Bars       {zone} repeats {ring.bars} times a turn; "
            f"under a flashing lamp it seems to stand at {speeds}"
        )
    for flicker in facts.flicker:
        out.print(
            f"Light      {flicker.inner_radius:g}–{flicker.outer_radius:g} mm: "
            f"{flicker.flashes} flashes a turn, {flicker.rate:.1f} Hz"
        )
