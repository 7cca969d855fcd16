"""Pages to print at actual size: templates, patterns, labels, overlays."""
