"""Checks of a disc as a turning part: flicker, balance, and the likeness to its original."""

from __future__ import annotations

from collections.abc import Iterator

from jobprep.disc.balance_facts import BalanceFacts
from jobprep.disc.facts import DiscFacts
from jobprep.disc.flashing import HIGHEST, MOST_FLASHES
from jobprep.disc.flicker import Flicker
from jobprep.disc.original import OriginalComparison
from jobprep.disc.rim import FAST, RESERVE
from jobprep.disc.windows import WindowView
from jobprep.errors import Finding
from jobprep.units import in_rpm, significant, to_m

MOST_RATES = 8
"""More rates than this are given as the lowest and the highest."""
ORIGINAL_FIELDS = {"mass": "mass_g", "thickness": "thickness_mm", "inertia": "inertia_g_mm2"}
UNITS = {"mass": "g", "thickness": "mm", "inertia": "g·mm²"}


def check_machine(facts: DiscFacts) -> Iterator[Finding]:
    """Yield the cautions that follow from what a disc weighs and how fast it turns."""
    for comparison in facts.comparison:
        yield from _likeness(comparison)
    design = facts.design
    if design.beam is not None or (design.machine is not None and design.machine.windows):
        yield Finding.caution(
            "beam" if design.beam is not None else "machine",
            "film near a lamp fades, shrinks and warps: ask its maker's data sheet what heat and"
            " light it bears (common practice, no source)",
        )
    named = [] if design.machine is None else [each.name for each in design.machine.windows]
    for view in facts.windows:
        name = view.window.name
        field = f"machine.window[{named.index(name) + 1}]" if name in named else "beam"
        yield from _window(field, view)
    omega = design.angular_speed
    if omega is None:
        return
    if facts.balance is not None:
        yield from _balance(facts.balance)
    yield from _spin(omega)
    yield from _burst(facts, omega)
    yield from _flicker(facts.flicker)
    if any(each.share is None for each in facts.duty):
        yield Finding.caution(
            "speed_rpm",
            "how the light flashes is not known until all films are chosen, nor whether the"
            " turning disc may look still: take both for possible",
        )
    yield from _standing(facts.standing_rates)


def _window(field: str, view: WindowView) -> Iterator[Finding]:
    """Yield which part of a window no film of the disc can cover."""
    name = f"the window {view.window.name}"
    if view.beyond >= 1.0:
        yield Finding.caution(
            field,
            f"{name} lies wholly past the rim of the disc: it sees bare light all the time, unless"
            " the machine hides that",
        )
    elif view.beyond > 0.0:
        yield Finding.caution(
            field,
            f"{_share(view.beyond)} of {name} lies past the rim of the disc: bare light passes"
            " there all the time, which counts as open, unless the machine hides that",
        )
    if view.under_hub > 0.0:
        yield Finding.caution(
            field,
            f"{_share(view.under_hub)} of {name} lies at the hub: what the hub hides there is not"
            " taken off, so less light passes than is given",
        )


def _share(part: float) -> str:
    return f"{100.0 * part:.1f} %"


def _balance(balance: BalanceFacts) -> Iterator[Finding]:
    if balance.is_within is False and balance.permissible is not None:
        reached = (
            "no standard grade"
            if balance.reached_grade is None
            else f"grade G {balance.reached_grade:g}"
        )
        yield Finding.caution(
            "balance_grade",
            f"the disc is out of balance: {balance.reached:.4g} mm/s at"
            f" {in_rpm(balance.angular_speed)} meets {reached}, not the G {balance.grade:g} asked"
            f" for; at most {significant(balance.permissible)} g·mm is permitted"
            f"{_without_rotor(balance)}",
        )


def _without_rotor(balance: BalanceFacts) -> str:
    if balance.rotor_mass is not None:
        return ""
    return ", by the disc's own mass, since nobody gave the rotor's (rotor_mass_g)"


def _spin(omega: float) -> Iterator[Finding]:
    yield Finding.caution(
        "speed_rpm",
        f"a disc turning at {in_rpm(omega)} can throw loose pieces: the first time, spin it up"
        " slowly behind a guard, eyes protected, and follow the machine's manual",
    )


