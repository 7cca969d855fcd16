"""What is reported of a disc, fact by fact: computed, worded and rounded in one place each.

A module of a fact holds ``told(disc)``. The terminal and the page lay its lines and grids out, the
summary takes its data; none of them words or rounds anything itself.
"""
