"""What measuring writes, checking accepts: whatever was measured, the file's sizes go together."""

import math
import tempfile
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from jobprep.files.materials.library import film_library
from jobprep.measuring.measured import Measured
from jobprep.measuring.measurement import (
    ColourRing,
    ColourZone,
    MeasuredHole,
    Measurement,
    Separation,
)
from jobprep.measuring.write_design import Snap, design_text
from jobprep.pipeline import check

FILMS = ("amber", "green", "black", "violet")
JOB = 'format = 1\ntitle = "x"\ncutter = "bench-co2"\n[[disc]]\ndesign = "measured.toml"\n'


def is_accepted(measurement: Measurement, snap: Snap) -> str:
    """Write the design of a measurement, check a job of it, and return its text."""
    films = {name: name for name in FILMS}
    written = design_text(measurement, films=films, library=film_library(), snap=snap)
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "measured.toml").write_text(written.text, "utf-8")
        (Path(folder) / "job.toml").write_text(JOB, "utf-8")
        check(Path(folder) / "job.toml")
    return written.text


@st.composite
def measurements(draw) -> Measurement:
    """Discs as a poor photograph may give them: each length by itself, limits in disorder."""
    outer = draw(st.floats(40.0, 250.0))
    near_rim = st.floats(-0.02, 0.02).map(lambda off: outer + off)

    def across(low: float, high: float) -> st.SearchStrategy[Measured]:
        return st.floats(low * outer, high * outer).map(lambda value: Measured(value, 0.1))

    rings = []
    limits = sorted(draw(st.lists(st.floats(0.15, 1.002), max_size=2)))
    bounds = [None, *(Measured(share * outer, 0.1) for share in limits)]
    last = draw(st.one_of(st.none(), near_rim.map(lambda value: Measured(value, 0.1))))
    for inner, after in zip(bounds, [*bounds[1:], last], strict=True):
        count = draw(st.sampled_from([0, 2, 3, 5]))
        dials = [360.0 * (i + draw(st.floats(0.0, 0.999))) / max(count, 1) for i in range(count)]
        rings.append(
            ColourRing(
                inner_diameter=inner,
                outer_diameter=after,
                edges=tuple(
                    Separation(name=f"e{i}", direction=Measured(-math.radians(dial), 0.01))
                    for i, dial in enumerate(dials)
                ),
                zones=tuple(ColourZone(name=FILMS[i % 4]) for i in range(max(count, 1))),
            )
        )
    holes = [
        MeasuredHole(
            name=f"hole {i}",
            diameter=draw(st.one_of(st.none(), across(0.01, 0.06))),
            radius=draw(across(0.2, 0.52)),
            direction=Measured(draw(st.floats(-3.0, 3.0)), 0.01),
        )
        for i in range(draw(st.integers(0, 2)))
    ]
    return Measurement(
        name="found",
        outer_diameter=Measured(outer, 0.05),
        bore_diameter=draw(st.one_of(st.none(), across(0.03, 0.3))),
        concentricity=None,
        rings=tuple(rings),
        holes=tuple(holes),
        scale=Measured(0.1, 0.0001),
    )


def test_a_ring_a_thousandth_wider_than_its_disc_reaches_the_rim():
    ring = ColourRing(
        inner_diameter=Measured(30.0, 0.1),
        outer_diameter=Measured(96.0008, 0.1),
        edges=(),
        zones=(ColourZone(name="amber"),),
    )
    disc = Measurement(
        name="found",
        outer_diameter=Measured(96.0, 0.0),
        bore_diameter=Measured(8.0, 0.1),
        concentricity=None,
        rings=(ring,),
        holes=(),
        scale=Measured(0.1, 0.0001),
    )
    text = is_accepted(disc, Snap())
    assert "# ring 1 was measured 96.001 mm wide: it reaches the rim" in text
    assert text.count("outer_diameter") == 1


def test_a_hole_that_would_leave_the_disc_is_left_out_and_named():
    hole = MeasuredHole(
        name="index",
        diameter=Measured(3.0, 0.1),
        radius=Measured(47.0, 0.1),
        direction=Measured(0.0, 0.1),
    )
    disc = Measurement(
        name="found",
        outer_diameter=Measured(96.0, 0.0),
        bore_diameter=Measured(8.0, 0.1),
        concentricity=None,
        rings=(),
        holes=(hole,),
        scale=Measured(0.1, 0.0001),
    )
    written = design_text(disc).text
    assert "# index was left out: it would reach 48.5 mm from the centre, past the rim" in written
    assert "[[hole]]" not in written


def test_what_is_too_narrow_to_be_cut_is_joined_or_begins_farther_out_and_is_named():
    dials = [0.0, 0.4, 20.0, 180.0]
    edges = [Separation(name="e", direction=Measured(-math.radians(d), 0.01)) for d in dials]
    ring = ColourRing(
        inner_diameter=None,
        outer_diameter=None,
        edges=tuple(edges),
        zones=tuple(ColourZone(name=name) for name in FILMS),
    )
    disc = Measurement(
        name="found",
        outer_diameter=Measured(96.0, 0.0),
        bore_diameter=None,
        concentricity=None,
        rings=(ring,),
        holes=(),
        scale=Measured(0.1, 0.0001),
    )
    text = is_accepted(disc, Snap())
    assert "# amber of ring 1 was joined to its neighbour: it is too narrow to be cut" in text
    assert "# ring 1 begins 2.9" in text
    assert text.count("degrees =") == 3


@given(measurements(), st.sampled_from([None, 0.5, 2.0]))
def test_what_measuring_writes_checking_accepts(measurement, step):
    is_accepted(measurement, Snap(millimetres=step))
