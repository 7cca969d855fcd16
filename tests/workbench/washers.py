"""A job of washers and plates, which needs no disc."""


def washers(rings: int, plates: int, film: str = "clear") -> str:
    """Return such a job, up to where its budget is to stand; ``film`` is that of the plates."""
    return f"""\
format = 1
title = "Washers"
cutter = "bench-co2"
[[part]]
name = "washer"
film = "clear"
copies = {rings}
ring = {{ outer_diameter = 24, inner_diameter = 6.5 }}
[[part]]
name = "plate"
film = "{film}"
copies = {plates}
polygon = [[0, 0], [50, 0], [10, 40]]
[nesting]
"""
