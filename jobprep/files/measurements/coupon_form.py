"""The form in which a person writes what was measured on a kerf coupon."""

from __future__ import annotations

from collections.abc import Sequence

FORM = """\
# What you measure on the kerf coupon of {film}, cut on {cutter}.
# Fill in the readings in mm, in [] and parted by commas, then run: jobprep kerf {name}
# Cut on the lines exactly as drawn: no offset in the cutter's driver. Leave out what you cannot
# measure. A third and a fourth reading, after setting up again, show a slip and how far to
# trust it.
format = 1
film = "{film}"
cutter = "{cutter}"
plus_minus = 0.02           # the instrument's largest error either way, mm: 0.02 for a caliper
"""

FORM_OF_DIRECTION = """
# The {strips} strips marked {letter}: push them together in a row, without gaps, and measure across
# all of them along the row.
[[comb]]
along = "{along}"
strips = {strips}
drawn = {length:g}                  # all {strips} together, as drawn
ends = "cut"                # every strip is cut all round; "sheet" where the outermost edges of
                            # the row are the sheet's own: one cut less
readings = []               # such as [78.71, 78.74, 78.70, 78.72]

# The bar marked {letter} {length:g}: its length. With the strips it tells scale from kerf.
[[piece]]
along = "{along}"
drawn = {length:g}
readings = []

# The ladder marked {letter}: lay the tongue marked {letter} into its notches, from the smallest
# number up. Give the last number it enters and the first it does not; leave it out if it enters
# all or none.
# [[fit]]
# along = "{along}"
# enters = {enters}
# refuses = {refuses}
"""

FORM_END = """
# Anything else cut on its line may be added: pieces as above, openings, the cut itself.
# [[slot]]
# along = "x"
# drawn = 20
# readings = [20.16]
# [[width]]
# along = "x"
# sense = "full"            # the whole width of the cut; "edge": what each edge loses, half of it
# readings = [0.16]
"""


def kerf_form(
    film: str, cutter: str, name: str, *, strips: int, length: float, ladder: Sequence[int]
) -> str:
    """Return the form for the measurements of a coupon, as TOML.

    ``name`` is the file's own; ``ladder`` holds two or more numbers of notches, ascending.
    """
    middle = (len(ladder) - 1) // 2
    directions = (
        FORM_OF_DIRECTION.format(
            along=along,
            letter=along.upper(),
            strips=strips,
            length=length,
            enters=ladder[middle],
            refuses=ladder[middle + 1],
        )
        for along in ("x", "y")
    )
    return FORM.format(film=film, cutter=cutter, name=name) + "".join(directions) + FORM_END
