"""What light passes a turning disc, in which colours, and how often it flashes."""

from __future__ import annotations

from collections.abc import Iterator

from jobprep.disc.facts import DiscFacts
from jobprep.disc.timing import Track
from jobprep.facts.told import NOT_TOLD, UNTIL_CHOSEN, FactLine, Told, radii, share


def told(disc: DiscFacts) -> Told:
    """Return the share of the turn that light passes, ring by ring, and its flashes."""
    duty = [
        {
            "inner_radius_mm": each.inner_radius,
            "outer_radius_mm": each.outer_radius,
            "share_of_turn": each.share,
        }
        for each in disc.duty
    ]
    flicker = [
        {
            "inner_radius_mm": each.inner_radius,
            "outer_radius_mm": each.outer_radius,
            "flashes_per_turn": each.flashes,
            "red_flashes_per_turn": each.red_flashes,
            "flashes_hz": each.rate,
            "red_flashes_hz": each.red_rate,
            "pattern_hz": each.repeat_rate,
            "hazardous": each.is_hazardous,
            "red_hazardous": each.is_red_hazardous,
        }
        for each in disc.flicker
    ]
    return Told(lines=tuple(_lines(disc)), data={"duty": duty, "flicker": flicker})


def _lines(disc: DiscFacts) -> Iterator[FactLine]:
    for duty in disc.duty:
        place = radii(duty.inner_radius, duty.outer_radius)
        if duty.share is None:
            yield FactLine("Light passes for", NOT_TOLD, "", f"{UNTIL_CHOSEN}, {place}")
            yield FactLine("Flashing", NOT_TOLD, "", f"{UNTIL_CHOSEN}, {place}")
        else:
            yield FactLine("Light passes for", share(duty.share), "of the turn", place)
    for track in () if disc.timing is None else disc.timing.tracks:
        if len(track.shares) > 1:
            place = radii(track.inner_radius, track.outer_radius)
            yield FactLine("Colours", _ratio(track), "", place)
    for flicker in disc.flicker:
        times = "flash" if flicker.flashes == 1 else "flashes"
        note = f"{flicker.flashes} {times} a turn"
        if flicker.red_flashes:
            note += f"; {flicker.red_flashes} of saturated red, {flicker.red_rate:.4g} Hz"
        place = radii(flicker.inner_radius, flicker.outer_radius)
        yield FactLine("Flashing", f"{flicker.rate:.4g}", "Hz", f"{note}, {place}")


def _ratio(track: Track) -> str:
    """Return the share of each stack, named by the films that do not lie all round.

    A stack of nothing else is named by these: an opening over a tint is no hole.
    """
    words = []
    for each in track.shares:
        own = [film for film in each.films if film not in track.everywhere]
        films = " + ".join(own or dict.fromkeys(each.films))
        words.append(f"{films or 'open'} {share(each.share)}")
    return ", ".join(words)
