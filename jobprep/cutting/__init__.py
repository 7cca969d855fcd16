"""From placed parts to what the beam does: kerf side, order, motion time."""
