"""Films and cutters: one file each, shipped or a user's own."""
