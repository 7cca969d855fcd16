"""Numbers as plain data for programs; every key names its unit.

Angles are degrees here, directions dial degrees (clockwise from 12 o'clock, from the front).
"""

from __future__ import annotations

from typing import Any

from jobprep.disc.correction import Correction
from jobprep.disc.facts import BalanceFacts, DiscFacts
from jobprep.disc.hub import PrintedHub
from jobprep.disc.thickness import Spread
from jobprep.disc.timing import Timing
from jobprep.geometry.measure import area, region_bounds
from jobprep.geometry.outline import Region
from jobprep.planning.recut import Recut
from jobprep.summary import Summary, Use
from jobprep.units import TURN, to_degrees, to_dial


def summary_json(summary: Summary) -> dict[str, Any]:
    """Return the summary as plain data for ``summary.json``; the keys name their units."""
    return {
        "title": summary.title,
        "cutter": summary.cutter,
        "currency": summary.currency,
        "films": [
            {
                "film": film.film,
                "title": film.title,
                "kerf_mm": film.kerf,
                "opened_price": film.opened_price,
                **_use_json(film.use),
                "sheets": [
                    {
                        "sheet": number,
                        "label": sheet.label,
                        "piece": sheet.piece,
                        "to_buy": sheet.is_bought,
                        "width_mm": sheet.width,
                        "height_mm": sheet.height,
                        "sheet_area_mm2": sheet.area,
                        "price": sheet.price,
                        **_use_json(sheet.use),
                        "leftovers": [_leftover_json(piece) for piece in sheet.leftovers],
                    }
                    for number, sheet in enumerate(film.sheets, start=1)
                ],
            }
            for film in summary.films
        ],
        "discs": [
            {
                "design": disc.design,
                "copies": disc.copies,
                "cost": disc.cost,
                **facts_json(disc.facts),
            }
            for disc in summary.discs
        ],
        "totals": {
            "sheets": sum(len(film.sheets) for film in summary.films),
            "opened_price": summary.opened_price,
            **_use_json(summary.use),
        },
        "cautions": list(summary.cautions),
        "hazards": [
            {"text": hazard.text, "sources": list(hazard.sources)} for hazard in summary.hazards
        ],
    }


def recut_json(again: Recut, before: Summary, after: Summary) -> dict[str, Any]:
    """Return what a recut changes, film by film, and the new summary."""
    return {
        "cutter": {"before": before.cutter, "after": after.cutter},
        "films": [
            {
                "film": change.after.film.name,
                "nest_kept": change.nest_kept,
                "why": change.why,
                "web_left_mm": change.left and change.left.web,
                "margin_left_mm": change.left and change.left.margin,
                "parts_that_stay": change.stayed,
                "kerf_mm": {"before": change.before.kerf, "after": change.after.kerf},
                "before": _use_json(old.use),
                "after": _use_json(new.use),
            }
            for change, old, new in zip(again.changes, before.films, after.films, strict=True)
        ],
        "with_the_old_drawings": [
            {
                "part": each.part.number,
                "name": each.part.name,
                "width_mm": each.width,
                "height_mm": each.height,
                "off_mm": each.off,
            }
            for each in again.wrong_sizes
        ],
        "summary": summary_json(after),
    }


def _use_json(use: Use) -> dict[str, Any]:
    return {
        "parts": use.parts,
        "part_area_mm2": use.part_area,
        "utilisation": use.utilisation,
        "cut_length_mm": use.cut_length,
        "saved_by_shared_sides_mm": use.saved_length,
        "mark_length_mm": use.mark_length,
        "pierces": use.pierces,
        "travel_mm": use.travel_length,
        "cutting_time_s": use.seconds,
        "film_used_mm2": use.film_area,
        "leftover_mm2": use.leftover_area,
        "scrap_mm2": use.scrap_area,
        "film_cost": use.film_cost,
        "cutter_cost": use.cutter_cost,
        "cost": use.cost,
    }


def _leftover_json(piece: Region) -> dict[str, Any]:
    box = region_bounds(piece)
    return {
        "x_mm": box.x_min,
        "y_mm": box.y_min,
        "width_mm": box.width,
        "height_mm": box.height,
        "area_mm2": area(piece),
    }


