"""A neutral drawing and one writer per format."""
