"""The workshop's stock: what is on the shelf, and what a cut run does to it. Pure values."""