def _burst(facts: DiscFacts, omega: float) -> Iterator[Finding]:
    """Yield a caution where the film itself may not bear the speed."""
    rim = to_m(omega * facts.design.outer_diameter / 2.0)
    guard = "keep everybody away from its plane, and follow the machine's manual"
    known = [(load, load.strength) for load in facts.rim if load.strength is not None]
    for load, strength in known:
        if load.stress * RESERVE > strength:
            what = "tears" if load.stress >= strength else "has little in reserve"
            yield Finding.caution(
                "speed_rpm",
                f"at {in_rpm(omega)} the film of layer {load.layer} {what}:"
                f" {significant(load.stress)} MPa of its {strength:g} MPa, before openings,"
                f" holes and age; {guard}",
            )
    rings = sum(not layer.sectors for layer in facts.design.layers)
    if rim > FAST and (len(known) < rings or not known):
        yield Finding.caution(
            "speed_rpm",
            f"the rim runs at {significant(rim)} m/s, and nobody gave how strong the film is"
            f" (tensile_strength_mpa of its file); a disc that bursts throws its pieces: {guard}",
        )


def _flicker(flicker: tuple[Flicker, ...]) -> Iterator[Finding]:
    hazardous = [each for each in flicker if each.flashing.is_hazardous]
    if hazardous:
        most = max(each.flashing.most for each in hazardous)
        rates = _rates(rate for each in hazardous for rate in each.flashing.frequencies)
        yield Finding.caution(
            "speed_rpm",
            f"the light flashes up to {most:g} times in one second ({rates} Hz found), judged on"
            f" its luminance relative to its own maximum; more than {MOST_FLASHES} in any one"
            " second can trigger seizures (WCAG 2.2, 2.3.1), and some people react up to"
            f" {HIGHEST:g} Hz: warn viewers, and light no large area",
        )
    red = [each for each in flicker if each.flashing.is_red_hazardous]
    if red:
        most = max(each.flashing.most_red for each in red)
        rates = _rates(rate for each in red for rate in each.flashing.red_frequencies)
        yield Finding.caution(
            "speed_rpm",
            f"saturated red flashes up to {most:g} times in one second ({rates} Hz found); flashing"
            " red is the most likely to trigger seizures (WCAG 2.2, 2.3.1)",
        )


def _rates(rates: Iterator[float]) -> str:
    found = dict.fromkeys(f"{rate:.4g}" for rate in sorted(rates))
    if len(found) <= MOST_RATES:
        return ", ".join(found)
    return f"{len(found)} rates from {next(iter(found))} to {next(reversed(found))}"


def _standing(rates: tuple[float, ...]) -> Iterator[Finding]:
    if rates:
        listed = ", ".join(f"{rate:g}" for rate in rates)
        yield Finding.caution(
            "speed_rpm",
            f"under lamps that flash at {listed} Hz the turning disc may look still: never take a"
            " disc for stopped by its look",
        )


def _likeness(comparison: OriginalComparison) -> Iterator[Finding]:
    if comparison.is_alike:
        return
    unit = UNITS[comparison.what]
    if comparison.is_alike is None:
        least, most = (f"{comparison.copy + each:.4g}" for each in comparison.glue)
        yield Finding.caution(
            f"original.{ORIGINAL_FIELDS[comparison.what]}",
            f"with its glue the copy's {comparison.what} is {least} to {most} {unit}: whether it"
            f" comes near the original's {comparison.original:.4g} {unit} is not known before the"
            " disc is glued and weighed",
        )
        return
    more = "more" if comparison.difference > 0.0 else "less"
    yield Finding.caution(
        f"original.{ORIGINAL_FIELDS[comparison.what]}",
        f"the copy's {comparison.what} is {comparison.copy:.4g} {unit}, the original's"
        f" {comparison.original:.4g} {unit}:"
        f" {significant(abs(comparison.difference))} {unit} {more}",
    )
