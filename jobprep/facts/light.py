"""What light passes a turning disc, in which colours, and how often it flashes."""

from __future__ import annotations

from collections.abc import Iterator

from jobprep.disc.facts import DiscFacts
from jobprep.disc.flicker import Duty, Flicker
from jobprep.disc.tracks import Track
from jobprep.facts.told import NOT_TOLD, UNTIL_CHOSEN, FactLine, Told, radii, share


def told(disc: DiscFacts) -> Told:
    """Return the share of the turn that light passes, ring by ring, and its flashes."""
    duty = [
        {
            "window": each.window,
            "inner_radius_mm": each.inner_radius,
            "outer_radius_mm": each.outer_radius,
            "share_of_turn": each.share,
        }
        for each in disc.duty
    ]
    flicker = [
        {
            "window": each.window,
            "inner_radius_mm": each.inner_radius,
            "outer_radius_mm": each.outer_radius,
            "flashes_per_turn": len(each.flashing.changes) // 2,
            "red_flashes_per_turn": len(each.flashing.red_changes) // 2,
            "flashes_hz": each.rate,
            "red_flashes_hz": each.red_rate,
            "most_in_a_second": each.flashing.most,
            "most_red_in_a_second": each.flashing.most_red,
            "frequencies_hz": list(each.flashing.frequencies),
            "percent_flicker": each.flashing.percent_flicker,
            "flicker_index": each.flashing.flicker_index,
            "hazardous": each.flashing.is_hazardous,
            "red_hazardous": each.flashing.is_red_hazardous,
        }
        for each in disc.flicker
    ]
    return Told(lines=tuple(_lines(disc)), data={"duty": duty, "flicker": flicker})


def _lines(disc: DiscFacts) -> Iterator[FactLine]:
    for duty in disc.duty:
        place = _place(duty)
        if duty.share is None:
            yield FactLine("Light passes for", NOT_TOLD, "", f"{UNTIL_CHOSEN}, {place}")
            yield FactLine("Flashing", NOT_TOLD, "", f"{UNTIL_CHOSEN}, {place}")
        elif not duty.window:
            yield FactLine("Light passes for", share(duty.share), "of the turn", place)
    for track in disc.tracks:
        if len(track.shares) > 1:
            yield FactLine("Colours", _ratio(track), "", _place(track))
    for flicker in disc.flicker:
        yield _flicker(flicker)


def _flicker(flicker: Flicker) -> FactLine:
    found = flicker.flashing
    wave = (
        f"percent flicker {found.percent_flicker:.3g} %, flicker index {found.flicker_index:.2f}"
        " (IES)"
    )
    if not found.changes and not found.red_changes:
        return FactLine(
            "Flicker", f"{found.percent_flicker:.3g}", "%", f"{wave}, {_place(flicker)}"
        )
    notes = [f"{_times(len(found.changes) // 2)} a turn, at most {found.most:g} in any one second"]
    if found.red_changes:
        red = _times(len(found.red_changes) // 2)
        notes.append(f"{red} of saturated red a turn, at most {found.most_red:g} in any one second")
    if len(found.frequencies) > 1:
        rates = ", ".join(f"{rate:.4g}" for rate in found.frequencies)
        notes.append(f"frequencies found: {rates} Hz")
    notes.append(f"{wave}, {_place(flicker)}")
    return FactLine("Flashing", f"{flicker.rate:.4g}", "Hz", "; ".join(notes))


def _times(flashes: int) -> str:
    return "1 flash" if flashes == 1 else f"{flashes} flashes"


def _place(each: Flicker | Duty | Track) -> str:
    if each.window:
        return f"window {each.window}"
    return radii(each.inner_radius, each.outer_radius)


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
