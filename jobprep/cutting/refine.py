"""How a plan's contours are really run: heat, shared sides, tabs, leads, in this order."""

from __future__ import annotations

from collections.abc import Sequence

from jobprep.cutting.leads import LeadRule, add_leads
from jobprep.cutting.motion import film_motion
from jobprep.cutting.packs import hold
from jobprep.cutting.plan import CutPlan, outer_order
from jobprep.cutting.shared import share_cuts
from jobprep.cutting.spread import spread_heat
from jobprep.cutting.tabs import TabRule, add_tabs
from jobprep.geometry.outline import Path, Region
from jobprep.model import Cutter, Cutting, Film


def refine(
    plan: CutPlan,
    sheet: Region,
    film: Film,
    cutter: Cutter,
    rule: Cutting,
    trims: Sequence[Path] = (),
) -> CutPlan:
    """Return the plan with its cuts run as the job asks, their time counted again.

    ``trims`` are the straight cuts that will follow: no tab holds on what lies beyond them.

    What could not be done as asked is among the plan's ``remarks``.
    """
    cuts, parts, kerf = plan.cuts, plan.parts, plan.kerf
    remarks: list[str] = []
    saved = saved_seconds = 0.0
    if cutter.kind != "knife":
        cuts = spread_heat(cuts, parts, kerf, film, cutter, rule.heat_spread)
    freed = outer_order(cuts)
    if rule.share_cuts:
        held = hold(cuts, parts, sheet, kerf)
        cuts, saved, freed = share_cuts(held, parts, kerf)
        each_alone, together = (film_motion(each, cutter, film) for each in (held, cuts))
        saved_seconds = each_alone.seconds - together.seconds
    if rule.tabs:
        ends = (*(contour.segments for contour in sheet.contours), *trims)
        tabbed = add_tabs(cuts, parts, kerf, TabRule(count=rule.tabs, width=rule.tab_width), ends)
        cuts = tabbed.cuts
        remarks += tabbed.remarks
    overcut = cutter.overcut if rule.overcut is None else rule.overcut
    if rule.lead_in or rule.lead_out or overcut:
        lengths = LeadRule(lead_in=rule.lead_in, overcut=overcut, lead_out=rule.lead_out)
        led = add_leads(cuts, parts, sheet, kerf, lengths)
        cuts = led.cuts
        for count, what in ((led.shortened, "shorter than asked"), (led.left_out, "left out")):
            if count:
                leads = "1 lead is" if count == 1 else f"{count} leads are"
                remarks.append(f"{leads} {what}, for want of room")
    return CutPlan(
        parts=parts,
        cuts=cuts,
        freed=freed,
        kerf=kerf,
        motion=film_motion(cuts, cutter, film),
        remarks=tuple(dict.fromkeys(remarks)),
        saved=saved,
        saved_seconds=saved_seconds,
    )
