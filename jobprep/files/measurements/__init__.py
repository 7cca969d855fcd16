"""Files of what was measured: points, corrections of a photograph, a coupon's readings."""
