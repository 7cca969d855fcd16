"""How thick a disc is, where, and what a printed hub clamps."""

from __future__ import annotations

from collections.abc import Iterator

from jobprep.disc.facts import DiscFacts
from jobprep.disc.hub import PrintedHub
from jobprep.disc.thickness import DotThickness, JointThickness, LocalThickness, Place, Spread
from jobprep.disc.zones import SAME_ANGLE
from jobprep.facts.told import NOT_TOLD, FactLine, Grid, Told, from_to, radii, where

MOST_STACKS = 12
"""More different stacks than this are shown together."""
COLUMNS = ("Radius", "Films, front to back", "Where", "Thick mm", "Worst", "RSS")


def told(disc: DiscFacts) -> Told:
    """Return the thickest place, and every stack where there are several."""
    stacks = len({each.films for each in disc.local_thickness})
    grid = None
    if stacks > 1 or disc.joint_thickness or disc.dot_thickness:
        grid = Grid(COLUMNS, tuple(_stacks(disc)), words=(0, 1))
    zones = [
        {
            "inner_radius_mm": zone.inner_radius,
            "outer_radius_mm": zone.outer_radius,
            "films": list(zone.films),
            "share_of_turn": zone.share,
            "from_to_deg": [list(from_to(*span, SAME_ANGLE)) for span in zone.spans],
            **_spread_data(zone.thickness if zone.is_chosen else None),
        }
        for zone in disc.local_thickness
    ]
    dots = [
        {
            "dot": dot.dot,
            "films": list(dot.films),
            **_spread_data(dot.thickness if dot.is_chosen else None),
        }
        for dot in disc.dot_thickness
    ]
    joints = [
        {
            "inner_radius_mm": joint.inner_radius,
            "outer_radius_mm": joint.outer_radius,
            "films": list(joint.films),
            "joints": joint.joints,
            **_spread_data(joint.thickness if joint.is_chosen else None),
        }
        for joint in disc.joint_thickness
    ]
    at_worst = None if disc.thickness is None else disc.thickest_at_worst
    return Told(
        lines=tuple(_lines(disc)),
        grid=grid,
        data={
            "thickness_mm": None if disc.thickness is None else disc.thickness.nominal,
            "stack": {
                **_spread_data(disc.thickness),
                "at_most_mm": None if at_worst is None else at_worst.thickness.at_most,
                "zones": zones,
                "overlapping_joints": joints,
                "counterweights": dots,
            },
            "hub": None if disc.hub is None else _hub_data(disc.hub),
        },
    )


def _lines(disc: DiscFacts) -> Iterator[FactLine]:
    thick = disc.thickness
    if thick is None:
        note = "without the films to be chosen"
    else:
        spread = f"±{thick.worst:.3f} worst case, ±{thick.likely:.3f} root sum square"
        note = f"where it is thickest{_apart(disc.thickest)}, {spread}"
    if len(disc.design.layers) > 1 and disc.design.glue_line is None:
        note += "; glue is not counted: the design gives no glue_line"
    more = "" if thick is not None else "at least "
    yield FactLine("Thickness", f"{more}{disc.least_thickness:.3f}", "mm", note)
    looser = disc.thickest_at_worst
    if thick is not None and looser is not None and looser is not disc.thickest:
        note = f"with all tolerances, where a thinner stack varies more ({_at(looser)})"
        yield FactLine("At most", f"{looser.thickness.at_most:.3f}", "mm", note)
    hub = disc.hub
    if hub is None and disc.design.hub is not None:
        yield FactLine("Clamped", NOT_TOLD, "", "films under the hub are to be chosen")
    if hub is not None:
        spacer = f", spacer {hub.spacer:.3f} mm" if hub.spacer else ""
        note = f"between the hub's flanges: film {hub.film.nominal:.3f} mm{spacer}"
        yield FactLine("Clamped", f"{hub.clamped:.3f}", "mm", note)


def _stacks(disc: DiscFacts) -> Iterator[tuple[str, ...]]:
    """Yield where the disc is how thick; many stacks of one thickness in a ring are one row."""
    is_long = len(disc.local_thickness) > MOST_STACKS
    rows: dict[tuple[str, Spread | None, str], list[LocalThickness]] = {}
    for each in disc.local_thickness:
        films = "" if is_long else " + ".join(each.films)
        place = radii(each.inner_radius, each.outer_radius)
        thickness = each.thickness if each.is_chosen else None
        rows.setdefault((place, thickness, films), []).append(each)
    for (place, thickness, _), stacks in rows.items():
        films = " + ".join(stacks[0].films)
        if len(stacks) > 1:
            films = f"{len(stacks)} stacks of {len(stacks[0].films)}"
        spans = [span for each in stacks for span in each.spans]
        cells = _spread(stacks[0].thickness, is_chosen=thickness is not None)
        yield (place, films, where(spans, SAME_ANGLE), *cells)
    for joint in disc.joint_thickness:
        place = radii(joint.inner_radius, joint.outer_radius)
        joints = "1 joint" if joint.joints == 1 else f"{joint.joints} joints"
        cells = _spread(joint.thickness, is_chosen=joint.is_chosen)
        yield (place, " + ".join(joint.films), f"{joints}, overlap", *cells)
    for dot in disc.dot_thickness:
        cells = _spread(dot.thickness, is_chosen=dot.is_chosen)
        yield (f"at {dot.dot}", " + ".join(dot.films), "", *cells)


def _apart(place: Place | None) -> str:
    """Say where a stack is that stands out of the disc."""
    return "" if place is None or isinstance(place, LocalThickness) else f" ({_at(place)})"


def _at(place: Place) -> str:
    if isinstance(place, DotThickness):
        return f"at {place.dot}"
    what = "overlapping joint, " if isinstance(place, JointThickness) else ""
    return what + radii(place.inner_radius, place.outer_radius)


def _spread(spread: Spread, *, is_chosen: bool) -> tuple[str, str, str]:
    if not is_chosen:
        return f"{spread.nominal:.3f} + ?", "", ""
    return f"{spread.nominal:.3f}", f"±{spread.worst:.3f}", f"±{spread.likely:.3f}"


def _spread_data(spread: Spread | None) -> dict[str, float | None]:
    if spread is None:
        return dict.fromkeys(("nominal_mm", "worst_case_mm", "root_sum_square_mm"))
    return {
        "nominal_mm": spread.nominal,
        "worst_case_mm": spread.worst,
        "root_sum_square_mm": spread.likely,
    }


def _hub_data(hub: PrintedHub) -> dict[str, object]:
    return {
        "mass_g": hub.body.mass,
        "clamped_mm": hub.clamped,
        "film_mm": hub.film.nominal,
        "spacer_mm": hub.spacer,
        "parts": [
            {
                "name": part.name,
                "diameter_mm": part.diameter,
                "plate_mm": part.thickness,
                "tab_height_mm": part.tab_height,
                "mass_g": part.body.mass,
            }
            for part in hub.parts
        ],
    }