def facts_json(facts: DiscFacts) -> dict[str, Any]:
    """Return what is known of one disc as plain data."""
    mass = facts.mass
    return {
        "mass_g": mass.mass,
        "thickness_mm": facts.thickness.nominal,
        "unbalance_g_mm": mass.unbalance,
        "unbalance_angle_deg": None
        if mass.heavy_direction is None
        else to_dial(mass.heavy_direction),
        "eccentricity_mm": mass.eccentricity,
        "centre_of_mass_mm": [mass.centre.x, mass.centre.y],
        "inertia_g_mm2": mass.inertia,
        "stack": {
            **_spread_json(facts.thickness),
            "zones": [
                {
                    "inner_radius_mm": zone.inner_radius,
                    "outer_radius_mm": zone.outer_radius,
                    "films": list(zone.films),
                    "share_of_turn": zone.share,
                    "from_to_deg": [
                        [to_degrees(start), to_degrees(start + angle)]
                        for start, angle in zone.spans
                    ],
                    **_spread_json(zone.thickness),
                }
                for zone in facts.local_thickness
            ],
            "counterweights": [
                {"dot": dot.dot, "films": list(dot.films), **_spread_json(dot.thickness)}
                for dot in facts.dot_thickness
            ],
        },
        "layers": [
            {
                "layer": layer.layer,
                "name": layer.name,
                "area_mm2": layer.area,
                "mass_g": layer.mass,
                "films": [
                    {
                        "film": amount.film,
                        "pieces": amount.pieces,
                        "area_mm2": amount.area,
                        "mass_g": amount.mass,
                    }
                    for amount in layer.films
                ],
            }
            for layer in facts.layers
        ],
        "hub": None if facts.hub is None else _hub_json(facts.hub),
        "against_original": [
            {
                "what": each.what,
                "original": each.original,
                "copy": each.copy,
                "difference": each.difference,
                "difference_share": each.share,
            }
            for each in facts.comparison
        ],
        "balance": None if facts.balance is None else _balance_json(facts.balance),
        "timing": None if facts.timing is None else _timing_json(facts.timing),
        "duty": [
            {
                "inner_radius_mm": duty.inner_radius,
                "outer_radius_mm": duty.outer_radius,
                "share_of_turn": duty.share,
            }
            for duty in facts.duty
        ],
        "flicker": [
            {
                "inner_radius_mm": flicker.inner_radius,
                "outer_radius_mm": flicker.outer_radius,
                "flashes_per_turn": flicker.flashes,
                "red_flashes_per_turn": flicker.red_flashes,
                "flashes_hz": flicker.rate,
                "red_flashes_hz": flicker.red_rate,
                "pattern_hz": flicker.repeat_rate,
                "hazardous": flicker.is_hazardous,
                "red_hazardous": flicker.is_red_hazardous,
            }
            for flicker in facts.flicker
        ],
        "strobe_bars": [
            {
                "flashes_hz": count.flash_rate,
                "exact": count.exact,
                "bars": count.bars,
                "true_speed_rpm": count.true_speed,
            }
            for count in facts.strobe
        ],
        "standing_rings": [
            {
                "inner_radius_mm": ring.inner_radius,
                "outer_radius_mm": ring.outer_radius,
                "bars": ring.bars,
                "speeds": [
                    {"flashes_hz": flashes, "speed_rpm": speed} for flashes, speed in ring.speeds
                ],
            }
            for ring in facts.standing
        ],
    }


def correction_json(correction: Correction) -> dict[str, Any]:
    """Return a proposal that would balance a disc as plain data."""
    after = correction.after
    return {
        "kind": correction.kind,
        "action": correction.action or None,
        "outcome": correction.outcome,
        "enough": correction.is_enough,
        "unbalance_before_g_mm": correction.before.unbalance,
        "unbalance_after_g_mm": None if after is None else after.unbalance,
        "permissible_g_mm": correction.permissible,
        "mass_after_g": None if after is None else after.mass,
    }


def _hub_json(hub: PrintedHub) -> dict[str, Any]:
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


def _spread_json(spread: Spread) -> dict[str, float]:
    return {
        "nominal_mm": spread.nominal,
        "worst_case_mm": spread.worst,
        "root_sum_square_mm": spread.likely,
    }


def _balance_json(balance: BalanceFacts) -> dict[str, Any]:
    heaviest = balance.heaviest
    return {
        "speed_rpm": balance.speed,
        "reached_mm_s": balance.reached,
        "reached_grade_mm_s": balance.reached_grade,
        "grade_mm_s": balance.grade,
        "permissible_g_mm": balance.permissible,
        "within_grade": balance.is_within,
        "centring_error_mm": balance.centring_error,
        "force_n": balance.force,
        "heaviest_sector": None
        if heaviest is None
        else {
            "layer": heaviest.layer,
            "sector": heaviest.sector,
            "film": heaviest.film,
            "unbalance_g_mm": heaviest.unbalance,
            "force_n": heaviest.force,
        },
    }


def _timing_json(timing: Timing) -> dict[str, Any]:
    index, edge = timing.index, timing.edge
    return {
        "turn_s": timing.turn,
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
                "inner_radius_mm": track.inner_radius,
                "outer_radius_mm": track.outer_radius,
                "films": [
                    {"films": list(each.films), "share_of_turn": each.share}
                    for each in track.shares
                ],
            }
            for track in timing.tracks
        ],
        "joints": [
            {"layer": joint.layer, "radius_mm": joint.radius, "duration_s": joint.duration}
            for joint in timing.joints
        ],
        "index": None
        if index is None
        else {
            "hole": index.hole,
            "edge": index.edge,
            "radius_mm": index.radius,
            "edge_angle_deg": to_dial(index.direction),
            "open_s": index.open,
            "edge_across_sensor_s": index.softness,
            "per_0.1_degree_s": index.per_angle,
            "per_0.1_mm_s": index.per_length,
            "0.1_mm_as_degrees": to_degrees(index.length_as_angle),
        },
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
